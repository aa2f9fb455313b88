"""The calculators: one file each beside this one, named as its row here, with a function ``draw(site)``.

A panel asks for its figures, calls one function of the package, and shows the answer; it reckons nothing itself.
"""

from importlib import import_module

from holdwatch.language import N_
from holdwatch.views.model import SiteView

__all__ = ["PANELS", "draw"]

PANELS = {
    "boiling": N_("Boiling check of a probe"),
    "sugar": N_("Cooked sugar"),
    "recipe": N_("Water activity of a recipe"),
    "control": N_("pH and water activity"),
    "cook": N_("Cooking an egg mixture"),
    "lag": N_("Food from air"),
    "ahead": N_("When cooling food gets there"),
    "cool_faster": N_("What would cool it faster"),
    "schedule": N_("When to begin a cake"),
}
"""Name of the file, which is also its word in the address → its title, in the order in which they stand."""


def draw(name: str, site: SiteView) -> None:
    """Draw one calculator; it is loaded when it is first opened."""
    import_module(f"dashboards.parts.calculators.{name}").draw(site)
