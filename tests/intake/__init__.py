"""Tests of the way of a message from the broker to the disk."""
