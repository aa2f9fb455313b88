"""Which readings of a probe are the food's: the one stage that sees every reading."""

from holdwatch.sieve.doubts import Doubt, Surroundings
from holdwatch.sieve.sifting import SetAside, Sifted, sift

__all__ = ["Doubt", "SetAside", "Sifted", "Surroundings", "sift"]
