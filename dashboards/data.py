"""What the pages ask, and what they record. Pages never see the store itself."""

import os
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import lru_cache, wraps
from pathlib import Path
from typing import Any, ParamSpec, TypeVar

import streamlit as st

from dashboards.parts import sheet
from holdwatch import clock
from holdwatch.alerts.acts import act as handle
from holdwatch.calculators.answer import Answer
from holdwatch.errors import ConfigError, HoldwatchError, RefusedError
from holdwatch.language import _, degrees, many, speaking, spoken
from holdwatch.limits import Limits
from holdwatch.people.handling import Act, Disposition, Stage
from holdwatch.people.roles import PersonRole, Right, may
from holdwatch.plan.in_use import in_use_ms
from holdwatch.readings import Medium
from holdwatch.recordfile import DateOrder
from holdwatch.records import labels
from holdwatch.records.labels import LabelWanted
from holdwatch.settings import DEFAULT_DATA, FILE_NAME, PREFIX, Settings, load_settings
from holdwatch.storage import doors, handover, register
from holdwatch.storage import parts as store_parts
from holdwatch.storage.batching import batches_near as near_batches
from holdwatch.storage.batching import latest_batches, products_made
from holdwatch.storage.engine import Store, open_store
from holdwatch.storage.findings import finding_numbered
from holdwatch.storage.handling import Signer, right_needed
from holdwatch.storage.inforce import limits_of
from holdwatch.storage.logger_files import Imported, import_file
from holdwatch.storage.people import people as people_of
from holdwatch.storage.people import person_named
from holdwatch.storage.people_tables import Person
from holdwatch.storage.planned import in_use_by_plan, start_planned
from holdwatch.storage.products import product_at, products_in_force
from holdwatch.storage.refusals import keep_refusal
from holdwatch.storage.signing import require_pin, signing
from holdwatch.storage.tables import Batch, EventKind
from holdwatch.views import batches as batch_views
from holdwatch.views import findings as finding_views
from holdwatch.views import review
from holdwatch.views import status as status_views
from holdwatch.views import units as unit_views
from holdwatch.views.model import BatchView, FindingView, SiteView, SystemView, UnitView
from holdwatch.views.site import site_view

P = ParamSpec("P")
R = TypeVar("R")


@lru_cache(maxsize=4)
def _store(url: str) -> Store:
    """Open the store once a server; also what stands outside of Streamlit's pages asks for it."""
    return open_store(url)


@lru_cache(maxsize=4)
def _settings(_given: frozenset[tuple[str, str]], _directory: Path, _written: tuple[int, int] | None) -> Settings:
    """Load the settings once for an environment and a file: pages ask dozens of times a second."""
    return load_settings()


def settings() -> Settings:
    """Return the settings in force for this server, read anew once the environment or their file has changed."""
    given = {name: value for name, value in os.environ.items() if name.upper().startswith(PREFIX)}
    data = next((value for name, value in given.items() if name.upper() == f"{PREFIX}DATA"), DEFAULT_DATA)
    try:
        found = (Path(data).expanduser() / FILE_NAME).stat()
        written = found.st_mtime_ns, found.st_size
    except OSError:
        written = None
    return _settings(frozenset(given.items()), Path.cwd(), written)


def store() -> Store:
    """Return the store of this server."""
    return _store(settings().store_url)


def now_ms() -> int:
    """Return the present instant; pages ask here so that tests can set it."""
    return clock.now_ms()


# ---------------------------------------------------------------- questions


def site() -> SiteView:
    """Return the site as it is set now."""
    with store().read() as session:
        return site_view(session)


def limits_in_force() -> Limits:
    """Return the limits that the site is held to now, as they were read when they were set."""
    with store().read() as session:
        return limits_of(session, register.site_at(session, None))


@st.cache_resource(ttl=1.0, max_entries=12)
def _running(url: str, language: str, scale: str) -> list[BatchView]:
    with speaking(language, scale), _store(url).read() as session:
        return batch_views.running(session, clock.now_ms())


def running() -> list[BatchView]:
    """Return the running batches, the most pressing first; at most one second old, however many screens ask."""
    return _running(settings().store_url, spoken(), degrees())


@st.cache_resource(ttl=5.0, max_entries=12)
def _unit_rows(url: str, language: str, scale: str) -> list[UnitView]:
    with speaking(language, scale), _store(url).read() as session:
        return list(unit_views.unit_rows(session, clock.now_ms()))


def unit_rows() -> list[UnitView]:
    """Return every unit with its last day."""
    return _unit_rows(settings().store_url, spoken(), degrees())


@st.cache_resource(ttl=1.0, max_entries=12)
def _system(url: str, language: str, scale: str) -> SystemView:
    with speaking(language, scale), _store(url).read() as session:
        return status_views.system_view(session, clock.now_ms())


def system() -> SystemView:
    """Return how the program itself is doing."""
    return _system(settings().store_url, spoken(), degrees())


def batch(batch_id: int) -> BatchView | None:
    """Return one batch whole, or ``None`` if there is none of that number."""
    with store().read() as session:
        return batch_views.batch_view(session, batch_id, now_ms())


def batches_named(text: str, limit: int) -> list[tuple[int, str, str, int, int | None, str]]:
    """Return (id, product, lot, started, ended, outcome) of the latest batches with a text in product or lot. [ms]."""
    with store().read() as session:
        return _told_of(latest_batches(session, limit, text))


def batches_near(text: str, limit: int) -> list[tuple[int, str, str, int, int | None, str]]:
    """Return the same of the latest batches whose product or lot is written nearly so. [ms]."""
    with store().read() as session:
        return _told_of(near_batches(session, limit, text))


def _told_of(rows: list[Batch]) -> list[tuple[int, str, str, int, int | None, str]]:
    return [(b.id or 0, b.product, b.lot, b.started_ms, b.ended_ms, b.outcome) for b in rows]


def unit(unit_id: int, first_ms: int, last_ms: int) -> UnitView | None:
    """Return one unit over a span, or ``None`` if there is none of that number."""
    with store().read() as session:
        return unit_views.unit_view(session, unit_id, first_ms, last_ms, now_ms())


def findings(*, newest: int) -> list[FindingView]:
    """Return every finding that is open or wants somebody, and so many of the newest others; the open ones first."""
    with store().read() as session:
        return finding_views.findings_page(session, newest, now_ms())


def finding(finding_id: int) -> FindingView | None:
    """Return one finding with every version and alert, or ``None`` if there is none of that number."""
    with store().read() as session:
        return finding_views.finding_view(session, finding_id, now_ms())


def growth_review(finding_id: int) -> Answer:
    """Return how much worse a finding may have got, for a manager's review.

    Raises
    ------
    ConfigError
        If it is open, nobody has recorded what became of the food, or no food was measured.
    """
    with store().read() as session:
        return review.growth_review(session, finding_numbered(session, finding_id))


def probes() -> list[tuple[str, str]]:
    """Return (code, medium) of every probe."""
    with store().read() as session:
        return [(p.code, p.medium) for p in register.probes(session)]


def units() -> list[tuple[int, str]]:
    """Return (id, name) of every unit."""
    with store().read() as session:
        return [(u.id or 0, u.name) for u in register.units(session)]


def products() -> list[str]:
    """Return the products of the plan in force, then others that batches were made of; of each, the latest made first."""
    with store().read() as session:
        made = products_made(session)
        plan = [product.name for product in products_in_force(session, now_ms())]
    planned = [name for name in made if name in plan]
    return list(dict.fromkeys([*planned, *plan, *made]))


@st.cache_data(ttl=30.0, max_entries=4)
def _names(url: str) -> list[str]:
    with _store(url).read() as session:
        noted = register.events(session, since_ms=clock.now_ms() - 14 * clock.MS_PER_DAY)
    counted = Counter(event.by for event in noted if event.by)
    return [name for name, _ in counted.most_common(12)]


def names() -> list[str]:
    """Return who has recorded something in the last two weeks, the busiest first."""
    return _names(settings().store_url)


def people() -> list[str]:
    """Return the names of those who work here and may record; none where nobody has been entered yet."""
    with store().read() as session:
        return [person.name for person in people_of(session) if may(PersonRole(person.role), Right.RECORD)]


@st.cache_resource(ttl=1.0, max_entries=4)
def _somebody_records(url: str) -> bool:
    with _store(url).read() as session:
        return any(may(PersonRole(person.role), Right.RECORD) for person in people_of(session))


def somebody_records() -> bool:
    """Return whether anybody who may record has been entered; each row of a list of findings asks."""
    return _somebody_records(settings().store_url)


def hours_in_use(lot: str) -> tuple[float | None, bool]:
    """Return for how long food of a batch may be in use [h], and whether the plan says so; else as it last was.

    ``None`` where the plan says nothing of it and it never was in use.
    """
    with store().read() as session:
        batch = register.batch_named(session, lot)
        product, by_plan = batch.product, in_use_by_plan(session, batch)
        if by_plan:
            return in_use_ms(by_plan) / clock.MS_PER_HOUR, True
        for event in reversed(register.events(session, kinds=[EventKind.IN_USE])):
            used = None if event.batch_id is None else session.get(Batch, event.batch_id)
            if used is not None and used.product == product:
                return float(event.facts["for_ms"]) / clock.MS_PER_HOUR, False
    return None, False


def free_probes() -> dict[str, str]:
    """Return the food probes that watch no running batch, each with the unit it would be taken out of, if any."""
    with store().read() as session:
        placed = {p.probe_id: p for p in register.placements(session, open_only=True)}
        names = {u.id: u.name for u in register.units(session)}
        found = {}
        for probe in register.probes(session):
            stands = placed.get(probe.id or 0)
            if probe.medium == Medium.FOOD and (stands is None or stands.batch_id is None):
                found[probe.code] = names.get(stands.unit_id, "") if stands is not None else ""
    return dict(sorted(found.items(), key=lambda item: (item[1] != "", item[0])))


def inbox_path() -> Path | None:
    """Return the pretended phone of the demonstration, if this is one."""
    path = Path(settings().data) / "inbox.jsonl"
    return path if path.exists() else None


# ---------------------------------------------------------------- what people record


def told(action: Callable[P, R]) -> Callable[P, R | None]:
    """Show a refused entry in words where it was made, never a traceback."""

    @wraps(action)
    def wrapper(*args: P.args, **kwargs: P.kwargs) -> R | None:
        try:
            _allow(kwargs)
            return action(*args, **kwargs)
        except RefusedError as exc:
            keep_refused(exc, action.__name__, place="screen")
            st.error(sheet.plain(exc))
        except HoldwatchError as exc:
            st.error(sheet.plain(exc))
        return None

    return wrapper


def signed_by(by: str, pin: str, right: Right) -> Person | None:
    """Return whose PIN is right and who may do it; ``None`` while nobody has been entered.

    Raises
    ------
    ConfigError
        If no PIN was given, it is not theirs, or the role does not allow it; a try is kept.
    """
    with store().read() as session:
        if not people_of(session):
            return None
        person = person_named(session, by)
    if not pin:
        raise ConfigError(_("this is signed with your PIN"))
    return require_pin(store(), person, pin, right, place="screen", now_ms=now_ms())


@contextmanager
def set_up(by: str, pin: str) -> Iterator[tuple[Any, int]]:
    """Write, at one instant [ms], what a manager sets up; where people have been entered, every entry of it is signed.

    Raises
    ------
    ConfigError
        If nobody is named, and as `signed_by` does.
    """
    if not by:
        raise ConfigError(_("say who you are"))
    now, manager = now_ms(), signed_by(by, pin, Right.SET_UP)
    with store().write() as session, signing(session, manager, now_ms=now):
        yield session, now
    _forget()


def _allow(said: dict[str, Any]) -> None:
    """Refuse what may not be recorded on the browser of this page; see `signedin.allow`."""
    from dashboards import signedin  # it asks this module

    unsigned = said.get("disposition") in {Disposition.DISCARD, Disposition.HOLD}
    signedin.allow(said.get("by"), pin=said.get("pin"), unsigned=unsigned)


def keep_refused(exc: RefusedError, what: str, *, place: str) -> None:
    """Keep a try that was refused."""
    what = exc.what or what.replace("_", " ")
    keep_refusal(store(), who=exc.who, what=what, place=place, why=str(exc), now_ms=now_ms())


def _forget() -> None:
    """Let the next question see what was just recorded."""
    _running.clear()
    _unit_rows.clear()
    _system.clear()
    _names.clear()
    _somebody_records.clear()


@told
def start_batch(
    *,
    product: str,
    lot: str,
    vessels: int,
    amount: str = "",
    probe: str | None,
    by: str,
    at_ms: int,
    slowest: bool = True,
    processes: tuple[str, ...] = (),
) -> int:
    """Start a batch, and place a probe in its first vessel if one is named; return its id."""
    with store().write() as session:
        now = now_ms()
        row, _ = start_planned(
            session,
            product=product,
            lot=lot,
            vessels=vessels,
            amount=amount,
            processes=processes,
            at_ms=at_ms,
            now_ms=now,
            by=by,
        )
        if probe:
            register.place(
                session,
                register.probe_named(session, probe),
                batch=row,
                vessel=1,
                slowest=slowest,
                at_ms=at_ms,
                now_ms=now,
                by=by,
            )
        batch_id = row.id or 0
    _forget()
    return batch_id


@told
def place_probe(lot: str, probe: str, *, vessel: int, slowest: bool, by: str, at_ms: int) -> bool:
    """Place a probe in a vessel of a batch."""
    with store().write() as session:
        register.place(
            session,
            register.probe_named(session, probe),
            batch=register.batch_named(session, lot),
            vessel=vessel,
            slowest=slowest,
            at_ms=at_ms,
            now_ms=now_ms(),
            by=by,
        )
    _forget()
    return True


@told
def take_out(probe: str, *, by: str, at_ms: int) -> bool:
    """Take a probe out of what it watches."""
    with store().write() as session:
        register.take_out(session, register.probe_named(session, probe), at_ms=at_ms, now_ms=now_ms(), by=by)
    _forget()
    return True


@told
def note(lot: str, kind: EventKind, *, by: str, at_ms: int, **more: Any) -> bool:
    """Record something about a batch: left the heat, moved, a reading by hand, an answer, a note, what was done."""
    with store().write() as session:
        unit_name = more.pop("unit", None)
        if unit_name:
            more["unit"] = register.unit_named(session, unit_name)
        register.note(session, register.batch_named(session, lot), kind, at_ms=at_ms, now_ms=now_ms(), by=by, **more)
    _forget()
    return True


def recorded_act(
    finding_id: int,
    act: Act,
    *,
    by: str,
    pin: str,
    may_be_unsigned: bool,
    disposition: Disposition | None = None,
    text: str = "",
    check_min: int | None = None,
    replaces_id: int | None = None,
    place: str = "screen",
) -> Stage:
    """Record what somebody did about a finding, with their PIN where people are entered; return where it stands now.

    With `replaces_id` it stands in the place of that entry, which stays readable; a correction always takes the PIN.

    Raises
    ------
    HoldwatchError
        If it is refused; the message says why.
    """
    now = now_ms()
    with store().read() as session:
        finding = finding_numbered(session, finding_id)
        person = person_named(session, by) if people_of(session) else None
    signed = False
    if person is not None and pin:
        right = right_needed(finding, act, disposition)
        person, signed = require_pin(store(), person, pin, right, place=place, now_ms=now), True
    elif person is not None and (replaces_id is not None or not may_be_unsigned):
        raise RefusedError(
            _("This needs {person}'s PIN. Food can be thrown away, or set apart, without one.").format(
                person=person.name
            ),
            who=person.name,
            what=" ".join(filter(None, (act.value, disposition))),
        )
    with store().write() as session:
        finding = finding_numbered(session, finding_id)
        signer = Signer(by if person is None else person.name, person, signed=signed)
        stage = handle(
            session,
            finding,
            act,
            signer,
            at_ms=now,
            now_ms=now,
            base_url=settings().base_url,
            disposition=disposition,
            text=text,
            check_ms=None if check_min is None else now + check_min * clock.MS_PER_MINUTE,
            replaces_id=replaces_id,
        ).stage
    _forget()
    return stage


record_act = told(recorded_act)
"""The same, with a refusal shown where it was made."""


def usual_place(product: str) -> str:
    """Return where a product usually stands when it is put in store, by the plan; empty where it does not say."""
    with store().read() as session:
        planned = product_at(session, product, now_ms())
    steps = () if planned is None else planned.steps
    return next((step.place for step in reversed(steps) if step.place and step.step in {"store", "hold"}), "")


@told
def unit_at_door(code: str) -> str:
    """Return the name of the unit on whose door a code stands."""
    with store().read() as session:
        return doors.unit_at_door(session, code).name


@told
def moved_to_door(lot: str, code: str, *, by: str, at_ms: int) -> str:
    """Record that a batch was put into the unit on whose door a code stands; return the unit's name, and that."""
    with store().write() as session:
        unit = doors.unit_at_door(session, code)
        register.note(
            session,
            register.batch_named(session, lot),
            EventKind.MOVED,
            at_ms=at_ms,
            now_ms=now_ms(),
            by=by,
            unit=unit,
            facts=doors.AT_THE_DOOR,
        )
    _forget()
    return _("{unit}, confirmed at the door").format(unit=unit.name)


@told
def hand_over(lot: str, *, to: str, celsius: float | None, vessel: int | None, by: str, at_ms: int) -> bool:
    """Record that a batch was handed over, with the temperature that was taken then."""
    with store().write() as session:
        batch = register.batch_named(session, lot)
        handover.hand_over(session, batch, to=to, celsius=celsius, vessel=vessel, at_ms=at_ms, now_ms=now_ms(), by=by)
    _forget()
    return True


@told
def read_back(
    lot: str, file: Path, *, logger: str, medium: str, by: str, dates: DateOrder | None = None, leave_out: bool = False
) -> str:
    """Keep the readings of a logger that was in a batch; return what came of it."""
    found = handover.read_back(
        store(), file, lot, logger=logger, medium=medium, dates=dates, leave_out=leave_out, now_ms=now_ms(), by=by
    )
    _forget()
    return _came_of(found, lot)


@told
def read_file(
    file: Path,
    *,
    logger: str,
    medium: str,
    unit: str | None,
    by: str,
    dates: DateOrder | None = None,
    leave_out: bool = False,
) -> str:
    """Keep the readings of a logger that stood in a unit, or of a probe; return what came of it."""
    found = import_file(
        store(),
        file,
        logger=logger,
        medium=medium,
        unit=unit,
        dates=dates,
        leave_out=leave_out,
        now_ms=now_ms(),
        by=by,
    )
    _forget()
    return _came_of(found, unit or logger)


def _came_of(found: Imported, whose: str) -> str:
    left = found.file.rejected
    out = "; " + many("{count} row left out", "{count} rows left out", len(left)) if left else ""
    return _("{readings} readings of {file} are kept for {whose}{left_out}; SHA-256 {digest}…").format(
        readings=len(found.file.series),
        file=found.file.name,
        whose=whose,
        left_out=out,
        digest=found.file.digest[:12],
    )


@told
def label_pdf(lot: str, *, kind: str, size: str, copies: int) -> bytes:
    """Return the labels of a batch, or the cooling tags of its vessels, as a PDF."""
    wanted = LabelWanted([lot], "cooling-tag" if kind == "cooling-tag" else "label", size, copies=copies)
    return labels.label_pdf(store(), wanted, now_ms=now_ms(), base_url=settings().base_url)


@told
def divide_batch(lot: str, part: str, *, by: str, at_ms: int) -> bool:
    """Divide some of a batch off into another one of this lot."""
    with store().write() as session:
        batch = register.batch_named(session, lot)
        store_parts.divide_batch(session, batch, lot=part, at_ms=at_ms, now_ms=now_ms(), by=by)
    _forget()
    return True


@told
def add_part(lot: str, part: str, *, by: str, at_ms: int) -> bool:
    """Record that food of one batch came into another."""
    with store().write() as session:
        batch, other = register.batch_named(session, lot), register.batch_named(session, part)
        store_parts.add_part(session, batch, other, at_ms=at_ms, now_ms=now_ms(), by=by)
    _forget()
    return True


def running_lots() -> list[tuple[str, str]]:
    """Return product and lot of the batches that run, latest first."""
    with store().read() as session:
        return [(batch.product, batch.lot) for batch in reversed(register.batches(session, running_only=True))]


@told
def end_batch(lot: str, *, outcome: str, by: str, at_ms: int) -> bool:
    """End a batch, saying what became of it."""
    with store().write() as session:
        register.end_batch(
            session, register.batch_named(session, lot), outcome=outcome, at_ms=at_ms, now_ms=now_ms(), by=by
        )
    _forget()
    return True
