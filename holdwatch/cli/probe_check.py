"""``holdwatch probe check`` and ``probe checks``: a probe at known temperatures."""

from typing import TYPE_CHECKING, Annotated, Literal

import typer

from holdwatch import clock
from holdwatch.cli.common import AtOption, ByOption, DataOption, JsonOption, iso, opened, print_json, print_table
from holdwatch.cli.common import recorded_by as said_by
from holdwatch.cli.place_options import AltitudeOption, PressureOption, ReportedOption

if TYPE_CHECKING:
    from holdwatch.calculators.calibration import Point
    from holdwatch.quantities import Scale
    from holdwatch.storage.calibration import Check

__all__ = ["probe_check", "probe_checks"]

_Shows = "What it shows, raw, in "


def probe_check(
    code: Annotated[str, typer.Argument(help="The probe.", show_default=False)],
    ice: Annotated[
        str | None, typer.Option("--ice", metavar="TEMPERATURE", help=f"{_Shows}melting ice and water, stirred.")
    ] = None,
    boiling: Annotated[
        str | None,
        typer.Option("--boiling", metavar="TEMPERATURE", help=f"{_Shows}boiling water; say where with --altitude."),
    ] = None,
    beside: Annotated[
        str | None,
        typer.Option(
            "--beside", metavar="TEMPERATURE", help=f"{_Shows}a bath with a reference, which shows --reference."
        ),
    ] = None,
    reference: Annotated[
        str | None, typer.Option("--reference", metavar="TEMPERATURE", help="What the reference shows in that bath.")
    ] = None,
    sure: Annotated[
        float, typer.Option("--sure", metavar="°C", help="How far the reference itself may be off, either way.")
    ] = 0.3,
    pressure: PressureOption = None,
    altitude: AltitudeOption = None,
    reported: ReportedOption = None,
    done: Annotated[
        Literal["corrected", "adjusted", "out-of-use"] | None,
        typer.Option("--done", help="What was done: corrected here from now on, adjusted at the probe, or out of use."),
    ] = None,
    every: Annotated[int, typer.Option("--every", metavar="DAYS", help="Until the next check is due.")] = 30,
    text: Annotated[str, typer.Option("--note", help="What else is to be kept: which reference, what happened.")] = "",
    at: AtOption = None,
    data: DataOption = None,
    by: ByOption = "",
    as_json: JsonOption = False,
) -> None:
    """Keep a check of a probe, and say whether it is within what is asked.

    holdwatch probe check p1 --ice 32.4F --boiling 202.8F --altitude 5280ft

    A probe that was wrong puts in doubt what it showed since its last good check: the watch opens a finding that names
    the batches. With --done corrected its readings count corrected from this instant on; raw values stay as they are.
    """
    from holdwatch.calculators.calibration import asked_c, melting_ice
    from holdwatch.calculators.calibration import boiling as boiling_point
    from holdwatch.calculators.calibration import reference as reference_point
    from holdwatch.cli.place_options import degrees, read_place, site_altitude
    from holdwatch.cli.times import site_instant
    from holdwatch.errors import ConfigError
    from holdwatch.quantities import Scale
    from holdwatch.readings import Medium
    from holdwatch.storage.calibration import Done, record_check
    from holdwatch.storage.register import probe_named, site_at

    if (beside is None) != (reference is None):
        raise ConfigError("a comparison has two figures: --beside what the probe shows, --reference what is true")
    points: list[Point] = []
    if (shown := degrees(ice, "--ice")) is not None:
        points.append(melting_ice(shown))
    if (shown := degrees(boiling, "--boiling")) is not None:
        points.append(boiling_point(shown, read_place(pressure, altitude, reported, site_altitude(data))))
    if (shown := degrees(beside, "--beside")) is not None:
        points.append(reference_point(shown, degrees(reference, "--reference") or 0.0, sure))
    now_ms = clock.now_ms()
    with opened(data) as store, store.write() as session:
        probe, site = probe_named(session, code), site_at(session, None)
        check = record_check(
            session,
            probe,
            points,
            asked_c=asked_c(Medium(probe.medium), Scale(site.unit)),
            done=Done(done or ""),
            every_days=every,
            text=text,
            at_ms=site_instant(session, at, now_ms),
            now_ms=now_ms,
            by=said_by(by),
        )
    if as_json:
        print_json(_facts(code, check))
        return
    typer.echo(_said(code, check, Scale(site.unit), site.timezone))


def probe_checks(
    code: Annotated[str | None, typer.Argument(help="Of this probe alone.", show_default=False)] = None,
    data: DataOption = None,
    as_json: JsonOption = False,
) -> None:
    """List the checks of the probes, and which are due."""
    from holdwatch.calculators.calibration import FOUND
    from holdwatch.cli.times import local
    from holdwatch.quantities import Scale
    from holdwatch.storage.calibration import checks_of, due_checks
    from holdwatch.storage.register import probe_named, probes, site_at

    now_ms = clock.now_ms()
    with opened(data) as store, store.read() as session:
        site = site_at(session, None)
        wanted = None if code is None else probe_named(session, code).id
        codes = {probe.id: probe.code for probe in probes(session)}
        found = checks_of(session, wanted)
        due = [(probe.code, since) for probe, since in due_checks(session, now_ms) if wanted in {None, probe.id}]
    if as_json:
        print_json(
            {
                "checks": [_facts(codes[check.probe_id], check) for check in found],
                "due": [{"probe": name, "since": None if since is None else iso(since)} for name, since in due],
            }
        )
        return
    print_table(
        ("probe", "when", "points", "found", "done", "by", "next"),
        [
            (
                codes[check.probe_id],
                local(check.at_ms, site.timezone),
                "; ".join(_point(point, Scale(site.unit)) for point in check.points),
                FOUND[check.outcome],
                check.done.value,
                check.by,
                local(check.due_ms, site.timezone),
            )
            for check in found
        ],
        "No check is on record. Keep one: holdwatch probe check p1 --ice 32.4F",
    )
    for name, since in due:
        typer.echo(f"Due: {name}, " + ("never checked" if since is None else f"since {local(since, site.timezone)}"))


def _said(code: str, check: "Check", scale: "Scale", zone: str) -> str:
    from holdwatch.calculators.calibration import FOUND, Outcome
    from holdwatch.cli.times import local
    from holdwatch.quantities import format_difference

    said = [f"{code}: {'; '.join(_point(point, scale) for point in check.points)}."]
    said.append(f"{FOUND[check.outcome].capitalize()} (± {format_difference(check.asked_c, scale)}).")
    if check.outcome is Outcome.BEYOND:
        said.append("The watch now looks back at what it showed since its last good check, and names what is in doubt.")
        if not check.done:
            said.append("Correct it (--done corrected), adjust it, or take it out of use.")
    if check.outcome is Outcome.UNCLEAR:
        said.append("Check it in ice, or with a barometer in the room.")
    said.append(f"Next check: {local(check.due_ms, zone)}.")
    return "\n".join(said)


def _point(point: "Point", scale: "Scale") -> str:
    from holdwatch.calculators.calibration import WHERE
    from holdwatch.quantities import format_temperature

    return f"{WHERE[point.method]} {format_temperature(point.shows_c, scale)} for {format_temperature(point.true_c, scale)}"


def _facts(code: str, check: "Check") -> dict[str, object]:
    return {
        "probe": code,
        "at": iso(check.at_ms),
        "points": [
            {"method": p.method.value, "true_c": p.true_c, "sure_c": p.sure_c, "shows_c": p.shows_c}
            for p in check.points
        ],
        "asked_c": check.asked_c,
        "outcome": check.outcome.value,
        "done": check.done.value,
        "due": iso(check.due_ms),
        "by": check.by,
    }
