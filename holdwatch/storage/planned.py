"""Starting a batch by the written plan: what it does not say, the plan says, and what is said there wins."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sqlmodel import Session

from holdwatch.errors import ConfigError
from holdwatch.language import N_, _
from holdwatch.storage.batching import start_batch
from holdwatch.storage.ids import id_of
from holdwatch.storage.names import check_instant
from holdwatch.storage.products import product_of_version, version_at
from holdwatch.storage.site import site_at
from holdwatch.storage.tables import Batch

if TYPE_CHECKING:
    from holdwatch.plan.model import Product
    from holdwatch.plan.starting import Start

__all__ = ["Planned", "in_use_by_plan", "in_use_said", "planned", "start_planned"]


@dataclass(frozen=True)
class Planned:
    """What the plan says of a batch that begins."""

    product: "Product"
    start: "Start"
    version_id: int


def planned(session: Session, name: str, at_ms: int) -> Planned | None:
    """Return what the plan says of a batch of a product at an instant [ms], ``None`` where it has no such product."""
    version = version_at(session, name, at_ms)
    if version is None:
        return None
    from holdwatch.plan.starting import start_of

    product = product_of_version(version)
    start = start_of(product, site_susceptible=site_at(session, at_ms).susceptible)
    return Planned(product, start, id_of(version))


def in_use_by_plan(session: Session, batch: Batch) -> str:
    """Return for how long food of a batch may be in use by the plan it was started by, as "4 h"; empty where nobody said.

    A part that was divided off goes by the plan in force when it became a batch of its own.
    """
    version = version_at(session, batch.product, batch.started_ms)
    return "" if version is None else product_of_version(version).in_use


def in_use_said(session: Session, batch: Batch, text: str) -> tuple[str, dict[str, Any]]:
    """Return for how long food of a batch may be in use, in words and as facts of its note; empty is as the plan says.

    Raises
    ------
    ConfigError
        If it is no time in use, or neither it nor the plan says one.
    """
    from holdwatch.plan.in_use import in_use_ms

    words = text.strip() or in_use_by_plan(session, batch)
    if not words:
        raise ConfigError(
            _("say for how long {lot} may be in use, as 4 h: the plan says nothing of it").format(lot=batch.lot)
        )
    return words, {"for_ms": in_use_ms(words)}


def start_planned(
    session: Session,
    *,
    product: str,
    lot: str,
    vessels: int = 1,
    amount: str = "",
    holding: str = "",
    processes: Sequence[str] = (),
    not_tcs: str = "",
    food: Sequence[str] = (),
    use_by: str = "",
    at_ms: int,
    now_ms: int,
    by: str,
) -> tuple[Batch, Planned | None]:
    """Start a batch as `start_batch` does; what is left empty is taken from the product in force, if there is one.

    Raises
    ------
    NameTakenError, ConfigError
        As `start_batch` does.
    """
    found = planned(session, product, check_instant(session, N_("the start of the batch"), at_ms, now_ms))
    given: dict[str, Any] = {"processes": processes, "not_tcs": not_tcs, "food": food, "holding": holding or "cold"}
    if found is not None:
        given = _with_plan(found.start, holding, processes, not_tcs, food)
        given["planned"] = {"plan": found.version_id, "usual_place": found.start.place}
        product = found.product.name
    batch = start_batch(
        session,
        product=product,
        lot=lot,
        vessels=vessels,
        amount=amount,
        use_by=use_by,
        at_ms=at_ms,
        now_ms=now_ms,
        by=by,
        **given,
    )
    return batch, found


def _with_plan(
    start: "Start", holding: str, processes: Sequence[str], not_tcs: str, food: Sequence[str]
) -> dict[str, Any]:
    """Return what a batch is started with: what was said, and where nothing was said what the plan says."""
    if not processes:
        processes = [each.value for each in start.processes]
        if holding and holding != start.holding:  # said of this batch: it is held otherwise than the plan has it
            cooked = [each for each in processes if each.startswith("cook-")]
            processes = [*cooked, "hot-holding" if holding == "hot" else "cooling"]
        not_tcs = not_tcs or start.not_tcs
    return {
        "step": start.step.value,
        "processes": processes,
        "not_tcs": not_tcs,
        "food": food or [each.value for each in start.food],
        "holding": holding or start.holding,
    }
