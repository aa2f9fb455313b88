"""The pytest plugin that tries faults: tests are gathered once, then each fault gets a process of its own.

The process is a copy of this one (fork), so it has all tests at hand; it puts the fault in and runs the tests that
come by its line, those first that found the last faults near it, then the quick ones. The first that fails ends it.
A fault that cannot be put into a loaded program starts a new Python that imports it.
"""

import json
import os
import pickle
import resource
import select
import signal
import sys
import time
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

import coverage
import pytest

from tests.mutants.mutations import Mutation
from tests.mutants.swapping import MutatedImport, Unfit, module_name, swap

__all__ = ["Examples", "Fresh", "Trial"]

KILLED, SURVIVED, TIMEOUT, NO_TESTS = "killed", "survived", "timeout", "no tests"
NO_FAULT = "no fault"  # what it makes of the file is not Python
LIMIT_S = 3.0  # of computing, beyond ten times what the test takes without a fault
LIMIT_TIMES = 10
PATIENCE_S = 900.0  # by the clock, for one fault, however busy the machine is
MEMORY = 4 << 30
FRESH = "MUTATED_IMPORT"
FEW = 25  # examples of one property
CASES_S = 0.2  # of computing, for the cases of one test
SETTINGS = "_hypothesis_internal_use_settings"  # where Hypothesis keeps them on a test; it has no public place
NOT_PYTHON, NOT_TRIED = 90, 91  # exit statuses that pytest does not use


class Examples:
    """Makes Hypothesis draw the same few examples each time, and look for no smaller ones."""

    def pytest_configure(self) -> None:
        """Set it before the tests are gathered."""
        from hypothesis import HealthCheck, Phase, settings

        settings.register_profile(
            "mutants",
            derandomize=True,
            database=None,
            phases=(Phase.explicit, Phase.generate),
            suppress_health_check=list(HealthCheck),
        )
        settings.load_profile("mutants")

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        """Draw a few only, also where a test asks for many: a fault that only the thousandth finds lacks a test."""
        from hypothesis import settings

        for item in items:
            asked = getattr(getattr(item, "obj", None), SETTINGS, None)
            if asked is not None and asked.max_examples > FEW:
                setattr(item.obj, SETTINGS, settings(asked, max_examples=FEW))


class _Ear:
    """Hears whether tests fail."""

    def __init__(self) -> None:
        self.failed = False

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Hear of one test."""
        self.failed |= report.failed


def _run(item: pytest.Item, following: pytest.Item | None, ear: _Ear) -> bool:
    """Run a test; return whether it passed."""
    ear.failed = False
    item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
    return not ear.failed


@dataclass
class _Baseline:
    """What the tests do without a fault: how long they take, and which lines they come by."""

    takes: dict[str, float]
    lines: dict[str, dict[int, list[str]]]
    failing: list[str]


@dataclass
class _Child:
    mutation: Mutation
    pid: int
    pipe: int
    begun: float


@dataclass
class Trial:
    """Tries faults, some at a time, and keeps what became of each."""

    mutations: Sequence[Mutation]
    sources: dict[str, str]
    jobs: int
    again: Sequence[str]
    """How a new Python is started that runs the same tests."""
    say: Callable[[str], None]
    keep: Callable[[str, list[tuple[Mutation, str]]], None]
    """Told a file, its faults and what became of each, as soon as all are tried."""
    _outcomes: dict[str, list[tuple[Mutation, str]]] = field(default_factory=lambda: defaultdict(list))
    _tried_so_far: int = 0
    _ear: _Ear = field(default_factory=_Ear)

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Run the tests once as they are, then once for each fault."""
        session.config.pluginmanager.register(self._ear)
        for path in set(self.sources) - {one.path for one in self.mutations}:
            self.keep(path, [])  # a file with nothing in it that a fault could be put into
        items = {item.nodeid: item for item in session.items}
        baseline = self._baseline(session.items)
        for failing in baseline.failing:
            self.say(f"left out, it fails without a fault: {failing}")
        quick_first = {name: n for n, name in enumerate(sorted(items, key=lambda name: baseline.takes[name]))}
        order = {name: quick_first[name] for name in items if name not in baseline.failing}
        self._try_all(items, order, baseline)
        return True

    # ------------------------------------------------------------ without a fault

    def _baseline(self, items: Sequence[pytest.Item]) -> _Baseline:
        reading, writing = os.pipe()
        pid = os.fork()
        if not pid:
            os.close(reading)
            _hush()
            with os.fdopen(writing, "wb") as answer:
                pickle.dump(self._measured(items), answer)
            os._exit(0)
        os.close(writing)
        with os.fdopen(reading, "rb") as answer:
            found: _Baseline = pickle.load(answer)  # noqa: S301 - our own process wrote it
        os.waitpid(pid, 0)
        return found

    def _measured(self, items: Sequence[pytest.Item]) -> _Baseline:
        files = {path: str(Path(path).resolve()) for path in self.sources}
        watching = coverage.Coverage(data_file=None, include=list(files.values()), config_file=False)
        watching.start()
        takes: dict[str, float] = {}
        failing = []
        for item, following in zip(items, [*items[1:], None], strict=True):
            watching.switch_context(item.nodeid)
            begun = time.process_time()
            if not _run(item, following, self._ear):
                failing.append(item.nodeid)
            takes[item.nodeid] = time.process_time() - begun
        watching.stop()
        data = watching.get_data()
        known = {name: name for name in takes}  # one string a test, however many lines it comes by
        lines = {}
        for path, file in files.items():
            table = data.contexts_by_lineno(file)
            lines[path] = {n: [known[name] for name in names if name in known] for n, names in table.items()}
        return _Baseline(takes, lines, failing)

    # ------------------------------------------------------------ with one

    def _try_all(self, items: dict[str, pytest.Item], order: dict[str, int], baseline: _Baseline) -> None:
        waiting = list(self.mutations)[::-1]
        running: list[_Child] = []
        found_near: dict[tuple[str, str], list[str]] = defaultdict(list)
        while waiting or running:
            while waiting and len(running) < self.jobs:
                mutation = waiting.pop()
                tests = self._tests(mutation, order, baseline, found_near[mutation.path, mutation.where])
                if not tests:
                    self._keep(mutation, NO_TESTS)
                    continue
                running.append(self._begin(mutation, [items[name] for name in tests], baseline))
            if running:
                self._reap(running, found_near)

    def _tests(self, mutation: Mutation, order: dict[str, int], baseline: _Baseline, near: Sequence[str]) -> list[str]:
        """Return the tests that come by a fault, the likeliest to notice it first."""
        table = baseline.lines[mutation.path]
        if mutation.kind == "body":
            first, last = mutation.lines
            numbers: Iterable[int] = range(first, last + 1)
        elif mutation.kind == "constant":
            source = self.sources[mutation.path].splitlines()
            numbers = [n for n, text in enumerate(source, 1) if mutation.where in text]
        else:
            numbers = ()
        names = {name for n in numbers for name in table.get(n, ())} or {
            name for found in table.values() for name in found
        }
        chosen = _some_cases([name for name in order if name in names], baseline.takes)
        ordered = sorted(chosen, key=order.__getitem__)
        first_asked = [name for name in near if name in names and name in order]
        return [*first_asked, *(name for name in ordered if name not in first_asked)]

    def _begin(self, mutation: Mutation, tests: list[pytest.Item], baseline: _Baseline) -> _Child:
        reading, writing = os.pipe()
        pid = os.fork()
        if not pid:
            os.close(reading)
            status = NOT_TRIED
            try:
                _hush()
                resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
                status = self._tried(mutation, tests, baseline, writing)
            finally:
                os._exit(status)
        os.close(writing)
        return _Child(mutation, pid, reading, time.monotonic())

    def _tried(self, mutation: Mutation, tests: list[pytest.Item], baseline: _Baseline, answer: int) -> int:
        """Run tests on a fault until one fails; return the exit status."""
        code = mutation.code(self.sources[mutation.path])
        try:
            compile(code, mutation.path, "exec", dont_inherit=True)
        except (SyntaxError, ValueError):
            return NOT_PYTHON
        try:
            swap(mutation.path, mutation.where, mutation.kind, code)
        except Unfit:
            self._afresh(mutation, code, tests)
        for item, following in zip(tests, [*tests[1:], None], strict=True):
            signal.setitimer(signal.ITIMER_VIRTUAL, LIMIT_S + LIMIT_TIMES * baseline.takes[item.nodeid])
            if not _run(item, following, self._ear):
                os.write(answer, item.nodeid.encode())
                return 1
        return 0

    def _afresh(self, mutation: Mutation, code: str, tests: list[pytest.Item]) -> None:
        """Become a new Python that imports the fault."""
        asked = Path(f"mutated-{os.getpid()}.json").resolve()
        asked.write_text(json.dumps([mutation.path, code, [item.nodeid for item in tests]]), encoding="utf-8")
        resource.setrlimit(resource.RLIMIT_CPU, (240, 245))
        os.execve(sys.executable, list(self.again), {**os.environ, FRESH: str(asked)})  # noqa: S606 - our own command

    def _reap(self, running: list[_Child], found_near: dict[tuple[str, str], list[str]]) -> None:
        """Take what a child answers; end one that takes too long."""
        ready, _, _ = select.select([child.pipe for child in running], [], [], 1.0)
        for child in list(running):
            if child.pipe not in ready:
                if time.monotonic() - child.begun > PATIENCE_S:
                    os.kill(child.pid, signal.SIGVTALRM)
                continue
            by = os.read(child.pipe, 4096).decode()
            os.close(child.pipe)
            status = os.waitstatus_to_exitcode(os.waitpid(child.pid, 0)[1])
            running.remove(child)
            mutation = child.mutation
            self._keep(mutation, _outcome(mutation, status))
            if by:
                near = found_near[mutation.path, mutation.where]
                with suppress(ValueError):
                    near.remove(by)
                near.insert(0, by)
                del near[8:]

    def _keep(self, mutation: Mutation, outcome: str) -> None:
        self._tried_so_far += 1
        of_file = self._outcomes[mutation.path]
        of_file.append((mutation, outcome))
        if outcome in {SURVIVED, NO_TESTS}:
            before, after = mutation.shown(self.sources[mutation.path])
            self.say(f"{outcome}: {mutation.path}:{mutation.lines[0]} {mutation.where}\n    - {before}\n    + {after}")
        if self._tried_so_far % 50 == 0:
            self.say(f"{self._tried_so_far} of {len(self.mutations)} tried")
        if len(of_file) == sum(one.path == mutation.path for one in self.mutations):
            self.say(f"{mutation.path}: all tried")
            self.keep(mutation.path, [(one, what) for one, what in of_file if what != NO_FAULT])


def _outcome(mutation: Mutation, status: int) -> str:
    """Return what the exit status of a child says of its fault."""
    if status == NOT_TRIED:
        raise RuntimeError(f"the fault could not be tried: {mutation}")
    if status == NOT_PYTHON:
        return NO_FAULT
    if status in {-signal.SIGVTALRM, -signal.SIGXCPU}:
        return TIMEOUT
    return KILLED if status else SURVIVED


def _some_cases(names: Iterable[str], takes: dict[str, float]) -> list[str]:
    """Return of each test with very many cases some, evenly chosen: a fault that they miss lacks a test of its own."""
    by_test: dict[str, list[str]] = defaultdict(list)
    for name in names:
        by_test[name.partition("[")[0]].append(name)
    found = []
    for cases in by_test.values():
        step = max(1, round(sum(takes[name] for name in cases) / CASES_S))
        found += cases[::step]
    return found


def _hush() -> None:
    """Send what a child prints nowhere."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)


class Fresh:
    """In a new Python: imports the fault, and runs only the tests that come by it."""

    def __init__(self, asked: Path) -> None:
        path, code, names = json.loads(asked.read_text(encoding="utf-8"))
        asked.unlink()
        self._order = {name: n for n, name in enumerate(names)}
        assert module_name(path) not in sys.modules
        sys.meta_path.insert(0, MutatedImport(path, code))

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        """Keep the tests asked for, in the order asked for."""
        items[:] = sorted(
            (item for item in items if item.nodeid in self._order), key=lambda item: self._order[item.nodeid]
        )
