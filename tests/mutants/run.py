"""Try faults on a copy of the project: ``python -m tests.mutants.run``, or ``make mutants``.

Only files that changed since their results are tried, unless ``--all`` is given or files are named.
"""

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
import time
import tomllib
from datetime import UTC, datetime
from pathlib import Path

from tests.mutants import page, results
from tests.mutants.mutations import Mutation, mutations_of

ROOT = Path(__file__).resolve().parents[2]
COPIED = ("holdwatch", "tests", "pyproject.toml")
TESTS = ("tests/rules", "tests/accidents", "tests/conformance/test_invented_code.py", "tests/assess")
OTHER_TESTS = {"holdwatch/rules/standing.py": ("tests/conformance/test_carried_on.py",)}
"""Of files whose tests would slow down all others."""
OPTIONS = ("-q", "-x", "--tb=native", "-p", "no:timeout", "-p", "no:cacheprovider", "-p", "no:xdist")


def main() -> int:
    """Copy the project, try faults in the copy, keep the results here."""
    asked = _asked()
    if asked.inside:
        return _inside(asked)
    begun = time.monotonic()
    if not asked.page:
        files = asked.files or _files(asked)
        groups: dict[tuple[str, ...], list[str]] = {}
        for file in files:
            groups.setdefault(tuple(asked.tests or OTHER_TESTS.get(file, TESTS)), []).append(file)
        for tests, group in groups.items():
            if status := _outside(asked, group, tests):
                return status
        if not files:
            print("Nothing changed since the results; `make mutants ALL=1` tries everything.")
    if not asked.where:
        results.prune(ROOT)
        page.write(ROOT)
        for one in results.unexplained(ROOT):
            print(f"not explained: {one.file} {one.where}\n    - {one.before}\n    + {one.after}")
    print(
        f"{time.monotonic() - begun:.0f} s; {results.score(results.read(ROOT).values()):.1%} noticed: docs/mutation.md"
    )
    return 0


def _files(asked: argparse.Namespace) -> list[str]:
    """Return the files that are asked for without being named."""
    every, stale = results.files_of(ROOT), results.stale(ROOT)
    if asked.again:
        return [file for file in every if file not in stale]
    return every if asked.all else stale


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("files", nargs="*", help="the files to try, such as holdwatch/crossings.py")
    parser.add_argument("--all", action="store_true", help="try every file")
    parser.add_argument(
        "--again",
        action="store_true",
        help="try again what survived in files that did not change since, and nothing else",
    )
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1, help="how many faults are tried at a time")
    parser.add_argument("--where", help="try one function or constant only; its results are shown, not kept")
    parser.add_argument("--tests", nargs="*", help="the tests to run, in place of those of the file")
    parser.add_argument("--page", action="store_true", help="only write the page again")
    parser.add_argument("--inside", action="store_true", help=argparse.SUPPRESS)
    return parser.parse_args()


def _outside(asked: argparse.Namespace, files: list[str], tests: tuple[str, ...]) -> int:
    """Make the copy, and begin again inside it."""
    with tempfile.TemporaryDirectory(prefix="mutants-") as directory:
        copy = Path(directory)
        for name in COPIED:
            source = ROOT / name
            if source.is_dir():
                shutil.copytree(source, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
            else:
                shutil.copy(source, copy / name)
        _settings(copy)
        commit = subprocess.run(
            ["git", "rev-parse", "--short", "HEAD"], cwd=ROOT, capture_output=True, text=True, check=False
        )
        command = [sys.executable, "-m", "tests.mutants.run", "--inside", "--jobs", str(asked.jobs), *files]
        command += ["--tests", *tests] + (["--where", asked.where] if asked.where else [])
        command += ["--again"] if asked.again else []
        surroundings = {
            **os.environ,
            "PYTHONDONTWRITEBYTECODE": "1",
            "PYTHONHASHSEED": "0",
            "OPENBLAS_NUM_THREADS": "1",
            "MUTANTS_COMMIT": commit.stdout.strip(),
            "MUTANTS_KEEP": str(ROOT),
        }
        return subprocess.run(command, cwd=copy, env=surroundings, check=False).returncode


def _settings(copy: Path) -> None:
    """Give the copy the project's settings for pytest, but its limit of time: faults have their own."""
    options = tomllib.loads((copy / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["pytest"]["ini_options"]
    lines = ["[pytest]"]
    for name in ("markers", "filterwarnings"):
        lines += [f"{name} =", *(f"    {value}" for value in options[name])]
    (copy / "pytest.ini").write_text("\n".join([*lines, ""]), encoding="utf-8")


def _inside(asked: argparse.Namespace) -> int:
    """Try the faults; this process runs in the copy."""
    import pytest

    from tests.mutants.plugin import FRESH, Examples, Fresh, Trial

    options = [*OPTIONS, f"--basetemp={Path.cwd() / f'temporary-{os.getpid()}'}", *asked.tests]
    if FRESH in os.environ:
        return int(pytest.main(options, plugins=[Examples(), Fresh(Path(os.environ[FRESH]))]))
    here = Path.cwd()
    sources = {file: (here / file).read_text(encoding="utf-8") for file in asked.files}
    mutations = [one for file, source in sources.items() for one in mutations_of(file, source)]
    if asked.where:
        mutations = [one for one in mutations if one.where == asked.where]
    if asked.again:
        left = results.survivors(here)
        mutations = [
            one for one in mutations if results.Survivor(one.path, one.where, *one.shown(sources[one.path])) in left
        ]
    say = os.fdopen(os.dup(1), "w", buffering=1)
    trial = Trial(
        mutations,
        sources,
        asked.jobs,
        [sys.executable, "-m", "tests.mutants.run", "--inside", "--tests", *asked.tests],
        lambda text: print(text, file=say),
        lambda file, tried: None if asked.where else _keep(here, file, sources[file], tried, again=asked.again),
    )
    return int(pytest.main([*options, "-s"], plugins=[Examples(), trial]))


def _keep(copy: Path, file: str, source: str, tried: list[tuple[Mutation, str]], *, again: bool) -> None:
    """Keep a file's results in the project that the copy is of."""
    named = []
    for mutation, outcome in tried:
        before, after = mutation.shown(source) if outcome in {"survived", "no tests"} else ("", "")
        named.append((results.Survivor(file, mutation.where, before, after), outcome))
    made = {
        "sha256": results.digest(copy, file),
        "date": datetime.now(UTC).date().isoformat(),
        "commit": os.environ["MUTANTS_COMMIT"],
    }
    (results.keep_again if again else results.keep)(Path(os.environ["MUTANTS_KEEP"]), file, named, made)


if __name__ == "__main__":
    sys.exit(main())
