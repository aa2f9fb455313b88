"""The products of the written plan: each change is a version of its own, with who made it and why; none is overwritten."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlmodel import Session, col, select

from holdwatch.errors import ConfigError, UnknownNameError
from holdwatch.language import N_, _
from holdwatch.storage.events import record_event
from holdwatch.storage.ids import id_of
from holdwatch.storage.look import asked_once
from holdwatch.storage.names import check_instant, check_name, unknown
from holdwatch.storage.product_tables import ProductVersion
from holdwatch.storage.site import unit_named
from holdwatch.storage.spoken import on_site_clock
from holdwatch.storage.tables import EventKind

if TYPE_CHECKING:
    from holdwatch.plan.model import Product

__all__ = [
    "product_at",
    "product_history",
    "product_named",
    "product_of_version",
    "products_in_force",
    "retire_product",
    "set_product",
    "version_at",
]


def set_product(
    session: Session, product: "Product", *, from_ms: int, now_ms: int, by: str, why: str
) -> ProductVersion:
    """Put a product into the plan, or a new version of one in the place of the version before, from an instant on.

    Parameters
    ----------
    product : what the plan says of it from then on.
    from_ms : since when it holds [ms]; not ahead, and not before a version that is there.
    now_ms : the present. [ms]
    by, why : who changed the plan, and for what reason.

    Raises
    ------
    ConfigError
        If the name, the reason or the instant cannot be, or the product breaks the schema.
    UnknownNameError
        If a step's place is none of the site's units.
    """
    from holdwatch.plan.reading import product_data

    name = check_name(N_("name of a product"), product.name)
    plan = product_data(product)
    for step in _product_of(name, plan).steps:
        if step.place:
            unit_named(session, step.place)
    return _append(session, name, EventKind.PRODUCT_SET, plan, from_ms=from_ms, now_ms=now_ms, by=by, why=why)


def retire_product(session: Session, name: str, *, from_ms: int, now_ms: int, by: str, why: str) -> ProductVersion:
    """Take a product out of the plan from an instant on; what it was stays in the history.

    Raises
    ------
    UnknownNameError
        If the plan has none of that name at that instant.
    ConfigError
        If the reason or the instant cannot be.
    """
    product = product_named(session, name, from_ms)
    return _append(session, product.name, EventKind.PRODUCT_RETIRED, {}, from_ms=from_ms, now_ms=now_ms, by=by, why=why)


def product_at(session: Session, name: str, at_ms: int) -> "Product | None":
    """Return what the plan said of a product at an instant [ms], ``None`` where it had none of that name."""
    version = version_at(session, name, at_ms)
    return None if version is None else product_of_version(version)


def version_at(session: Session, name: str, at_ms: int) -> ProductVersion | None:
    """Return the version of a product that was in force at an instant [ms], ``None`` where there was none."""
    latest = next((version for version in _newest_first(session, _folded(name)) if version.from_ms <= at_ms), None)
    return None if latest is None or latest.retired else latest


@asked_once
def _newest_first(session: Session, folded: str) -> list[ProductVersion]:
    """Return every version of a product."""
    newest = col(ProductVersion.from_ms).desc(), col(ProductVersion.id).desc()
    return list(session.exec(select(ProductVersion).where(ProductVersion.folded == folded).order_by(*newest)))


def product_named(session: Session, name: str, at_ms: int) -> "Product":
    """Return what the plan said of a product at an instant [ms].

    Raises
    ------
    UnknownNameError
        If it had none of that name; it lists near names.
    """
    found = product_at(session, name, at_ms)
    if found is None:
        raise _no_product(session, name, at_ms)
    return found


def products_in_force(session: Session, at_ms: int) -> "tuple[Product, ...]":
    """Return the products of the plan at an instant [ms], by name."""
    return tuple(product_of_version(each) for each in _in_force(session, at_ms))


def product_history(session: Session, name: str) -> list[ProductVersion]:
    """Return every version of a product, the oldest first.

    Raises
    ------
    UnknownNameError
        If the plan never had one of that name.
    """
    versions = session.exec(
        select(ProductVersion)
        .where(ProductVersion.folded == _folded(name))
        .order_by(col(ProductVersion.from_ms), col(ProductVersion.id))
    ).all()
    if not versions:
        raise unknown(N_("product of the plan"), name, set(session.exec(select(ProductVersion.name)).all()))
    return list(versions)


def product_of_version(version: ProductVersion) -> "Product":
    """Return the product that a version holds; a version that retired it holds none.

    Raises
    ------
    ConfigError
        If it breaks the schema.
    """
    return _product_of(version.name, version.plan)


def _product_of(name: str, plan: dict[str, Any]) -> "Product":
    from holdwatch.limits.table import Table
    from holdwatch.plan.reading import product_of

    return product_of(Table(Path(name), "", plan, what="product", error=ConfigError))


def _append(
    session: Session,
    name: str,
    kind: EventKind,
    plan: dict[str, Any],
    *,
    from_ms: int,
    now_ms: int,
    by: str,
    why: str,
) -> ProductVersion:
    check_instant(session, N_("a change of the plan"), from_ms, now_ms)
    why = why.strip()
    if not why:
        raise ConfigError(_("a change of the plan needs its reason: say why"))
    before = session.exec(
        select(ProductVersion)
        .where(ProductVersion.folded == _folded(name))
        .order_by(col(ProductVersion.from_ms).desc(), col(ProductVersion.id).desc())
    ).first()
    if before is not None and from_ms < before.from_ms:
        raise ConfigError(
            _("the plan has had {name} as it is since {time}: a change cannot come before that").format(
                name=name, time=on_site_clock(session, before.from_ms)
            )
        )
    event = record_event(
        session, kind, at_ms=from_ms, now_ms=now_ms, by=by, text=f"{name}: {why}", facts={"product": name, "plan": plan}
    )
    version = ProductVersion(
        folded=_folded(name),
        name=name,
        from_ms=from_ms,
        retired=kind is EventKind.PRODUCT_RETIRED,
        plan=plan,
        by=by,
        why=why,
        recorded_ms=now_ms,
        event_id=id_of(event),
    )
    session.add(version)
    session.flush()
    return version


def _in_force(session: Session, at_ms: int) -> list[ProductVersion]:
    """Return the version of each product that is in force, in order of the names."""
    latest: dict[str, ProductVersion] = {}
    query = select(ProductVersion).where(ProductVersion.from_ms <= at_ms)
    for version in session.exec(query.order_by(col(ProductVersion.from_ms), col(ProductVersion.id))):
        latest[version.folded] = version
    return sorted((each for each in latest.values() if not each.retired), key=lambda each: each.folded)


def _no_product(session: Session, name: str, at_ms: int) -> UnknownNameError:
    names: Sequence[str] = [each.name for each in _in_force(session, at_ms)]
    return unknown(N_("product of the plan"), name, names)


def _folded(name: str) -> str:
    return " ".join(name.split()).casefold()
