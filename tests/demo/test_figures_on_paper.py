"""Every figure on a log of the demonstration equals the store; a paper with one figure changed is found out."""

import random
import re
from pathlib import Path

import pytest

from holdwatch.records.log import print_log
from holdwatch.records.span import parse_span
from tests.demo.conftest import T0, Demo
from tests.records.figures import AXES, FIGURE, WORDS, Kitchen, differences, stream

pytestmark = pytest.mark.pdf

NOW = T0 + 61_000
SPAN = parse_span("2026-11-23", "2026-11-24", "America/Denver", NOW)
CHANGED = 60
"""How many figures are changed, one at a time, drawn from a seed."""


@pytest.fixture(scope="module")
def kitchen(watched: Demo) -> Kitchen:
    """Open the watched store beside the program, for questions in SQL."""
    watched.store.checkpoint()
    return Kitchen(watched.data / "holdwatch.db", SPAN.first_ms, SPAN.last_ms, NOW)


@pytest.fixture(scope="module")
def printed(watched: Demo, tmp_path_factory: pytest.TempPathFactory) -> str:
    """Print two days, in pieces, and read them back."""
    out: Path = tmp_path_factory.mktemp("printed") / "log.pdf"
    print_log(watched.store, SPAN.first_ms, SPAN.last_ms, out, by="Ana", now_ms=NOW, at_once=12)
    return stream(out)


def test_every_figure_on_paper_is_that_of_the_store(printed: str, kitchen: Kitchen) -> None:
    """Temperatures, instants, verdicts and counts: nothing is missing, and nothing stands there beside."""
    assert differences(printed, kitchen) == []
    assert len(kitchen.rows) > 200
    assert len(FIGURE.findall(printed)) > 1_000


def test_a_figure_that_was_changed_is_found(printed: str, kitchen: Kitchen) -> None:
    """One digit, or one word of a verdict, anywhere on the paper but along the axes of its charts."""
    axes = [found.span() for found in AXES.finditer(printed)]
    figures = [
        found for found in FIGURE.finditer(printed) if not any(begin <= found.start() < end for begin, end in axes)
    ]
    chance = random.Random(20_261_124)  # noqa: S311  drawing figures, not keys
    for figure in chance.sample(figures, CHANGED):
        changed = printed[: figure.start()] + _other(figure[0], chance) + printed[figure.end() :]
        assert differences(changed, kitchen), f"nobody noticed that {figure[0]!r} was changed"


def _other(figure: str, chance: random.Random) -> str:
    """Change a digit of a figure, or a word into another."""
    digits = [found.start() for found in re.finditer(r"\d", figure)]
    if not digits:
        return next(word for word in WORDS.values() if word != figure)
    at = chance.choice(digits)
    return f"{figure[:at]}{(int(figure[at]) + chance.randint(1, 9)) % 10}{figure[at + 1 :]}"
