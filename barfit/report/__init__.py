"""What was found, in words, tables and plain values."""
