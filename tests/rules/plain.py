"""A plain, slow reading of the cooling and holding rules, written apart from the package to compare it with.

It knows lists and loops only: no sieve, no arrays. It is fed records that no sieve would touch.
Levels and allowances: FDA Food Code 2022, 3-501.14(A) and 3-501.16(A)(2), as adopted in WAC 246-215-03515 and -03525.
"""

from itertools import pairwise
from statistics import median

MINUTE = 60_000
HOUR = 60 * MINUTE
EPS_F = 1e-6
Reading = tuple[int, float]  # instant in ms, °F


def start_of_cooling(readings: list[Reading], left_heat: int | None) -> tuple[int | None, int | None]:
    """Return (s1, s2): the last reading at 135 °F or above before it fell for good, and the one after."""
    warm = [at for at, f in readings if f >= 135 - EPS_F]
    if not warm:
        first = readings[0][0]
        return (left_heat if left_heat is not None and left_heat <= first else None), first
    for (at, f), (following, g) in pairwise(readings):
        if f < 135 - EPS_F or g >= 135 - EPS_F:
            continue
        undone_soon = any(following < w <= following + 15 * MINUTE for w in warm)
        undone_on_heat = left_heat is not None and any(following < w <= left_heat for w in warm)
        if not undone_soon and not undone_on_heat:
            return at, following
    return warm[-1], None


def grace(readings: list[Reading]) -> float:
    """Return how long an answer may still be on its way: two usual intervals, each taken as 2 to 15 min."""
    instants = [at for at, _ in readings][-21:]
    steps = [b - a for a, b in pairwise(instants)]
    return 2 * min(max(median(steps) if steps else 0, 2 * MINUTE), 15 * MINUTE)


def stage(readings: list[Reading], left_heat: int | None, until: int, target_f: float, allowed: int) -> str:
    """Return the verdict of one stage."""
    s1, s2 = start_of_cooling(readings, left_heat)
    if s2 is None:  # not seen to fall yet: the answer may be on its way for as long as a fall just then would allow
        return "open" if until <= readings[-1][0] + allowed + grace(readings) else "unproven"
    after = [(at, f) for at, f in readings if at >= s2]
    reached = next((at for at, f in after if f <= target_f + EPS_F), None)
    if reached is not None and s1 is not None and reached <= s1 + allowed:
        return "met"
    if any(f > target_f + EPS_F and at >= s2 + allowed and (reached is None or at < reached) for at, f in after):
        return "missed"
    if reached is None and until <= s2 + allowed + grace(readings):
        return "open"
    return "unproven"


def cold_holding(readings: list[Reading], start: int, until: int) -> str:
    """Return the verdict of a period of cold holding by a probe, watched every 20 min."""
    inside = [(at, f) for at, f in readings if start <= at <= until]
    if any(f > 41 + EPS_F for _, f in inside):
        return "missed"
    if not inside:
        return "unproven"
    edges = [start, *(at for at, _ in inside), until]
    if any(b - a > 20 * MINUTE for a, b in pairwise(edges)):
        return "unproven"
    return "met"
