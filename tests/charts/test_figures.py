"""A chart's figures as rows: nothing that the picture shows is missing, and the clock is told rightly."""

import dataclasses

import numpy as np

from holdwatch.charts.curves import LevelView, TraceView
from holdwatch.charts.figures import curve_figures, trace_figures
from holdwatch.charts.staircase import staircase
from holdwatch.charts.theme import Look
from holdwatch.clock import MS_PER_HOUR, MS_PER_MINUTE
from holdwatch.quantities import Scale
from holdwatch.rules.verdicts import Verdict
from holdwatch.sieve import SetAside
from tests.charts.drawn import rows_named
from tests.charts.kitchen import STAGE_1, STAGE_2, START, ZONE, at, cooling, curve, fan, stages, without

SCREEN = Look(ZONE, width=800)


def test_figures_tell_what_the_picture_tells() -> None:
    """Treads, crossings and holes of the drawn chart each have their row, in both units, in order of time."""
    shown = curve(without(cooling(), 108, 141))
    drawn, told = staircase(shown, SCREEN), curve_figures(shown, SCREEN)
    whats = [figure.what for figure in told]
    assert [f"asked by then, {STAGE_1}: kept", f"asked by then, {STAGE_2}: kept"] == [
        w for w in whats if "by then" in w
    ]
    assert sum("reached" in w or "the clock started" in w for w in whats) == len(rows_named(drawn, "brackets"))
    assert whats.count("no readings") == len(rows_named(drawn, "holes")) == 1
    assert [figure.at_ms for figure in told] == sorted(figure.at_ms for figure in told)
    by_then = next(figure for figure in told if figure.what.startswith("asked by then"))
    assert (by_then.when, by_then.temperature) == ("Wed 14 Oct 12:41 MDT", "70.0\u202f°F (21.1\u202f°C)")


def test_figures_are_few_and_lose_no_lowest_and_no_highest() -> None:
    """Seven hours a minute apart are some forty rows; one warm reading between two steps of them is among these."""
    series = cooling()
    series.celsius[201] = 60.0
    rows = [figure for figure in curve_figures(curve(series), SCREEN) if figure.what == "reading"]
    assert len(rows) <= 45
    assert any(figure.temperature.startswith("140.0\u202f°F") for figure in rows)
    assert {rows[0].at_ms, rows[-1].at_ms} == {int(series.at_ms[0]), int(series.at_ms[-1])}


def test_figures_name_the_hour_that_comes_twice() -> None:
    """On 1 November 2026 01:00 comes twice in Denver, and 02:00 not at all on 8 March."""
    told = curve_figures(curve(cooling(at(2026, 10, 31, 22, 30))), SCREEN)
    ones = [figure.when[-9:] for figure in told if figure.what == "reading" and " 01:" in figure.when]
    assert {when[-3:] for when in ones} == {"MDT", "MST"}
    spring = curve_figures(curve(cooling(at(2026, 3, 7, 23, 30))), Look(ZONE, width=800, scale=Scale.C))
    assert not any(" 02:" in figure.when for figure in spring)
    assert any("03:" in figure.when and figure.when.endswith("MDT") for figure in spring)
    assert all("\u202f°C (" in figure.temperature for figure in spring)


def test_figures_tell_the_forecast_and_what_was_set_aside() -> None:
    """A running batch has its forecast as a row; what is kept and not judged says why."""
    series = cooling(minutes=95)
    now = int(series.at_ms[-1])
    words = stages(series, (Verdict.OPEN, Verdict.OPEN))
    shown = curve(series, live=True, fans=(fan(now, 70, now + 1),), clauses=words)
    shown = dataclasses.replace(shown, set_aside=(SetAside(START, 200.0, "spike"),))
    told = {figure.what: figure for figure in curve_figures(shown, SCREEN)}
    assert told[f"forecast, {STAGE_1}"].when.startswith("about Wed 14 Oct 11:47 MDT, between")
    assert told["set aside: spike"].temperature.startswith("392.0")


def test_figures_of_a_trace_keep_its_spells_and_extremes() -> None:
    """A year in the walk-in is a few rows, its one bad hour among them."""
    hours = START + np.arange(24 * 365, dtype=np.int64) * MS_PER_HOUR
    mean = np.full(len(hours), 3.0)
    highest = mean + 0.5
    highest[5000] = 12.0
    trace = TraceView(hours, mean - 0.5, mean, highest, START, int(hours[-1]), raw=False)
    level = LevelView(5.0, "3-501.16(A)(2)", True, marks=((int(hours[5000]), int(hours[5000]) + 30 * MS_PER_MINUTE),))
    told = trace_figures(trace, [level], SCREEN)
    assert len(told) < 60
    assert any("53.6\u202f°F (12.0\u202f°C)" in figure.temperature for figure in told)
    assert any(figure.what == "beyond it, 3-501.16(A)(2)" for figure in told)
