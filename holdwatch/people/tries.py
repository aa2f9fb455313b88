"""How long somebody waits after wrong PINs.

Three tries are free; the third wrong one in a row costs half a minute, each further one twice as long, up to a quarter
of an hour. Guessing a PIN of four digits through the screens then takes five thousand tries on the average, which is
fifty days and shows in the record from the first hour on. Waiting stops nobody from recording that food is thrown
away: that is taken unsigned.
"""

from collections.abc import Sequence

__all__ = ["FIRST_WAIT_MS", "FREE_TRIES", "LONGEST_WAIT_MS", "waits_until_ms"]

FREE_TRIES = 3
FIRST_WAIT_MS = 30_000
LONGEST_WAIT_MS = 15 * 60_000


def waits_until_ms(wrong_ms: Sequence[int]) -> int | None:
    """Return when the next try is looked at, ``None`` if at once.

    Parameters
    ----------
    wrong_ms
        Instants of the wrong tries in a row since the last right one or the last new PIN, rising. [ms]
    """
    beyond = len(wrong_ms) - FREE_TRIES
    if beyond < 0:
        return None
    wait_ms = LONGEST_WAIT_MS if beyond > 10 else min(FIRST_WAIT_MS << beyond, LONGEST_WAIT_MS)  # noqa: PLR2004
    return max(wrong_ms) + wait_ms
