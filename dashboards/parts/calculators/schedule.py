"""When to begin a cake, for it to be ready in time."""

from datetime import UTC, datetime, timedelta
from functools import partial
from zoneinfo import ZoneInfo

import streamlit as st

from dashboards import data
from dashboards.parts import forms, pictures
from dashboards.parts.calculators import fields, places
from holdwatch.calculators.answer import Answer
from holdwatch.calculators.cakes import known_cakes, read_cake
from holdwatch.calculators.schedule import schedule_answer
from holdwatch.calculators.scheduling import schedule
from holdwatch.clock import MS_PER_SECOND, to_datetime
from holdwatch.language import _
from holdwatch.views.model import SiteView

__all__ = ["ahead", "draw"]


def ahead(text: str, zone: str, now_ms: int) -> int:
    """Read a time that may lie ahead; a bare time of day is the next one. Returns ms.

    Raises
    ------
    ConfigError
        If it is no time.
    """
    at_ms = forms.read_time(text, zone, now_ms)
    if "-" in text or at_ms >= now_ms:
        return at_ms
    last = to_datetime(at_ms).astimezone(ZoneInfo(zone)).date()
    return forms.read_time(f"{last + timedelta(days=1)} {text}", zone, now_ms)


def draw(site: SiteView) -> None:
    """Ask for the cake and when it is served, or when its layers came out, and show when to begin what."""
    now_ms = data.now_ms()
    cake = st.selectbox(
        _("Cake"),
        list(known_cakes()),
        index=None,
        key="schedule-cake",
        format_func=lambda name: _(read_cake(name).title),
    )
    left, right = st.columns(2)
    with left:
        serve = fields.optional(
            _("Served at"),
            "schedule-serve",
            partial(ahead, zone=site.zone, now_ms=now_ms),
            hint=_("18:00, or 2026-11-28 18:00"),
        )
    with right:
        out = fields.optional(
            _("Layers out of the oven at (if they are)"),
            "schedule-out",
            partial(forms.read_time, zone=site.zone, now_ms=now_ms),
            hint="09:40",
        )
    known = places.ask(site)
    if cake is None or serve.wrong or out.wrong or known is None or (serve.value is None and out.value is None):
        return
    read = read_cake(cake)

    def ask() -> Answer:
        limits = data.limits_in_force()
        plan = schedule(read, limits, serve_ms=serve.value, layers_out_ms=out.value, earliest_ms=now_ms, celsius=known)
        return schedule_answer(read, plan, limits, ZoneInfo(site.zone))

    fields.show(ask, lambda answer: _picture(answer, ZoneInfo(site.zone)))


def _picture(answer: Answer, zone: ZoneInfo) -> pictures.Picture | None:
    """Draw the steps on the clock of the kitchen's wall; there are none where it cannot be done."""
    if not answer.data["steps"]:
        return None
    return pictures.spans(
        [
            pictures.Span(row[0], _on_the_wall(step["from"], zone), _on_the_wall(step["to"], zone))
            for row, step in zip(answer.rows, answer.data["steps"], strict=True)
        ],
        title=_("Time of day"),
        clock=True,
    )


def _on_the_wall(iso: str, zone: ZoneInfo) -> float:
    """Return what the clock on the wall shows at an instant, as if it stood in UTC. [ms]."""
    return datetime.fromisoformat(iso).astimezone(zone).replace(tzinfo=UTC).timestamp() * MS_PER_SECOND
