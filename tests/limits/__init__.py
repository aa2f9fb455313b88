"""Tests of the limits files."""
