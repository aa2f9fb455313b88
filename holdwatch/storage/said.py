"""What may be said of a batch beside an instant: what it begins with, and what a note means."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from holdwatch.errors import ConfigError
from holdwatch.language import _
from holdwatch.storage.names import check_step
from holdwatch.storage.tables import EventKind

__all__ = [
    "DELIVERIES",
    "PURPOSES",
    "UNDER",
    "check_beginnings",
    "check_day",
    "check_food",
    "check_said",
    "step_of",
]

UNDER = ("time-control-4h", "time-control-6h", "time-control-from-room", "cumulative-time")
"""Under which process time counts in place of temperature."""
PURPOSES = ("hot-holding", "service")
"""What food is reheated for."""
DELIVERIES = ("receiving-cold", "receiving-hot", "receiving-shell-eggs")


def check_beginnings(processes: Sequence[str]) -> tuple[str, ...]:
    """Return what a batch begins with, as it was said; refuse what it cannot begin with."""
    from holdwatch.rules.life import BEGINNINGS

    known = [process.value for process in BEGINNINGS]
    for process in processes:
        if process not in known:
            raise ConfigError(
                _("a batch cannot begin with {process!r}: use {known}").format(process=process, known=", ".join(known))
            )
    return tuple(dict.fromkeys(processes))


def check_food(facts: Sequence[str]) -> tuple[str, ...]:
    """Return what was said of the food where raw egg matters; refuse what is unknown or contradicts itself."""
    from holdwatch.rules.raw_egg import Food

    known = [fact.value for fact in Food]
    for fact in facts:
        if fact not in known:
            raise ConfigError(_("nothing is known of {fact!r}: use {known}").format(fact=fact, known=", ".join(known)))
    eggs = [fact for fact in (Food.RAW_EGG, Food.PASTEURISED_EGG) if fact in facts]
    if eggs and Food.NO_EGG in facts:
        raise ConfigError(
            _("food cannot be {value} and {food} at once: say one of them").format(
                value=eggs[0].value, food=Food.NO_EGG.value
            )
        )
    return tuple(dict.fromkeys(facts))


def step_of(begins: Sequence[str]) -> str:
    """Return the step in which a batch begins."""
    if any(process.startswith("cook-") for process in begins):
        return "cook"
    return "cool" if any(process.endswith("cooling") for process in begins) else "hold"


def check_day(what: str, text: str) -> str:
    """Return a day as it is written in the calendar, or nothing."""
    try:
        return date.fromisoformat(text.strip()).isoformat() if text.strip() else ""
    except ValueError as exc:
        raise ConfigError(_("{text!r} is no {what}: write it as 2026-12-01").format(text=text, what=_(what))) from exc


def check_said(kind: EventKind, text: str, facts: Mapping[str, Any]) -> None:
    """Refuse words that a note of this kind cannot mean."""
    if kind is EventKind.STEP:
        check_step(text)
    if kind is EventKind.REHEATING and text not in {"", *PURPOSES}:
        raise ConfigError(
            _("food is not reheated for {text!r}: say {known}").format(text=text, known=_(" or ").join(PURPOSES))
        )
    if kind is EventKind.ALLERGENS:
        from holdwatch.plan.allergens import read_contains

        read_contains(text)
    if kind is EventKind.IN_USE:
        from holdwatch.plan.in_use import MOST_IN_USE_MS

        if not 0 < int(facts.get("for_ms", 0)) <= MOST_IN_USE_MS:
            raise ConfigError(
                _("say for how long it may be in use, of your own plan: as 4 h or 90 min, and no more than 7 days")
            )
    under, part = facts.get("under"), facts.get("part")
    if under is not None and under not in UNDER:
        raise ConfigError(
            _("time does not count under {under!r}: use one of {known}").format(under=under, known=", ".join(UNDER))
        )
    if facts.get("room_air") and under is None:
        raise ConfigError(_("the air of the room stands for the food under time control alone: say under which"))
    if part is not None and part not in DELIVERIES:
        raise ConfigError(
            _("no delivery is held against {part!r}: use one of {known}").format(part=part, known=", ".join(DELIVERIES))
        )
