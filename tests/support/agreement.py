"""The live watch and `holdwatch assess` of the exported readings say the same, clause by clause."""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from sqlmodel import Session
from typer.testing import CliRunner

from holdwatch.cli.main import app
from holdwatch.clock import to_iso
from holdwatch.limits import load_limits
from holdwatch.readings import DeclarationKind, Record
from holdwatch.rules.batch import judge_vessel
from holdwatch.rules.facts import from_facts
from holdwatch.rules.verdicts import ClauseVerdict, Process, Step
from holdwatch.settings import load_settings
from holdwatch.storage import register
from holdwatch.storage.engine import Store, open_store
from holdwatch.storage.records import record_of_vessel
from holdwatch.storage.states import clause_states
from holdwatch.storage.tables import Batch

__all__ = ["INSTANTS_INSIDE", "agreeing_clauses", "assert_live_and_file_agree", "open_of"]

INSTANTS_INSIDE = 10


def open_of(env: Mapping[str, str]) -> Store:
    """Open the store that a running kitchen uses."""
    url = env.get("HOLDWATCH_DATABASE_URL") or load_settings(data=Path(env["HOLDWATCH_DATA"])).store_url
    return open_store(url)


def assert_live_and_file_agree(env: Mapping[str, str], lot: str, directory: Path) -> None:
    """Compare one batch of a running kitchen, stored verdicts and ten instants inside it."""
    store = open_of(env)
    try:
        with store.read() as session:
            batch = register.batch_named(session, lot)
            assert agreeing_clauses(session, batch, directory) >= INSTANTS_INSIDE
    finally:
        store.close()


def agreeing_clauses(session: Session, batch: Batch, directory: Path) -> int:
    """Compare every vessel of a batch and return how many verdicts were compared; fail at the first that differs."""
    compared = 0
    stored = [s for s in clause_states(session, batch_id=batch.id) if s.process == Process.COOLING]
    for vessel in sorted({s.vessel or 1 for s in stored}):
        states = [s for s in stored if (s.vessel or 1) == vessel]
        judged_ms = states[0].judged_ms
        whole = record_of_vessel(session, batch, vessel, judged_ms)
        if len(whole.hand) or not len(whole.probe):  # a file has one source: checks by hand cannot be in it too
            continue
        path = directory / f"{batch.id}-{vessel}.csv"
        path.write_text(
            "time,temperature_c\n"
            + "".join(
                f"{to_iso(int(t))},{c!r}\n"
                for t, c in zip(whole.probe.at_ms, whole.probe.celsius.tolist(), strict=True)
            )
        )
        first, last = int(whole.probe.at_ms[0]), int(whole.probe.at_ms[-1])
        for state in states:
            told = _assessed(path, whole, batch, judged_ms)[state.clause]
            assert told == _comparable(from_facts(state.facts)), f"{batch.lot} {vessel} {state.clause}: stored"
        for step in range(1, INSTANTS_INSIDE + 1):
            until_ms = first + (last - first) * step // INSTANTS_INSIDE
            record = record_of_vessel(session, batch, vessel, until_ms)
            told = _assessed(path, record, batch, until_ms)
            for clause in _live(record, batch, until_ms):
                assert told[clause.clause] == _comparable(clause), f"{batch.lot} {vessel} at {to_iso(until_ms)}"
                compared += 1
    return compared


def _live(record: Record, batch: Batch, until_ms: int) -> tuple[ClauseVerdict, ...]:
    """Judge as the watch does, and return the clauses of cooling."""
    judgements = judge_vessel(
        record,
        load_limits("us-food-code-2022"),
        step=Step(batch.step),
        holding="hot" if batch.holding == "hot" else "cold",
        until_ms=until_ms,
        ended_ms=batch.ended_ms if batch.ended_ms is not None and batch.ended_ms <= until_ms else None,
        started_ms=batch.started_ms,
    )
    return next(j.clauses for j in judgements if j.process is Process.COOLING)


def _comparable(clause: ClauseVerdict) -> dict[str, Any]:
    return {
        "verdict": clause.verdict.value,
        **{name: _bracket(getattr(clause, name)) for name in ("started", "due", "reached")},
    }


def _bracket(bracket: tuple[int | None, int | None] | None) -> list[str | None]:
    return [None, None] if bracket is None else [None if at is None else to_iso(at) for at in bracket]


def _assessed(path: Path, record: Record, batch: Batch, until_ms: int) -> dict[str, dict[str, Any]]:
    """Judge the exported file by the command and return its clauses."""
    words = ["assess", str(path), "--process", "cooling", "--limits", "us-food-code-2022", "--json"]
    words += ["--until", to_iso(until_ms)]
    for declared in record.declared:
        if declared.at_ms <= until_ms and declared.kind is not DeclarationKind.FROM:
            words += ["--declare", f"{declared.kind.value}={to_iso(declared.at_ms)}"]
    if batch.ended_ms is not None and batch.ended_ms <= until_ms:
        words += ["--declare", f"ended={to_iso(batch.ended_ms)}"]
    result = CliRunner().invoke(app, words)
    assert result.exit_code in {0, 1, 3, 4}, result.output
    clauses = json.loads(result.stdout)["clauses"]
    return {
        c["clause"]: {
            "verdict": c["verdict"],
            **{name: c[name] or [None, None] for name in ("started", "due", "reached")},
        }
        for c in clauses
    }
