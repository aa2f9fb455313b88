"""Probes: their profiles and a simulated kitchen."""
