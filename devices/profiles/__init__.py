"""How each kind of sensor speaks, one TOML file a kind.

``[register]`` holds what ``holdwatch probe add`` is told; each ``[[example]]`` is a message and what it must be
read as, which a test holds against the decoder; ``[sensor]`` is what the maker's datasheet states.
"""
