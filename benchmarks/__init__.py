"""How fast Holdwatch is, against ceilings measured in the same run; ``make bench`` writes docs/benchmarks.md."""

import holdwatch  # noqa: F401  so that NumPy runs here as it does there, with one thread
