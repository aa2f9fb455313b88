"""Papers of the record: the inspection log, a batch, a day, findings and actions, checks of probes.

What is printed is what the watch had stored at the instant of printing; nothing is judged here.
"""

from pathlib import Path

from holdwatch import clock
from holdwatch.errors import ConfigError
from holdwatch.language import _, speaking, spoken
from holdwatch.quantities import Scale
from holdwatch.records.choice import WHOLE, Choice
from holdwatch.records.gathering import AT_ONCE, Told, Wanted, gather
from holdwatch.records.kinds import BATCH, LOG, Kind
from holdwatch.records.pieces import Press
from holdwatch.records.setting import speaking_of_site
from holdwatch.records.span import Span
from holdwatch.records.write import whole_file
from holdwatch.storage.engine import Store
from holdwatch.storage.register import batch_named

__all__ = ["print_batches", "print_log"]


def print_log(
    store: Store,
    first_ms: int,
    last_ms: int,
    out: Path,
    *,
    kind: Kind = LOG,
    choice: Choice = WHOLE,
    paper: str = "letter",
    scale: Scale | None = None,
    by: str = "",
    now_ms: int | None = None,
    told: Told | None = None,
    at_once: int = AT_ONCE,
) -> None:
    """Print the record from `first_ms` to `last_ms`, both included, to the PDF `out`.

    Parameters
    ----------
    kind : which paper: the inspection log, or another of `records.kinds`.
    choice : the units and batches it is to have; the first page says what is left out.
    paper : ``a4`` or ``letter``.
    scale : in which temperatures are printed; the site's own if not given.
    by : who prints it.
    now_ms : the instant of printing; the present if not given. The same record printed at the same instant gives
        the same bytes.
    told : is told in words what is being gathered.
    at_once : how many subjects (units, batches, findings) are set in one piece.

    Raises
    ------
    ConfigError
        If the span is empty or lies ahead, a batch of the choice did not run in it, the site is not set, or `out`
        cannot be written.
    UnknownNameError
        If there is no unit or batch of a name of the choice.
    """
    now_ms = clock.now_ms() if now_ms is None else now_ms
    if last_ms < first_ms:
        raise ConfigError(_("the span ends before it begins: exchange the two"))
    if first_ms > now_ms:
        raise ConfigError(_("the span lies ahead, and nothing is recorded of it yet: choose an earlier first day"))
    tell = told or _silent
    wanted = Wanted(kind, choice, paper, scale, by, reader=spoken())
    with speaking_of_site(store, now_ms), Press(now_ms) as press:
        for number, facts in gather(store, Span(first_ms, last_ms), now_ms, wanted, tell, at_once):
            press.set(number, facts)
        with speaking(wanted.reader):
            tell(_("putting the pages together"))
        with whole_file(out) as file:
            press.join(facts, file)
    tell("")


def print_batches(
    store: Store,
    lots: tuple[str, ...],
    out: Path,
    *,
    paper: str = "letter",
    scale: Scale | None = None,
    by: str = "",
    now_ms: int,
    told: Told | None = None,
) -> None:
    """Print everything on record of some batches, from the first one's start to the instant of printing.

    Raises
    ------
    UnknownNameError
        If there is no batch of a lot.
    ConfigError
        If no batch is named, or `out` cannot be written.
    """
    if not lots:
        raise ConfigError(_("no batch is named: name one by its lot"))
    with store.read() as session:
        found = [batch_named(session, lot) for lot in lots]
    first_ms = min(batch.started_ms for batch in found)
    print_log(
        store,
        first_ms,
        now_ms,
        out,
        kind=BATCH,
        choice=Choice(lots=lots),
        paper=paper,
        scale=scale,
        by=by,
        now_ms=now_ms,
        told=told,
    )


def _silent(what: str) -> None:
    """Tell nobody."""
