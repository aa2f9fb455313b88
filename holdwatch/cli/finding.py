"""``holdwatch finding``: what was done about a finding, and who verified it."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from holdwatch import clock
from holdwatch.cli.common import (
    AtOption,
    ByOption,
    DataOption,
    JsonOption,
    iso,
    opened,
    print_json,
    settings_for,
)
from holdwatch.cli.signing import SignOption, signer_for
from holdwatch.errors import ConfigError
from holdwatch.people.handling import Act, Disposition

if TYPE_CHECKING:
    from sqlmodel import Session

    from holdwatch.storage.tables import Finding

__all__ = ["finding_app"]

finding_app = typer.Typer(help="What was done about a finding, and who verified it.", no_args_is_help=True)

_NUMBER = typer.Argument(metavar="NUMBER", help="Its number; holdwatch findings lists them.", show_default=False)
_Number = Annotated[int, _NUMBER]
_Words = Annotated[str, typer.Option("--text", help="What was done, and why.", show_default=False)]


@finding_app.command("show")
def finding_show(number: _Number, data: DataOption = None, as_json: JsonOption = False) -> None:
    """Show where a finding stands: who saw it, what was done, what is promised, who verified it."""
    from holdwatch.cli.times import local
    from holdwatch.storage.handling import acts_of, handling
    from holdwatch.storage.register import site_at

    with opened(data) as store, store.read() as session:
        finding, zone = _finding(session, number), site_at(session, None).timezone
        now, entries = handling(session, finding), acts_of(session, [number]).get(number, [])
    if as_json:
        facts = [
            {
                "entry": each.id,
                "act": each.facts.get("act"),
                "disposition": each.facts.get("disposition"),
                "at": iso(each.at_ms),
                "by": each.by,
                "text": each.text,
                "replaces": each.replaces_id,
            }
            for each in entries
        ]
        print_json({**_standing(finding, now), "entries": facts})
        return
    typer.echo(f"{number}  {finding.kind}: {finding.title}\n   {finding.reason}\n   {now.stage.value}")
    if now.check_ms is not None:
        typer.echo(f"   a check is promised for {local(now.check_ms, zone)}")
    if now.unsigned:
        typer.echo(f"   {now.unsigned} to be signed")
    for each in entries:
        said = " ".join(part for part in (str(each.facts.get("disposition") or ""), each.text) if part)
        instead = f", in the place of entry {each.replaces_id}" if each.replaces_id else ""
        typer.echo(f"   entry {each.id}{instead}: {local(each.at_ms, zone)} {each.by}: {each.kind} {said}".rstrip())


@finding_app.command("seen")
def finding_seen(
    number: _Number, at: AtOption = None, sign: SignOption = False, data: DataOption = None, by: ByOption = ""
) -> None:
    """Say that somebody has seen it: nobody further is told while it is dealt with."""
    _record(data, number, Act.SEEN, by, sign, at)


@finding_app.command("act")
def finding_act(
    number: _Number,
    disposition: Annotated[Disposition, typer.Option("--disposition", help="What becomes of the food.")],
    text: _Words = "",
    check_in: Annotated[
        int | None,
        typer.Option(
            "--check-in",
            metavar="MINUTES",
            min=1,
            max=1440,
            help="Promise to look again in so many minutes.",
            show_default=False,
        ),
    ] = None,
    instead_of: Annotated[
        int | None,
        typer.Option(
            "--instead-of", metavar="ENTRY", help="Correct that entry; it stays readable.", show_default=False
        ),
    ] = None,
    at: AtOption = None,
    sign: SignOption = False,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Record what was done, and what becomes of the food.

    holdwatch finding act 12 --disposition re-chill --text "split into two pans, ice bath" --check-in 20 --by TE --sign

    To keep food after a deviation, or where nothing is shown, takes a manager, a reason and a PIN.
    """
    act = Act.HOLD if disposition is Disposition.HOLD else Act.ACTION if check_in is None else Act.PROMISE
    if act is Act.HOLD and check_in is not None:
        raise ConfigError("food that is held for the manager waits for a decision: leave out --check-in")
    _record(data, number, act, by, sign, at, disposition=disposition, text=text, check_in=check_in, replaces=instead_of)


@finding_app.command("check")
def finding_check(
    number: _Number,
    good: Annotated[bool, typer.Option("--good/--not-good", help="Whether the action has worked.", show_default=False)],
    text: _Words = "",
    at: AtOption = None,
    sign: SignOption = False,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Record the check that an action promised."""
    _record(data, number, Act.CHECK_KEPT if good else Act.CHECK_FAILED, by, sign, at, text=text)


@finding_app.command("mistaken")
def finding_mistaken(
    number: _Number,
    text: _Words = "",
    at: AtOption = None,
    sign: SignOption = False,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Say why there was nothing the matter, such as a probe that lay on the bench; the finding stays in the record."""
    _record(data, number, Act.MISTAKEN, by, sign, at, text=text)


@finding_app.command("verify")
def finding_verify(
    number: _Number, text: _Words = "", sign: SignOption = False, data: DataOption = None, by: ByOption = ""
) -> None:
    """Verify what somebody else recorded; a manager's, with the PIN."""
    _record(data, number, Act.VERIFIED, by, sign, None, text=text)


@finding_app.command("reopen")
def finding_reopen(
    number: _Number, text: _Words = "", sign: SignOption = False, data: DataOption = None, by: ByOption = ""
) -> None:
    """Open it again, with the reason; a manager's, with the PIN."""
    _record(data, number, Act.REOPENED, by, sign, None, text=text)


@finding_app.command("review")
def finding_review(number: _Number, data: DataOption = None, by: ByOption = "", as_json: JsonOption = False) -> None:
    """Say how much worse it may have got while it lasted: for a manager, once it is over and dealt with.

    No permission to keep food. Where people have PINs it takes a manager's.
    """
    from holdwatch.cli.answers import tell
    from holdwatch.people.roles import PersonRole, Right, may
    from holdwatch.storage.people import people
    from holdwatch.views.review import growth_review

    with opened(data) as store:
        with store.read() as session:
            known = bool(people(session))
        if known:
            signer = signer_for(store, by, sign=True)
            if signer.person is None or not may(PersonRole(signer.person.role), Right.VERIFY):
                raise ConfigError(f"{signer.by} is no manager: this is for a manager's review")
        with store.read() as session:
            answer = growth_review(session, _finding(session, number))
    tell(answer, as_json=as_json)


@finding_app.command("sign")
def finding_sign(number: _Number, data: DataOption = None, by: ByOption = "") -> None:
    """Sign what was recorded in your name without a PIN, such as a discard at night."""
    from holdwatch.storage.handling import sign_own

    with opened(data) as store:
        signer = signer_for(store, by, sign=True)
        assert signer.person is not None  # noqa: S101 - a PIN was just found right
        with store.write() as session:
            count = sign_own(session, _finding(session, number), signer.person, now_ms=clock.now_ms())
    typer.echo(f"{count} signed by {signer.by}." if count else f"Nothing of finding {number} waits for {signer.by}.")


def _record(
    data: Any,
    number: int,
    act: Act,
    by: str,
    sign: bool,
    at: str | None,
    *,
    disposition: Disposition | None = None,
    text: str = "",
    check_in: int | None = None,
    replaces: int | None = None,
) -> None:
    """Record an act, and say where the finding stands now."""
    from holdwatch.alerts.acts import act as handle
    from holdwatch.cli.times import site_instant

    now_ms = clock.now_ms()
    with opened(data) as store:
        signer = signer_for(store, by, sign)
        with store.write() as session:
            finding = _finding(session, number)
            at_ms = site_instant(session, at, now_ms)
            now = handle(
                session,
                finding,
                act,
                signer,
                at_ms=at_ms,
                now_ms=now_ms,
                base_url=settings_for(data).base_url,
                disposition=disposition,
                text=text,
                check_ms=None if check_in is None else at_ms + check_in * clock.MS_PER_MINUTE,
                replaces_id=replaces,
            )
    unsigned = "" if signer.signed else f", unsigned: holdwatch finding sign {number} --by NAME"
    typer.echo(f"Finding {number} is {now.stage.value}; recorded by {signer.by}{unsigned}.")


def _finding(session: "Session", number: int) -> "Finding":
    from holdwatch.storage.findings import finding_numbered

    return finding_numbered(session, number)


def _standing(finding: "Finding", now: Any) -> dict[str, Any]:
    """Return where a finding stands, for a program."""
    return {
        "id": finding.id,
        "stage": now.stage.value,
        "seen_by": now.seen_by or None,
        "handled_by": list(now.handled_by),
        "verified_by": now.verified_by or None,
        "disposition": now.disposition.value if now.disposition else None,
        "check_due": iso(now.check_ms),
        "unsigned": now.unsigned,
    }
