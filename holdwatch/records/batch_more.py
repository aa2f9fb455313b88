"""What a batch record has beside the log's pages of a batch: its probes, its parts, and its discard times."""

from typing import Any

from sqlmodel import Session

from holdwatch.records.setting import Setting
from holdwatch.storage.parts import parts_of, put_into
from holdwatch.storage.tables import Batch
from holdwatch.views.discard import discard_times
from holdwatch.views.model import BatchView

__all__ = ["batch_more"]


def batch_more(session: Session, batch: Batch, view: BatchView, setting: Setting) -> dict[str, Any]:
    """Gather it; the discard times of a batch that ended are those that its labels had until then."""
    as_of_ms = setting.now_ms if batch.ended_ms is None else min(setting.now_ms, batch.ended_ms - 1)
    at = setting.times.at
    return {
        "probes": [
            [
                f"{each.vessel} of {view.vessels}",
                f"{each.probe}, {each.medium}" + (", declared the slowest" if each.slowest else ""),
                at(each.from_ms),
                at(each.to_ms, none="still in it"),
                each.by or "not told",
            ]
            for each in view.placements
        ],
        "discard": [
            [each.words(setting.timezone), each.clause, each.why, each.source]
            for each in discard_times(session, batch, as_of_ms)
        ],
        "parts": [
            *_named(session, "in it", parts_of(session, view.id), setting),
            *_named(session, "went into", put_into(session, view.id), setting),
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
            f"ended {setting.times.at(each.ended_ms)}, {each.outcome}"
            if each.ended_ms is not None
            else "still running",
        ]
        for each in found
    ]
