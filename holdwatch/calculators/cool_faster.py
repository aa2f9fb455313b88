"""What would help: how long a food takes to cool, wherever it could be put, told side by side."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from holdwatch.calculators.answer import Answer, Basis
from holdwatch.calculators.cooling import DEPTH_OFF, INSIDE, Asked, body_of, depth_told, interval_told, stands
from holdwatch.calculators.cooling_places import PLACES, Shelf, Way, surroundings_of
from holdwatch.calculators.foods import Food
from holdwatch.errors import ConfigError, OutOfRangeError
from holdwatch.language import N_, _
from holdwatch.quantities import Scale, format_temperature
from holdwatch.science.cooling_time import DEPTH_LOW_M, Body, Interval, Pan, Pot, cooling_times

__all__ = ["CAUTION", "Cooling", "cool_faster_answer"]

CAUTION = N_(
    "An estimate of conduction alone, at the point that cools last; nine times of ten within its ends if the ranges under it are right. It shows no limit kept and makes none longer: only readings of the food do. A lid, a crowded shelf or a warm load makes it slower."
)
HOTTEST_C = 110.0
"""Food with water in it boils about there at the latest: hotter than this all through, it is not one of these foods."""
_SPLITS = (2, 4)


@dataclass(frozen=True)
class Cooling:
    """A food that is to be cooled, in what, and how warm it is everywhere."""

    food: Food
    depth_m: float
    container: Pan | Pot
    start_c: float
    celsius: Mapping[Way, float] = field(default_factory=dict)
    """Where somebody knows how cold a place is."""
    shelf: Shelf = Shelf.RACK


@dataclass(frozen=True)
class _Row:
    """One way to cool, with the time to each level."""

    told: str
    whole: tuple[Interval, ...]
    """From the start."""
    counted: tuple[Interval, ...]
    """As the limit counts it, where there is one."""
    words: tuple[str, ...]
    """Where it stands against the limit, where there is one."""


def cool_faster_answer(cooling: Cooling, asked: Sequence[Asked], scale: Scale = Scale.F, code: str = "") -> Answer:
    """Return how long the food takes to each level, wherever it could be put, the fastest first.

    Raises
    ------
    ConfigError
        If no level is below the start.
    OutOfRangeError
        If depth, container or a temperature is outside what the formula covers.
    """
    if not cooling.start_c <= HOTTEST_C:
        raise OutOfRangeError(_("the temperature at the start"), cooling.start_c, 0, HOTTEST_C, "°C")
    wanted = [each for each in asked if each.level.celsius < cooling.start_c]
    if not wanted:
        start = format_temperature(cooling.start_c, scale, 0)
        raise ConfigError(
            _("there is nothing to cool: no level asked is below {start}; name one, such as 41F").format(start=start)
        )
    rows = sorted(_rows(cooling, wanted, scale), key=lambda row: (row.whole[-1].middle, row.whole[0].middle))
    return Answer(
        says=_says(cooling, wanted, rows, scale),
        basis=_basis(cooling),
        heads=(_("Where"), *(each.told(cooling.start_c) for each in wanted)),
        rows=tuple((row.told, *_cells(row)) for row in rows),
        notes=tuple(_notes(cooling, wanted, code, scale)),
        caution=_(CAUTION),
        data=_data(cooling, wanted, rows, code),
    )


# ---------------------------------------------------------------- the ways


def _rows(cooling: Cooling, wanted: Sequence[Asked], scale: Scale) -> list[_Row]:
    whole = body_of(cooling.food, cooling.container, cooling.depth_m)
    found = [
        _row(cooling, wanted, whole, way, _(place.title))
        for way, place in PLACES.items()
        if way is not Way.STIRRED or cooling.food.stirs
    ]
    for pans in _SPLITS:
        depth_m = cooling.depth_m / pans
        if depth_m >= DEPTH_LOW_M:
            told = _("{place}, split into {count} such containers ({depth} deep)").format(
                place=_(PLACES[Way.WALK_IN].title), count=pans, depth=depth_told(depth_m, scale)
            )
            part = body_of(cooling.food, cooling.container, depth_m)
            found.append(_row(cooling, wanted, part, Way.WALK_IN, told))
    return found


def _row(cooling: Cooling, wanted: Sequence[Asked], body: Body, way: Way, told: str) -> _Row:
    around, start_c = surroundings_of(way, cooling.celsius.get(way), cooling.shelf), cooling.start_c
    whole = cooling_times(body, around, start_c, [each.level.celsius for each in wanted])
    counted = list(whole)
    for begins in {each.counted_from(start_c) for each in wanted if each.within} - {start_c}:
        which = [n for n, each in enumerate(wanted) if each.within and each.counted_from(start_c) == begins]
        times = cooling_times(body, around, start_c, [wanted[n].level.celsius for n in which], begins)
        for n, time in zip(which, times, strict=True):
            counted[n] = time
    words = ("" if not each.within else stands(time, each.within) for each, time in zip(wanted, counted, strict=True))
    return _Row(told, whole, tuple(counted), tuple(words))


# ---------------------------------------------------------------- telling


def _cells(row: _Row) -> list[str]:
    told = zip(row.counted, row.words, strict=True)
    return [f"{interval_told(time)}: {_(word)}" if word else interval_told(time) for time, word in told]


def _says(cooling: Cooling, wanted: Sequence[Asked], rows: Sequence[_Row], scale: Scale) -> str:
    fastest, last = rows[0], wanted[-1]
    start = format_temperature(cooling.start_c, scale, 0)
    what = _("{food}, {depth} deep, from {temperature}").format(
        food=_capital(_(cooling.food.title)), depth=depth_told(cooling.depth_m, scale), temperature=start
    )
    if math.isinf(fastest.whole[-1].middle):
        return _("{what}: nowhere here is it cold enough to count on {temperature}.").format(
            what=what, temperature=last.level
        )
    says = _("{what}: fastest {place}, at {temperature} after {length}.").format(
        what=what, place=fastest.told, temperature=last.level, length=interval_told(fastest.whole[-1])
    )
    if not any(fastest.words):
        return says
    inside = [row.told for row in rows if set(row.words) <= {"", INSIDE}]
    if not inside:
        return f"{says} {_('No way here lies inside every limit with all its uncertainty.')}"
    ways = _("Inside every limit with all its uncertainty: {places}.").format(places="; ".join(inside))
    return f"{says} {ways}"


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _basis(cooling: Cooling) -> Basis:
    food = cooling.food
    surfaces: dict[str, list[str]] = {}
    for place in PLACES.values():
        surfaces.setdefault(_(place.source), []).append(_(place.title))
    return Basis(
        formula=_(
            "conduction in a brick or short cylinder with a surface coefficient (series); stirred: exponential; properties after Choi and Okos"
        ),
        covers=_("depth 5 to 300 mm, container 2 cm to 1 m, start up to 110 °C, levels from 0 °C; unfrozen"),
        error=_(
            "depth ±{depth}, conductivity ±{conductivity}, heat capacity ±{capacity}, surroundings and surface between the ends of each place, added as squares"
        ).format(
            depth=f"{DEPTH_OFF:.0%}",
            conductivity=f"{food.conductivity_off:.0%}",
            capacity=f"{food.capacity_off:.0%}",
        ),
        source=_(
            "Incropera, sections 5.1, 5.5, 5.6; Choi and Okos 1986; {food}; surface coefficients in W/m²K: {surfaces}"
        ).format(
            food=_(food.source),
            surfaces="; ".join(f"{_(' and ').join(titles)}, {source}" for source, titles in surfaces.items()),
        ),
    )


def _notes(cooling: Cooling, wanted: Sequence[Asked], code: str, scale: Scale) -> list[str]:
    notes = []
    if any(each.within for each in wanted):
        notes.append(
            _("The limits, and from where their time counts, are those of {code}.").format(code=code or _("the code"))
        )
    celsius = {way: cooling.celsius.get(way, place.celsius) for way, place in PLACES.items()}
    below = [_(PLACES[way].title) for way in (Way.FREEZER, Way.BLAST) if celsius[way] < 0]
    if below:
        notes.append(
            _(
                "{places} the outside may freeze before the middle is cold; the slow end allows for it. Take it out in time."
            ).format(places=_capital(_(" and ").join(below)))
        )
    if cooling.food.turns_over > 1.0:
        notes.append(
            _("{food} turns over by itself while it is thin; the fast end allows for it.").format(
                food=_capital(_(cooling.food.title))
            )
        )
    if not cooling.food.stirs:
        notes.append(_("{food} is not stirred.").format(food=_capital(_(cooling.food.title))))
    places = ", ".join(
        f"{_(PLACES[way].title)} {format_temperature(at, scale, 0)}"
        for way, at in celsius.items()
        if way is not Way.STIRRED
    )
    shelf = _("on a rack, open to the air above and below") if cooling.shelf is Shelf.RACK else _("on a solid shelf")
    notes.append(
        _(
            "Taken to be: {places}; {shelf}, uncovered. Food and depth are the same in every row: their order is surer than their times."
        ).format(places=places, shelf=shelf)
    )
    return notes


def _data(cooling: Cooling, wanted: Sequence[Asked], rows: Sequence[_Row], code: str) -> dict[str, Any]:
    def hours(seconds: float) -> float | None:
        return None if math.isinf(seconds) else round(seconds / 3600, 3)

    def one(asked: Asked, whole: Interval, counted: Interval, word: str) -> dict[str, Any]:
        found = {
            "level": str(asked.level),
            "hours": hours(whole.middle),
            "earliest_hours": hours(whole.low),
            "latest_hours": hours(whole.high),
        }
        if asked.within is None:
            return found
        limit = {"clause": asked.clause, "within": str(asked.within), "counted_hours": hours(counted.middle)}
        return {**found, **limit, "estimate": word}

    return {
        "food": cooling.food.title,
        "depth_m": round(cooling.depth_m, 5),
        "start_c": round(cooling.start_c, 3),
        "limits": code or None,
        "confidence": 0.9,
        "ways": [
            {
                "where": row.told,
                "reaches": [one(*facts) for facts in zip(wanted, row.whole, row.counted, row.words, strict=True)],
            }
            for row in rows
        ],
    }
