"""What would cool a food faster."""

import math
from typing import Any

import streamlit as st

from dashboards import data
from dashboards.parts import pictures
from dashboards.parts.calculators import fields, places
from holdwatch.calculators.answer import Answer
from holdwatch.calculators.containers import read_container
from holdwatch.calculators.cool_faster import Cooling, cool_faster_answer
from holdwatch.calculators.cooling import asked_by
from holdwatch.calculators.cooling_places import Shelf
from holdwatch.calculators.foods import FOODS
from holdwatch.errors import ConfigError
from holdwatch.language import N_, _
from holdwatch.measures import length_m
from holdwatch.quantities import Scale
from holdwatch.views.model import SiteView

__all__ = ["draw"]

_SHELVES = {Shelf.RACK: N_("on a rack"), Shelf.SOLID: N_("on a solid shelf")}


def draw(site: SiteView) -> None:
    """Ask for the food, its depth and container, and show the ways to cool it side by side."""
    food = st.selectbox(
        _("Food"), list(FOODS), index=None, key="cool-faster-food", format_func=lambda name: _(FOODS[name].title)
    )
    left, right = st.columns(2)
    inches = site.scale is Scale.F
    with left:
        depth = fields.field(_("How deep it stands"), "cool-faster-depth", length_m, hint="2in" if inches else "5cm")
        start = fields.field(
            _("How warm all of it is (°{scale})").format(scale=site.scale),
            "cool-faster-start",
            fields.degrees(site),
            begins="135" if inches else "57",
        )
    with right:
        container = fields.field(
            _("In what ({examples})").format(examples="full-pan, half-pan, sheet-pan, bowl, round 8in, 20x12in"),
            "cool-faster-container",
            read_container,
            begins="full-pan",
        )
        shelf = st.radio(
            _("It stands"), list(_SHELVES), format_func=lambda each: _(_SHELVES[each]), key="cool-faster-shelf"
        )
    known = places.ask(site)
    if food is None or depth is None or start is None or container is None or known is None:
        return
    cooling = Cooling(FOODS[food], depth, container, start, known, Shelf(shelf))

    def ask() -> Answer:
        limits = data.limits_in_force()
        asked = asked_by(limits)
        if not asked:
            raise ConfigError(
                _("{limits} has no figure for cooling, so there is no level to compare to").format(limits=limits.title)
            )
        return cool_faster_answer(cooling, asked, site.scale, limits.title)

    fields.show(ask, _picture)


def _picture(answer: Answer) -> pictures.Picture:
    """Draw how long each way takes to the last level that is asked for; the fastest stands on top."""
    ways = answer.data["ways"]
    last = ways[0]["reaches"][-1]
    return pictures.spans(
        [
            pictures.Span(row[0], *_hours(way["reaches"][-1]))
            for row, way in zip(answer.rows, ways, strict=True)
            if way["reaches"][-1]["earliest_hours"] is not None
        ]
        or [pictures.Span(_("nowhere here"), 0.0, math.inf)],
        title=_("Hours until it is at {level}").format(level=last["level"]),
    )


def _hours(reach: dict[str, Any]) -> tuple[float, float, float | None]:
    latest = reach["latest_hours"]
    return reach["earliest_hours"], math.inf if latest is None else latest, reach["hours"]
