"""How something that nobody has added seems to speak, told from one of its messages: a proposal, for a person to confirm.

Whatever is proposed is tried at once on the message itself, with the same reading as every other (`payloads`): the
temperature that stands beside a proposal is the one that would be kept.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

from holdwatch.errors import MalformedPayloadError
from holdwatch.intake.decoded import LONGEST_PAYLOAD, Refused, to_celsius, too_large
from holdwatch.intake.instants import is_plausible
from holdwatch.intake.payloads import decode, read_instant
from holdwatch.intake.senml import SenmlRecord, resolve
from holdwatch.intake.strict_json import read_json
from holdwatch.language import _
from holdwatch.storage.tables import Payload

__all__ = ["Proposal", "propose"]

_MOST_LEAVES, _DEEPEST = 200, 6
_LONGEST_TEXT = 20
_TEMPERATURES = (
    *("temperature", "temperaturec", "temperaturef", "tempc", "tempf", "temp", "celsius", "fahrenheit", "degc", "degf"),
    *("probe", "value", "t", "v"),
)
"""Names of a temperature without the signs between their words, the likeliest first."""
_NAMED = {"F": ("fahrenheit", "degf", "tempf", "temperaturef"), "C": ("celsius", "degc", "tempc", "temperaturec")}
_OF_THE_DEVICE = ("cpu", "chip", "board", "mcu", "device", "internal", "set", "target", "min", "max", "alarm")
_TIMES = frozenset(("at", "time", "ts", "timestamp", "datetime", "measuredat", "readat", "epoch", "utc", "date"))
_UNITS = frozenset(("unit", "units", "temperatureunit", "tempunit", "u"))
_BATTERY = ("battery", "batt", "bat", "vbat")
_SIGNAL = ("rssi", "linkquality", "lqi", "signal", "snr")
_SENML_BATTERY, _SENML_SIGNAL = "%EL", "dBm"
"""RFC 8428, section 12.1, and RFC 8798, section 3."""
_SENML_WARM = frozenset(("Cel", "K"))


@dataclass(frozen=True, slots=True)
class Proposal:
    """How a message seems to be written, and what it says then; without ``payload`` nobody could tell."""

    payload: str = ""
    pointer: str = ""
    time_pointer: str = ""
    unit_pointer: str = ""
    senml_name: str = ""
    unit: str = ""
    """Of a value that comes without one; empty where the message does not say: then somebody must."""
    celsius: float | None = None
    """Read as °C where the unit is not said."""
    battery: str = ""
    signal: str = ""
    problem: str = ""


class _Leaf(NamedTuple):
    """One value in a document: where it stands, its own name without signs, and what it is."""

    pointer: str
    name: str
    value: Any


def propose(payload: bytes, arrival_ms: int) -> Proposal:
    """Tell how a message seems to be written; whatever it holds, nothing is raised because of it."""
    if len(payload) > LONGEST_PAYLOAD:
        return Proposal(problem=too_large(payload))
    try:
        return _tried(_written(payload, arrival_ms), payload)
    except MalformedPayloadError as exc:
        return Proposal(problem=str(exc))


def _tried(proposed: Proposal, payload: bytes) -> Proposal:
    """Read the message as proposed, and say what came of it."""
    if not proposed.payload:
        return proposed
    try:
        found = decode(payload, replace(proposed, unit=proposed.unit or "C"))
    except MalformedPayloadError as exc:
        return replace(proposed, problem=str(exc))
    last = found[-1]
    if isinstance(last, Refused):
        return replace(proposed, problem=last.detail)
    return replace(proposed, celsius=last.celsius)


def _written(payload: bytes, arrival_ms: int) -> Proposal:
    """Tell a bare number, a SenML pack and any other JSON apart."""
    document = read_json(payload) if payload.lstrip()[:1] in {b"{", b"["} else None
    if document is None:
        return Proposal(Payload.NUMBER)
    if isinstance(document, list):
        try:
            return _pack(resolve(document))
        except MalformedPayloadError:
            pass  # a list, and no pack: some other JSON
    return _document(list(_leaves(document)), arrival_ms)


# ---- a SenML pack


def _pack(records: list[SenmlRecord]) -> Proposal:
    """Propose the first temperature of a pack, by its name where the pack says anything else."""
    warm = list(dict.fromkeys(each.name for each in records if each.value is not None and each.unit in _SENML_WARM))
    return Proposal(
        Payload.SENML if warm else "",
        unit="C",
        senml_name=warm[0] if warm and len({each.name for each in records}) > 1 else "",
        battery=_of_pack(records, _SENML_BATTERY, _BATTERY),
        signal=_of_pack(records, _SENML_SIGNAL, _SIGNAL),
        problem="" if warm else _("the pack holds no temperature (Cel or K)"),
    )


def _of_pack(records: list[SenmlRecord], unit: str, names: tuple[str, ...]) -> str:
    """Return what a pack says in a unit, or under a name."""
    for each in records:
        own = _plain(re.split(r"[:/]", each.name)[-1])
        if each.value is not None and (each.unit == unit or own.startswith(names)):
            return f"{each.value:g} {each.unit.removesuffix('EL')}".strip().replace("-", "−")
    return ""


# ---- any JSON


def _document(leaves: list[_Leaf], arrival_ms: int) -> Proposal:
    """Propose where the temperature, its unit and its instant stand, by their names."""
    numbers = [leaf for leaf in leaves if isinstance(leaf.value, int | float) and not isinstance(leaf.value, bool)]
    found = _temperature(numbers)
    battery, signal = _told(leaves, _BATTERY), _told(leaves, _SIGNAL)
    if found is None:
        problem = _("no value in the message is called a temperature; say where it stands with its JSON Pointer")
        return Proposal(battery=battery, signal=signal, problem=problem)
    named = next((leaf for leaf in leaves if leaf.name in _UNITS and _is_unit(leaf.value)), None)
    dated = next((leaf for leaf in leaves if leaf.name in _TIMES and _is_now(leaf.value, arrival_ms)), None)
    own = next((unit for unit, names in _NAMED.items() if found.name.endswith(names)), "")
    return Proposal(
        Payload.JSON,
        pointer=found.pointer,
        time_pointer="" if dated is None else dated.pointer,
        unit_pointer="" if named is None or own else named.pointer,
        unit=own or ("" if named is None else "C"),
        battery=battery,
        signal=signal,
    )


def _temperature(numbers: list[_Leaf]) -> _Leaf | None:
    """Return the number whose name is likeliest that of the probe's temperature."""
    own = [leaf for leaf in numbers if not any(word in leaf.name for word in _OF_THE_DEVICE)]
    for name in _TEMPERATURES:
        for leaf in own:
            if leaf.name == name:
                return leaf
    return next((leaf for leaf in own if "temp" in leaf.name), None)


def _told(leaves: list[_Leaf], names: tuple[str, ...]) -> str:
    """Return what stands under one of the names, as the device writes it, with a unit that its name tells."""
    for leaf in leaves:
        if leaf.name.startswith(names) and isinstance(leaf.value, int | float | str):
            said = f"{leaf.value:g}" if isinstance(leaf.value, float) else str(leaf.value)[:_LONGEST_TEXT]
            return f"{said.replace('-', '−')}{_unit_of(leaf)}"
    return ""


def _unit_of(leaf: _Leaf) -> str:
    if leaf.name.startswith("rssi"):
        return " dBm"
    if leaf.name.endswith(("pct", "percent")):
        return " %"
    return " V" if leaf.name in {"vbat", "batteryv", "battv", "batv", "batteryvoltage"} else ""


def _is_unit(value: Any) -> bool:
    return isinstance(value, str) and to_celsius(0.0, value) is not None


def _is_now(value: Any, arrival_ms: int) -> bool:
    """Return whether a value is an instant at which a reading that arrived then can have been taken."""
    try:
        at_ms = read_instant(value)
    except MalformedPayloadError:
        return False
    return at_ms is not None and is_plausible(at_ms, arrival_ms)


def _leaves(document: Any) -> Iterator[_Leaf]:
    """Return the values of a document, those further out first; of a huge one only the first."""
    level, found = [("", "", document)], 0
    for _depth in range(_DEEPEST + 1):
        below: list[tuple[str, str, Any]] = []
        for pointer, name, value in level:
            if isinstance(value, dict | list):
                inside = value.items() if isinstance(value, dict) else enumerate(value)
                for token, each in list(inside)[:_MOST_LEAVES]:
                    own = _plain(str(token)) if isinstance(value, dict) else name
                    below.append((f"{pointer}/{str(token).replace('~', '~0').replace('/', '~1')}", own, each))
                continue
            found += 1
            if found > _MOST_LEAVES:
                return
            yield _Leaf(pointer, name, value)
        level = below[:_MOST_LEAVES]


def _plain(name: str) -> str:
    """Return a name in small letters without the signs between its words."""
    return re.sub(r"[^a-z0-9%]", "", name.lower())
