"""From new readings to findings."""
