"""The demonstration kitchen."""
