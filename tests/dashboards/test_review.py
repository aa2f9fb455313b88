"""A manager's review on the finding's page: for nobody else, and never before the disposition."""

import pytest

from dashboards import signedin
from dashboards.signedin import SignedIn
from holdwatch.clock import MS_PER_HOUR
from holdwatch.people.handling import Act, Disposition
from holdwatch.people.roles import PersonRole
from holdwatch.storage.findings import close_finding, findings
from holdwatch.storage.handling import Signer, record_act
from tests.dashboards.conftest import Opener, shown
from tests.views.conftest import NOW, Morning

MANAGER = SignedIn("Ines Okafor", PersonRole.MANAGER)
SAYS = "no permission to keep food"


def _bad_evening(morning: Morning, *, dealt_with: bool = True) -> str:
    """Let the finding of the walk-in's bad evening be over, and return its number."""
    with morning.store.write() as session:
        (found,) = findings(session, unit_id=morning.walk_in)
        close_finding(session, found, reason="within 41 °F again", now_ms=NOW - 14 * MS_PER_HOUR)
        if dealt_with:
            record_act(
                session,
                found,
                Act.ACTION,
                Signer("Ines Okafor"),
                at_ms=NOW,
                now_ms=NOW,
                disposition=Disposition.DISCARD,
                text="thrown away",
            )
        return str(found.id)


def _see(monkeypatch: pytest.MonkeyPatch, signed: SignedIn | None) -> None:
    monkeypatch.setattr(signedin, "here", lambda: signed)


def test_manager_sees_the_review_of_what_is_dealt_with(
    morning: Morning, open_page: Opener, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The steps, their sources and the caution."""
    number = _bad_evening(morning)
    _see(monkeypatch, MANAGER)
    text = shown(open_page("findings", finding=number))
    assert SAYS in text
    assert "decimal steps" in text
    assert "Medveďová" in text


@pytest.mark.parametrize(
    "signed",
    [None, SignedIn("Tomas Ek", PersonRole.COOK), SignedIn("", PersonRole.COOK, kitchen=True)],
    ids=["nobody", "cook", "kitchen"],
)
def test_nobody_else_sees_it(
    morning: Morning, open_page: Opener, monkeypatch: pytest.MonkeyPatch, signed: SignedIn | None
) -> None:
    """A figure of growth on the wall would be read as permission."""
    number = _bad_evening(morning)
    _see(monkeypatch, signed)
    assert SAYS not in shown(open_page("findings", finding=number))


def test_manager_does_not_see_it_before_the_disposition(
    morning: Morning, open_page: Opener, monkeypatch: pytest.MonkeyPatch
) -> None:
    """First what became of the food, then the figure."""
    number = _bad_evening(morning, dealt_with=False)
    _see(monkeypatch, MANAGER)
    assert SAYS not in shown(open_page("findings", finding=number))
