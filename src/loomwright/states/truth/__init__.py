"""Truth tables: what chosen points do over chosen variables."""
