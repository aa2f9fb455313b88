"""Keeps the temperature record of a pastry kitchen and holds it against published food-code limits."""
