"""The first form of the record file: its checker as it was handed out, and a file of then. Neither is ever changed."""
