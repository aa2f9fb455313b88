"""A small kitchen to watch: Linden Street Patisserie, with virtual time and readings written in one line."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any, Self

from holdwatch.clock import MS_PER_MINUTE, to_ms
from holdwatch.quantities import celsius_of_f
from holdwatch.storage import register
from holdwatch.storage.engine import Store, open_store
from holdwatch.storage.findings import findings
from holdwatch.storage.readings import NewReading, write_readings
from holdwatch.storage.states import clause_states
from holdwatch.storage.tables import Batch, ClauseState, EventKind, Finding, Probe, Unit
from holdwatch.watch.loop import Watch

T0 = to_ms(datetime(2026, 11, 24, 15, 0, tzinfo=UTC))
"""Tuesday 24 November 2026, 08:00 in Denver."""
MIN = MS_PER_MINUTE
HOUR = 60 * MIN
DAY = 24 * HOUR
Pair = tuple[int, float]


def minutes(*temperatures_f: float, start_ms: int = T0, every_ms: int = MIN) -> list[Pair]:
    """Give one reading after another, in °F, as (instant, °C)."""
    return [(start_ms + n * every_ms, celsius_of_f(f)) for n, f in enumerate(temperatures_f)]


def straight(first_f: float, last_f: float, length_min: int, *, start_ms: int = T0, every_min: int = 1) -> list[Pair]:
    """Give readings along a straight line, both ends included."""
    steps = length_min // every_min
    values = [first_f + (last_f - first_f) * n / max(steps, 1) for n in range(steps + 1)]
    return minutes(*values, start_ms=start_ms, every_ms=every_min * MIN)


def cooling(
    length_min: int,
    *,
    from_f: float = 150,
    around_f: float = 34,
    half_min: float = 50,
    start_ms: int = T0,
    every_min: int = 1,
) -> list[Pair]:
    """Give the readings of food that loses half of its distance to the surroundings in so many minutes."""
    ages = range(0, length_min + 1, every_min)
    values = [around_f + (from_f - around_f) * 0.5 ** (age / half_min) for age in ages]
    return minutes(*values, start_ms=start_ms, every_ms=every_min * MIN)


def _watch(store: Store) -> Watch:
    """Return a watch that has nobody to give way to."""
    return Watch(store, "http://127.0.0.1:8501", pause_ms=0, give_way=lambda _: None)


@dataclass
class Kitchen:
    """A store with a site, and its watch."""

    store: Store
    watch: Watch
    probes: dict[str, Probe] = field(default_factory=dict)
    units: dict[str, Unit] = field(default_factory=dict)

    @classmethod
    def on(cls, url: str, *, migrate: bool = False, zero_ms: int = T0) -> Self:
        """Open a store and set its site."""
        store = open_store(url, migrate=migrate)
        with store.write() as session:
            register.set_site(
                session,
                name="Linden Street Patisserie",
                timezone="America/Denver",
                limits="us-food-code-2022",
                unit="F",
                from_ms=zero_ms - 40 * DAY,
                now_ms=zero_ms - 40 * DAY,
                by="test",
            )
        return cls(store, _watch(store))

    def restart(self) -> None:
        """Forget all that the watch keeps in memory."""
        self.watch = _watch(self.store)

    def limits(self, limits: str, zero_ms: int = T0) -> None:
        """Let other limits be in force."""
        with self.store.write() as session:
            register.set_site(
                session,
                name="Linden Street Patisserie",
                timezone="America/Denver",
                limits=limits,
                unit="F",
                from_ms=zero_ms - 39 * DAY,
                now_ms=zero_ms - 39 * DAY,
                by="test",
            )

    def probe(self, code: str, medium: str = "food") -> Probe:
        """Add a probe."""
        with self.store.write() as session:
            self.probes[code] = register.add_probe(session, code, medium=medium, now_ms=T0 - 30 * DAY, by="test")
        return self.probes[code]

    def unit(self, name: str, kind: str, *codes: str, at_ms: int = T0) -> Unit:
        """Add a unit with probes placed in it."""
        with self.store.write() as session:
            self.units[name] = register.add_unit(session, name, kind, now_ms=T0 - 30 * DAY, by="test")
            for code in codes:
                register.place(session, self.probes[code], unit=self.units[name], at_ms=at_ms, now_ms=at_ms, by="test")
        return self.units[name]

    def batch(self, lot: str, *codes: str, at_ms: int = T0, vessels: int = 1, step: str = "cool", **more: Any) -> Batch:
        """Start a batch with a probe in each of its first vessels."""
        with self.store.write() as session:
            batch = register.start_batch(
                session,
                product="Pastry cream",
                lot=lot,
                vessels=vessels,
                step=step,
                at_ms=at_ms,
                now_ms=at_ms,
                by="test",
                **more,
            )
            for number, code in enumerate(codes, start=1):
                register.place(
                    session, self.probes[code], batch=batch, vessel=number, at_ms=at_ms, now_ms=at_ms, by="test"
                )
        return batch

    def note(self, batch: Batch, kind: EventKind, at_ms: int, **more: object) -> None:
        """Note something of a batch."""
        with self.store.write() as session:
            merged = session.merge(batch)
            register.note(session, merged, kind, at_ms=at_ms, now_ms=at_ms, by="test", **more)  # type: ignore[arg-type]

    def arrive(self, code: str, readings: Iterable[Pair], now_ms: int) -> None:
        """Let readings of a probe arrive."""
        probe_id = self.probes[code].id or 0
        new = [NewReading(probe_id, at_ms, celsius, now_ms) for at_ms, celsius in readings]
        with self.store.write() as session:
            write_readings(session, new, now_ms)

    def rounds(self, now_ms: int) -> None:
        """Go round until nothing is left to do at this instant."""
        self.watch.catch_up(now_ms)

    def found(self, *, open_only: bool = False) -> list[Finding]:
        """Return the findings, oldest first."""
        with self.store.read() as session:
            return findings(session, open_only=open_only)

    def verdicts(self) -> dict[tuple[str, str, str], str]:
        """Return the latest verdicts by subject, day and clause."""
        with self.store.read() as session:
            return {(row.subject, row.day, row.clause): row.verdict for row in clause_states(session)}

    def clauses(self) -> Sequence[ClauseState]:
        """Return the latest verdicts as rows."""
        with self.store.read() as session:
            return clause_states(session)
