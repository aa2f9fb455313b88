"""The stages of cooked sugar."""

from dashboards.parts import pictures
from dashboards.parts.calculators import fields, room
from holdwatch.calculators.answer import Answer
from holdwatch.calculators.syrup import syrup_answer
from holdwatch.language import _
from holdwatch.quantities import Scale, to_scale
from holdwatch.views.model import SiteView

__all__ = ["draw"]


def draw(site: SiteView) -> None:
    """Ask where the kitchen is and what the thermometer shows, and tell the stages here."""
    here = room.ask(site)
    shows = fields.optional(
        _("The thermometer in the syrup shows (°{scale})").format(scale=site.scale), "sugar-shows", fields.degrees(site)
    )
    if here is None or shows.wrong:
        return
    scale = Scale(site.scale)
    fields.show(lambda: syrup_answer(here, at_c=shows.value, scale=scale), lambda answer: _picture(answer, scale))


def _picture(answer: Answer, scale: Scale) -> pictures.Picture:
    """Draw the stages in this room, and what the thermometer shows."""
    rows = [
        pictures.Span(row[0], float(to_scale(stage["low_c"], scale)), float(to_scale(stage["high_c"], scale)))
        for row, stage in zip(answer.rows, answer.data["stages"], strict=True)
    ]
    shown_c = answer.data.get("at_c")
    marks = [] if shown_c is None else [pictures.Mark(float(to_scale(shown_c, scale)), _("it shows"))]
    return pictures.spans(rows, title=_("In this room (°{scale})").format(scale=scale), marks=marks)
