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


def waits_until_ms(wrong_ms: Sequence[int], now_ms: int) -> int | None:
    """Return when the next try is looked at, ``None`` if at once.

    Parameters
    ----------
    wrong_ms
        Instants of the wrong tries in a row since the last right one or the last new PIN, as they were made. [ms]
    now_ms
        The present instant. Where it lies before the last try the clock was set back, and nobody waits for the time
        it was ahead; the next wrong try counts from the clock as it is then. [ms]
    """
    beyond = len(wrong_ms) - FREE_TRIES
    if beyond < 0 or now_ms < wrong_ms[-1]:
        return None
    wait_ms = LONGEST_WAIT_MS if beyond > 10 else min(FIRST_WAIT_MS << beyond, LONGEST_WAIT_MS)  # noqa: PLR2004
    until_ms = wrong_ms[-1] + wait_ms
    return until_ms if now_ms < until_ms else None
