"""Published tables, one CSV a source, read once."""
