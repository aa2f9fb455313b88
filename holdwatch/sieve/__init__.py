"""Which readings of a probe are the food's: the one stage that sees every reading."""

from holdwatch.sieve.doubts import Doubt, Surroundings
from holdwatch.sieve.sifting import POWER_ON_C, POWER_ON_WIDTH_C, SetAside, Sifted, sift

__all__ = ["POWER_ON_C", "POWER_ON_WIDTH_C", "Doubt", "SetAside", "Sifted", "Surroundings", "sift"]
