"""What the record shows of a limit: one rule a file."""
