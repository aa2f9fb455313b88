"""A limits file read aloud: every figure in a sentence, with its clause and how surely it was read."""

from collections.abc import Iterator

from holdwatch.limits.model import Cited, Confidence, Limits, NoFigure, Standing

__all__ = ["NAMES", "heading", "how_read", "not_seen", "sentences"]

NAMES = {
    "cooling": "Cooling",
    "ambient-cooling": "Cooling of food made at ambient temperature",
    "received-cooling": "Cooling of food received warmer",
    "cold-holding": "Cold holding",
    "hot-holding": "Hot holding",
    "frozen-storage": "Frozen storage",
    "shell-eggs": "Shell eggs",
    "time-control-4h": "Time control, 4 h",
    "time-control-6h": "Time control, 6 h",
    "time-control-from-room": "Time control from room temperature",
    "cumulative-time": "Added-up time",
    "cook-eggs": "Cooking eggs",
    "cook-eggs-to-order": "Cooking an egg to order",
    "reheating": "Reheating",
    "date-marking": "Date marking",
    "raw-egg": "Raw or undercooked egg",
    "raw-egg-susceptible": "Raw egg, for highly susceptible people",
    "raw-egg-time-control": "Raw egg under time control, for highly susceptible people",
    "receiving-cold": "Receiving, cold",
    "receiving-hot": "Receiving, hot",
    "receiving-shell-eggs": "Receiving, shell eggs",
}
"""The parts of a limits file, as people call them, in the order in which they are read aloud."""

_STANDING = {
    Standing.LAW: "law",
    Standing.MODEL_CODE: "a model code, in force where a jurisdiction adopted it",
    Standing.GUIDANCE: "guidance, not law",
    Standing.PLAN: "a plan of one's own, not law",
}
_NOT_SEEN = {
    Confidence.SECONDARY: "NOT SEEN in its own text, only in a summary or a copy by others",
    Confidence.MEMORY: "NOT SEEN in print at all",
}


def heading(limits: Limits) -> list[str]:
    """Return what a code is, in a few lines."""
    made_from = f" What it does not say, {limits.base} says." if limits.base is not None else ""
    return [
        f"{limits.title} ({limits.edition})",
        f"{limits.authority}. This is {_STANDING[limits.standing]}.{made_from}",
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
    return sum(figure.confidence is not Confidence.SEEN for _, figure in limits.figures())


def how_read(figure: Cited) -> str:
    """Say where a figure was read, or that it was not."""
    places = "; ".join(figure.read_at)
    if figure.confidence is Confidence.SEEN:
        return f"Read on {figure.read_on.isoformat()} in {places}."
    return f"{_NOT_SEEN[figure.confidence]}, {figure.read_on.isoformat()}: {places}."


def _without(name: str, without: NoFigure) -> str:
    return f"{name}, {without.clause}: no figure. {without.says}"
