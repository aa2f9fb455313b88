"""SenML packs are resolved as RFC 8428 says."""

import json
from pathlib import Path

import pytest

from holdwatch.errors import MalformedPayloadError
from holdwatch.intake.senml import resolve

PUBLISHED = json.loads((Path(__file__).parents[1] / "published" / "rfc8428_examples.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("example", PUBLISHED["examples"], ids=lambda example: example["where"])
def test_resolve_matches_rfc_8428_examples(example: dict) -> None:
    """The standard's own packs resolve to the records it states (milliseconds are exact in a double)."""
    found = resolve(json.loads(example["pack"]))
    assert len(found) == len(example["resolved"])
    for record, expected in zip(found, example["resolved"], strict=True):
        assert (record.name, record.unit, record.relative) == (expected["n"], expected["u"], expected["relative"])
        assert record.time_s == pytest.approx(expected["t"], abs=0.0005)
        assert record.value == expected["v"]


def test_resolve_base_fields_hold_until_replaced() -> None:
    """A base name, unit, value and time reach every later record until another replaces it."""
    pack = [
        {"bn": "a:", "bu": "Cel", "bv": 20, "bt": 1e9, "n": "x", "v": 1},
        {"n": "y", "v": 2, "t": 5},
        {"bn": "b:", "bv": 0, "n": "x", "v": 3, "u": "K"},
        {"n": "y", "v": 4},
    ]
    assert [(r.name, r.unit, r.value, r.time_s) for r in resolve(pack)] == [
        ("a:x", "Cel", 21.0, 1e9),
        ("a:y", "Cel", 22.0, 1e9 + 5),
        ("b:x", "K", 3.0, 1e9),
        ("b:y", "Cel", 4.0, 1e9),
    ]


@pytest.mark.parametrize(("time_s", "relative"), [(2**28 - 1, True), (2**28, False), (-5, True), (0, True)])
def test_resolve_time_is_relative_below_two_to_the_28(time_s: int, *, relative: bool) -> None:
    """Section 4.5.3: below 2^28 a time counts from "now", from there on from 1970."""
    assert resolve([{"n": "a", "v": 1, "t": time_s}])[0].relative is relative


def test_resolve_base_time_and_time_together_decide_what_is_relative() -> None:
    """It is the resolved time that counts, not either part."""
    assert not resolve([{"bt": 2**28 - 10, "n": "a", "v": 1, "t": 10}])[0].relative


def test_resolve_missing_value_is_zero_beside_a_base_value() -> None:
    """A record without a value of its own has the base value."""
    assert resolve([{"bv": 4.5, "n": "a"}])[0].value == 4.5


def test_resolve_sum_alone_is_a_record() -> None:
    """A record may have a sum and no value; the base sum is added."""
    record = resolve([{"bs": 10, "n": "a", "s": 2}])[0]
    assert (record.value, record.sum) == (None, 12.0)


def test_resolve_record_of_base_fields_only_says_nothing_itself() -> None:
    """A first record may hold nothing but base fields."""
    found = resolve([{"bn": "a", "bt": 1e9, "bu": "Cel", "bv": 1}, {"v": 1}])
    assert [(r.name, r.value) for r in found] == [("a", 2.0)]


def test_resolve_unknown_label_is_ignored() -> None:
    """Section 4.4: labels of extensions that need not be understood change nothing."""
    assert resolve([{"n": "a", "v": 1, "extra": {"deep": []}}])[0].value == 1.0


@pytest.mark.parametrize(
    ("pack", "words"),
    [
        ([{"n": "a", "v": 1}, {"n": "a", "v": 2, "scale_": 10}], "must be understood"),
        ([{"n": "a", "v": 1, "bver": 11}], "version 11"),
        ([{"n": "a", "v": 1, "bver": 10.5}], "version is 10.5"),
        ([{"n": "a", "v": 1, "bver": True}], "version is True"),
        ([{"n": "a", "v": 1, "bver": 5}, {"n": "a", "v": 1, "bver": 10}], "several versions"),
        ([{"v": 1}], "no SenML name"),
        ([{"n": "_a", "v": 1}], "no SenML name"),
        ([{"n": "a b", "v": 1}], "no SenML name"),
        ([{"n": "a\n", "v": 1}], "no SenML name"),
        ([{"n": "a", "v": 1, "vs": "x"}], "several values"),
        ([{"n": "a", "u": "Cel"}], "no value"),
        ([{"n": "a", "v": "1"}], "must be a number"),
        ([{"n": "a", "v": True}], "must be a number"),
        ([{"n": "a", "v": 10**400}], "must be a number"),
        ([{"n": 1, "v": 1}], "must be text"),
        ([{"n": "a", "vb": 1}], "true or false"),
        ([1], "no object"),
        ([], "list of records"),
        ({"n": "a", "v": 1}, "list of records"),
    ],
)
def test_resolve_pack_outside_the_standard_is_refused(pack: object, words: str) -> None:
    """What the standard calls an error, or does not allow, refuses the pack with its reason."""
    with pytest.raises(MalformedPayloadError, match=words):
        resolve(pack)
