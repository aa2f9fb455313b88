"""Tests of the written plan: products, their steps, and what must be known of each."""
