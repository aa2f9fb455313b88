"""Messages become temperatures, or are refused with a reason; nothing else happens."""

import json
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import devices.profiles
from holdwatch.clock import to_iso
from holdwatch.errors import MalformedPayloadError
from holdwatch.intake.decoded import LONGEST_PAYLOAD, AsideReason, Decoded, Refused
from holdwatch.intake.payloads import decode
from tests.intake.speaking import Profile

NUMBER = Profile()
JSON = Profile("json", pointer="/t", time_pointer="/at")
SENML = Profile("senml")
PROFILES = sorted(Path(devices.profiles.__file__).parent.glob("*.toml"))


@pytest.mark.parametrize(
    ("payload", "celsius"),
    [(b"21.4", 21.4), (b" -5\r\n", -5.0), (b"+3.", 3.0), (b".5", 0.5), (b"1e1", 10.0), (b"85", 85.0), (b"-60", -60.0)],
)
def test_decode_number_is_read(payload: bytes, celsius: float) -> None:
    """A bare number is a temperature without an instant."""
    assert decode(payload, NUMBER) == [Decoded(None, celsius)]


def test_decode_number_in_fahrenheit_is_converted() -> None:
    """The unit of a bare number is the one the probe was added with."""
    assert decode(b"41", Profile(unit="F")) == [Decoded(None, 5.0)]


@pytest.mark.parametrize(
    ("payload", "words"),
    [
        (b"21,4", "comma"),
        (b"", "empty"),
        (b"  \n", "empty"),
        (b"\xff\xfe", "UTF-8"),
        (b"1_0", "no number"),
        (b"0x10", "no number"),
        ("٢١".encode(), "no number"),
        (b"21.4 C", "no number"),
        (b"21.4\x00", "no number"),
        (b"[21.4]", "no number"),
    ],
)
def test_decode_number_unreadable_is_refused_with_its_reason(payload: bytes, words: str) -> None:
    """What is not one number says what is wrong with it."""
    with pytest.raises(MalformedPayloadError, match=words) as caught:
        decode(payload, NUMBER)
    assert caught.value.reason == "unreadable"


@pytest.mark.parametrize(
    ("payload", "profile", "reason"),
    [
        (b"-127", NUMBER, AsideReason.IMPOSSIBLE_VALUE),
        (b"-60.1", NUMBER, AsideReason.IMPOSSIBLE_VALUE),
        (b"300.1", NUMBER, AsideReason.IMPOSSIBLE_VALUE),
        (b"-127", Profile(unit="F"), AsideReason.IMPOSSIBLE_VALUE),
        (b"1e999", NUMBER, AsideReason.NOT_A_NUMBER),
        (b"nan", NUMBER, AsideReason.NOT_A_NUMBER),
        (b"-inf", NUMBER, AsideReason.NOT_A_NUMBER),
        (b'{"t":true,"at":null}', JSON, AsideReason.NOT_A_NUMBER),
        (b'{"t":"21.4","at":null}', JSON, AsideReason.NOT_A_NUMBER),
        (b'{"t":null,"at":null}', JSON, AsideReason.NOT_A_NUMBER),
        (b'{"t":1e999,"at":null}', JSON, AsideReason.NOT_A_NUMBER),
        (b'{"t":' + b"9" * 400 + b',"at":null}', JSON, AsideReason.NOT_A_NUMBER),
        (b'[{"n":"a","u":"%RH","v":30}]', SENML, AsideReason.OTHER_UNIT),
        (b'[{"n":"a","v":30}]', SENML, AsideReason.OTHER_UNIT),
        (b'[{"n":"a","u":"degF","v":30}]', SENML, AsideReason.OTHER_UNIT),
        (b'[{"n":"a","u":"Cel","vs":"warm"}]', SENML, AsideReason.NOT_A_NUMBER),
        (b'[{"n":"a","u":"Cel","vb":true}]', SENML, AsideReason.NOT_A_NUMBER),
    ],
)
def test_decode_value_that_is_no_temperature_is_refused(payload: bytes, profile: Profile, reason: AsideReason) -> None:
    """Error codes, other quantities and what is no number are set aside with their reason."""
    (found,) = decode(payload, profile)
    assert isinstance(found, Refused)
    assert found.reason == reason
    assert found.detail


def test_decode_disconnected_sensor_says_what_to_do() -> None:
    """The code of a sensor that is not connected is named as such."""
    (found,) = decode(b"-127.00", NUMBER)
    assert isinstance(found, Refused)
    assert "wiring" in found.detail


@pytest.mark.parametrize(
    ("stated", "at_ms"),
    [
        ("1767225600", 1_767_225_600_000),
        ("1767225600.25", 1_767_225_600_250),
        ("1767225600250", 1_767_225_600_250),
        ('"2026-01-01T00:00:00Z"', 1_767_225_600_000),
        ('"2025-12-31T17:00:00-07:00"', 1_767_225_600_000),
        ("0", 0),
        ("null", None),
    ],
)
def test_decode_json_instant_is_read(stated: str, at_ms: int | None) -> None:
    """Epoch seconds, epoch milliseconds, ISO 8601 with its offset, or null for unknown."""
    assert decode(f'{{"t":4,"at":{stated}}}'.encode(), JSON) == [Decoded(at_ms, 4.0)]


@pytest.mark.parametrize(
    "message",
    [
        '{"t":4,"at":"2026-01-01T00:00:00"}',
        '{"t":4,"at":"yesterday"}',
        '{"t":4,"at":true}',
        '{"t":4,"at":1e300}',
        '{"t":4,"at":"0001-01-01T00:00:00+23:59:59.999999x"}',
        '{"t":4}',
        '{"at":1}',
        '{"t":4,"t":5,"at":1}',
        '{"t":NaN,"at":1}',
        '{"t":{"c":4},"at":1}',
        "4",
        "{",
        '{"t":' + "9" * 5000 + ',"at":1}',
    ],
)
def test_decode_json_unreadable_is_refused(message: str) -> None:
    """No offset, no such place, a key twice, or no JSON at all: the whole message is refused."""
    with pytest.raises(MalformedPayloadError):
        decode(message.encode(), JSON)


def test_decode_json_nested_too_deep_is_refused() -> None:
    """A message that would exhaust the reader is refused."""
    with pytest.raises(MalformedPayloadError, match="too deep"):
        decode(b"[" * 60_000, JSON)


@pytest.mark.parametrize("profile", [NUMBER, JSON, SENML])
def test_decode_too_large_is_refused_unread(profile: Profile) -> None:
    """A megabyte is not read, whatever is in it."""
    with pytest.raises(MalformedPayloadError) as caught:
        decode(b"1" * 1_000_000, profile)
    assert caught.value.reason == AsideReason.TOO_LARGE
    assert f"{LONGEST_PAYLOAD:,}" in str(caught.value)


@pytest.mark.parametrize(
    ("unit", "celsius"), [("C", 50.0), ("°C", 50.0), ("celsius", 50.0), ("F", 10.0), ("degF", 10.0), ("K", -223.15)]
)
def test_decode_json_unit_is_the_messages_own(unit: str, celsius: float) -> None:
    """A unit in the message counts more than the profile's."""
    (found,) = decode(json.dumps({"t": 50, "u": unit}).encode(), Profile("json", "/t", unit_pointer="/u"))
    if celsius < -60:
        assert isinstance(found, Refused)
    else:
        assert found == Decoded(None, celsius)


def test_decode_senml_relative_time_counts_from_arrival() -> None:
    """A relative time is no instant of the device's own."""
    pack = b'[{"n":"a","bu":"Cel","t":-10,"v":4},{"n":"a","v":5}]'
    assert decode(pack, SENML) == [Decoded(None, 4.0, -10_000), Decoded(None, 5.0, 0)]


def test_decode_senml_several_temperatures_need_a_name() -> None:
    """Two sensors in one pack are never taken for one probe."""
    pack = b'[{"bn":"x:","bu":"Cel","n":"food","v":4},{"n":"air","v":20}]'
    with pytest.raises(MalformedPayloadError, match="several names"):
        decode(pack, SENML)
    assert decode(pack, Profile("senml", senml_name="x:food")) == [Decoded(None, 4.0)]
    with pytest.raises(MalformedPayloadError, match="x:wall"):
        decode(pack, Profile("senml", senml_name="x:wall"))


@pytest.mark.parametrize("path", PROFILES, ids=lambda path: path.stem)
def test_decode_reads_the_examples_of_every_profile(path: Path) -> None:
    """What a profile's file says of its messages is what the decoder makes of them."""
    stated = tomllib.loads(path.read_text(encoding="utf-8"))
    register = {k: v for k, v in stated["register"].items() if k not in {"topic", "command"}}
    assert stated["example"]
    for example in stated["example"]:
        found = decode(example["message"].encode(), Profile(**register))
        read = [value for value in found if isinstance(value, Decoded)]
        assert [value.celsius for value in read] == pytest.approx(example["celsius"], abs=1e-9)
        assert [to_iso(value.at_ms) for value in read if value.at_ms is not None] == example["at"]
        assert [v.reason for v in found if isinstance(v, Refused)] == example.get("refused", [])


JSON_VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=4), inner, max_size=4),
    max_leaves=12,
)
LABELS = st.sampled_from(
    ["bn", "bt", "bu", "bv", "bs", "bver", "n", "u", "v", "vs", "vb", "vd", "s", "t", "ut", "x", "y_"]
)
LIKELY = st.sampled_from(["a", "a:b/c", "Cel", "K", "%RH", -127, 4.2, 1e9, 2**28, 10, True, None, 1e308, -1e308])
PACKS = st.lists(st.dictionaries(LABELS, LIKELY | JSON_VALUES, max_size=6), max_size=5)
POINTED = st.fixed_dictionaries({"t": LIKELY | JSON_VALUES, "at": LIKELY | JSON_VALUES, "u": LIKELY | JSON_VALUES})
PAYLOADS = (
    st.binary(max_size=200)
    | st.text(alphabet="0123456789+-.,eE_ naif\n\0٢", max_size=12).map(str.encode)
    | (JSON_VALUES | PACKS | POINTED).map(lambda value: json.dumps(value).encode())
)
POINTERS = st.sampled_from(["", "/t", "/at", "/u", "/0/v", "t", "/~", "//"])


@given(
    payload=PAYLOADS,
    profile=st.builds(
        Profile,
        payload=st.sampled_from(["number", "json", "senml", "other"]),
        pointer=POINTERS,
        time_pointer=POINTERS,
        unit_pointer=POINTERS,
        senml_name=st.sampled_from(["", "a"]),
        unit=st.sampled_from(["C", "F", "?"]),
    ),
)
def test_decode_anything_yields_possible_temperatures_or_a_reason(payload: bytes, profile: Profile) -> None:
    """Whatever the bytes are: possible temperatures and refusals, or the one error."""
    for value in _decode_or_reason(payload, profile):
        if isinstance(value, Decoded):
            assert -60.0 <= value.celsius <= 300.0
            assert value.at_ms is None or isinstance(value.at_ms, int)
        else:
            assert value.reason in set(AsideReason)
            assert value.detail


def _decode_or_reason(payload: bytes, profile: Profile) -> list[Decoded | Refused]:
    """Decode; a message refused as a whole counts as one refusal."""
    try:
        return decode(payload, profile)
    except MalformedPayloadError as exc:
        return [Refused(AsideReason(exc.reason), str(exc))]
