"""The alerts."""
