"""A batch that leaves the house: handed over, and its logger read back afterwards.

The verdicts follow from FDA Food Code 2022, 3-501.16(A)(2): 41 °F or less, and 20 min (ours) the largest gap.
"""

from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path

import pytest

from holdwatch.clock import to_iso
from holdwatch.errors import ConfigError, NameTakenError
from holdwatch.storage.engine import store_url
from holdwatch.storage.events import events
from holdwatch.storage.handover import hand_over, read_back
from holdwatch.storage.logger_files import MOST_BYTES
from holdwatch.storage.placing import placements
from holdwatch.storage.register import end_batch, probes
from holdwatch.storage.tables import Batch, EventKind
from tests.watch.kitchen import HOUR, MIN, T0, Kitchen, Pair, straight

COLD = "3-501.16(A)(2)"


@pytest.fixture
def kitchen(tmp_path: Path) -> Iterator[Kitchen]:
    """A cake that left at 08:00 and was eaten at 13:00; nobody measured it meanwhile."""
    found = Kitchen.on(store_url(tmp_path, None), migrate=True)
    batch = found.batch("K1", processes=["cold-holding"])
    with found.store.write() as session:
        shared = {"at_ms": T0, "now_ms": T0, "by": "Ines"}
        hand_over(session, session.merge(batch), to="Blue Spruce Hotel", celsius=3.5, **shared)  # type: ignore[arg-type]
    with found.store.write() as session:
        cake = session.get_one(Batch, 1)
        end_batch(session, cake, outcome="served", at_ms=T0 + 5 * HOUR, now_ms=T0 + 5 * HOUR, by="Ines")
    found.rounds(T0 + 5 * HOUR)
    yield found
    found.store.close()


def _file(tmp_path: Path, pairs: list[Pair], name: str = "logger.csv") -> Path:
    lines = ["time,temperature_c", *(f"{to_iso(at)},{celsius}" for at, celsius in pairs)]
    file = tmp_path / name
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return file


def _read(kitchen: Kitchen, file: Path, now_ms: int = T0 + 6 * HOUR) -> None:
    read_back(kitchen.store, file, "K1", logger="logger-7", now_ms=now_ms, by="Ines")
    kitchen.rounds(now_ms)


def _cold(kitchen: Kitchen) -> str:
    (verdict,) = {row.verdict for row in kitchen.clauses() if row.clause == COLD}
    return verdict


def test_what_nobody_measured_on_the_way_is_not_shown(kitchen: Kitchen) -> None:
    """The reading at the door is one reading; the five hours after it are more than one check shows (4 h, ours) and are not shown."""
    assert _cold(kitchen) == "unproven"
    with kitchen.store.read() as session:
        over, reading = (events(session, batch_id=1, kinds=[k]) for k in (EventKind.HANDED_OVER, EventKind.READING))
    assert over[0].text == "to Blue Spruce Hotel"
    assert reading[0].celsius == 3.5


@pytest.mark.parametrize(("warmest_f", "verdict"), [(40, "met"), (44, "missed")])
def test_logger_that_is_read_back_judges_again(
    kitchen: Kitchen, tmp_path: Path, warmest_f: float, verdict: str
) -> None:
    """Its readings are late readings of the batch: what was not shown is kept, or a deviation."""
    _read(kitchen, _file(tmp_path, straight(38, warmest_f, 300, every_min=5)))
    assert _cold(kitchen) == verdict


def test_readings_are_marked_with_where_they_come_from(kitchen: Kitchen, tmp_path: Path) -> None:
    """File, digest, logger and who; the logger was in the batch no longer than its readings and the batch last."""
    file = _file(tmp_path, straight(38, 38, 400, start_ms=T0 - HOUR, every_min=5))
    found = read_back(kitchen.store, file, "K1", logger="logger-7", now_ms=T0 + 6 * HOUR, by="Ines")
    with kitchen.store.read() as session:
        (event,) = events(session, batch_id=1, kinds=[EventKind.READ_BACK])
        (placed,) = placements(session, batch_id=1)
    assert event.facts == {
        "file": "logger.csv",
        "sha256": sha256(file.read_bytes()).hexdigest(),
        "readings": 81,
        "logger": "logger-7",
        "first_ms": T0 - HOUR,
        "last_ms": T0 - HOUR + 400 * MIN,
    }
    assert (event.by, len(found.file.series), found.written.added) == ("Ines", 81, 81)
    assert (placed.from_ms, placed.to_ms) == (T0, T0 + 5 * HOUR)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("time,temperature_c\n2026-11-24T15:00:00Z,3\n2026-11-24T15:05:00Z,err\n", "line 3: not a number: 'err'"),
        ("time,temperature_c\n2026-11-24T15:00:00Z,3,5\n", "line 2"),
        ("when,what\n1,2\n", "the header needs one column time"),
        ("", "the file is empty"),
        ("time,temperature_c\n2026-11-25T15:00:00Z,3\n", "lie ahead"),
        ("time,temperature_c\n2026-11-20T15:00:00Z,3\n", "no reading from the time of batch"),
    ],
)
def test_file_that_is_no_record_is_refused_whole(kitchen: Kitchen, tmp_path: Path, text: str, said: str) -> None:
    """The line is named, and not one of its readings is kept."""
    file = tmp_path / "logger.csv"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(ConfigError, match=said.replace("(", r"\(")) as refused:
        _read(kitchen, file)
    assert str(tmp_path) not in str(refused.value)
    with kitchen.store.read() as session:
        assert placements(session, batch_id=1) == []
        assert events(session, batch_id=1, kinds=[EventKind.READ_BACK]) == []


def test_file_is_read_back_once(kitchen: Kitchen, tmp_path: Path) -> None:
    """The same file a second time is a mistake."""
    file = _file(tmp_path, straight(38, 38, 60, every_min=5))
    _read(kitchen, file)
    with pytest.raises(ConfigError, match="already read back"):
        _read(kitchen, file)


def test_file_that_is_too_large_is_refused_unread(kitchen: Kitchen, tmp_path: Path) -> None:
    """It says what to do."""
    file = tmp_path / "logger.csv"
    with file.open("wb") as made:
        made.truncate(MOST_BYTES + 1)
    with pytest.raises(ConfigError, match="cut it to the time of the batch"):
        _read(kitchen, file)


def test_logger_that_runs_later_is_still_the_batchs_own(kitchen: Kitchen, tmp_path: Path) -> None:
    """Lines in any order, and two readings a minute apart, give the same verdict."""
    pairs = straight(38, 40, 300, every_min=5)
    _read(kitchen, _file(tmp_path, pairs[::-1]), T0 + 6 * HOUR + MIN)
    assert _cold(kitchen) == "met"


def test_vessel_that_has_another_probe_refuses_the_file(kitchen: Kitchen, tmp_path: Path) -> None:
    """Before any of its readings is kept."""
    kitchen.probe("p1")
    kitchen.batch("K2", "p1", processes=["cold-holding"])
    file = _file(tmp_path, straight(38, 38, 60, every_min=5))
    with pytest.raises(NameTakenError, match="already has a probe"):
        read_back(kitchen.store, file, "K2", logger="logger-7", now_ms=T0 + HOUR, by="Ines")
    with kitchen.store.read() as session:
        assert [probe.code for probe in probes(session)] == ["p1"]
