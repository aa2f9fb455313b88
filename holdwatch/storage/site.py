"""The site, its units and its probes, and the corrections of what probes say."""

import math
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from sqlmodel import Session, col, or_, select

from holdwatch.errors import ConfigError, NameTakenError, StoreMissingError
from holdwatch.language import N_, _, decimals
from holdwatch.storage.arrivals import ArrivalKind, queue
from holdwatch.storage.events import record_event
from holdwatch.storage.hours import check_quiet
from holdwatch.storage.ids import id_of
from holdwatch.storage.inforce import keep_limits
from holdwatch.storage.look import asked_once
from holdwatch.storage.names import (
    check_choice,
    check_code,
    check_instant,
    check_language,
    check_medium,
    check_name,
    check_scale,
    check_topic,
    nearest,
    unknown,
)
from holdwatch.storage.tables import Answer, Correction, EventKind, Payload, Probe, SiteVersion, Unit, UnitKind
from holdwatch.storage.thinned import is_thinned

__all__ = [
    "add_correction",
    "add_probe",
    "add_unit",
    "probe_named",
    "probes",
    "set_site",
    "site_at",
    "unit_named",
    "units",
]

_SITE_FACTS = (
    "name",
    "timezone",
    "limits",
    "limits_digest",
    "unit",
    "authority",
    "raw_egg",
    "susceptible",
    "altitude",
    "language",
    "quiet",
)
_LARGEST_OFFSET_C = 50.0  # a probe farther off than this is broken, not to be corrected


def site_at(session: Session, at_ms: int | None) -> SiteVersion:
    """Return the site as it stood at an instant; ``None`` asks for the newest version.

    Before the first version the first one is taken: nothing earlier is known.

    Raises
    ------
    StoreMissingError
        If no site was ever set.
    """
    versions = _site_versions(session)
    if not versions:
        raise StoreMissingError(_("the store knows no site yet: run `holdwatch init --site NAME --timezone AREA/CITY`"))
    found = next((version for version in versions if at_ms is None or version.from_ms <= at_ms), None)
    first_ms = versions[-1].from_ms
    return found if found is not None else next(version for version in versions if version.from_ms == first_ms)


@asked_once
def _site_versions(session: Session) -> list[SiteVersion]:
    """Return every version of the site, the newest first; of two from one instant on, the one recorded last."""
    return list(session.exec(select(SiteVersion).order_by(col(SiteVersion.from_ms).desc(), col(SiteVersion.id).desc())))


def set_site(
    session: Session,
    *,
    from_ms: int,
    now_ms: int,
    by: str,
    name: str | None = None,
    timezone: str | None = None,
    limits: str | None = None,
    unit: str | None = None,
    authority: str | None = None,
    raw_egg: str | None = None,
    susceptible: str | None = None,
    altitude: str | None = None,
    language: str | None = None,
    quiet: str | None = None,
) -> SiteVersion:
    """Set the site from an instant on; what is ``None`` stays as it was, and earlier records keep what held then.

    Parameters
    ----------
    from_ms, now_ms : from when on it holds, and the present. [ms]
    by : who sets it.
    name, timezone, unit : what the site is called, its zone, and in which unit temperatures are shown.
    limits : a name or the path of a file; its text as it stands now is kept and governs until it is set again.
    authority : who inspects the site.
    raw_egg, susceptible : ``yes`` or ``no``: is raw or undercooked egg served, and are highly susceptible people?
    altitude : of the kitchen, such as ``5280ft``: where water boils depends on it.
    language : of alerts and papers, and of screens at which nobody is signed in, such as ``es``.
    quiet : hours such as ``22:00-05:00`` in which only that rings which can still be helped; empty for none.

    Raises
    ------
    ConfigError
        If the zone, the limits, the unit or an answer is unknown, or a new site lacks its name, zone or limits.
    """
    from_ms = check_instant(session, N_("the change"), from_ms, now_ms)
    first = session.exec(select(SiteVersion.id).limit(1)).first() is None
    before = SiteVersion(from_ms=0, name="", timezone="", limits="", by="", recorded_ms=0)
    if not first:
        before = site_at(session, from_ms)
    kept_as = before.limits_digest
    if limits is not None:
        from holdwatch.limits import whole_name  # it loads arrays; the register alone need not wait for them

        limits = whole_name(limits)
        kept_as = keep_limits(session, limits, now_ms)
    version = SiteVersion(
        from_ms=from_ms,
        name=check_name(N_("name of a site"), before.name if name is None else name),
        timezone=_check_zone(before.timezone if timezone is None else timezone),
        limits=before.limits if limits is None else limits,
        limits_digest=kept_as,
        unit=check_scale(before.unit if unit is None else unit),
        authority=before.authority if authority is None else _check_authority(authority),
        raw_egg=before.raw_egg if raw_egg is None else _check_answer(raw_egg),
        susceptible=before.susceptible if susceptible is None else _check_answer(susceptible),
        altitude=before.altitude if altitude is None else _check_altitude(altitude),
        language=before.language if language is None else check_language(language),
        quiet=before.quiet if quiet is None else check_quiet(quiet),
        by=by,
        recorded_ms=now_ms,
    )
    if not version.limits:
        raise ConfigError(_("a site is held against limits: name a code, or the path of a limits file"))
    session.add(version)
    facts = version.model_dump(include=set(_SITE_FACTS))
    record_event(session, EventKind.SITE_SET, at_ms=from_ms, now_ms=now_ms, by=by, text=version.name, facts=facts)
    queue(session, ArrivalKind.SITE, first_ms=from_ms, last_ms=max(from_ms, now_ms), now_ms=now_ms)
    return version


def add_unit(session: Session, name: str, kind: str, *, now_ms: int, by: str) -> Unit:
    """Add a walk-in, reach-in, display case and the like.

    Raises
    ------
    ConfigError
        If the kind is unknown.
    NameTakenError
        If there is a unit of that name, in whatever case of its letters.
    """
    name = check_name(N_("name of a unit"), name)
    for known in units(session):
        if known.name.casefold() == name.casefold():
            raise NameTakenError(
                _("there is already a unit called {known!r}: use another name").format(known=known.name)
            )
    unit = Unit(name=name, kind=check_choice(N_("kind of unit"), kind, UnitKind).value, added_ms=now_ms)
    session.add(unit)
    session.flush()
    record_event(
        session,
        EventKind.UNIT_ADDED,
        at_ms=now_ms,
        now_ms=now_ms,
        by=by,
        unit_id=unit.id,
        text=name,
        facts={"kind": kind},
    )
    return unit


def units(session: Session) -> list[Unit]:
    """Return every unit, in the order they were added."""
    return list(session.exec(select(Unit).order_by(col(Unit.id))))


def unit_named(session: Session, name: str) -> Unit:
    """Return a unit by name.

    Raises
    ------
    UnknownNameError
        If there is none; it lists near names.
    """
    found = session.exec(select(Unit).where(Unit.name == name.strip())).first()
    if found is None:
        raise unknown(N_("unit"), name, [unit.name for unit in units(session)])
    return found


def add_probe(
    session: Session,
    code: str,
    *,
    medium: str,
    payload: str = "number",
    topic: str | None = None,
    pointer: str = "",
    time_pointer: str = "",
    unit_pointer: str = "",
    senml_name: str = "",
    unit: str = "C",
    now_ms: int,
    by: str,
) -> Probe:
    """Add a probe and how it speaks; without a topic it publishes on ``holdwatch/<code>``.

    Raises
    ------
    ConfigError
        If a choice is unknown, or the code, the topic or a pointer is none.
    NameTakenError
        If a probe has that code or that topic.
    """
    probe = Probe(
        code=check_code(code),
        medium=check_medium(medium),
        payload=check_choice(N_("payload"), payload, Payload).value,
        topic=check_topic(f"holdwatch/{code}" if topic is None else topic),
        pointer=_check_pointer(pointer),
        time_pointer=_check_pointer(time_pointer),
        unit_pointer=_check_pointer(unit_pointer),
        senml_name=senml_name,
        unit=check_scale(unit),
        added_ms=now_ms,
    )
    clash = session.exec(select(Probe).where(or_(col(Probe.code) == code, col(Probe.topic) == probe.topic))).first()
    if clash is not None and clash.code == code:
        raise NameTakenError(_("there is already a probe {code!r}: use another code").format(code=code))
    if clash is not None:
        raise NameTakenError(
            _("probe {code!r} already publishes on topic {topic!r}: give --topic another one").format(
                code=clash.code, topic=probe.topic
            )
        )
    session.add(probe)
    session.flush()
    facts = {"medium": probe.medium, "payload": probe.payload, "topic": probe.topic}
    record_event(
        session, EventKind.PROBE_ADDED, at_ms=now_ms, now_ms=now_ms, by=by, probe_id=probe.id, text=code, facts=facts
    )
    return probe


def probes(session: Session) -> list[Probe]:
    """Return every probe, in the order they were added."""
    return list(session.exec(select(Probe).order_by(col(Probe.id))))


def probe_named(session: Session, code: str) -> Probe:
    """Return a probe by its code.

    Raises
    ------
    UnknownNameError
        If there is none; it lists near codes.
    """
    found = session.exec(select(Probe).where(Probe.code == code.strip())).first()
    if found is None:
        raise unknown(N_("probe"), code, [probe.code for probe in probes(session)])
    return found


def add_correction(
    session: Session,
    probe: Probe,
    *,
    from_ms: int,
    to_ms: int | None,
    offset_c: float,
    slope: float = 1.0,
    by: str,
    why: str,
    now_ms: int,
) -> Correction:
    """Correct what a probe says from an instant on, or over a span with both ends included.

    Raw values stay as they are; what counts is ``slope · raw + offset``. Where two corrections cover an instant the one
    recorded last counts: each is made from the raw value, and one of 0 takes an earlier one back.

    Raises
    ------
    ConfigError
        If the offset is no number, the span lies ahead or ends before it begins, or readings of it were thinned: what
        was found of them would stand beside other figures.
    """
    check_instant(session, N_("a correction"), from_ms, now_ms)
    if to_ms is not None and to_ms < from_ms:
        raise ConfigError(_("the span ends before it begins: exchange the two"))
    if is_thinned(session, from_ms, now_ms if to_ms is None else to_ms, now_ms):
        raise ConfigError(
            _("readings of that time were thinned, and cannot be judged again: correct it from a later day on")
        )
    if not (math.isfinite(offset_c) and math.isfinite(slope)) or abs(offset_c) > _LARGEST_OFFSET_C:
        raise ConfigError(
            _("an offset of {offset_c} °C is no correction: a probe that far off is to be replaced").format(
                offset_c=decimals(f"{offset_c:g}")
            )
        )
    correction = Correction(
        probe_id=id_of(probe),
        from_ms=from_ms,
        to_ms=to_ms,
        offset_c=offset_c,
        slope=slope,
        by=by,
        why=why,
        recorded_ms=now_ms,
    )
    session.add(correction)
    facts = {"offset_c": offset_c, "slope": slope, "to_ms": to_ms}
    record_event(
        session, EventKind.CORRECTION, at_ms=from_ms, now_ms=now_ms, by=by, probe_id=probe.id, text=why, facts=facts
    )
    last_ms = max(from_ms, now_ms if to_ms is None else to_ms)
    queue(session, ArrivalKind.CORRECTION, first_ms=from_ms, last_ms=last_ms, now_ms=now_ms, probe_id=probe.id)
    return correction


def _check_altitude(text: str) -> str:
    """Return an altitude as it was written, if water boils there as the science has it; empty takes it back."""
    from holdwatch.calculators.place import place  # it loads formulas; the register alone need not wait for them
    from holdwatch.measures import altitude_m

    if text.strip():
        place(altitude_m=altitude_m(text))
    return text.strip()


def _check_zone(timezone: str) -> str:
    """Return the name of a time zone that this machine knows."""
    try:
        ZoneInfo(timezone)
    except (ZoneInfoNotFoundError, ValueError, OSError) as exc:
        hint = nearest(timezone, available_timezones()) or _("write it as AREA/CITY, such as America/Denver")
        raise ConfigError(
            _("no time zone is called {timezone!r}: {hint}").format(timezone=timezone, hint=hint)
        ) from exc
    return timezone


def _check_authority(authority: str) -> str:
    """Return who inspects; an empty text takes it back."""
    return check_name(N_("authority"), authority) if authority.strip() else ""


def _check_answer(answer: str) -> str:
    """Return an answer to a question of set-up; an empty text takes it back."""
    return check_choice(N_("answer"), answer, Answer).value if answer else ""


def _check_pointer(pointer: str) -> str:
    """Return a JSON Pointer (RFC 6901), or an empty text for none."""
    if pointer and not pointer.startswith("/"):
        raise ConfigError(
            _("{pointer!r} is no JSON Pointer: begin it with '/', such as /sensor/temperature").format(pointer=pointer)
        )
    return pointer
