"""A site's own plan: a limits file that names its base, says what it changes, and answers for being laxer."""

from dataclasses import replace
from types import MappingProxyType

from holdwatch.language import _
from holdwatch.limits.model import Laxer, Limits
from holdwatch.limits.strictness import is_laxer
from holdwatch.limits.table import Table

__all__ = ["laxer_parts", "on_base", "read_laxer"]


def read_laxer(table: Table) -> Laxer:
    """Read who answers for a plan that is laxer than its base."""
    laxer = Laxer(
        author=table.text("author"),
        on=table.day("date"),
        reason=table.text("reason"),
        approved_by=table.text("approved_by"),
        approved_on=table.day("approved_on"),
    )
    table.done()
    return laxer


def laxer_parts(plan: Limits, base: Limits) -> tuple[str, ...]:
    """Return the parts in which a plan allows what its base does not, or is silent where the base has a figure."""
    ours, theirs = plan.parts(), base.parts()
    laxer = [name for name in theirs if name in ours and is_laxer(ours[name], theirs[name])]
    return tuple(laxer + [name for name in theirs if name in plan.no_figure])


def on_base(plan: Limits, base: Limits, table: Table) -> Limits:
    """Return a plan with all that it leaves to its base, and a caution where it is laxer.

    Raises
    ------
    LimitsError
        If it is laxer than its base and nobody answers for it, or says so and is not.
    """
    laxer = laxer_parts(plan, base)
    if laxer and plan.laxer is None:
        needs = _(
            "is laxer than {base}: add [laxer] with author, date, reason, approved_by and approved_on, or make it stricter"
        )
        raise table.fail(laxer[0], needs.format(base=base.id))
    if plan.laxer is not None and not laxer:
        raise table.fail("laxer", _("nothing in this plan is laxer than {base}: leave it out").format(base=base.id))
    said = {*plan.parts(), *plan.no_figure}
    more = {name: part for name, part in base.more.items() if name not in said}
    none = {name: words for name, words in base.no_figure.items() if name not in said}
    return replace(
        plan,
        cooling=base.cooling if "cooling" not in said else plan.cooling,
        cold_holding=base.cold_holding if "cold-holding" not in said else plan.cold_holding,
        hot_holding=base.hot_holding if "hot-holding" not in said else plan.hot_holding,
        more=MappingProxyType({**more, **plan.more}),
        no_figure=MappingProxyType({**none, **plan.no_figure}),
        laxer_than="" if plan.laxer is None else base.title,
        laxer_in=laxer,
    )
