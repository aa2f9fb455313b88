"""How something that nobody has added seems to speak."""

import tomllib
from dataclasses import asdict
from pathlib import Path

import pytest
from hypothesis import given

import devices.profiles
from holdwatch.clock import to_iso
from holdwatch.intake.decoded import LONGEST_PAYLOAD, Decoded
from holdwatch.intake.payloads import decode
from holdwatch.intake.proposing import Proposal, propose
from tests.intake.test_payloads import PAYLOADS

NOW_MS = 1_767_225_660_000
"""A minute after the instant that the profiles' examples carry."""
EXAMPLES = [
    (path.stem, example)
    for path in sorted(Path(devices.profiles.__file__).parent.glob("*.toml"))
    for example in tomllib.loads(path.read_text(encoding="utf-8"))["example"]
]


@pytest.mark.parametrize(("way", "example"), EXAMPLES)
def test_what_each_profile_sends_is_proposed_so_that_it_is_read(way: str, example: dict) -> None:
    """The examples of the profiles of real devices are read, as proposed, to what their files say they mean."""
    payload = example["message"].encode()
    proposed = propose(payload, NOW_MS)
    assert proposed.payload == {"ds18b20": "number"}.get(way, way)
    if not example["celsius"]:
        assert proposed.problem
        return
    assert proposed.celsius == pytest.approx(example["celsius"][-1], abs=1e-9)
    taken = Proposal(**{**asdict(proposed), "unit": proposed.unit or "C"})
    read = [each for each in decode(payload, taken) if isinstance(each, Decoded)]
    assert [to_iso(each.at_ms) for each in read if each.at_ms is not None] == example["at"]


@pytest.mark.parametrize(
    ("message", "pointer", "unit", "celsius"),
    [
        ('{"tempf": 41}', "/tempf", "F", 5.0),
        ('{"id": 7, "d": {"temp_c": 5}}', "/d/temp_c", "C", 5.0),
        ('{"device_temperature": 35, "temperature": 5}', "/temperature", "", 5.0),
        (
            '{"cpu_temp": 55, "humidity": 40, "a/b~c": {"temperature": 5, "unit": "F"}}',
            "/a~1b~0c/temperature",
            "C",
            -15.0,
        ),
        ('[{"temperature": 5}]', "/0/temperature", "", 5.0),
        ('{"min_temp": 1, "set_temp": 2, "temp_probe1": 5}', "/temp_probe1", "", 5.0),
    ],
)
def test_json_is_read_by_the_names_in_it(message: str, pointer: str, unit: str, celsius: float) -> None:
    """The probe's temperature, not that of its board or its set point; a unit that nobody said stays open."""
    found = propose(message.encode(), NOW_MS)
    assert (found.pointer, found.unit) == (pointer, unit)
    assert found.celsius == pytest.approx(celsius)


@pytest.mark.parametrize(
    ("message", "battery", "signal"),
    [
        ('{"temperature": 5, "battery": 87, "linkquality": 120}', "87", "120"),
        ('{"temperature": 5, "battery_pct": 87.5, "rssi": -61}', "87.5 %", "−61 dBm"),
        ('{"temperature": 5, "battery": "low"}', "low", ""),
        (
            '[{"bn":"a:","n":"t","u":"Cel","v":5},{"n":"bat","u":"%EL","v":87},{"n":"x","u":"dBm","v":-70}]',
            "87 %",
            "−70 dBm",
        ),
    ],
)
def test_battery_and_signal_stand_as_the_device_says_them(message: str, battery: str, signal: str) -> None:
    """SenML: %EL and dBm are units of RFC 8428, section 12.1, and RFC 8798; in other JSON the names tell."""
    found = propose(message.encode(), NOW_MS)
    assert (found.battery, found.signal, found.celsius) == (battery, signal, 5.0)


def test_an_instant_that_cannot_be_is_not_proposed() -> None:
    """A counter since power-on called "time" would keep every reading from being judged."""
    assert propose(b'{"temperature": 5, "time": 3600, "ts": 1767225600}', NOW_MS).time_pointer == "/ts"
    assert propose(b'{"temperature": 5, "time": 3600}', NOW_MS).time_pointer == ""


@pytest.mark.parametrize(
    ("message", "words"),
    [
        (b"", "empty"),
        (b"on", "no number"),
        (b"{}", "JSON Pointer"),
        (b'{"humidity": 40}', "JSON Pointer"),
        (b'[{"n":"a","u":"%RH","v":40}]', "no temperature"),
        (b"7" * (LONGEST_PAYLOAD + 1), "bytes"),
    ],
)
def test_what_cannot_be_told_says_why(message: bytes, words: str) -> None:
    """Nothing is proposed as sure that is not; the reason stands in words."""
    found = propose(message, NOW_MS)
    assert found.celsius is None
    assert words in found.problem


@given(payload=PAYLOADS)
def test_whatever_is_sent_a_proposal_comes_of_it(payload: bytes) -> None:
    """A stranger's message never stops the listener, and what stands as read is what would be kept."""
    found = propose(payload, NOW_MS)
    assert (found.celsius is None) == bool(found.problem)
    assert max(len(found.battery), len(found.signal)) < 40
