"""Colours and shapes."""

from itertools import combinations

import pytest

from holdwatch.charts import theme
from holdwatch.charts.marks import COLOURS, SHAPES, Mark, mark_of, mark_svg
from holdwatch.rules.verdicts import Verdict


def _luminance(colour: str) -> float:
    parts = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio as W3C's WCAG 2.2 defines it; success criterion 1.4.3 asks for 4.5 of text."""
    dark, light = sorted((_luminance(one), _luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_contrast_of_black_and_white_is_21() -> None:
    """WCAG 2.2 gives 21:1 as the ratio of black on white."""
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)


@pytest.mark.parametrize("ground", [theme.PAPER, theme.WHITE, theme.FILL])
@pytest.mark.parametrize("colour", [theme.INK, theme.DEVIATION, theme.MUTED])
def test_words_stand_out_from_every_ground(colour: str, ground: str) -> None:
    """Every colour of words has a contrast of at least 4.5:1 (WCAG 2.2, 1.4.3)."""
    assert contrast(colour, ground) >= 4.5


@pytest.mark.parametrize("ground", [theme.PAPER, theme.WHITE])
def test_soon_stands_out_from_the_sheet(ground: str) -> None:
    """Ochre words stand on the bare sheet only, and have a contrast of at least 4.5:1 there."""
    assert contrast(theme.SOON, ground) >= 4.5


def test_every_mark_has_a_shape_of_its_own() -> None:
    """No two words share a shape, so that colour is never needed to tell them apart."""
    assert set(SHAPES) == set(COLOURS) == set(Mark)
    assert all(SHAPES[one] != SHAPES[other] for one, other in combinations(Mark, 2))


def test_every_verdict_has_its_screen_word() -> None:
    """The five words have the screen words of the concepts."""
    assert [mark_of(verdict).value for verdict in Verdict] == [
        "kept",
        "deviation",
        "not shown",
        "running",
        "no limit asked",
    ]


def test_mark_svg_of_not_shown_carries_a_question_mark() -> None:
    """The shape of "not shown" is hatched and asks; each shape is named for screen readers."""
    assert ">?<" in mark_svg(Mark.NOT_SHOWN)
    assert ">?<" not in mark_svg(Mark.DEVIATION)
    assert 'aria-label="deviation"' in mark_svg(Mark.DEVIATION)
