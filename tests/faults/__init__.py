"""Tests that break things on purpose."""
