"""Food from the air around it, for a course of the air as somebody writes it."""

from dashboards.parts import pictures
from dashboards.parts.calculators import fields
from holdwatch.calculators.course import read_lines, read_minutes
from holdwatch.calculators.lag import lag_answer
from holdwatch.language import _
from holdwatch.quantities import Scale
from holdwatch.readings import Series
from holdwatch.science.foodlag import food_of_air
from holdwatch.views.model import SiteView

__all__ = ["draw"]


def draw(site: SiteView) -> None:
    """Ask for the course of the air and the lag of the food."""
    air = fields.lines(
        _("The air, at which minute"), "lag-air", read_lines, hint="38F at 0\n38F at 60\n52F at 75\n38F at 120"
    )
    lag_min = fields.field(_("The food follows with a lag of"), "lag-lag", read_minutes, begins="45 min")
    if air is None or lag_min is None:
        return
    scale = Scale(site.scale)
    fields.show(
        lambda: lag_answer(air, lag_min=lag_min, scale=scale),
        lambda _answer: _picture(air, food_of_air(air, lag_min), scale),
    )


def _picture(air: Series, food: Series, scale: Scale) -> pictures.Picture:
    """Draw the air, and the food that follows it."""
    return pictures.courses(
        [
            pictures.Course(_("food, estimated"), fields.points(food, scale)),
            pictures.Course(_("air"), fields.points(air, scale)),
        ],
        title=f"°{scale}",
        minutes=_("Minutes"),
    )
