"""Tests of the language that is spoken."""
