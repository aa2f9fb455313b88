"""Seals over the readings of a day, and supplements over what came late."""

import struct
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from sqlmodel import select

from holdwatch.clock import MS_PER_DAY, MS_PER_HOUR, MS_PER_MINUTE
from holdwatch.storage.chain import head
from holdwatch.storage.chain_tables import LateReading, Link, Seal
from holdwatch.storage.engine import Store
from holdwatch.storage.ids import id_of
from holdwatch.storage.readings import NewReading, write_readings
from holdwatch.storage.sealing import (
    SETTLE_MS,
    day_of,
    first_ms_of,
    readings_of,
    seal_next,
    seals_of,
    signed_text,
    split,
)
from holdwatch.trust.keys import is_signed, key_in
from holdwatch.trust.lines import read_line
from holdwatch.trust.merkle import root_of
from tests.storage.kitchen import NOW, open_kitchen

DAY = NOW - NOW % MS_PER_DAY - MS_PER_DAY  # yesterday's first instant
TODAY = DAY + MS_PER_DAY


@pytest.fixture
def key(tmp_path: Path) -> Ed25519PrivateKey:
    """The key of the seals."""
    return key_in(tmp_path)


@pytest.fixture
def probe(store: Store) -> int:
    """A food probe with a reading each hour of yesterday and the first of today."""
    with store.write() as session:
        probe = id_of(open_kitchen(session).food)
    _write(store, probe, [DAY + hour * MS_PER_HOUR for hour in range(25)])
    return probe


def _write(store: Store, probe: int, instants: list[int], celsius: float = 4.0, received_ms: int | None = None) -> None:
    with store.write() as session:
        readings = [NewReading(probe, at, celsius, received_ms or at + 50) for at in instants]
        write_readings(session, readings, max(instants))


def _seal_all(store: Store, key: Ed25519PrivateKey, now_ms: int) -> list[Seal]:
    made = []
    while (seal := seal_next(store, key, now_ms)) is not None:
        made.append(seal)
    return made


def _named(packed: str) -> tuple[int, float, int, int]:
    """Return instant, value, lag and flags of a reading that a supplement names."""
    return struct.unpack(">qdqh", bytes.fromhex(packed))


def _whole(store: Store, probe: int, day: str) -> bool:
    """Whether every seal of a day is over what the store holds."""
    with store.read() as session:
        waiting = session.exec(select(LateReading.at_ms, LateReading.celsius, LateReading.flags)).all()
        pairs = split(readings_of(session, probe, day), seals_of(session, probe, day), [tuple(w) for w in waiting])
    return all(root_of(readings) == seal.root and len(readings) == seal.count for seal, readings in pairs)


def test_a_day_is_sealed_when_it_has_settled(store: Store, key: Ed25519PrivateKey, probe: int) -> None:
    """Two hours after its end, not a millisecond before; and once."""
    assert _seal_all(store, key, TODAY + SETTLE_MS - 1) == []
    (seal,) = _seal_all(store, key, TODAY + SETTLE_MS)
    assert (seal.probe_id, seal.day, seal.part, seal.count, seal.late) == (probe, day_of(DAY), 0, 24, [])
    assert _whole(store, probe, seal.day)
    assert _seal_all(store, key, TODAY + SETTLE_MS) == []


def test_a_seal_is_signed_and_in_the_chain(store: Store, key: Ed25519PrivateKey, probe: int) -> None:
    """It names the line that was the last, and is the content of the next."""
    with store.read() as session:
        before = head(session)
    (seal,) = _seal_all(store, key, TODAY + SETTLE_MS)
    assert probe == seal.probe_id
    assert (seal.head, seal.head_digest) == before
    assert is_signed(seal.key, seal.signature, signed_text(seal))
    changed = seal.model_copy(update={"count": 23})
    assert not is_signed(seal.key, seal.signature, signed_text(changed))
    with store.read() as session:
        link = session.get_one(Link, before[0] + 1)
    content = read_line(link.text).content
    assert content is not None
    assert content["root"] == seal.root


def test_what_comes_late_gets_a_supplement(store: Store, key: Ed25519PrivateKey, probe: int) -> None:
    """The first seal still is over what it was made of; also while the late reading waits for its supplement."""
    _seal_all(store, key, TODAY + SETTLE_MS)
    day, received = day_of(DAY), TODAY + 3 * MS_PER_HOUR
    late = [DAY + hour * MS_PER_HOUR + 30 * MS_PER_MINUTE for hour in range(3)]
    _write(store, probe, late, 5.5, received)
    assert _whole(store, probe, day)
    (supplement,) = _seal_all(store, key, received)
    assert (supplement.part, supplement.count) == (1, 3)
    assert [_named(each)[0] for each in supplement.late] == late
    assert _whole(store, probe, day)
    _write(store, probe, [DAY + 1], 6.0, received)
    assert [(seal.part, seal.count) for seal in _seal_all(store, key, received)] == [(2, 1)]
    assert _whole(store, probe, day)


def test_a_second_value_at_a_sealed_instant_gets_a_supplement(store: Store, key: Ed25519PrivateKey, probe: int) -> None:
    """It is kept beside the first, and sealed beside it."""
    _seal_all(store, key, TODAY + SETTLE_MS)
    _write(store, probe, [DAY], 9.0, TODAY + 3 * MS_PER_HOUR)
    (supplement,) = _seal_all(store, key, TODAY + 3 * MS_PER_HOUR)
    assert [_named(each) for each in supplement.late] == [(DAY, 9.0, TODAY + 3 * MS_PER_HOUR - DAY, 0x100)]
    assert _whole(store, probe, day_of(DAY))


def test_a_day_that_came_whole_after_later_ones(store: Store, key: Ed25519PrivateKey, probe: int) -> None:
    """A device that was away brings a day that was never sealed: a supplement without a first seal."""
    _seal_all(store, key, TODAY + SETTLE_MS)
    _write(store, probe, [DAY - MS_PER_HOUR, DAY - 1], 4.5, TODAY + 3 * MS_PER_HOUR)
    (supplement,) = _seal_all(store, key, TODAY + 3 * MS_PER_HOUR)
    assert (supplement.day, supplement.part, supplement.count) == (day_of(DAY - 1), 1, 2)
    assert _whole(store, probe, supplement.day)


def test_days_without_readings_have_no_seal(store: Store, key: Ed25519PrivateKey, probe: int) -> None:
    """Each day of each probe that has any, the earliest first."""
    _write(store, probe, [TODAY + 3 * MS_PER_DAY])
    made = _seal_all(store, key, TODAY + 5 * MS_PER_DAY)
    assert [seal.day for seal in made] == [day_of(DAY), day_of(TODAY), day_of(TODAY + 3 * MS_PER_DAY)]


def test_an_altered_reading_is_no_longer_under_its_seal(store: Store, key: Ed25519PrivateKey, probe: int) -> None:
    """By the last bit of one value."""
    from sqlalchemy import text

    _seal_all(store, key, TODAY + SETTLE_MS)
    with store.write() as session:
        change = text("UPDATE reading SET celsius = 4.000000000000001 WHERE at_ms = :at")
        session.connection().execute(change, {"at": DAY + MS_PER_HOUR})
    assert not _whole(store, probe, day_of(DAY))


@pytest.mark.parametrize("day", ["1970-01-01", "2024-02-29", "2026-11-25"])
def test_days_and_their_first_instants(day: str) -> None:
    """There and back; the end of a day is not the next one."""
    first_ms = first_ms_of(day)
    assert (day_of(first_ms), day_of(first_ms + MS_PER_DAY - 1)) == (day, day)
    assert day_of(first_ms + MS_PER_DAY) > day
