"""Canonical JSON and the digest of a line, held against the standards."""

import hashlib

import pytest

from holdwatch.trust.lines import NOTHING_BEFORE, Line, canonical, digest_of, read_line


def test_canonical_form_is_that_of_the_standard() -> None:
    """RFC 8785, section 3.2.2 and 3.2.3: its own example, sorted, with numbers and strings in their one form."""
    given = {
        "numbers": [333333333.33333329, 1e30, 4.50, 2e-3, 0.000000000000000000000000001],
        "string": '€$\u000f\nA\'B"\\\\"/',
        "literals": [None, True, False],
    }
    assert canonical(given) == (
        '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
        '"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    )


def test_names_are_sorted_by_utf16_units() -> None:
    """RFC 8785, section 3.2.3: the order of its example."""
    given = {"\u20ac": 1, "\r": 2, "\ufb33": 3, "1": 4, "\U0001f600": 5, "\u0080": 6, "\u00f6": 7}
    found = canonical(given)
    assert [int(part.rsplit(":", 1)[1]) for part in found[1:-1].split(",")] == [2, 4, 6, 7, 1, 5, 3]


@pytest.mark.parametrize("number", [float("nan"), float("inf"), 2**53])
def test_what_json_cannot_say_is_refused(number: float) -> None:
    """RFC 8785, section 3.2.2.3: not a number and infinity end in an error; I-JSON bounds whole numbers."""
    with pytest.raises(ValueError, match=r".+"):
        canonical({"value": number})


def test_a_line_is_read_back_and_digested_as_it_stands() -> None:
    """What is digested is the text itself, so any program for SHA-256 can check it."""
    line = Line(1, NOTHING_BEFORE, "event", "12", {"text": "Crème anglaise", "celsius": 4.0, "unit_id": None})
    text = line.text()
    assert read_line(text) == line
    assert digest_of(text) == hashlib.sha256(text.encode()).hexdigest()
    assert '"celsius":4,' in text


@pytest.mark.parametrize("text", ["{}", "[1]", "no line", '{"position":"x"}'])
def test_what_is_no_line_is_refused(text: str) -> None:
    """With a sentence, not with whatever the reading of JSON raised."""
    with pytest.raises(ValueError, match=r".+"):
        read_line(text)
