"""The findings that somebody may still have to deal with, among years of them."""

import random
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from sqlalchemy import event
from sqlmodel import Session

from holdwatch.errors import HoldwatchError
from holdwatch.people.handling import Act, Disposition
from holdwatch.storage.engine import Store
from holdwatch.storage.findings import change_finding, close_finding, findings, open_finding
from holdwatch.storage.handling import Signer, handling, needs_somebody, record_act
from holdwatch.storage.ids import id_of
from holdwatch.storage.tables import Finding, FindingKind
from holdwatch.storage.unsettled import for_the_page
from tests.storage.kitchen import NOW

MINUTE = 60_000
COOK, MANAGER = Signer("Tomas Ek"), Signer("Ines Okafor")
WORDS: dict[Act, dict[str, object]] = {
    Act.ACTION: {"disposition": Disposition.DISCARD},
    Act.PROMISE: {"disposition": Disposition.RE_CHILL, "check_ms": NOW + 600 * MINUTE},
    Act.MISTAKEN: {"text": "the probe lay on the bench"},
    Act.REOPENED: {"text": "it was another pan"},
}


def found(session: Session, number: int, kind: FindingKind = FindingKind.DEVIATION, at_ms: int = NOW) -> Finding:
    """Open a finding."""
    return open_finding(
        session, key=f"k{number}", kind=kind, subject=f"unit:{number}:1", title=f"{number}", reason="too warm",
        since_ms=at_ms, now_ms=at_ms,
    )  # fmt: skip


def live(session: Session, finding: Finding, dice: random.Random, steps: int) -> None:
    """Let people and the watch do to a finding what they happen to do; what is refused is not done."""
    for step in range(1, steps + 1):
        at_ms = NOW + step * dice.choice([0, MINUTE])
        acts = [act for act in Act if act not in {Act.AGAIN, Act.CORRECTION}]
        what = dice.choice([*acts, "close", "worse", "again", "correct"])
        if what == "close":
            close_finding(session, finding, reason="over", now_ms=at_ms)
        elif what in {"worse", "again"}:
            kind = dice.choice([FindingKind.NOT_SHOWN, FindingKind.DEVIATION])
            change_finding(session, finding, now_ms=at_ms, kind=kind, reason=f"step {step}", reopen=what == "again")
        else:
            act = Act.ACTION if what == "correct" else Act(what)
            replaces = dice.randrange(1, 40) if what == "correct" else None
            try:
                record_act(
                    session, finding, act, dice.choice([COOK, MANAGER]), at_ms=at_ms, now_ms=at_ms,
                    replaces_id=replaces, **WORDS.get(act, {}),  # type: ignore[arg-type]
                )  # fmt: skip
            except HoldwatchError:
                continue


@pytest.mark.parametrize("seed", range(4))
def test_nobody_who_waits_is_left_out(store: Store, seed: int) -> None:
    """Whatever happened to findings: what is computed from all of it is open or wants somebody is always among them."""
    dice = random.Random(seed)  # noqa: S311  a history, no secret
    with store.write() as session:
        for number in range(45):
            live(session, found(session, number, dice.choice(list(FindingKind))), dice, dice.randrange(9))
    with store.read() as session:
        shown = {id_of(row) for row in for_the_page(session, 0)}
        everything = findings(session)
        wanted = {
            id_of(row) for row in everything if row.closed_ms is None or needs_somebody(row, handling(session, row))
        }
    assert wanted <= shown
    assert wanted
    assert len(shown) < len(everything)


@contextmanager
def rows_loaded(store: Store) -> Iterator[list[int]]:
    """Count the findings that are read."""
    loaded: list[int] = []

    def note(_target: object, _context: object) -> None:
        loaded.append(1)

    event.listen(Finding, "load", note)
    try:
        yield loaded
    finally:
        event.remove(Finding, "load", note)
    assert store


def test_years_of_settled_findings_are_not_read(store: Store) -> None:
    """Of many that were dealt with, the newest five are read, and each that waits beside them, however old it is."""
    with store.write() as session:
        for number in range(80):
            finding = found(session, number, at_ms=NOW + number)
            if number not in {7, 78}:  # nobody did anything about these
                record_act(
                    session, finding, Act.ACTION, COOK, at_ms=NOW + number + 1, now_ms=NOW + number + 1,
                    disposition=Disposition.DISCARD,
                )  # fmt: skip
            close_finding(session, finding, reason="over", now_ms=NOW + number + 2)
    with store.read() as session, rows_loaded(store) as loaded:
        shown = for_the_page(session, 5)
    assert sorted(row.title for row in shown) == ["7", "74", "75", "76", "77", "78", "79"]
    assert len(loaded) == 7
