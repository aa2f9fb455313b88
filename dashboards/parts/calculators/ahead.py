"""When food that cools will be at a temperature, from readings that somebody wrote down."""

from dashboards.parts import pictures
from dashboards.parts.calculators import fields
from holdwatch.calculators.ahead import ahead_answer, read_points
from holdwatch.calculators.answer import Answer
from holdwatch.language import _
from holdwatch.quantities import Scale, format_temperature, to_scale
from holdwatch.readings import Series
from holdwatch.views.model import SiteView

__all__ = ["draw"]


def draw(site: SiteView) -> None:
    """Ask for the readings, the level and the surroundings."""
    degrees = fields.degrees(site)
    readings = fields.lines(
        _("The food, at which minute"),
        "ahead-readings",
        read_points,
        hint="150F at 0\n128F at 20\n111F at 40\n98F at 60",
    )
    target_c = fields.field(_("When will it be at"), "ahead-target", degrees, hint="70F")
    around = fields.optional(_("The air or bath around it, if measured"), "ahead-around", degrees, hint="38F")
    if readings is None or target_c is None or around.wrong:
        return
    scale = Scale(site.scale)
    fields.show(
        lambda: ahead_answer(readings, target_c=target_c, surroundings_c=around.value, scale=scale),
        lambda answer: _picture(answer, readings, scale),
    )


def _picture(answer: Answer, readings: Series, scale: Scale) -> pictures.Picture:
    """Draw the readings, and where they may go on to."""
    target_c = answer.data["target_c"]
    level = pictures.Mark(float(to_scale(target_c, scale)), format_temperature(target_c, scale))
    fan = [
        (minute, *(float(to_scale(part_c, scale)) for part_c in parts_c)) for minute, *parts_c in answer.data["path"]
    ]
    line = pictures.Course(_("as read"), fields.points(readings, scale))
    return pictures.courses([line], title=f"°{scale}", minutes=_("Minutes"), marks=[level], fan=fan)
