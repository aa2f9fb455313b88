"""The figures of an inspection log, held against the store: read back with pdftotext, and asked of the store by SQL alone.

Nothing here calls what made the paper. Every row that the store asks for is looked for in the order of the paper and taken
out; what is left over may hold no figure and no word of a verdict that this file does not account for.
"""

import json
import re
import sqlite3
import subprocess
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from functools import cached_property
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

__all__ = ["AXES", "FIGURE", "Kitchen", "differences", "stream"]

ZONE = ZoneInfo("America/Denver")
WORDS = {"met": "kept", "missed": "deviation", "unproven": "not shown", "open": "running", "none": "no limit asked"}
WORST = ("missed", "unproven", "open", "met", "none")
KINDS = {"soon": "soon", "deviation": "deviation", "not-shown": "not shown", "system": "fault of the system"}
OR = " or else "
"""Between two ways in which a chart may say the same, the longer first: where it has no room it says less."""
EVENTS = {
    "batch-started": "batch started",
    "left-heat": "left the heat",
    "probe-placed": "probe placed",
    "probe-taken-out": "probe taken out",
    "moved": "moved",
    "ended": "ended",
    "action": "corrective action",
}
OUTCOMES = {"used": "used in another batch"}
"""How a batch ended, where the paper says more than the store's word."""
FIGURE = re.compile(
    r"−?\d+(?:\.\d+)?°[FC]|\d\d:\d\d|\b\d+ (?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)\b"
    r"|\b\d+ (?:h|min|d|readings|times|tries)\b|\b(?:kept|deviation|not shown|running|no limit asked|soon)\b"
)
"""A temperature, a clock time, a day, a length or count, or the word of a verdict."""
HEADS = (
    "Day Probe Verdict Lowest Mean Highest Readings Longest gap What the record shows",
    "Clause Asks Verdict Clock began Due Reached",
    "At Declared or measured by hand Vessel Temperature By Written down",
    "No. Since Subject Found Limit and reason Action recorded",
    "Probe Measures Watched in this period Last calibration check",
    "Written As Why",
    "Alert to Said State Detail",
    "Action at What was done By",
)


def stream(pdf: Path) -> str:
    """Return the words of a paper in the order in which they were set, without the heads and feet of its pages."""
    done = subprocess.run(["pdftotext", "-raw", pdf, "-"], check=True, capture_output=True, text=True)
    pages = [" ".join(page.replace("\u200b", "").split()) for page in done.stdout.split("\f")]
    bare = [
        re.sub(r"(Linden Street Patisserie · inspection log [^·]*?\d{4} )?Shows what the record shows;.*$", "", p)
        for p in pages
    ]
    return _plain(" ".join(bare))


def _at(ms: int) -> str:
    local = datetime.fromtimestamp(ms / 1_000, UTC).astimezone(ZONE)
    return f"{local.day} {local:%b %H:%M}"


def _whole(ms: int) -> str:
    local = datetime.fromtimestamp(ms / 1_000, UTC).astimezone(ZONE)
    return f"{local:%a} {local.day} {local:%b %Y %H:%M} MST (UTC−07:00)"


def _clock(ms: int) -> str:
    return f"{datetime.fromtimestamp(ms / 1_000, UTC).astimezone(ZONE):%H:%M}"


def _f(celsius: float) -> str:
    return f"{celsius * 1.8 + 32:.1f}°F".replace("-", "−")


def _length(ms: int) -> str:
    minutes = ms // 60_000
    if minutes < 60:
        return f"{minutes} min"
    return f"{minutes // 60} h {minutes % 60} min" if minutes % 60 else f"{minutes // 60} h"


def _bracket(ends: list[int | None] | None) -> str:
    if ends is None or ends == [None, None]:
        return "–"
    begin, end = ends
    if end is None:
        return f"after {_at(begin or 0)}"
    if begin is None:
        return f"by {_at(end)}"
    if _at(begin) == _at(end):
        return _at(begin)
    same_day = _at(begin)[:-5] == _at(end)[:-5]
    return f"{_at(begin)}–{_clock(end) if same_day else _at(end)}"


def _short(text: str) -> str:
    return text if len(text) <= 100 else text[:100].rsplit(" ", 1)[0].rstrip(",;:") + " …"


@dataclass
class Kitchen:
    """A store in SQLite, and the span and instant of a print of it."""

    file: Path
    first_ms: int
    last_ms: int
    now_ms: int
    _open: sqlite3.Connection = field(init=False, repr=False)

    def __post_init__(self) -> None:
        self._open = sqlite3.connect(f"file:{self.file}?mode=ro", uri=True)
        self._open.row_factory = sqlite3.Row

    @property
    def until_ms(self) -> int:
        """Where the record ends: the end of the span, or the instant of printing."""
        return min(self.last_ms, self.now_ms)

    def ask(self, query: str, *values: object) -> list[sqlite3.Row]:
        """Ask the store."""
        return self._open.execute(query, values).fetchall()

    # -------------------------------------------------------------- what the paper must hold, in its order

    def units(self) -> Iterator[str]:
        """Give a row for each unit, local day and probe."""
        for unit in self.ask("select id, name from unit order by id"):
            placed = self.ask(
                "select p.probe_id, r.code, p.from_ms, p.to_ms from placement p join probe r on r.id = p.probe_id"
                " where p.unit_id = ? and p.from_ms <= ? and coalesce(p.to_ms, ?) >= ?",
                unit["id"], self.until_ms, self.until_ms, self.first_ms,
            )  # fmt: skip
            for day, begin, end in self._days():
                for row in sorted(placed, key=lambda row: str(row["code"])):
                    yield self._unit_row(unit["id"], row, day, begin, end)

    def _unit_row(self, unit: int, row: sqlite3.Row, day: date, begin: int, end: int) -> str:
        begin, end = max(begin, row["from_ms"]), min(end, row["to_ms"] or end)
        readings = self.ask(
            "select at_ms, celsius from reading where probe_id = ? and at_ms between ? and ? order by at_ms",
            row["probe_id"], begin, end,
        )  # fmt: skip
        values = [each["celsius"] for each in readings]
        edges = [begin, *(each["at_ms"] for each in readings), end + 1]
        gap = max(later - earlier for earlier, later in pairwise(edges))
        (state,) = self.ask(
            "select verdict, facts from clause_state where unit_id = ? and probe_id = ? and day = ?",
            unit, row["probe_id"], day.isoformat(),
        )  # fmt: skip
        figures = f"{_f(min(values))} {_f(sum(values) / len(values))} {_f(max(values))} {len(values):,} {_length(gap)}"
        told = json.loads(state["facts"])["reason"]
        return f"{day:%a} {day.day} {day:%b} {row['code']} {WORDS[state['verdict']]} {figures} {told}"

    def _days(self) -> Iterator[tuple[date, int, int]]:
        day = datetime.fromtimestamp(self.first_ms / 1_000, UTC).astimezone(ZONE).date()
        while True:
            begin, end = (
                int(datetime.combine(day + timedelta(days=n), time(), ZONE).timestamp() * 1_000) for n in (0, 1)
            )
            if begin > self.until_ms:
                return
            yield day, max(begin, self.first_ms), min(end - 1, self.until_ms)
            day += timedelta(days=1)

    def batches(self) -> list[sqlite3.Row]:
        """Return the batches that ran in the span."""
        return self.ask(
            "select * from batch where started_ms <= ? and coalesce(ended_ms, ?) >= ? order by started_ms, id",
            self.until_ms, self.until_ms, self.first_ms,
        )  # fmt: skip

    def _clauses(self, batch: int) -> list[sqlite3.Row]:
        return self.ask("select * from clause_state where batch_id = ? order by vessel, id", batch)

    def _soon(self, batch: int) -> set[str]:
        rows = self.ask("select clause from finding where batch_id = ? and kind = 'soon' and closed_ms is null", batch)
        return {row["clause"] for row in rows}

    def word_of(self, batch: int) -> str:
        """Return the word of the worst clause of a batch."""
        verdicts = {row["verdict"] for row in self._clauses(batch)}
        worst = next((verdict for verdict in WORST if verdict in verdicts), "unproven")
        return "soon" if worst == "open" and self._soon(batch) else WORDS[worst]

    def _word(self, row: sqlite3.Row, soon: set[str]) -> str:
        return "soon" if row["verdict"] == "open" and row["clause"] in soon else WORDS[row["verdict"]]

    def batch(self, batch: sqlite3.Row) -> Iterator[str]:
        """Give what stands of a batch, in its order."""
        number = batch["id"]
        yield f"{batch['lot']} · {batch['product']} {self.word_of(number)}"
        ended = (
            f"ended {_at(batch['ended_ms'])}, {_outcome(batch['outcome'])}"
            if batch["ended_ms"]
            else "still running when printed"
        )
        yield f"started {_at(batch['started_ms'])} by {batch['by']}; {ended}"
        states = [(row, json.loads(row["facts"])) for row in self._clauses(number)]
        soon = self._soon(number)
        for row, facts in states:
            if facts["due"] and facts["due"][0]:
                said = f"{facts['level_c'] * 1.8 + 32:.0f}°F by {_clock(facts['due'][0])} {row['clause']}"
                yield f"{said} · {self._word(row, soon)}{OR}{said}"
        if batch["ended_ms"] is None:
            (last,) = self.ask(
                "select r.celsius from reading r join placement p on p.probe_id = r.probe_id and r.at_ms >= p.from_ms"
                " where p.batch_id = ? and r.at_ms <= ? order by r.at_ms desc limit 1",
                number, self.now_ms,
            )  # fmt: skip
            yield _f(last["celsius"])
        for row, facts in states:
            word = self._word(row, soon)
            brackets = " ".join(_bracket(facts[name]) for name in ("started", "due", "reached"))
            yield f"{row['clause']} {facts['requires']} {word} {brackets} {facts['reason']}"
        for event in self.ask("select * from event where batch_id = ? order by at_ms, id", number):
            yield self._event(event)

    def _said(self, event: sqlite3.Row) -> str:
        place = [row["name"] for row in self.ask("select name from unit where id = ?", event["unit_id"])]
        text = _outcome(event["text"]) if event["kind"] == "ended" else event["text"]
        return ": ".join([EVENTS[event["kind"]], *(place if event["batch_id"] else []), *filter(None, [text])])

    def _event(self, event: sqlite3.Row) -> str:
        words = self._said(event)
        vessel = "" if event["vessel"] is None else f" {event['vessel']}"
        measured = "" if event["celsius"] is None else f" {_f(event['celsius'])}"
        late = event["recorded_ms"] - event["at_ms"] > 60_000
        written = _at(event["recorded_ms"]) if late else "at once"
        return f"{_at(event['at_ms'])} {words}{vessel}{measured} {event['by']} {written}"

    def summary(self) -> Iterator[str]:
        """Give the counts of the first page."""
        words = [self.word_of(batch["id"]) for batch in self.batches()]
        yield f"Batches {_counted(words)}"
        days = ", ".join(f"'{day.isoformat()}'" for day, *_ in self._days())
        rows = self.ask(f"select verdict from clause_state where unit_id is not null and day in ({days})")  # noqa: S608
        yield f"Days of probes in units {_counted([WORDS[row['verdict']] for row in rows])}"
        yield f"Findings {_counted([KINDS[row['kind']] for row in self.findings()])}"
        yield "Gaps over 20 min 0"

    def findings(self) -> list[sqlite3.Row]:
        """Return the findings; all of this kitchen were written down in the span."""
        return self.ask("select * from finding order by id")

    def _actions(self, finding: sqlite3.Row) -> list[sqlite3.Row]:
        kinds = "('action', 'note', 'moved', 'removed', 'returned', 'ended')"
        return self.ask(
            f"select * from event where (batch_id = ? or ? is null) and (unit_id = ? or ? is null) and kind in {kinds}"  # noqa: S608
            " and at_ms >= ? order by at_ms, id",
            *[finding["batch_id"]] * 2, *[finding["unit_id"]] * 2, finding["since_ms"],
        )  # fmt: skip

    def attention(self) -> Iterator[str]:
        """Give the rows of the list of what went wrong."""
        order = {"deviation": 0, "not-shown": 1, "system": 2}
        rows = [row for row in self.findings() if row["kind"] in order or row["closed_ms"] is None]
        for row in sorted(rows, key=lambda row: (order.get(row["kind"], 3), -row["id"])):
            reason = _short(f"{row['clause']}: {row['reason']}")
            done = [event for event in self._actions(row) if event["kind"] == "action"]
            action = "none recorded"
            if done:
                last = done[-1]
                action = _short(f"{_at(last['at_ms'])} corrective action: {last['text']}, {last['by']}")
            yield f"{row['id']} {_at(row['since_ms'])} {row['title']} {KINDS[row['kind']]} {reason} {action}"

    def _due(self, finding: sqlite3.Row) -> str:
        states = self.ask(
            "select facts from clause_state where batch_id = ? and clause = ?", finding["batch_id"], finding["clause"]
        )
        due = [json.loads(row["facts"])["due"] for row in states]
        return f" Due {_at(due[0][0])}" if due and due[0] else ""

    def finding(self, row: sqlite3.Row) -> Iterator[str]:
        """Give what stands of a finding, in its order."""
        yield f"No. {row['id']} · {row['title']} {KINDS[row['kind']]}"
        yield f"Since {_at(row['since_ms'])} Found {_at(row['opened_ms'])}{self._due(row)}"
        closed = f"{_at(row['closed_ms'])}: {row['close_reason']}" if row["closed_ms"] else "still open when printed"
        yield f"Closed {closed}"
        for version in self.ask("select * from finding_version where finding_id = ? order by version", row["id"]):
            kind, verdict = KINDS[version["kind"]], WORDS.get(version["verdict"], "")
            words = kind if verdict in {"", kind} else f"{kind}, {verdict}"
            yield f"{_at(version['at_ms'])} {words}{', closed' if version['closed_ms'] else ''} {version['reason']}"
        for alert in self.ask("select * from alert where finding_id = ? order by id", row["id"]):
            yield f"{alert['title']} waiting queued {_at(alert['queued_ms'])}, {alert['attempts']} tries"
        for event in self._actions(row):
            yield f"{_at(event['at_ms'])} {EVENTS[event['kind']]}: {event['text']} {event['by']}"

    def holes(self) -> set[str]:
        """Return every stretch over 5 min between two readings of a probe, as charts name it."""
        rows = self.ask(
            "select at_ms, lag(at_ms) over (partition by probe_id order by at_ms) as earlier from reading"
            " where at_ms between ? and ?", self.first_ms, self.until_ms,
        )  # fmt: skip
        long = [row for row in rows if row["earlier"] and row["at_ms"] - row["earlier"] > 300_000]
        return {f"{_clock(row['earlier'])}–{_clock(row['at_ms'])}" for row in long}

    @cached_property
    def rows(self) -> list[str]:
        """Everything in the order of the paper."""
        return list(self.expected())

    @cached_property
    def beside(self) -> list[str]:
        """Patterns of what may stand beside."""
        return _beside(self)

    def expected(self) -> Iterator[str]:
        """Give everything in the order of the paper."""
        yield f"Period {_whole(self.first_ms)} to {_whole(self.last_ms)}; the record ends at the instant of printing, {_whole(self.now_ms)}"
        yield f"Printed {_whole(self.now_ms)} by Ana"
        yield from self.summary()
        yield from self.attention()
        yield from self.units()
        for batch in self.batches():
            yield from self.batch(batch)
        for finding in self.findings():
            yield from self.finding(finding)


def _counted(words: list[str]) -> str:
    counts = Counter(words)
    order = ("kept", "deviation", "not shown", "soon", "running", "no limit asked")
    return " ".join([str(len(words)), *(f"{word} {counts[word]}" for word in order if counts[word])])


SENTENCES = ("stretch over 20 min", "measured is not shown here", "Deviations, what is not shown, and gaps")
AXES = re.compile(r"(?:\d\d:[03]0 ){3,}\d\d:[03]0(?: (?:Mon|Tue|Wed|Thu|Fri|Sat|Sun) \d+ Nov)+ Denver time \(MST\)")
"""The figures along a chart are of the chart, not of the store: `tests/charts` holds them against its own scale."""

READ_ON = r"(?:in the code's own text|in a summary by others|not seen in print) \d+ [A-Z][a-z]{2} \d{4}"
"""When a figure of the limits was read: of the file of the limits, not of the store."""


def _beside(kitchen: Kitchen) -> list[str]:
    """Return patterns of what may stand beside, each made of what the store says."""
    facts = [json.loads(row["facts"]) for row in kitchen.ask("select facts from clause_state")]
    limits = {f"{each['clause']} {each['requires']} {each['source']}" for each in facts}
    limits |= {f"Limit {each['requires']} ({each['source']})" for each in facts}
    limits |= {f"; {each['requires']} Probe" for each in facts}
    limits |= {f"{each['requires'].removeprefix('held at ')} · {each['clause']}" for each in facts}
    exact = sorted({_plain(each) for each in limits}, key=len, reverse=True)
    holes = [f"{sign} {hole}" for hole in kitchen.holes() for sign in (r"\?", "no readings")]
    return [AXES.pattern, READ_ON, *map(re.escape, exact), *holes, f"now {_clock(kitchen.now_ms)}", *SENTENCES]


def _plain(text: str) -> str:
    return re.sub(r"(\d) ?°([FC])", r"\1°\2", " ".join(text.replace("\u202f", " ").split()))


def _outcome(word: str) -> str:
    return OUTCOMES.get(word, word)


def differences(text: str, kitchen: Kitchen) -> list[str]:
    """Return what is missing on a paper, and the figures on it that nothing in the store accounts for."""
    for head in HEADS:
        text = text.replace(f"{head} ", "")
    found, at, missing = [], 0, []
    for item in kitchen.rows:
        places = [(text.find(row, at), row) for row in map(_plain, item.split(OR))]
        place, row = next(((place, row) for place, row in places if place >= 0), places[0])
        if place < 0:
            missing.append(f"missing: {row}")
            continue
        found.append(text[at:place])
        at = place + len(row)
    rest = " ¶ ".join([*found, text[at:]])
    for pattern in kitchen.beside:
        rest = re.sub(pattern, "¶", rest)
    beside = [f"beside: {rest[max(0, m.start() - 40) : m.end() + 20]}" for m in FIGURE.finditer(rest)]
    return [*missing, *beside]
