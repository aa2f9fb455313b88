"""Formulas of cooling, each with its source."""
