"""The water activity of a filling or frosting from its recipe."""

import streamlit as st

from dashboards.parts import pictures
from dashboards.parts.calculators import fields
from holdwatch.calculators.answer import Answer
from holdwatch.calculators.recipe_lines import read_lines
from holdwatch.calculators.tcs import DONE, Measured, read_number
from holdwatch.calculators.water import water_answer
from holdwatch.language import _
from holdwatch.measures import grams
from holdwatch.rules.tcs import TABLE_A, TABLE_B, Heated
from holdwatch.science.recipe import INGREDIENTS
from holdwatch.views.model import SiteView

__all__ = ["HINT", "draw"]

HINT = "powdered sugar = 454 g\nbutter = 227 g\nraspberry jam = 80 g; water 30%; sucrose 35%"


def draw(site: SiteView) -> None:  # noqa: ARG001  every calculator is drawn with the site
    """Ask for the recipe, and tell what three methods make of it."""
    recipe = fields.lines(_("Recipe, one ingredient a line"), "recipe-lines", read_lines, hint=HINT)
    with st.expander(_("Ingredients that are known by name")):
        st.text(", ".join(INGREDIENTS))
    left, middle, right = st.columns(3)
    with left:
        final = fields.optional(_("Weight when done, if water boils away"), "recipe-final", grams, hint="620g")
    with middle:
        ph = fields.optional(_("pH, if measured"), "recipe-ph", read_number, hint="4.6")
    with right:
        ph_error = fields.field(_("pH may be off by"), "recipe-ph-error", read_number, begins="0.1")
    heated = st.radio(
        _("The food is"), list(DONE), index=None, format_func=lambda each: _(DONE[each]), key="recipe-heated"
    )
    if not recipe or final.wrong or ph.wrong or ph_error is None:
        return
    made = Heated(heated) if heated is not None else None

    def answer() -> Answer:
        acid = None if ph.value is None else Measured(ph.value, ph_error)
        return water_answer(recipe, final_g=final.value, ph=acid, heated=made)

    fields.show(answer, _picture)


def _picture(answer: Answer) -> pictures.Picture:
    """Draw what each method makes of it and all of them together, against the ends of the tables' rows."""
    found = answer.data
    methods = {"Norrish": found["norrish"], "Ross": found["ross"], "Money and Born": found["money_born"]}
    rows = [pictures.Span(name, value, value, value) for name, value in methods.items() if value is not None]
    together = pictures.Span(_("Together"), found["low"], found["high"], found["water_activity"])
    ends = sorted({end.figure for table in (TABLE_A, TABLE_B) for end in table.water_activity})
    return pictures.spans(
        [*rows, together], title=_("Water activity"), marks=[pictures.Mark(float(end), f"{end}") for end in ends]
    )
