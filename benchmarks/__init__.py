"""How fast Holdwatch is, against ceilings measured in the same run; ``make bench`` writes docs/benchmarks.md."""
