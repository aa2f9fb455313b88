"""Limits files: the schema refuses with file, key and cure; an invented code is TOML alone."""

from pathlib import Path

import pytest

from holdwatch.errors import LimitsError
from holdwatch.language import speaking
from holdwatch.limits import Confidence, Counts, Standing, known_limits, load_limits
from holdwatch.quantities import celsius_of_f
from holdwatch.readings import Record, Series
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import Process, Verdict

T0 = 1_772_000_400_000
MINUTE = 60_000

INVENTED = """
id = "xx-invented"
title = "Invented Code"
authority = "nobody"
edition = "first"
caution = "Invented for a test."

[cooling]
start = "50 °C"

[[cooling.stages]]
clause = "C1"
source = "Invented Code, C1"
requires = "50 °C to below 20 °C in less than 90 min"
target = "20 °C"
target_inclusive = false
within = "90 min"
within_inclusive = false
counts = "total"
confidence = "memory"
read_on = 2026-11-25
read_at = ["this test"]

[[cooling.stages]]
clause = "C2"
source = "Invented Code, C2"
requires = "20 °C to 5 °C or less within a further 60 min"
target = "5 °C"
within = "60 min"
counts = "further"
confidence = "memory"
read_on = 2026-11-25
read_at = ["this test"]

[cold-holding]
clause = "H1"
source = "Invented Code, H1"
requires = "kept below 5 °C"
level = "5 °C"
inclusive = false
confidence = "memory"
read_on = 2026-11-25
read_at = ["this test"]

[hot-holding]
clause = "H2"
source = "Invented Code, H2"
no_figure = "The code asks for hot food to be kept hot and gives no figure."
"""


@pytest.fixture
def invented(tmp_path: Path) -> Path:
    """The invented code as a file."""
    path = tmp_path / "invented.toml"
    path.write_text(INVENTED, encoding="utf-8")
    return path


def _celsius(*pairs: tuple[float, float]) -> Series:
    return Series.of((T0 + round(minutes * MINUTE), celsius) for minutes, celsius in pairs)


def _ramp(start_c: float, slope: float, minutes: float, last_c: float, first: int = 0) -> list[tuple[float, float]]:
    return [(first + n, start_c - slope * n) for n in range(round(minutes) - first)] + [(minutes, last_c)]


# 50 to 20 °C: strictly below 20 °C, in strictly less than 90 min from 50 °C.
@pytest.mark.parametrize(
    ("minutes", "last_c", "verdict"),
    [(89.9, 19.9, Verdict.MET), (90, 19.9, Verdict.UNPROVEN), (89, 20.0, Verdict.OPEN), (89, 19.99, Verdict.MET)],
)
def test_limits_invented_code_is_judged_with_strict_ends(
    invented: Path, minutes: float, last_c: float, verdict: Verdict
) -> None:
    """A code with other figures, °C and strict ends needs no program."""
    record = Record(_celsius(*_ramp(50, 0.33, minutes, last_c)))
    answer = judge(Process.COOLING, record, load_limits(str(invented)), until_ms=T0 + round(minutes * MINUTE))
    assert answer.clauses[0].verdict is verdict
    assert answer.limits == "xx-invented"


@pytest.mark.parametrize(
    ("reached", "verdict"), [(140, Verdict.MET), (139, Verdict.MET), (141, Verdict.UNPROVEN), (150, Verdict.MISSED)]
)
def test_limits_further_stage_counts_from_the_stage_before(invented: Path, reached: float, verdict: Verdict) -> None:
    """The second stage has its own sixty minutes from where 20 °C was reached (between 80 and 81 min)."""
    first = _ramp(50, 0.37, 81, 19.9)
    second = [(81 + n, 19.9 - 14.8 * n / (reached - 81)) for n in range(1, round(reached) - 81)]
    record = Record(_celsius(*first, *second, (reached, 5.0)))
    clauses = judge(Process.COOLING, record, load_limits(str(invented)), until_ms=T0 + round(reached * MINUTE)).clauses
    assert clauses[0].verdict is Verdict.MET
    assert clauses[1].started == clauses[0].reached == (T0 + 80 * MINUTE, T0 + 81 * MINUTE)
    assert clauses[1].verdict is verdict


@pytest.mark.parametrize(
    ("until", "verdicts"),
    [(60, (Verdict.OPEN, Verdict.OPEN)), (100, (Verdict.MISSED, Verdict.MISSED))],
)
def test_limits_further_stage_never_begun_follows_the_stage_before(
    invented: Path, until: int, verdicts: tuple[Verdict, ...]
) -> None:
    """A stage whose start was not reached is as the stage before is."""
    record = Record(_celsius(*_ramp(50, 0.2, until, 50 - 0.2 * until)))
    answer = judge(Process.COOLING, record, load_limits(str(invented)), until_ms=T0 + until * MINUTE)
    assert tuple(clause.verdict for clause in answer.clauses) == verdicts


@pytest.mark.parametrize(("celsius", "verdict"), [(4.99, Verdict.MET), (5.0, Verdict.MISSED)])
def test_limits_strict_level_does_not_allow_the_figure(invented: Path, celsius: float, verdict: Verdict) -> None:
    """Kept below 5 °C: 5.0 °C is not below."""
    record = Record(_celsius((0, 3), (10, celsius), (20, 3)))
    assert judge(Process.COLD_HOLDING, record, load_limits(str(invented)), until_ms=T0 + 20 * MINUTE).verdict is verdict


def test_limits_code_without_a_figure_gives_none_in_its_own_words(invented: Path) -> None:
    """Where a code gives no figure the clause is none and says so."""
    record = Record(_celsius((0, 3), (10, 3)))
    clause = judge(Process.HOT_HOLDING, record, load_limits(str(invented)), until_ms=T0 + 10 * MINUTE).clauses[0]
    assert clause.verdict is Verdict.NONE
    assert clause.reason == "The code asks for hot food to be kept hot and gives no figure."


def test_limits_code_that_is_silent_about_a_process_gives_none(tmp_path: Path) -> None:
    """A file without a word on cooling asks nothing of it."""
    path = tmp_path / "short.toml"
    path.write_text(INVENTED[: INVENTED.index("[cooling]")], encoding="utf-8")
    answer = judge(Process.COOLING, Record(_celsius((0, 60))), load_limits(str(path)), until_ms=T0)
    assert answer.verdict is Verdict.NONE
    assert answer.clauses[0].reason == "Invented Code gives no figure for cooling."


# ---------------------------------------------------------------- the package's own files


@pytest.mark.parametrize("name", known_limits())
def test_limits_file_of_the_package_is_whole(name: str) -> None:
    """Every code that comes with the package loads, and says where each figure was read."""
    limits = load_limits(name)
    assert limits.id == name
    figures = [figure for _, figure in limits.figures()]
    assert figures or limits.no_figure
    for figure in figures:
        assert figure.read_at
        assert figure.confidence in Confidence
        assert figure.clause in figure.source or limits.standing is not Standing.MODEL_CODE


def test_limits_food_code_has_two_totals() -> None:
    """Both cooling figures of the Food Code count from the start."""
    cooling = load_limits("us-food-code-2022").cooling
    assert cooling is not None
    assert [stage.counts for stage in cooling.stages] == [Counts.TOTAL, Counts.TOTAL]
    assert cooling.start.celsius == pytest.approx(celsius_of_f(135))


def test_limits_file_of_the_documentation_loads(tmp_path: Path) -> None:
    """The example that docs/limits.md gives is a limits file."""
    text = (Path(__file__).parents[2] / "docs" / "limits.md").read_text(encoding="utf-8")
    path = tmp_path / "house-plan.toml"
    path.write_text(text.split("```toml\n")[1].split("```")[0], encoding="utf-8")
    limits = load_limits(str(path))
    assert limits.cooling is not None
    assert [stage.clause for stage in limits.cooling.stages] == ["P1"]
    assert limits.no_figure["hot-holding"].says == "We keep nothing hot."


# ---------------------------------------------------------------- what the schema refuses


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('within = "90 min"', 'within = "soon"', "cooling.stages[1].within: 'soon' is not a length of time"),
        ('within = "90 min"', 'within = "0 h"', "cooling.stages[1].within: must be longer than nothing"),
        ('within = "90 min"', 'within = "99999999 h"', "cooling.stages[1].within: must be at most 366 d"),
        ('start = "50 °C"', 'start = "50"', "cooling.start: '50' is not a temperature"),
        ('start = "50 °C"', "start = 50", "cooling.start: write words between quotes"),
        ('start = "50 °C"', "", "cooling.start: is missing: add it"),
        ('start = "50 °C"', 'start = "10 °C"', "cooling.stages: each target must be colder"),
        ('counts = "further"', 'counts = "extra"', "cooling.stages[2].counts: 'extra' is none of total, further"),
        ('counts = "total"', 'counts = "further"', "cooling.stages[1].counts: the first stage has none before it"),
        ("inclusive = false\nconfidence", 'inclusive = "no"\nconfidence', "inclusive: write true or false"),
        ('level = "5 °C"', 'level = "5 °C"\nlevle = 3', "cold-holding.levle: unknown key; known here are"),
        ("read_on = 2026-11-25", "read_on = 2026", "read_on: write a date such as"),
        ('read_at = ["this test"]', "read_at = []", "read_at: write a list of words"),
        ('id = "xx-invented"', 'id = "xx-invented"\ncoling = 1', "coling: unknown key"),
        ("[hot-holding]", "[[hot-holding]]", "hot-holding: make it a table"),
        ("[[cooling.stages]]", "[cooling.stages]", "not TOML"),
    ],
)
def test_limits_schema_names_file_key_and_cure(invented: Path, old: str, new: str, said: str) -> None:
    """A file that breaks the schema is refused in one line that names the file, the key and what to do."""
    assert old in INVENTED
    invented.write_text(INVENTED.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(LimitsError) as caught:
        load_limits(str(invented))
    assert said in str(caught.value)
    assert str(invented) in str(caught.value)
    assert "\n" not in str(caught.value)


def test_limits_unknown_name_tells_the_known_ones() -> None:
    """A name that is no code and no file is refused with the names that are."""
    with pytest.raises(LimitsError, match="us-food-code-2022"):
        load_limits("us-food-code-1822")


def test_limits_file_that_is_not_text_is_refused(invented: Path) -> None:
    """Bytes that are no UTF-8 are refused in one line."""
    invented.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(LimitsError, match="UTF-8"):
        load_limits(str(invented))


@pytest.mark.parametrize(
    ("language", "said"),
    [
        ("es", "archivo de límites {path}, cooling.stages[2].within: debe durar más de cero"),
        ("fr", "fichier de limites {path}, cooling.stages[2].within\N{NO-BREAK SPACE}: doit durer plus que rien"),
    ],
)
def test_a_limits_file_is_refused_in_the_language_that_is_spoken(invented: Path, language: str, said: str) -> None:
    """The keys stay those of the file; what is wrong with them is told in the reader's words."""
    invented.write_text(INVENTED.replace('within = "60 min"', 'within = "0 min"'), encoding="utf-8")
    with speaking(language), pytest.raises(LimitsError) as refused:
        load_limits(str(invented))
    assert str(refused.value) == said.format(path=invented)
