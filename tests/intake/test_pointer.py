"""JSON Pointer as RFC 6901 says."""

import json
from pathlib import Path

import pytest

from holdwatch.errors import MalformedPayloadError
from holdwatch.intake.pointer import point

PUBLISHED = json.loads((Path(__file__).parents[1] / "published" / "rfc6901_section_5.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize(("pointer", "value"), PUBLISHED["evaluates"].items())
def test_point_matches_rfc_6901_section_5(pointer: str, value: object) -> None:
    """The standard's pointers find the values it states."""
    assert point(PUBLISHED["document"], pointer) == value


def test_point_empty_pointer_is_the_whole_document() -> None:
    """Section 5: the empty pointer is the document itself."""
    assert point(PUBLISHED["document"], "") is PUBLISHED["document"]


@pytest.mark.parametrize(
    "pointer", ["/foo/2", "/foo/-", "/foo/01", "/foo/-1", "/foo/١", "/nothing", "/foo/0/x", "/m~n"]
)
def test_point_nothing_there_is_refused(pointer: str) -> None:
    """An index beyond the end, with a leading zero, or a name that is not there finds nothing."""
    with pytest.raises(MalformedPayloadError):
        point(PUBLISHED["document"], pointer)


@pytest.mark.parametrize("pointer", ["foo", "#/foo", "/a~", "/a~2b"])
def test_point_no_pointer_is_refused(pointer: str) -> None:
    """What is no JSON Pointer says so."""
    with pytest.raises(MalformedPayloadError, match="no JSON Pointer"):
        point(PUBLISHED["document"], pointer)
