"""Values, and programs, from outside, each with its source."""
