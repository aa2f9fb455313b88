"""Whether a product needs temperature control, as far as it was shown: what nobody answered is taken as yes.

============================================  =========================================================
what is known                                 what follows
============================================  =========================================================
pH and water activity, within the tables      no, with the figures and the table
pH and water activity, beyond the tables      yes
no TCS food by its kind, and said to be plain no, with the reason of its kind
no TCS food by its kind, and not plain        yes
anything else                                 as its kind is; where that is not known, as TCS food
============================================  =========================================================
"""

from dataclasses import dataclass
from decimal import Decimal

from holdwatch.calculators.tcs import between
from holdwatch.language import N_, _
from holdwatch.plan.answering import Figures, figures_of
from holdwatch.plan.model import Asked, Product, Tcs
from holdwatch.rules.raw_egg import Food
from holdwatch.rules.tcs import TABLE_A, TABLE_B, Control, Heated

__all__ = ["ASK_AUTHORITY", "Need", "need_of"]

ASK_AUTHORITY = N_("Confirm this with your authority.")
_MOST_PH, _MOST_AW = Decimal(14), Decimal(1)


@dataclass(frozen=True)
class Need:
    """Whether a product needs temperature control, and why."""

    tcs: Tcs
    reason: str

    @property
    def asked(self) -> bool:
        """Whether limits are asked of it: unless it was shown that it needs none."""
        return self.tcs is not Tcs.NO


def need_of(product: Product) -> Need:
    """Return whether a product needs temperature control, by its kind and by what was answered of it."""
    figures = figures_of(product)
    found = _by_kind(product) if figures is None else _by_figures(figures)
    egg = product.said(Asked.EGG)
    if found.asked or not product.asks(Asked.EGG) or egg not in {None, "raw"} or Food.BAKED in product.made:
        return found
    why = (
        _("nobody said yet whether its egg is raw")
        if egg is None
        else _("raw egg is in it, whose cooking is to be shown")
    )
    return Need(Tcs.UNKNOWN, _("{reason} But {why}: it is treated as TCS food.").format(reason=found.reason, why=why))


def _by_figures(figures: Figures) -> Need:
    table = TABLE_A if figures.heated is Heated.AND_PACKAGED else TABLE_B
    ends = figures.ph.ends(_MOST_PH), figures.water_activity.ends(_MOST_AW)
    says, one_answer = between(*ends, figures.heated)
    if says is Control.NOT_TCS:
        said = _("{figures}: not TCS food by table {table} ({source}).")
        return Need(
            Tcs.NO, said.format(figures=figures, table=table.name, source=table.source) + f" {_(ASK_AUTHORITY)}"
        )
    said = (
        _("{figures}: table {table} asks for a product assessment; TCS food until then.")
        if one_answer
        else _(
            "{figures}: table {table} asks for a product assessment, within its uncertainty of a boundary; TCS food until then."
        )
    )
    return Need(Tcs.YES, said.format(figures=figures, table=table.name))


def _by_kind(product: Product) -> Need:
    if product.tcs is Tcs.YES:
        return Need(Tcs.YES, product.tcs_reason)
    if product.tcs is Tcs.UNKNOWN:
        return Need(Tcs.UNKNOWN, f"{product.tcs_reason} {_('Until they are known it is treated as TCS food.')}")
    plain = product.said(Asked.PLAIN)
    if plain == "yes":
        return Need(Tcs.NO, f"{product.tcs_reason} {_(ASK_AUTHORITY)}")
    if plain == "no":
        return Need(Tcs.YES, _("It is not plain: what is in or on it decides, and nothing shows that it keeps."))
    return Need(Tcs.UNKNOWN, _("Nobody said yet whether it is plain: it is treated as TCS food."))
