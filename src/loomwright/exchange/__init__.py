"""How do other open formats come in? A recorded drive, as a table of text, Parquet or MDF."""
