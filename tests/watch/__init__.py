"""The watch, from readings in the store to findings in it."""
