"""``holdwatch person``: who works here, what each may record, and their PINs."""

from typing import Annotated, Any

import typer

from holdwatch import clock
from holdwatch.cli.common import (
    ByOption,
    DataOption,
    JsonOption,
    iso,
    opened,
    print_json,
    print_table,
    recorded_by,
    settings_for,
)
from holdwatch.cli.pins import asked_pin, new_pin
from holdwatch.language import LANGUAGES
from holdwatch.people.roles import PersonRole

__all__ = ["person_app"]

person_app = typer.Typer(help="Who works here, what each may record, and their PINs.", no_args_is_help=True)

_NAME = typer.Argument(metavar="NAME", help="The name or the initials.", show_default=False)
_ROLE_HELP = "cook records and says what becomes of food; manager also keeps, verifies and sets up; viewer only looks."


@person_app.command("add")
def person_add(
    name: Annotated[str, typer.Argument(help='The name that stands in the record: "Ines Okafor".')],
    initials: Annotated[str, typer.Option("--initials", help="What they sign with: IO.")],
    role: Annotated[PersonRole, typer.Option("--role", help=_ROLE_HELP)] = PersonRole.COOK,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Add somebody; the PIN is set apart, by themselves.

    holdwatch person add "Ines Okafor" --initials IO --role manager
    """
    from holdwatch.storage.people import add_person

    with opened(data) as store, store.write() as session:
        added = add_person(session, name, initials, role.value, now_ms=clock.now_ms(), by=recorded_by(by))
    typer.echo(f"{added.name} signs as {added.initials}. Next: holdwatch person pin {added.initials}")


@person_app.command("list")
def person_list(data: DataOption = None, as_json: JsonOption = False) -> None:
    """List who works here; PINs are not shown, nobody can."""
    from holdwatch.storage.people import people

    with opened(data) as store, store.read() as session:
        found = people(session)
    if as_json:
        print_json(
            [
                {
                    "name": each.name,
                    "initials": each.initials,
                    "role": each.role,
                    "sso": each.sso or None,
                    "pin_set_at": iso(each.pin_set_ms),
                    "added_at": iso(each.added_ms),
                }
                for each in found
            ]
        )
        return
    rows = [(each.name, each.initials, each.role, "set" if each.pin_hash else "none yet") for each in found]
    none = "Nobody yet. Add a manager: holdwatch person add NAME --initials IN --role manager"
    print_table(("NAME", "INITIALS", "ROLE", "PIN"), rows, none)


@person_app.command("pin")
def person_pin(name: Annotated[str, _NAME], data: DataOption = None, by: ByOption = "") -> None:
    """Set a PIN, or a new one; it is asked for, or read as one line of standard input.

    A new PIN also ends the waiting after wrong ones.
    """
    from holdwatch.people.pins import check_new_pin, hash_pin
    from holdwatch.storage.people import keep_pin, person_named

    with opened(data) as store:
        with store.read() as session:
            person = person_named(session, name)
        kept = hash_pin(check_new_pin(new_pin(person.name)))
        with store.write() as session:
            keep_pin(session, person_named(session, person.name), kept, now_ms=clock.now_ms(), by=recorded_by(by))
    typer.echo(f"{person.name} signs with the new PIN from now on.")


@person_app.command("role")
def person_role(
    name: Annotated[str, _NAME],
    role: Annotated[PersonRole, typer.Argument(metavar="ROLE", help=_ROLE_HELP, show_default=False)],
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Give somebody another role."""
    from holdwatch.storage.people import change_role, person_named

    with opened(data) as store, store.write() as session:
        person = person_named(session, name)
        change_role(session, person, role.value, now_ms=clock.now_ms(), by=recorded_by(by))
    typer.echo(f"{person.name} is {role}.")


@person_app.command("sso")
def person_sso(
    name: Annotated[str, _NAME],
    account: Annotated[
        str,
        typer.Argument(
            metavar="[ACCOUNT]", help="The verified e-mail address, or the subject; none ends it.", show_default=False
        ),
    ] = "",
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Let somebody sign in with the group's account, by OpenID Connect; food is decided with the PIN all the same."""
    from holdwatch.storage.people import person_named, set_sso

    with opened(data) as store, store.write() as session:
        person = person_named(session, name)
        set_sso(session, person, account, now_ms=clock.now_ms(), by=recorded_by(by))
    typer.echo(f"{person.name} signs in as {person.sso}." if account else f"{person.name} signs in with the PIN alone.")


@person_app.command("screen")
def person_screen(
    name: Annotated[str, _NAME],
    language: Annotated[
        str, typer.Option("--language", help=f"{', '.join(LANGUAGES)}; if not given, the site's.", show_default=False)
    ] = "",
    unit: Annotated[str, typer.Option("--unit", help="F or C; if not given, the site's.", show_default=False)] = "",
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Say in which language and in which degrees somebody's screens speak.

    holdwatch person screen IO --language es --unit C
    """
    from holdwatch.storage.people import person_named, set_screen

    with opened(data) as store, store.write() as session:
        person = person_named(session, name)
        set_screen(session, person, language=language, scale=unit, now_ms=clock.now_ms(), by=recorded_by(by))
    spoken = LANGUAGES.get(person.language, "the language of the site")
    typer.echo(f"{person.name}'s screens speak {spoken}, in {person.scale or 'the degrees of the site'}.")


@person_app.command("end")
def person_end(name: Annotated[str, _NAME], data: DataOption = None, by: ByOption = "") -> None:
    """Let somebody who has left sign no more; what they signed stays."""
    from holdwatch.storage.people import end_person, person_named

    with opened(data) as store, store.write() as session:
        person = person_named(session, name)
        end_person(session, person, now_ms=clock.now_ms(), by=recorded_by(by))
    typer.echo(f"{person.name} signs no more; what was signed stays.")


@person_app.command("shifts")
def person_shifts(data: DataOption = None, as_json: JsonOption = False) -> None:
    """List who is on shift now, and at which screen; the kitchen's own, or a person's."""
    from holdwatch.cli.times import local
    from holdwatch.storage.register import site_at
    from holdwatch.storage.shifts import open_screens

    now_ms = clock.now_ms()
    with opened(data) as store, store.read() as session:
        zone = site_at(session, None).timezone
        screens = [screen for each in open_screens(session).values() if (screen := each.at(now_ms)) is not None]
    found = [(screen, each) for screen in screens for each in screen.on_shift]
    if as_json:
        print_json(
            [
                {
                    "screen": screen.id,
                    "kitchen": screen.kitchen,
                    "name": each.name,
                    "initials": each.initials,
                    "from": iso(each.from_ms),
                    "until": iso(each.until_ms),
                }
                for screen, each in found
            ]
        )
        return
    rows = [
        (
            f"{screen.id} {'kitchen' if screen.kitchen else 'own'}",
            each.name,
            each.initials,
            local(each.from_ms, zone),
            local(each.until_ms, zone),
        )
        for screen, each in found
    ]
    print_table(("SCREEN", "NAME", "INITIALS", "SINCE", "UNTIL AT THE LATEST"), rows, "Nobody is on shift.")


@person_app.command("alone")
def person_alone(
    name: Annotated[
        str | None, typer.Argument(metavar="[NAME]", help="Who; if not given, the list of who was.", show_default=False)
    ] = None,
    end: Annotated[bool, typer.Option("--end", help="Nobody works alone any more.")] = False,
    data: DataOption = None,
    by: ByOption = "",
    as_json: JsonOption = False,
) -> None:
    """Declare that somebody works alone from now on; what they record is marked, and reviewed by somebody else.

    Prints the link that a manager outside reviews it by. It ends with --end, when somebody joins at the kitchen's
    screen, or after 12 h.
    """
    from holdwatch.storage.alone import declare_alone, end_alone
    from holdwatch.storage.people import person_named
    from holdwatch.storage.secrets import REVIEW, link_token

    now_ms = clock.now_ms()
    if name is None and not end:
        _list_alone(data, now_ms, as_json=as_json)
        return
    with opened(data) as store, store.write() as session:
        if end:
            ended = end_alone(session, now_ms=now_ms, by=recorded_by(by))
            said = f"{ended} works alone no more." if ended else "Nobody was declared to work alone."
        else:
            person = person_named(session, name or "")
            event = declare_alone(session, person, now_ms=now_ms, by=recorded_by(by))
            token = link_token(session, event.id or 0, now_ms=now_ms, purpose=REVIEW)
            said = f"{person.name} works alone. The review, once it is over: {settings_for(data).base_url}/r/{token}"
    typer.echo(said)


def _list_alone(data: Any, now_ms: int, *, as_json: bool) -> None:
    from holdwatch.cli.times import local
    from holdwatch.storage.register import site_at
    from holdwatch.views.alone import lone_views

    with opened(data) as store, store.read() as session:
        zone, found = site_at(session, None).timezone, lone_views(session, now_ms)
    if as_json:
        print_json(
            [
                {
                    "number": each.id,
                    "name": each.name,
                    "from": iso(each.from_ms),
                    "until": None if each.runs else iso(each.until_ms),
                    "entries": len(each.entries),
                    "to_verify": [number for number, _ in each.findings],
                    "reviewed_by": each.reviewed_by or None,
                }
                for each in found
            ]
        )
        return
    rows = [
        (
            str(each.id),
            each.name,
            local(each.from_ms, zone),
            "now" if each.runs else local(each.until_ms, zone),
            str(len(each.entries)),
            each.reviewed_by or "to be reviewed",
        )
        for each in found
    ]
    print_table(("NUMBER", "NAME", "FROM", "UNTIL", "ENTRIES", "REVIEWED BY"), rows, "Nobody worked alone.")


@person_app.command("review")
def person_review(
    number: Annotated[int, typer.Argument(metavar="NUMBER", help="Its number; holdwatch person alone lists them.")],
    text: Annotated[str, typer.Option("--text", help="What was looked at, and how it was.", show_default=False)] = "",
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Review what was done alone; a manager's who was not the one, with the PIN of --by."""
    from holdwatch.people.roles import Right
    from holdwatch.storage.alone import record_review
    from holdwatch.storage.people import person_named
    from holdwatch.storage.signing import require_pin

    with opened(data) as store:
        with store.read() as session:
            person = person_named(session, by)
        now_ms = clock.now_ms()
        person = require_pin(store, person, asked_pin(person.name), Right.VERIFY, place="console", now_ms=now_ms)
        with store.write() as session:
            record_review(session, number, person, text=text, now_ms=now_ms)
    typer.echo(f"Reviewed by {person.name}.")


@person_app.command("tries")
def person_tries(
    days: Annotated[int, typer.Option("--days", min=1, max=3650, help="Of how many days back.")] = 7,
    data: DataOption = None,
    as_json: JsonOption = False,
) -> None:
    """List every try that was refused: wrong PINs, a role that may not, a name that was not on shift, a link too old."""
    from holdwatch.cli.times import local
    from holdwatch.storage.register import site_at
    from holdwatch.views.tries import refused_tries

    with opened(data) as store, store.read() as session:
        zone = site_at(session, None).timezone
        found = refused_tries(session, since_ms=clock.now_ms() - days * clock.MS_PER_DAY)
    if as_json:
        print_json(
            [
                {
                    "at": iso(each.at_ms),
                    "who": each.who or None,
                    "what": each.what,
                    "where": each.place,
                    "why": each.why,
                    "times": each.times,
                }
                for each in found
            ]
        )
        return
    rows = [(local(e.at_ms, zone), e.who or "not said", e.what, e.place, str(e.times), e.why) for e in found]
    print_table(("WHEN", "WHO", "WHAT", "WHERE", "TIMES", "WHY"), rows, "No try was refused.")


@person_app.command("unsigned")
def person_unsigned(
    name: Annotated[str | None, typer.Argument(metavar="[NAME]", help="Of whom; if not given, of everybody.")] = None,
    data: DataOption = None,
    as_json: JsonOption = False,
) -> None:
    """List the entries that wait for a signature, such as a discard at night without a PIN."""
    from holdwatch.cli.times import local
    from holdwatch.storage.people import person_named
    from holdwatch.storage.register import site_at
    from holdwatch.views.unsigned import unsigned

    with opened(data) as store, store.read() as session:
        zone = site_at(session, None).timezone
        found = unsigned(session, person_named(session, name).name if name else None)
    if as_json:
        print_json(
            [
                {
                    "entry": each.id,
                    "at": iso(each.at_ms),
                    "by": each.by,
                    "waits_for": each.person or None,
                    "about": each.about,
                    "what": each.words,
                    "text": each.text,
                    "finding": each.finding_id,
                }
                for each in found
            ]
        )
        return
    rows = [
        (str(each.id), local(each.at_ms, zone), each.person or f"{each.by}, not here any more", each.about, each.words)
        for each in found
    ]
    print_table(("ENTRY", "WHEN", "WAITS FOR", "ABOUT", "WHAT"), rows, "Nothing waits for a signature.")


@person_app.command("sign")
def person_sign(name: Annotated[str, _NAME], data: DataOption = None) -> None:
    """Sign everything that waits for you, with one PIN; it is asked for, or read as one line of standard input."""
    from holdwatch.storage.people import person_named
    from holdwatch.storage.signing import require_pin
    from holdwatch.storage.unsigned import sign_entries
    from holdwatch.views.unsigned import unsigned

    with opened(data) as store:
        with store.read() as session:
            person = person_named(session, name)
            numbers = [each.id for each in unsigned(session, person.name)]
        if not numbers:
            typer.echo(f"Nothing waits for {person.name}.")
            return
        now_ms = clock.now_ms()
        person = require_pin(store, person, asked_pin(person.name), None, place="console", now_ms=now_ms)
        with store.write() as session:
            count = sign_entries(session, person, numbers, now_ms=now_ms)
    typer.echo(f"{count} signed by {person.name}.")


@person_app.command("sign-out-everybody")
def sign_out_everybody(data: DataOption = None) -> None:
    """End every sign-in on every browser, and every link that was sent: for the day a phone is lost."""
    from holdwatch.storage.secrets import LINK, REVIEW, SIGN_IN, new_key

    with opened(data) as store:
        for name in (LINK, REVIEW, SIGN_IN):
            new_key(store, name, now_ms=clock.now_ms())
    typer.echo("Everybody signs in again, and the links of alerts sent so far open nothing.")
