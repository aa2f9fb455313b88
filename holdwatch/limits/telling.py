"""A limits file read aloud: every figure in a sentence, with its clause and how surely it was read."""

from collections.abc import Iterator

from holdwatch.language import N_, _, written_day
from holdwatch.limits.model import Cited, Confidence, Limits, NoFigure, Standing

__all__ = ["NAMES", "heading", "how_read", "not_seen", "sentences"]

NAMES = {
    "cooling": N_("Cooling"),
    "ambient-cooling": N_("Cooling of food made at ambient temperature"),
    "received-cooling": N_("Cooling of food received warmer"),
    "cold-holding": N_("Cold holding"),
    "hot-holding": N_("Hot holding"),
    "frozen-storage": N_("Frozen storage"),
    "shell-eggs": N_("Shell eggs"),
    "time-control-4h": N_("Time control, 4 h"),
    "time-control-6h": N_("Time control, 6 h"),
    "time-control-from-room": N_("Time control from room temperature"),
    "cumulative-time": N_("Added-up time"),
    "cook-eggs": N_("Cooking eggs"),
    "cook-eggs-to-order": N_("Cooking an egg to order"),
    "reheating": N_("Reheating"),
    "date-marking": N_("Date marking"),
    "raw-egg": N_("Raw or undercooked egg"),
    "raw-egg-susceptible": N_("Raw egg, for highly susceptible people"),
    "raw-egg-time-control": N_("Raw egg under time control, for highly susceptible people"),
    "receiving-cold": N_("Receiving, cold"),
    "receiving-hot": N_("Receiving, hot"),
    "receiving-shell-eggs": N_("Receiving, shell eggs"),
}
"""The parts of a limits file, as people call them, in the order in which they are read aloud."""

_STANDING = {
    Standing.LAW: N_("law"),
    Standing.MODEL_CODE: N_("a model code, in force where a jurisdiction adopted it"),
    Standing.GUIDANCE: N_("guidance, not law"),
    Standing.PLAN: N_("a plan of one's own, not law"),
}
_NOT_SEEN = {
    Confidence.SECONDARY: N_("NOT SEEN in its own text, only in a summary or a copy by others"),
    Confidence.MEMORY: N_("NOT SEEN in print at all"),
}


def heading(limits: Limits) -> list[str]:
    """Return what a code is, in a few lines."""
    made_from = f" What it does not say, {limits.base} says." if limits.base is not None else ""
    return [
        f"{limits.title} ({limits.edition})",
        f"{limits.authority}. This is {_(_STANDING[limits.standing])}.{made_from}",
        "Not confirmed with your authority: ask it which edition and which local changes are in force.",
    ]


def sentences(limits: Limits) -> Iterator[str]:
    """Give every figure of a code in a sentence, and say where it has none."""
    figures = limits.figures()
    for part, name in NAMES.items():
        for figure in (figure for named, figure in figures if named == part):
            yield f"{name}, {figure.clause}: {figure.requires}. {how_read(figure)}"
        without = limits.no_figure.get(part)
        if without is not None:
            yield _without(name, without)


def not_seen(limits: Limits) -> int:
    """Return how many figures of a code were not read in its own text."""
    return sum(figure.confidence is not Confidence.SEEN for _part, figure in limits.figures())


def how_read(figure: Cited) -> str:
    """Say where a figure was read, or that it was not."""
    places = "; ".join(figure.read_at)
    if figure.confidence is Confidence.SEEN:
        return _("Read on {day} in {places}.").format(day=written_day(figure.read_on), places=places)
    return f"{_(_NOT_SEEN[figure.confidence])}, {written_day(figure.read_on)}: {places}."


def _without(name: str, without: NoFigure) -> str:
    return f"{name}, {without.clause}: no figure. {without.says}"
