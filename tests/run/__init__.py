"""Supervisor, broker and check-up."""
