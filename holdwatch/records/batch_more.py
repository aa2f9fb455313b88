"""What a batch record has beside the log's pages of a batch: its probes, its parts, and its discard times."""

from typing import Any

from sqlmodel import Session

from holdwatch.language import _
from holdwatch.records.setting import Setting
from holdwatch.storage.parts import parts_of, put_into
from holdwatch.storage.tables import Batch
from holdwatch.views.discard import discard_times
from holdwatch.views.model import BatchView
from holdwatch.views.words import medium, outcome_words

__all__ = ["batch_more"]


def batch_more(session: Session, batch: Batch, view: BatchView, setting: Setting) -> dict[str, Any]:
    """Gather it; the discard times of a batch that ended are those that its labels had until then."""
    as_of_ms = setting.now_ms if batch.ended_ms is None else min(setting.now_ms, batch.ended_ms - 1)
    at = setting.times.at
    return {
        "probes": [
            [
                _("{vessel} of {vessels}").format(vessel=each.vessel, vessels=view.vessels),
                f"{each.probe}, {medium(each.medium)}" + (f", {_('declared the slowest')}" if each.slowest else ""),
                at(each.from_ms),
                at(each.to_ms, none=_("still in it")),
                each.by or _("not told"),
            ]
            for each in view.placements
        ],
        "discard": [
            [each.words(setting.timezone), _(each.clause), each.why, _(each.source)]
            for each in discard_times(session, batch, as_of_ms)
        ],
        "parts": [
            *_named(session, _("in it"), parts_of(session, view.id), setting),
            *_named(session, _("went into"), put_into(session, view.id), setting),
        ],
    }


def _named(session: Session, how: str, numbers: list[int], setting: Setting) -> list[list[str]]:
    found = [session.get_one(Batch, number) for number in numbers]
    return [
        [
            how,
            each.lot,
            each.product,
            setting.times.at(each.started_ms),
            f"{_('ended {time}').format(time=setting.times.at(each.ended_ms))}, {outcome_words(each.outcome)}"
            if each.ended_ms is not None
            else _("still running"),
        ]
        for each in found
    ]
