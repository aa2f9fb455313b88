"""Tests of holdwatch.trust."""
