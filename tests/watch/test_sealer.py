"""Sealing beside the rounds of the watch."""

from pathlib import Path

import pytest

from holdwatch.clock import MS_PER_DAY
from holdwatch.errors import ConfigError
from holdwatch.records.verify import verify
from holdwatch.storage.engine import Store, open_store, store_url
from holdwatch.storage.ids import id_of
from holdwatch.storage.readings import NewReading, write_readings
from holdwatch.storage.sealing import SETTLE_MS
from holdwatch.storage.witness import witnessed
from holdwatch.watch.sealer import AT_ONCE, EVERY_MS, Sealer
from tests.storage.kitchen import NOW, open_kitchen

DAYS = AT_ONCE + 2
TODAY = NOW - NOW % MS_PER_DAY
NIGHT = TODAY + SETTLE_MS


@pytest.fixture
def store(tmp_path: Path) -> Store:
    """A kitchen with six days of a reading each."""
    opened = open_store(store_url(tmp_path, None), migrate=True)
    with opened.write() as session:
        probe = id_of(open_kitchen(session).food)
        at = [TODAY - day * MS_PER_DAY for day in range(1, DAYS + 1)]
        write_readings(session, [NewReading(probe, each, 4.0, each) for each in at], NOW)
    return opened


def test_a_backlog_is_sealed_a_little_at_a_time(store: Store, tmp_path: Path) -> None:
    """Then it looks once a minute; and the head leaves the machine when all is sealed."""
    witness = tmp_path / "witness.jsonl"
    sealer = Sealer(store, tmp_path, witness)
    assert sealer.go_on(NIGHT, 0) == AT_ONCE
    assert not witness.exists()
    assert sealer.go_on(NIGHT, 1) == DAYS - AT_ONCE
    found = verify(store, list(witnessed(witness)))
    assert (found.whole, found.held_until == found.lines, found.sealed) == (True, True, DAYS)
    before = witness.read_text()
    assert sealer.go_on(NIGHT, EVERY_MS + 1) == 0
    assert witness.read_text() == before
    store.close()


def test_it_does_not_look_at_every_round(store: Store, tmp_path: Path) -> None:
    """A minute between two looks: the day is over only once a day."""
    sealer = Sealer(store, tmp_path)
    assert sealer.go_on(TODAY - MS_PER_DAY * DAYS, 0) == 0
    assert sealer.go_on(NIGHT, EVERY_MS - 1) == 0
    assert sealer.go_on(NIGHT, EVERY_MS) == AT_ONCE
    store.close()


def test_a_witness_that_cannot_be_written_is_tried_again(store: Store, tmp_path: Path) -> None:
    """The seals are made all the same, and the head is told when the place is back."""
    witness = tmp_path / "stick" / "witness.jsonl"
    sealer = Sealer(store, tmp_path, witness)
    sealer.go_on(NIGHT, 0)
    with pytest.raises(ConfigError, match="cannot be written"):
        sealer.go_on(NIGHT, 1)
    witness.parent.mkdir()
    assert sealer.go_on(NIGHT, 1 + EVERY_MS) == 0
    found = verify(store, list(witnessed(witness)))
    assert (found.sealed, found.held_until == found.lines) == (DAYS, True)
    store.close()
