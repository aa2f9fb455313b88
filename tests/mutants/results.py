"""What became of the faults, file by file, and why those that no test noticed are none."""

import hashlib
import json
import tomllib
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

__all__ = [
    "AIM",
    "LEAST_SCORE",
    "MOST_UNEXPLAINED",
    "MUTATED",
    "Survivor",
    "digest",
    "explanations",
    "files_of",
    "keep",
    "keep_again",
    "prune",
    "read",
    "score",
    "stale",
    "survivors",
    "unexplained",
]

MUTATED = ("holdwatch/sieve", "holdwatch/crossings.py", "holdwatch/rules")
RESULTS = Path("tests/mutants/results.json")
EXPLAINED = Path("tests/mutants/survivors.toml")
AIM = 0.95
"""How many of the faults are to be noticed."""
LEAST_SCORE = 0.95
"""How many are noticed at least; it only ever rises, up to `AIM`."""
MOST_UNEXPLAINED = 0
"""How many of those that survive nobody has looked at yet, at most; it only ever falls, down to none."""
COUNTED = ("killed", "timeout", "survived", "no tests")


@dataclass(frozen=True, order=True)
class Survivor:
    """A fault that no test noticed: a line as it is and as it became."""

    file: str
    where: str
    before: str
    after: str


def files_of(root: Path) -> list[str]:
    """Return the files that faults are put into, in order."""
    found = [
        path for name in MUTATED for path in ([root / name] if name.endswith(".py") else (root / name).rglob("*.py"))
    ]
    return sorted(path.relative_to(root).as_posix() for path in found)


def digest(root: Path, file: str) -> str:
    """Return the SHA-256 of a file."""
    return hashlib.sha256((root / file).read_bytes()).hexdigest()


def read(root: Path) -> dict[str, dict[str, Any]]:
    """Return the results of each file."""
    path = root / RESULTS
    found: dict[str, dict[str, Any]] = json.loads(path.read_text(encoding="utf-8")) if path.exists() else {}
    return found


def stale(root: Path) -> list[str]:
    """Return the files that are not those of their results."""
    known = read(root)
    return [file for file in files_of(root) if known.get(file, {}).get("sha256") != digest(root, file)]


def keep(root: Path, file: str, outcomes: Iterable[tuple[Survivor, str]], made_of: Mapping[str, str]) -> None:
    """Keep what became of a file's faults, and what it was made of: hash, commit, date."""
    tried = list(outcomes)
    counts = Counter(outcome for _, outcome in tried)
    left = Counter(survivor for survivor, outcome in tried if outcome in {"survived", "no tests"})
    known = read(root)
    known[file] = {
        **made_of,
        **{word: counts[word] for word in COUNTED},
        "survivors": _listed(left),
    }
    _write(root, known)


def keep_again(root: Path, file: str, outcomes: Iterable[tuple[Survivor, str]], made_of: Mapping[str, str]) -> None:
    """Keep what became of faults that had survived and were tried again; all others stay as they were."""
    known = read(root)
    before = known[file]
    counts = Counter({word: before[word] for word in COUNTED})
    counts["survived"] = counts["no tests"] = 0
    left = Counter[Survivor]()
    for survivor, outcome in outcomes:
        counts[outcome] += 1
        if outcome in {"survived", "no tests"}:
            left[survivor] += 1
    known[file] = {**before, **made_of, **{word: counts[word] for word in COUNTED}, "survivors": _listed(left)}
    _write(root, known)


def _listed(left: Mapping[Survivor, int]) -> list[dict[str, Any]]:
    return [
        {"where": one.where, "before": one.before, "after": one.after, "times": times}
        for one, times in sorted(left.items())
    ]


def prune(root: Path) -> None:
    """Forget files that are there no more."""
    files = set(files_of(root))
    _write(root, {file: found for file, found in read(root).items() if file in files})


def _write(root: Path, known: Mapping[str, Any]) -> None:
    text = json.dumps(dict(sorted(known.items())), indent=1, ensure_ascii=False)
    (root / RESULTS).write_text(text + "\n", encoding="utf-8")


def survivors(root: Path) -> dict[Survivor, int]:
    """Return the faults that no test noticed, each with how often it was made."""
    return {
        Survivor(file, one["where"], one["before"], one["after"]): one["times"]
        for file, found in read(root).items()
        for one in found["survivors"]
    }


def explanations(root: Path) -> dict[Survivor, str]:
    """Return why each fault that no test notices is none."""
    found = tomllib.loads((root / EXPLAINED).read_text(encoding="utf-8"))
    return {
        Survivor(one["file"], one["where"], one["before"], after): one["why"]
        for one in found.get("survivor", ())
        for after in one["after"]
    }


def unexplained(root: Path) -> list[Survivor]:
    """Return the faults that no test noticed and nobody has explained."""
    explained = explanations(root)
    return [one for one in survivors(root) if not explained.get(one, "").strip()]


def score(found: Iterable[Mapping[str, Any]]) -> float:
    """Return the share of faults that the tests notice; a test that never ends notices one too."""
    counts = Counter[str]()
    for one in found:
        counts.update({word: one[word] for word in COUNTED})
    return (counts["killed"] + counts["timeout"]) / max(counts.total(), 1)
