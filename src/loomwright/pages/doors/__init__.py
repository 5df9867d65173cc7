"""Who comes in, under which name, and what they may do."""
