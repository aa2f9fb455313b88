"""The watch speaks the site's language, and another language is no news: it opens, closes and tells nothing again."""

from dataclasses import dataclass
from datetime import date

import pytest

from holdwatch.language import speaking, spoken
from holdwatch.readings import Record, Series
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import Process
from holdwatch.storage import register
from holdwatch.storage.batching import end_batch
from holdwatch.storage.contacts import add_contact
from holdwatch.storage.findings import finding_versions
from holdwatch.storage.outbox import alerts_of
from holdwatch.storage.status import report
from holdwatch.storage.tables import Finding, Role
from holdwatch.watch.subjects import Marks, mark
from tests.rules.series_words import LIMITS, line
from tests.watch.kitchen import DAY, HOUR, MIN, T0, Kitchen, cooling, straight

LATER = T0 + 8 * HOUR
S = 1_000


def _speaks(kitchen: Kitchen, language: str, at_ms: int) -> None:
    """Let the site speak another language from an instant on."""
    with kitchen.store.write() as session:
        register.set_site(session, from_ms=at_ms, now_ms=at_ms, by="test", language=language)


def _judge_all_again(kitchen: Kitchen, at_ms: int) -> None:
    """Look at every subject of which anything is known, as a correction of all its readings would."""
    marks = Marks()
    for row in kitchen.clauses():
        marks.add(row.subject, [row.day] if row.subject.startswith("unit:") else ())
    for finding in kitchen.found():
        if finding.subject.startswith("probe:"):
            marks.add(finding.subject)
    with kitchen.store.write() as session:
        mark(session, marks, at_ms)
    kitchen.rounds(at_ms)


@dataclass(frozen=True)
class _Told:
    """What has become of a finding, but for its words."""

    key: str
    kind: str
    verdict: str
    since_ms: int
    closed_ms: int | None
    alerts: int


def _told(kitchen: Kitchen) -> list[_Told]:
    with kitchen.store.read() as session:
        return [
            _Told(f.key, f.kind, f.verdict, f.since_ms, f.closed_ms, len(alerts_of(session, f.id or 0)))
            for f in kitchen.found()
        ]


def _by(kitchen: Kitchen, start: str) -> Finding:
    return next(finding for finding in kitchen.found() if finding.subject.startswith(start))


@pytest.fixture
def troubled(kitchen: Kitchen) -> Kitchen:
    """A kitchen in which something of every kind was found and told: two slow coolings, a warm walk-in, a silent probe."""
    with kitchen.store.write() as session:
        add_contact(session, "Maya", "json://127.0.0.1:9", now_ms=T0, by="test")
    for code in ("p1", "p2", "p3", "f1"):
        kitchen.probe(code)
    kitchen.unit("Walk-in 1", "walk-in", "f1")
    over, _running = kitchen.batch("L1", "p1"), kitchen.batch("L2", "p2", vessels=2)
    kitchen.arrive("p1", cooling(420, half_min=200), T0 + 7 * HOUR)
    kitchen.arrive("p2", cooling(470, half_min=200), T0 + 470 * MIN)
    spell = straight(45, 45, 60, start_ms=T0 + 2 * HOUR)
    kitchen.arrive("f1", [*straight(38, 38, 119), *spell, *straight(38, 38, 298, start_ms=T0 + 181 * MIN)], LATER)
    kitchen.rounds(T0 + 7 * HOUR)
    ended_ms = T0 + 7 * HOUR
    with kitchen.store.write() as session:
        end_batch(session, session.merge(over), outcome="discarded", at_ms=ended_ms, now_ms=ended_ms, by="test")
    kitchen.rounds(LATER)
    return kitchen


def test_the_site_in_another_language_opens_closes_and_tells_nothing(troubled: Kitchen) -> None:
    """All that was found is looked at again in Spanish, and again in English: no word of it is news to anybody."""
    before = _told(troubled)
    assert {(each.kind, each.closed_ms is None) for each in before} >= {
        ("deviation", True),
        ("deviation", False),
        ("system", True),
    }
    assert all(each.alerts for each in before)
    for n, language in enumerate(("es", "fr", "en"), start=1):
        _speaks(troubled, language, LATER + n * S)
        _judge_all_again(troubled, LATER + n * S + 1)
        assert _told(troubled) == before


def test_what_stands_is_told_in_the_new_language_and_what_is_over_stays_as_it_was_written(troubled: Kitchen) -> None:
    """Its next version; of what is over there is none."""
    with troubled.store.read() as session:
        was = {f.key: (f.title, f.reason, len(finding_versions(session, f.id or 0))) for f in troubled.found()}
    _speaks(troubled, "es", LATER + S)
    _judge_all_again(troubled, LATER + 11 * MIN)
    with troubled.store.read() as session:
        now = {f.key: (f.title, f.reason, len(finding_versions(session, f.id or 0))) for f in troubled.found()}
    standing = _by(troubled, "batch:2")
    assert standing.closed_ms is None
    assert standing.title == "Pastry cream L2, recipiente 1 de 2"
    assert standing.reason.startswith("No llegó a ")
    assert now[standing.key][2] == was[standing.key][2] + 1
    over = [f for f in troubled.found() if f.closed_ms is not None]
    assert over
    assert all(now[f.key] == was[f.key] for f in over)


def test_what_stands_is_told_in_other_words_of_its_language_and_tells_nobody_again(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A date mark that was passed, kept when its days were written as in data: a version more, and no alert."""
    with kitchen.store.write() as session:
        add_contact(session, "Maya", "json://127.0.0.1:9", now_ms=T0, by="test")
    kitchen.probe("p1")
    kitchen.batch("L1", "p1", processes=["cold-holding"])
    over_ms = T0 + 6 * DAY + 17 * HOUR
    with monkeypatch.context() as then:
        then.setattr("holdwatch.rules.date_marks.written_day", date.isoformat)
        kitchen.rounds(over_ms)
    was, before = _by(kitchen, "batch:1"), _told(kitchen)
    assert was.reason.startswith("Still there on 2026-12-01; the last day was 2026-11-30. ")
    assert [(each.kind, each.closed_ms, each.alerts > 0) for each in before if each.key == was.key] == [
        ("deviation", None, True)
    ]
    _judge_all_again(kitchen, over_ms + S)
    assert _told(kitchen) == before
    assert _by(kitchen, "batch:1").reason.startswith("Still there on 1 Dec 2026; the last day was 30 Nov 2026. ")


def test_the_watch_speaks_for_its_own_rounds_alone(kitchen: Kitchen) -> None:
    """Whoever called it goes on in their own language; clauses are in the site's, their names and verdicts in none."""
    _speaks(kitchen, "fr", T0 - DAY)
    kitchen.probe("p1")
    kitchen.batch("L1", "p1")
    kitchen.arrive("p1", cooling(60), T0 + HOUR)
    kitchen.rounds(T0 + HOUR)
    assert spoken() == "en"
    first = next(row for row in kitchen.clauses() if row.clause == "3-501.14(A)(1)")
    assert first.verdict in {"met", "open"}
    assert first.facts["reason"].startswith(("Atteint\u00a0: ", "En cours\u00a0: "))
    assert " °F (mar. 24 nov. " in first.facts["reason"]


def test_a_listener_that_is_away_is_told_once_whatever_the_language(kitchen: Kitchen) -> None:
    """The fault is known by its part, not by its name."""

    def trouble(second: int) -> None:
        with kitchen.store.write() as session:
            report(session, Role.LISTEN, 1, "trouble", "cannot reach the broker, trying again", {}, T0 + second * S)
        kitchen.watch.go_round(T0 + second * S)

    for second in range(0, 80, 10):
        trouble(second)
    _speaks(kitchen, "es", T0 + 80 * S)
    for second in range(80, 120, 10):
        trouble(second)
    (found,) = kitchen.found()
    assert (found.title, found.closed_ms) == ("The broker", None)
    with kitchen.store.read() as session:
        assert len(finding_versions(session, found.id or 0)) == 1


def test_a_record_is_judged_in_the_language_of_whoever_asks() -> None:
    """The same verdict, clause by clause; only reasons differ, and the figures in them are written as the language does."""
    record = Record(line((0, 150), (60, 80), (200, 38)), Series.empty())
    judged = {}
    for language in ("en", "es"):
        with speaking(language):
            judged[language] = judge(Process.COOLING, record, LIMITS, until_ms=int(record.probe.at_ms[-1]))
    english, spanish = judged["en"].clauses[0], judged["es"].clauses[0]
    assert (english.clause, english.verdict, english.due) == (spanish.clause, spanish.verdict, spanish.due)
    assert english.requires == spanish.requires, "the text of the code is shown as its source prints it"
    assert english.reason.startswith("Reached: ")
    assert spanish.reason.startswith("Alcanzado: ")
    assert "," in spanish.reason.partition(" °F")[0], "69,5 °F, not 69.5"
