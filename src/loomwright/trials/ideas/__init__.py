"""Rules of the trade: one idea a module, each gives edits that may cure a finding."""
