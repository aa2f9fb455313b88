"""Keeps the temperature record of a pastry kitchen and holds it against published food-code limits."""

import os

# The matrices here are small: a second thread of linear algebra would only spin, and take a core from the listener.
# It has to stand before NumPy is imported for the first time.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
