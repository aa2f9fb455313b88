"""Check a file of a kitchen's record: whether it is whole, and is what was sealed and signed.

This file stands alone: it needs Python 3.11 and the package ``cryptography``, and nothing of the program that wrote
the record. Run it on the file::

    python check_record.py record.jsonl [DIGEST …]

A digest is one that left the kitchen earlier: from the foot of a printed paper, or from a witness file. Without one it
can be told that the file agrees with itself, and not that it is the latest, nor that the whole of it was not made anew.

The form of the file is described in docs/records-format.md. Exit status: 0 whole, 1 not whole, 2 no such file.
"""

# ruff: noqa: T201  it is a program that prints

import hashlib
import json
import struct
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

FORM = {"form": "holdwatch record", "version": 1}
THINNED_FORM = {"form": "holdwatch record", "version": 2}  # of some days readings were taken away, and it says which
PACKED = struct.Struct(">qdqh")  # instant [ms], raw value [°C], how long after it arrived [ms], flags
LEAF = 1024
SHORTEST = 16  # hex digits of a digest that are enough: as many as stand at the foot of a page
NOTHING_BEFORE = "0" * 64


@dataclass
class Found:
    """What was seen so far."""

    digests: list[str] = field(default_factory=lambda: [NOTHING_BEFORE])
    seals: list[dict[str, Any]] = field(default_factory=list)
    thinned: dict[tuple[int, str], dict[str, Any]] = field(default_factory=dict)
    days: dict[tuple[int, str], list[bytes]] = field(default_factory=dict)
    probes: dict[int, str] = field(default_factory=dict)
    ended: dict[str, Any] | None = None
    wrong: list[str] = field(default_factory=list)


def check(lines: Iterator[str], outside: list[str]) -> Found:
    """Check the lines of a file."""
    found = Found()
    for number, line in enumerate(lines, start=1):
        try:
            entry = json.loads(line)
            if not isinstance(entry, dict):
                raise TypeError  # noqa: TRY301  what follows reads names
            if number == 1:
                if entry not in (FORM, THINNED_FORM):
                    found.wrong.append(f"line 1: this is no record of the form {FORM} or {THINNED_FORM}")
                    return found
            elif "previous" in entry:
                _link(found, entry, line, number)
            elif "readings" in entry:
                day = [PACKED.pack(*reading) for reading in entry["readings"]]
                found.days.setdefault((entry["probe"], entry["day"]), []).extend(day)
            else:
                found.ended = entry
        except (KeyError, TypeError, ValueError, struct.error):
            found.wrong.append(f"line {number}: it cannot be read: {line[:60]!r}")
    _end(found, outside)
    for seal in found.seals:
        _seal(found, seal)
    for thinned in found.thinned.values():
        _thinned(found, thinned)
    _none_beside(found)
    return found


def _link(found: Found, entry: dict[str, Any], line: str, number: int) -> None:
    """Check a line of the chain: it names the digest of the one before it."""
    expected = len(found.digests)
    where = f"line {number}, entry {entry['position']} ({entry['table']} {entry['row']})"
    if entry["position"] != expected:
        found.wrong.append(f"{where}: entry {expected} should stand here")
    if entry["previous"] != found.digests[-1]:
        found.wrong.append(f"{where}: the entry before it is not the one that stood there")
    found.digests.append(hashlib.sha256(line.encode()).hexdigest())
    if entry["table"] == "seal" and entry["content"]:
        found.seals.append(entry["content"])
    if entry["table"] == "thinned_day" and entry["content"]:
        found.thinned[entry["content"]["probe_id"], entry["content"]["day"]] = entry["content"]
    if entry["table"] == "probe" and entry["content"]:
        found.probes[entry["content"]["id"]] = entry["content"]["code"]


def _end(found: Found, outside: list[str]) -> None:
    """Check that the file does not stop early, and that it holds the digests from outside."""
    last = len(found.digests) - 1
    if found.ended is None:
        found.wrong.append("the file ends early: its last line is missing")
    elif (found.ended.get("entries"), found.ended.get("head")) != (last, found.digests[-1]):
        found.wrong.append(f"the last line names entry {found.ended.get('entries')}: the file holds {last}, or others")
    found.wrong.extend(
        f"no entry has the digest {digest[:16]}… from outside: the file is older, cut off, changed, or of another store"
        for digest in outside
        if len(digest) < SHORTEST or not any(known.startswith(digest.strip().lower()) for known in found.digests[1:])
    )


def _seal(found: Found, seal: dict[str, Any]) -> None:
    """Check a seal: its signature, the entry that it names, and the readings that it is over."""
    name = found.probes.get(seal["probe_id"], seal["probe_id"])
    where = f"probe {name}, {seal['day']}" + (f", supplement {seal['part']}" if seal["part"] else "")
    said = {key: value for key, value in seal.items() if key not in {"id", "signature"}}
    text = json.dumps(said, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    try:
        key = Ed25519PublicKey.from_public_bytes(bytes.fromhex(seal["key"]))
        key.verify(bytes.fromhex(seal["signature"]), text.encode())
    except (InvalidSignature, ValueError):
        found.wrong.append(f"{where}: the signature is not over what the seal says")
    if seal["head"] >= len(found.digests) or found.digests[seal["head"]] != seal["head_digest"]:
        found.wrong.append(f"{where}: entry {seal['head']} is not the one that the seal names")
    thinned = found.thinned.get((seal["probe_id"], seal["day"]))
    if thinned is not None and seal["part"] <= thinned["part"]:
        return  # what it was over is no longer there: `_thinned` checks what was left
    own = _under(found, seal)
    if len(own) != seal["count"] or root_of(own) != seal["root"]:
        found.wrong.append(f"{where}: its {len(own)} readings are not the {seal['count']} that were sealed")


def _thinned(found: Found, thinned: dict[str, Any]) -> None:
    """Check a day of which readings were taken away: it was sealed before, and what was left is there."""
    where = f"probe {found.probes.get(thinned['probe_id'], thinned['probe_id'])}, {thinned['day']}, thinned"
    seals = [seal for seal in found.seals if _same_day(seal, thinned)]
    before = sorted((seal for seal in seals if seal["part"] <= thinned["part"]), key=lambda seal: int(seal["part"]))
    count = sum(seal["count"] for seal in before)
    if [seal["root"] for seal in before] != thinned["roots"] or count != thinned["taken"] + thinned["left_count"]:
        found.wrong.append(f"{where}: it is not of the readings that were sealed")
    later = {each for seal in seals if seal["part"] > thinned["part"] for each in seal["late"]}
    readings = found.days.get((thinned["probe_id"], thinned["day"]), [])
    left = [each for each in readings if each.hex() not in later]
    if len(left) != thinned["left_count"] or root_of(left) != thinned["left_root"]:
        found.wrong.append(f"{where}: its {len(left)} readings are not the {thinned['left_count']} that were left")


def _under(found: Found, seal: dict[str, Any]) -> list[bytes]:
    """Return the readings that a seal is over."""
    readings = found.days.get((seal["probe_id"], seal["day"]), [])
    if seal["part"]:
        named = set(seal["late"])
        return [each for each in readings if each.hex() in named]
    later = {each for other in found.seals if _same_day(other, seal) and other["part"] for each in other["late"]}
    return [each for each in readings if each.hex() not in later]


def _same_day(one: dict[str, Any], other: dict[str, Any]) -> bool:
    return bool(one["probe_id"] == other["probe_id"] and one["day"] == other["day"])


def _none_beside(found: Found) -> None:
    """Check that no readings stand on days that seals have passed without being over them."""
    sealed = {(seal["probe_id"], seal["day"]) for seal in found.seals}
    passed: dict[int, str] = {}
    for probe, day in sealed:
        passed[probe] = max(day, passed.get(probe, ""))
    found.wrong.extend(
        f"probe {found.probes.get(probe, probe)}, {day}: its readings are under no seal"
        for probe, day in sorted(found.days)
        if day < passed.get(probe, "") and (probe, day) not in sealed
    )


def root_of(readings: list[bytes]) -> str:
    """Return the root of the tree over readings, 1,024 a leaf, as RFC 6962 section 2.1 computes it, in hex."""
    leaves = [b"".join(readings[first : first + LEAF]) for first in range(0, len(readings), LEAF)]
    return _tree(leaves).hex()


def _tree(leaves: list[bytes]) -> bytes:
    if not leaves:
        return hashlib.sha256().digest()
    if len(leaves) == 1:
        return hashlib.sha256(b"\x00" + leaves[0]).digest()
    left = 1 << ((len(leaves) - 1).bit_length() - 1)
    return hashlib.sha256(b"\x01" + _tree(leaves[:left]) + _tree(leaves[left:])).digest()


def main(arguments: list[str]) -> int:
    """Check a file, print what was found, and return the exit status."""
    if not arguments:
        print(__doc__)
        return 2
    try:
        with Path(arguments[0]).open(encoding="utf-8", newline="\n") as file:
            found = check((line.rstrip("\n") for line in file), arguments[1:])
    except (OSError, UnicodeDecodeError) as exc:
        print(f"{arguments[0]} cannot be read: {exc}", file=sys.stderr)
        return 2
    for wrong in found.wrong:
        print(f"NOT WHOLE  {wrong}")
    readings = sum(len(day) for day in found.days.values())
    print(f"{len(found.digests) - 1} entries, {len(found.seals)} seals, {readings} readings; head {found.digests[-1]}")
    if found.thinned:
        taken = sum(thinned["taken"] for thinned in found.thinned.values())
        print(f"{len(found.thinned)} days were thinned: their seals are kept, {taken} readings cannot be checked again")
    for key in dict.fromkeys(seal["key"] for seal in found.seals):
        print(f"signed with the key {key}")
    if found.wrong:
        return 1
    print("The file is whole: it agrees with its chain and its seals.")
    if not arguments[1:]:
        print("Nothing from outside says that it is the latest: give a digest from a paper or a witness file.")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
