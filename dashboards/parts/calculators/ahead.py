"""When food that cools will be at a temperature, from readings that somebody wrote down."""

from dashboards.parts.calculators import fields
from holdwatch.calculators.ahead import ahead_answer, read_points
from holdwatch.language import _
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
    fields.show(lambda: ahead_answer(readings, target_c=target_c, surroundings_c=around.value, scale=site.scale))
