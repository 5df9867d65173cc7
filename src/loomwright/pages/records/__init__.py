"""What does each page say? Frozen records, filled by pure functions; a template only places them."""
