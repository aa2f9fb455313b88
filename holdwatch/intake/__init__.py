"""From a probe's message to a reading on disk."""
