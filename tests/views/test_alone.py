"""Working alone: what is marked, and who reviews it when."""

from collections.abc import Callable

import pytest

from holdwatch.clock import MS_PER_HOUR, MS_PER_MINUTE
from holdwatch.errors import ConfigError, RefusedError
from holdwatch.people.handling import Act, Disposition
from holdwatch.storage.alone import declare_alone, end_alone, lone_spans, record_review, unverified
from holdwatch.storage.batching import note
from holdwatch.storage.findings import finding_numbered, findings
from holdwatch.storage.handling import Signer, record_act
from holdwatch.storage.people import add_person, person_named
from holdwatch.storage.shifts import SHIFT_LASTS_MS
from holdwatch.storage.signing import signatures
from holdwatch.storage.tables import Batch, EventKind
from holdwatch.views.alone import to_be_reviewed
from holdwatch.views.batches import batch_view
from holdwatch.views.findings import finding_view
from tests.views.conftest import BY, NOW, Morning, empty, morning

__all__ = ["empty", "morning"]

END = NOW + MS_PER_HOUR
MARK = "worked alone; to be reviewed"


@pytest.fixture
def night(morning: Morning) -> tuple[Morning, int]:
    """Tomas alone for an hour: a note on a batch, and a discard about a finding; before and after it a note each."""
    with morning.store.write() as session:
        for name, initials, role in (
            ("Tomas Ek", "TE", "manager"),
            ("Ines Okafor", "IO", "manager"),
            ("Bo Lind", "BL", "cook"),
            ("Dr Falk", "DF", "viewer"),
        ):
            add_person(session, name, initials, role, now_ms=NOW, by=BY)
        batch = session.get_one(Batch, morning.slow)
        number = next(f.id for f in findings(session, open_only=True) if f.batch_id == morning.slow) or 0

        def noted(text: str, by: str, at_ms: int) -> None:
            note(session, batch, EventKind.NOTE, at_ms=at_ms, now_ms=at_ms, by=by, text=text)

        tomas = person_named(session, "TE")
        noted("before", "Tomas Ek", NOW - 1)
        declare_alone(session, tomas, now_ms=NOW, by="Tomas Ek")
        noted("moved it", "Tomas Ek", NOW + MS_PER_MINUTE)
        noted("somebody else's, from the office", "Ines Okafor", NOW + MS_PER_MINUTE)
        finding = finding_numbered(session, number)
        done = Signer(tomas.name, tomas, signed=True)
        at_ms = NOW + 2 * MS_PER_MINUTE
        record_act(session, finding, Act.ACTION, done, at_ms=at_ms, now_ms=at_ms, disposition=Disposition.DISCARD)
        end_alone(session, now_ms=END, by="Bo Lind")
        noted("after", "Tomas Ek", END + 1)
    return morning, number


def _verify(morning: Morning, number: int) -> None:
    with morning.store.write() as session:
        ines, finding = person_named(session, "IO"), finding_numbered(session, number)
        signer = Signer(ines.name, ines, signed=True)
        record_act(session, finding, Act.VERIFIED, signer, at_ms=END + 2, now_ms=END + 2)


def _review(morning: Morning, who: str, now_ms: int = END + 3) -> None:
    with morning.store.write() as session:
        record_review(session, lone_spans(session)[0].id, person_named(session, who), text="looked", now_ms=now_ms)


def test_what_was_done_alone_is_marked_until_somebody_else_reviewed_it(night: tuple[Morning, int]) -> None:
    """On the batch and on the finding, as papers print them; neither before nor after, nor another's."""
    morning, number = night

    def marked(mark: str) -> list[str]:
        with morning.store.read() as session:
            batch, finding = batch_view(session, morning.slow, END), finding_view(session, number)
        assert batch is not None
        assert finding is not None
        texts = [event.text for event in batch.events if event.by == f"Tomas Ek, TE; {mark}"]
        return [*filter(None, texts), *(entry.words for entry in finding.entries if entry.text.endswith(mark))]

    assert marked(MARK) == ["moved it", "corrective action: discard"]
    with morning.store.read() as session:
        (waiting,) = to_be_reviewed(session, END + 1)
        assert [said.rpartition(" · ")[2] for _, said in waiting.entries] == ["moved it", "corrective action: discard"]
        assert [found for found, _ in waiting.findings] == [number]
    _verify(morning, number)
    _review(morning, "IO")
    assert marked(MARK) == []
    assert marked("worked alone; reviewed by Ines Okafor") == ["moved it", "corrective action: discard"]
    with morning.store.read() as session:
        assert to_be_reviewed(session, END + 4) == []
        assert lone_spans(session)[0].reviewed_by == "Ines Okafor"


@pytest.mark.parametrize(
    ("who", "error", "words"),
    [
        ("TE", RefusedError, "somebody else reviews it"),  # a manager too, and the one who worked alone
        ("BL", RefusedError, "a manager reviews it"),
        ("DF", RefusedError, "a manager reviews it"),
        ("IO", ConfigError, "verify first"),
    ],
)
def test_who_may_not_review(night: tuple[Morning, int], who: str, error: type[Exception], words: str) -> None:
    """And a review is no way round the verification of a finding."""
    morning, _ = night
    with pytest.raises(error, match=words):
        _review(morning, who)
    with morning.store.read() as session:
        assert lone_spans(session)[0].reviewed_by == ""


def test_a_review_is_signed_and_made_once(night: tuple[Morning, int]) -> None:
    """By name, initials and instant."""
    morning, number = night
    _verify(morning, number)
    with morning.store.read() as session:
        assert unverified(session, lone_spans(session)[0]) == []
    _review(morning, "IO")
    with pytest.raises(ConfigError, match="Ines Okafor has reviewed it already"):
        _review(morning, "IO", END + 9)
    with morning.store.read() as session:
        from holdwatch.storage.events import events

        (event,) = events(session, kinds=[EventKind.LONE_REVIEWED])
        assert signatures(session, [event.id or 0])[event.id or 0].initials == "IO"


@pytest.mark.parametrize(
    ("act", "words"),
    [
        (lambda session: declare_alone(session, person_named(session, "BL"), now_ms=NOW + 1, by=BY), "already"),
        (
            lambda session: declare_alone(session, person_named(session, "DF"), now_ms=NOW + 1, by=BY),
            "looks and prints",
        ),
    ],
)
def test_one_is_alone_at_a_time(morning: Morning, act: Callable[..., object], words: str) -> None:
    """And nobody who records nothing."""
    with morning.store.write() as session:
        for name, initials, role in (
            ("Tomas Ek", "TE", "cook"),
            ("Bo Lind", "BL", "cook"),
            ("Dr Falk", "DF", "viewer"),
        ):
            add_person(session, name, initials, role, now_ms=NOW, by=BY)
        declare_alone(session, person_named(session, "TE"), now_ms=NOW, by=BY)
    with pytest.raises(ConfigError, match=words), morning.store.write() as session:
        act(session)


def test_being_alone_ends_by_itself(morning: Morning) -> None:
    """After a shift's length, so that a forgotten declaration does not mark everything for ever; until then no review."""
    with morning.store.write() as session:
        for name, initials in (("Tomas Ek", "TE"), ("Ines Okafor", "IO")):
            add_person(session, name, initials, "manager", now_ms=NOW, by=BY)
        declare_alone(session, person_named(session, "TE"), now_ms=NOW, by=BY)
        batch = session.get_one(Batch, morning.slow)
        at_ms = NOW + SHIFT_LASTS_MS - 1
        note(session, batch, EventKind.NOTE, at_ms=at_ms, now_ms=at_ms, by="te", text="late")
    with morning.store.read() as session:
        assert to_be_reviewed(session, NOW + SHIFT_LASTS_MS - 1) == []
    with pytest.raises(ConfigError, match="still works alone"):
        _review(morning, "IO", NOW + SHIFT_LASTS_MS - 1)
    with morning.store.read() as session:
        assert len(to_be_reviewed(session, NOW + SHIFT_LASTS_MS)) == 1
    _review(morning, "IO", NOW + SHIFT_LASTS_MS)
