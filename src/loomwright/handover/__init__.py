"""What the papers of a job say, as plain records: no page, no font, no file."""
