"""How each kind of sensor speaks."""
