"""Tests of the reckoned answers."""
