"""``holdwatch findings``: what the watch found."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from holdwatch.cli.common import DataOption, JsonOption, iso, opened, print_json

if TYPE_CHECKING:
    from holdwatch.storage.tables import Finding

__all__ = ["findings"]


def findings(
    data: DataOption = None,
    as_json: JsonOption = False,
    open_only: Annotated[bool, typer.Option("--open", help="Only those that are not over.")] = False,
    batch: Annotated[
        str | None, typer.Option("--batch", metavar="LOT", help="Only those of a batch.", show_default=False)
    ] = None,
    since: Annotated[
        str | None, typer.Option("--since", metavar="TIME", help="A local day or an instant.", show_default=False)
    ] = None,
    until: Annotated[
        str | None, typer.Option("--until", metavar="TIME", help="A local day or an instant.", show_default=False)
    ] = None,
) -> None:
    """List what was found: deviations, what is not shown, warnings, and faults of the system.

    The exit status is 0 whatever was found. The verdict is `missed` (deviation), `unproven` (not shown), `open` or
    `met`; a finding that is over has a `closed_at`.
    """
    from holdwatch import clock
    from holdwatch.records.span import parse_span
    from holdwatch.storage.findings import findings as find
    from holdwatch.storage.register import batch_named, site_at

    with opened(data) as store, store.read() as session:
        site = site_at(session, None)
        span = parse_span(since, until, site.timezone, clock.now_ms())
        found = find(
            session,
            open_only=open_only,
            since_ms=None if since is None else span.first_ms,
            until_ms=None if until is None else span.last_ms,
            batch_id=None if batch is None else batch_named(session, batch).id,
        )
    if as_json:
        print_json([_facts(finding) for finding in found])
        return
    if not found:
        typer.echo("Nothing was found.")
    for finding in found:
        typer.echo("\n".join(_lines(finding, site.timezone)))


def _facts(finding: "Finding") -> dict[str, Any]:
    """Return a finding for a program."""
    return {
        "id": finding.id,
        "kind": str(finding.kind),
        "subject": finding.title,
        "clause": finding.clause or None,
        "verdict": finding.verdict or None,
        "opened_at": iso(finding.opened_ms),
        "closed_at": iso(finding.closed_ms),
        "reason": finding.reason,
        "since": iso(finding.since_ms),
        "source": finding.source or None,
        "close_reason": finding.close_reason or None,
        "version": finding.version,
        "key": finding.key,
    }


def _lines(finding: "Finding", timezone: str) -> list[str]:
    """Return a finding for a person."""
    from holdwatch.cli.times import local

    over = "" if finding.closed_ms is None else f", over since {local(finding.closed_ms, timezone)}"
    return [
        f"{finding.id}  {finding.kind}: {finding.title}" + (f", {finding.clause}" if finding.clause else ""),
        f"   since {local(finding.since_ms, timezone)}, found {local(finding.opened_ms, timezone)}{over}",
        f"   {finding.reason}",
    ]
