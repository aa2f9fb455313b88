"""For how long a piping bag, a garnish tub or a topped-up tray may be in use: a time of the kitchen's own."""

from holdwatch.clock import MS_PER_DAY
from holdwatch.errors import ConfigError
from holdwatch.language import _
from holdwatch.quantities import Duration

__all__ = ["MOST_IN_USE_MS", "in_use_ms"]

MOST_IN_USE_MS = 7 * MS_PER_DAY
"""Ours: a longer time in use is a slip of the pen."""


def in_use_ms(text: str) -> int:
    """Return a time in use as it was written, in ms.

    Raises
    ------
    ConfigError
        If it is no length of time, or none that can be.
    """
    try:
        length_ms = Duration.parse(text.strip()).ms
    except ValueError as exc:
        raise ConfigError(_("{text!r} is no time in use: write it as 4 h or 90 min").format(text=text)) from exc
    if not 0 < length_ms <= MOST_IN_USE_MS:
        raise ConfigError(
            _("{text!r} is no time in use: write more than nothing and at most 7 days, as 4 h or 90 min").format(
                text=text
            )
        )
    return length_ms
