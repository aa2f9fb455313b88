"""A product as data: the schema refuses with file, key and cure, and what is written is read again."""

import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdwatch.errors import ConfigError, LimitsError
from holdwatch.limits.table import Table
from holdwatch.plan.changing import taken
from holdwatch.plan.model import Answer, Asked
from holdwatch.plan.reading import product_data, product_of
from holdwatch.plan.starters import known_starters, read_product_file, starter
from holdwatch.plan.writing import product_text

CREAM = (Path(__file__).parents[2] / "holdwatch/plan/starters/pastry-cream.toml").read_text(encoding="utf-8")


def _table(data: dict[str, Any]) -> Table:
    return Table(Path("cream.toml"), "", data, what="product file", error=ConfigError)


@pytest.mark.parametrize("word", known_starters())
def test_a_product_that_is_written_is_read_again_the_same(word: str) -> None:
    """Answers with it: who, what and when."""
    product = starter(word).with_answer(Asked.ALLERGENS, Answer("milk", "Ines Okafor", 1_772_000_400_000))
    assert product_of(_table(product_data(product))) == product


@given(st.text(st.characters(codec="utf-8"), min_size=1, max_size=40).filter(str.strip))
def test_whatever_is_written_in_words_is_read_again_from_a_file(words: str) -> None:
    """Quotes, backslashes, line ends and control characters too."""
    cream = starter("pastry-cream")
    product = replace(cream, about=words, steps=(replace(cream.steps[0], action=words), *cream.steps[1:]))
    assert product_of(_table(tomllib.loads(product_text(product)))) == product


@pytest.mark.parametrize(
    ("written", "instead", "words"),
    [
        ('name = "Pastry cream"', "", "name: is missing: add it"),
        ('tcs = "yes"', 'tcs = "maybe"', "tcs: 'maybe' is none of yes, no, unknown"),
        ('tcs = "yes"', 'tcs = "no"', "plain is missing"),
        ('asked = "allergens"', 'asked = "egg"', "egg is asked twice"),
        ('asked = "allergens"', 'asked = "plain"', "allergens is missing"),
        ('"eggs", "milk"]', '"eggs", "cream"]', "contains: 'cream' is no allergen"),
        ('["cook-eggs"]', '["cooking"]', r"steps\[1\].processes: 'cooking' is no part of a limits file"),
        ('processes = ["cooling"]', "", r"steps\[2\].critical: a critical step needs a limit"),
        ('step = "store"', 'step = "freeze"', r"steps\[3\].step: 'freeze' is none of cook, cool"),
        ("how_often", "how_offen", r"how_often: is missing|how_offen: unknown key"),
        ('made = ["several-eggs"]', "shelf_days = 0", "shelf_days: write a whole number, at least 1"),
        ('made = ["several-eggs"]', 'in_use = "a while"', "in_use: 'a while' is no time in use"),
        ('made = ["several-eggs"]', 'in_use = "200 h"', "in_use: '200 h' is no time in use: write more than nothing"),
        ('name = "Pastry cream"', 'name = "Pastry cream"\nlimit = "41 °F"', "limit: unknown key"),
    ],
)
def test_a_file_that_breaks_the_schema_is_refused(written: str, instead: str, words: str, tmp_path: Path) -> None:
    """It is no limits file: whoever reads limits is not told of it."""
    assert written in CREAM
    path = tmp_path / "cream.toml"
    path.write_text(CREAM.replace(written, instead, 1), encoding="utf-8")
    with pytest.raises(ConfigError, match=words) as caught:
        read_product_file(path)
    assert not isinstance(caught.value, LimitsError)
    assert str(caught.value).startswith(f"product file {path}, ")


def test_a_file_that_cannot_be_read_is_refused(tmp_path: Path) -> None:
    """Missing, not text, not TOML: each with what to do."""
    with pytest.raises(ConfigError, match="No such file"):
        read_product_file(tmp_path / "none.toml")
    bad = tmp_path / "bad.toml"
    bad.write_bytes(b"\xff\xfe")
    with pytest.raises(ConfigError, match="not UTF-8 text"):
        read_product_file(bad)
    bad.write_text("name =", encoding="utf-8")
    with pytest.raises(ConfigError, match="is not TOML"):
        read_product_file(bad)
    with pytest.raises(ConfigError, match="no starter is called 'crumble': use one of"):
        starter("crumble")


def test_no_starter_holds_a_figure_of_temperature_or_time() -> None:
    """Limits come from the code in force; a figure here would be a second one."""
    for word in known_starters():
        data = tomllib.loads((Path(__file__).parents[2] / f"holdwatch/plan/starters/{word}.toml").read_text("utf-8"))
        text = str(data)
        assert not any(sign in text for sign in ("°", " min", " hours", " 4 h", " 2 h")), word


@pytest.mark.parametrize("language", ["es", "fr"])
@pytest.mark.parametrize("word", known_starters())
def test_a_starter_is_written_in_a_language_and_asks_the_same(word: str, language: str) -> None:
    """Its words differ; what decides does not: whether it is TCS food, allergens, questions, steps and their limits."""
    english, there = starter(word), taken(word, language=language)
    assert not {english.about, english.tcs_reason} & {there.about, there.tcs_reason}
    assert [each.hazard for each in there.steps] != [each.hazard for each in english.steps]
    assert product_of(_table(product_data(there))) == there
    assert (there.tcs, there.contains, there.made) == (english.tcs, english.contains, english.made)
    assert [each.asked for each in there.questions] == [each.asked for each in english.questions]
    assert [(s.step, s.critical, s.processes) for s in there.steps] == [
        (s.step, s.critical, s.processes) for s in english.steps
    ]
