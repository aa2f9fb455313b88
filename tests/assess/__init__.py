"""Tests of assess."""
