"""Tests of who may do what, and of PINs."""
