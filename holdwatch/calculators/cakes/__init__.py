"""Cakes as a kitchen plans them: their parts, how each cools, and how long everything takes."""

from holdwatch.calculators.cakes.model import Cake, Display, Part, Stage
from holdwatch.calculators.cakes.reading import cake_text, known_cakes, read_cake

__all__ = ["Cake", "Display", "Part", "Stage", "cake_text", "known_cakes", "read_cake"]
