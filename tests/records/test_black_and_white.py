"""A paper printed in black and white: every state is still told apart by its word and by its shape, and can be read.

The page is set by the real templates, drawn in grey by poppler's pdftoppm, and looked at point by point.
"""

import re
import subprocess
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from holdwatch.charts.marks import Mark
from holdwatch.records.fixed_words import RECORD, fixed_words
from holdwatch.records.setting import shown
from holdwatch.records.typeset import typeset

pytestmark = pytest.mark.pdf

DPI = 600
PT = DPI / 72
SIDE, BETWEEN = 6.0, 3.0  # the side of a mark and its distance from its word, in pt, as the template has them
SAME = 0.08
"""Two drawings of the same mark differ by less of their area; any two marks must differ by more."""
READABLE = 4.5
"""WCAG 2.2, success criterion 1.4.3: the contrast of text of this size."""

Grey = NDArray[np.float64]


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> tuple[Grey, dict[str, tuple[float, float, float, float]]]:
    """A page with every state in a cell of a table: as points from 0 (ink) to 1 (paper), and where each word is. [pt]."""
    words = [shown(mark) for mark in Mark]
    facts = {
        **fixed_words(RECORD),
        "paper": "a4",
        "document_title": "Marks",
        "heading": "Marks",
        "caution": "What the record shows.",
        "head": {"site": "Linden Street Patisserie", "kind": "marks", "period_short": "", "printed": "", "record": ""},
        "attention": [[str(n), "–", "–", word, "–", "–"] for n, word in enumerate(words)],
        "attention_empty": "",
        "attention_more": "",
        "parts": ["attention"],
    }
    pdf: Path = tmp_path_factory.mktemp("marks") / "marks.pdf"
    pdf.write_bytes(typeset(facts, 0))
    drawn = subprocess.run(["pdftoppm", "-gray", "-r", str(DPI), pdf], check=True, capture_output=True).stdout
    head = re.match(rb"P5\s(\d+) (\d+)\s255\s", drawn)
    assert head is not None
    grey = np.frombuffer(drawn, np.uint8, offset=head.end()).reshape(int(head[2]), int(head[1])) / 255
    boxes = subprocess.run(["pdftotext", "-bbox", pdf, "-"], check=True, capture_output=True, text=True).stdout
    found = re.findall(r'xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">([^<]+)<', boxes)
    firsts = {word["word"].split()[0] for word in words}
    places = {word: (float(a), float(b), float(c), float(d)) for a, b, c, d, word in found if word in firsts | {"?"}}
    assert places.keys() == firsts | {"?"}
    return grey, places


def _cut(grey: Grey, left: float, top: float, right: float, bottom: float) -> Grey:
    return grey[round(top * PT) : round(bottom * PT), round(left * PT) : round(right * PT)]


def _mark(page: tuple[Grey, dict[str, tuple[float, float, float, float]]], mark: Mark) -> Grey:
    """Return the ink of a mark, from 0 to 1 a point, cut from beside its word."""
    grey, places = page
    left, top, _, bottom = places[mark.value.split()[0]]
    beside = 1 - _cut(grey, left - BETWEEN - SIDE - 1, top, left - 1, bottom)
    rows = np.flatnonzero(beside.max(axis=1) > 0.2)
    middle, half = (rows[0] + rows[-1]) / 2, (SIDE + 1) / 2 * PT
    return beside[round(middle - half) : round(middle + half), : round((SIDE + 2) * PT)]


def test_no_two_marks_look_alike_in_grey(page: tuple[Grey, dict[str, tuple[float, float, float, float]]]) -> None:
    """Laid over each other, two marks differ over more of their area than a blurred edge makes."""
    for one, other in combinations(Mark, 2):
        a, b = _mark(page, one), _mark(page, other)
        height = min(len(a), len(b))
        assert np.abs(a[:height] - b[:height]).mean() > SAME, (one, other)


def test_marks_have_the_ink_that_their_shape_promises(
    page: tuple[Grey, dict[str, tuple[float, float, float, float]]],
) -> None:
    """Filled, half-filled, hatched, open: each clearly less dark inside than the one before."""

    def inside(mark: Mark, left: float = 0.0, right: float = 1.0) -> float:
        drawn = _mark(page, mark)
        across = np.flatnonzero(drawn.max(axis=0) > 0.2)
        down = np.flatnonzero(drawn.max(axis=1) > 0.2)
        edge = round(0.9 * PT)  # without the outline
        body = drawn[down[0] + edge : down[-1] - edge, across[0] + edge : across[-1] - edge]
        return float(body[:, round(left * body.shape[1]) : round(right * body.shape[1])].mean())

    assert inside(Mark.DEVIATION) > 0.6
    assert inside(Mark.SOON, 0, 0.4) > 0.4
    assert inside(Mark.SOON, 0.6, 1) < 0.1
    assert 0.1 < inside(Mark.NOT_SHOWN) < 0.45
    assert inside(Mark.KEPT) < 0.05
    assert inside(Mark.DEVIATION) - inside(Mark.NOT_SHOWN) > 0.2


def test_words_of_states_can_be_read_in_grey(page: tuple[Grey, dict[str, tuple[float, float, float, float]]]) -> None:
    """The ink of every word stands out from the paper at 4.5:1 or more, also where it is plum or ochre in colour."""
    grey, places = page
    for word, box in places.items():
        ink = float(np.quantile(_cut(grey, *box), 0.02))
        luminance = ((ink + 0.055) / 1.055) ** 2.4 if ink > 0.04045 else ink / 12.92
        assert 1.05 / (luminance + 0.05) >= READABLE, word


def test_a_mark_that_lost_its_shape_would_be_noticed(
    page: tuple[Grey, dict[str, tuple[float, float, float, float]]],
) -> None:
    """Told apart by colour alone, two marks would be nearer to each other than the test allows."""
    filled = _mark(page, Mark.DEVIATION)
    assert np.abs(filled - filled * 0.95).mean() < SAME
