"""Is the record whole? The chain, what the rows hold, the seals and their signatures, held against each other.

What it can find: a line, a row or a reading that was changed, taken out, put in or swapped since it was recorded. What
it cannot: an older copy of the whole store looks whole, and so does one whose last lines were cut off. Only a digest
that has left the machine (on a paper, in a witness file) tells these apart; without one the answer says so.
"""

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from sqlmodel import Session, SQLModel, col, func, select

from holdwatch.clock import MS_PER_DAY
from holdwatch.language import N_, _, many
from holdwatch.storage.chain import chained_tables, content_of, key_of_row
from holdwatch.storage.chain_tables import LateReading, Link, Seal, ThinnedDay
from holdwatch.storage.engine import Store
from holdwatch.storage.sealing import day_of, first_ms_of, readings_between, signed_text, split
from holdwatch.storage.spoken import on_site_clock
from holdwatch.storage.tables import Probe, Reading
from holdwatch.storage.thinning import digest_of_verdicts
from holdwatch.trust.keys import is_signed
from holdwatch.trust.lines import NOTHING_BEFORE, canonical, digest_of, read_line
from holdwatch.trust.merkle import root_of

__all__ = ["Problem", "Thinned", "Verified", "verify"]

KINDS = (N_("altered"), N_("missing"), N_("added"), N_("cut off"))
"""What can have become of something."""
SHORTEST = 16
"""How many hex digits of a digest tell it from all others: as many as stand at the foot of a page."""
_PAGE = 5_000
_READ_MS = 30 * MS_PER_DAY
Told = Callable[[str], None]


@dataclass(frozen=True)
class Problem:
    """Something that is not as it was recorded."""

    kind: str
    """One of `KINDS`."""
    where: str
    what: str


@dataclass(frozen=True)
class Thinned:
    """A sealed day of which readings were taken away, and are said to have been."""

    probe: str
    day: str
    taken: int
    left: int
    by: str
    at_ms: int


@dataclass
class Verified:
    """What was looked at, and what is not whole."""

    lines: int = 0
    head: str = NOTHING_BEFORE
    rows: int = 0
    seals: int = 0
    sealed: int = 0
    """Readings under a seal."""
    unsealed: int = 0
    """Readings that no seal is over yet."""
    keys: list[str] = field(default_factory=list)
    """The public halves of the keys that signed, in the order in which they were first used."""
    thinned: list[Thinned] = field(default_factory=list)
    """Days whose readings were thinned as the chain says, and are as they were left."""
    outside: dict[str, int] = field(default_factory=dict)
    """Digests from outside, and the line of the chain that each is of."""
    problems: list[Problem] = field(default_factory=list)

    @property
    def whole(self) -> bool:
        """Whether nothing was found."""
        return not self.problems

    @property
    def held_until(self) -> int:
        """The last line that a digest from outside is of, or follows; 0 where none is."""
        return max(self.outside.values(), default=0)


def verify(store: Store, outside: Sequence[str] = (), told: Told | None = None) -> Verified:
    """Hold the whole record against its chain and its seals.

    Parameters
    ----------
    outside : digests of the chain that left the machine, in hex; the first `SHORTEST` digits of one are enough.
    told : is called with what is being looked at.
    """
    found = Verified()
    say = told or (lambda __: None)
    with store.read() as session:
        say(_("the chain"))
        latest, digests = _walk(session, found)
        _hold_outside(found, outside, digests)
        say(_("the rows"))
        _hold_rows(session, found, latest)
        for number, probe in enumerate(session.exec(select(Probe).order_by(col(Probe.id))).all(), start=1):
            say(_("the readings of {probe}, probe {number}").format(probe=probe.code, number=number))
            _hold_readings(session, found, probe, digests)
        _hold_strays(session, found)
    return found


# ---------------------------------------------------------------- the chain


def _walk(session: Session, found: Verified) -> tuple[dict[tuple[str, str], str | None], list[str]]:
    """Return the content that the last line of each row names, and the digest of every line."""
    latest: dict[tuple[str, str], str | None] = {}
    digests, previous = [NOTHING_BEFORE], NOTHING_BEFORE
    for link in _links(session):
        where = _("line {line} of the chain ({row})").format(line=link.position, row=f"{link.table_name} {link.row}")
        expected = len(digests)
        if link.position != expected:
            found.problems.append(
                Problem(
                    "missing",
                    _("line {line} of the chain").format(line=expected),
                    _("the next one is {line}").format(line=link.position),
                )
            )
            digests.extend([""] * (link.position - expected))
        problem = _wrong_with(link, previous if link.position == expected else None)
        if problem:
            found.problems.append(Problem("altered", where, problem))
        try:
            content = read_line(link.text).content
            latest[link.table_name, link.row] = None if content is None else canonical(dict(content))
        except ValueError:
            latest[link.table_name, link.row] = None
        previous = digest_of(link.text)
        digests.append(previous)
    found.lines, found.head = len(digests) - 1, previous
    if not found.lines:
        found.problems.append(Problem("missing", _("the chain"), _("it has not a single line")))
    latest.pop(("chain", "begun"), None)
    return latest, digests


def _links(session: Session) -> Iterator[Link]:
    after = 0
    while page := session.exec(
        select(Link).where(Link.position > after).order_by(col(Link.position)).limit(_PAGE)
    ).all():
        yield from page
        after = page[-1].position
        session.expunge_all()


def _wrong_with(link: Link, previous: str | None) -> str:
    """Return what is wrong with a line, empty where nothing is."""
    try:
        line = read_line(link.text)
    except ValueError:
        return _("its text is no line of a chain")
    if line.text() != link.text or digest_of(link.text) != link.digest:
        return _("its text is not the one that was digested")
    if (line.position, line.table, line.row) != (link.position, link.table_name, link.row):
        return _("its text is of line {line} ({row})").format(line=line.position, row=f"{line.table} {line.row}")
    if previous is not None and line.previous != previous:
        return _("it does not follow the line before it: that one was changed, or another stood there")
    return ""


def _hold_outside(found: Verified, outside: Sequence[str], digests: Sequence[str]) -> None:
    for digest in outside:
        given = digest.strip().lower()
        begins = [position for position, known in enumerate(digests) if position and known.startswith(given)]
        if begins and len(given) >= SHORTEST:
            found.outside[given] = begins[0]
        else:
            where = _("the digest {digest} from outside").format(digest=f"{given[:16]}…")
            what = _(
                "no line has it: an older copy was put back, lines were cut off or changed, or it is of another store"
            )
            found.problems.append(Problem("cut off", where, what))


# ---------------------------------------------------------------- the rows


def _hold_rows(session: Session, found: Verified, latest: dict[tuple[str, str], str | None]) -> None:
    """Hold every row against its last line; what is left over of the lines has lost its row."""
    for name, table in chained_tables().items():
        for row in _rows(session, table):
            found.rows += 1
            key = name, key_of_row(row)
            if key not in latest:
                found.problems.append(Problem("added", f"{name} {key[1]}", _("the chain has no line of it")))
                continue
            said = latest.pop(key)
            changed = _changed(said, content_of(row), table)
            if changed:
                found.problems.append(Problem("altered", f"{name} {key[1]}", changed))
    for (name, row_key), said in latest.items():
        if said is not None:
            found.problems.append(Problem("missing", f"{name} {row_key}", _("its last line says that it is there")))


def _changed(said: str | None, holds: Mapping[str, Any], table: type[SQLModel]) -> str:
    """Return which columns hold something else than the chain says; a column that it does not know holds its default."""
    if said is None:
        return _("the chain says that it was taken away")
    known = json.loads(said)
    now = json.loads(canonical(dict(holds)))
    differ = [name for name in known if name not in now or now[name] != known[name]]
    for name in now.keys() - known.keys():
        default = table.model_fields[name].default
        if now[name] not in (None, default, "", 0, False, [], {}):
            differ.append(name)
    return _("not what was recorded: {columns}").format(columns=", ".join(sorted(differ))) if differ else ""


def _rows(session: Session, table: type[SQLModel]) -> Iterator[SQLModel]:
    result = session.exec(select(table).execution_options(yield_per=_PAGE))
    for part in result.partitions():
        yield from part
        session.expunge_all()


# ---------------------------------------------------------------- the readings


def _hold_readings(session: Session, found: Verified, probe: Probe, digests: Sequence[str]) -> None:
    """Hold the readings of a probe against its seals."""
    probe_id = int(probe.id or 0)
    days: dict[str, list[Seal]] = {}
    for seal in session.exec(select(Seal).where(Seal.probe_id == probe_id).order_by(col(Seal.day), col(Seal.part))):
        days.setdefault(seal.day, []).append(seal)
        _hold_seal(found, probe, seal, digests)
    passed = max(days, default="")
    for row in session.exec(select(ThinnedDay).where(ThinnedDay.probe_id == probe_id).order_by(col(ThinnedDay.day))):
        days[row.day] = _as_left(session, found, probe, row, days.get(row.day, []))
    waiting: dict[str, list[tuple[int, float, int]]] = {}
    query = select(LateReading.at_ms, LateReading.celsius, LateReading.flags).where(LateReading.probe_id == probe_id)
    for at_ms, celsius, flags in session.exec(query):
        waiting.setdefault(day_of(at_ms), []).append((at_ms, celsius, flags))
    for day, readings in _by_day(session, probe_id):
        if day > passed:
            found.unsealed += len(readings)
            continue
        late = waiting.get(day, [])
        found.unsealed += len(late)
        under = 0
        for seal, own in split(readings, days.pop(day, []), late):
            under += len(own)
            if len(own) != seal.count or root_of(own) != seal.root:
                found.problems.append(_not_as_sealed(session, probe, seal, len(own)))
        found.sealed += under
        if under + len(late) < len(readings):
            what = many(
                "{count} reading is under no seal, though later days are sealed",
                "{count} readings are under no seal, though later days are sealed",
                len(readings) - under - len(late),
            )
            found.problems.append(Problem("added", _day(probe, day), what))
    for day, seals in days.items():
        found.problems.extend(
            Problem(
                "missing",
                _day(probe, day),
                many("its {count} sealed reading", "its {count} sealed readings", s.count),
            )
            for s in seals
            if s.count
        )


def _as_left(session: Session, found: Verified, probe: Probe, row: ThinnedDay, seals: Sequence[Seal]) -> list[Seal]:
    """Return what the readings of a thinned day are held against: what was left, and what was sealed afterwards."""
    before = [seal for seal in seals if seal.part <= row.part]
    where = _("the thinning of probe {probe}, {day}").format(probe=probe.code, day=row.day)
    if [seal.root for seal in before] != row.roots or sum(s.count for s in before) != row.taken + row.left_count:
        found.problems.append(Problem("altered", where, _("it is not of the readings that were sealed")))
    if digest_of_verdicts(session, row.probe_id, row.day) != row.verdicts:
        found.problems.append(Problem("altered", where, _("the verdicts of the day are not those that stood then")))
    found.thinned.append(Thinned(probe.code, row.day, row.taken, row.left_count, row.by, row.thinned_ms))
    left = Seal(
        probe_id=row.probe_id,
        day=row.day,
        part=0,
        count=row.left_count,
        root=row.left_root,
        head=0,
        head_digest="",
        key="",
        signature="",
        sealed_ms=row.thinned_ms,
    )
    return [left, *(seal for seal in seals if seal.part > row.part)]


def _hold_seal(found: Verified, probe: Probe, seal: Seal, digests: Sequence[str]) -> None:
    found.seals += 1
    where = _("the seal of probe {probe}, {day}").format(probe=probe.code, day=seal.day)
    if seal.key not in found.keys:
        found.keys.append(seal.key)
    if not is_signed(seal.key, seal.signature, signed_text(seal)):
        found.problems.append(Problem("altered", where, _("its signature is not over what it says")))
    if seal.head >= len(digests) or digests[seal.head] != seal.head_digest:
        what = _("line {line} of the chain is not the one that it names").format(line=seal.head)
        found.problems.append(Problem("altered", where, what))


def _not_as_sealed(session: Session, probe: Probe, seal: Seal, count: int) -> Problem:
    where = _day(probe, seal.day)
    when = (_("sealed {time}") if seal.key else _("left by thinning {time}")).format(
        time=on_site_clock(session, seal.sealed_ms)
    )
    said = {"count": abs(seal.count - count), "sealed": seal.count, "when": when}
    if count < seal.count:
        return Problem("missing", where, _("{count} of {sealed} readings ({when})").format(**said))
    if count > seal.count:
        return Problem("added", where, _("{count} readings more than {sealed} ({when})").format(**said))
    return Problem("altered", where, _("its {sealed} readings are not the same ({when})").format(**said))


def _day(probe: Probe, day: str) -> str:
    return _("probe {probe}, {day}").format(probe=probe.code, day=day)


def _by_day(session: Session, probe_id: int) -> Iterator[tuple[str, Any]]:
    """Give the readings of a probe, a UTC day at a time."""
    span = select(func.min(Reading.at_ms), func.max(Reading.at_ms)).where(Reading.probe_id == probe_id)
    first, last = session.exec(span).one()
    if first is None or last is None:
        return
    from_ms = first_ms_of(day_of(first))
    while from_ms <= last:
        kept, second = readings_between(session, probe_id, from_ms, from_ms + _READ_MS)
        days = np.unique(kept["at_ms"] // MS_PER_DAY)
        for number in days.tolist():
            ends = [number * MS_PER_DAY, (number + 1) * MS_PER_DAY]
            parts = [part[slice(*np.searchsorted(part["at_ms"], ends))] for part in (kept, second)]
            yield day_of(ends[0]), np.concatenate(parts)
        from_ms += _READ_MS


def _hold_strays(session: Session, found: Verified) -> None:
    """Find readings of probes that are not registered."""
    query = select(Reading.probe_id).where(col(Reading.probe_id).not_in(select(Probe.id))).limit(1)
    stray = session.exec(query).first()
    if stray is not None:
        found.problems.append(
            Problem("added", _("readings of a probe {number}").format(number=stray), _("there is no such probe"))
        )
