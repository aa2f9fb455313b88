"""What is in the kitchen of the demonstration: its units, its people, and who is told."""

from dataclasses import dataclass

from devices.simulator.foods import BUTTERCREAM_YOLKS, CURD, CUSTARD, PASTRY_CREAM, Food
from holdwatch.storage.tables import UnitKind

__all__ = ["CONTACT", "COOKS", "LIMITS", "PRODUCTS", "SITE", "SLOTS", "TIMEZONE", "UNITS", "Product", "Slot"]

SITE = "Linden Street Patisserie"
TIMEZONE = "America/Denver"
LIMITS = "us-food-code-2022"
CONTACT = "Kitchen phone (demo inbox)"
COOKS = ("Maya", "Jonas", "Ines")

UNITS: dict[str, UnitKind] = {
    "Walk-in 1": UnitKind.WALK_IN,
    "Reach-in": UnitKind.REACH_IN,
    "Display case": UnitKind.DISPLAY_CASE,
    "Freezer": UnitKind.FREEZER,
    "Hot cabinet": UnitKind.HOT_CABINET,
}


@dataclass(frozen=True)
class Product:
    """Something that is cooked and cooled: as hot as it is when it leaves the heat, as deep as it is filled.

    `way` names where it stands, from which minute on, and the surface coefficient there (W/m²K).
    """

    name: str
    short: str
    food: Food
    start_c: float
    depth_m: float
    vessels: int
    way: tuple[tuple[float, str, float], ...]


_BATH = ((0.0, "Kitchen", 10.0), (5.0, "Ice bath", 140.0), (38.0, "Walk-in 1", 22.0))
_TRAYS = ((0.0, "Kitchen", 10.0), (8.0, "Walk-in 1", 24.0))

PRODUCTS = {
    product.short: product
    for product in (
        Product("Pastry cream", "PC", PASTRY_CREAM, 82.0, 0.045, 2, _BATH),
        Product("Crème anglaise", "CA", CUSTARD, 80.0, 0.045, 1, _BATH),
        Product("Lemon curd", "LC", CURD, 80.0, 0.030, 2, _TRAYS),
        Product("French buttercream yolks", "FB", BUTTERCREAM_YOLKS, 72.0, 0.028, 1, _TRAYS),
        Product("Chocolate crémeux", "CC", CUSTARD, 78.0, 0.040, 3, _BATH),
        # filled too deep, and set straight into the walk-in
        Product("Lemon curd", "LD", CURD, 70.0, 0.080, 1, ((0.0, "Walk-in 1", 14.0),)),
        # forgotten on the bench
        Product("Crème anglaise", "CF", CUSTARD, 74.0, 0.050, 1, ((0.0, "Kitchen", 9.0),)),
        # cooled well at first, then crowded into the reach-in
        Product("Lemon curd", "LR", CURD, 80.0, 0.050, 1, ((0.0, "Ice bath", 140.0), (50.0, "Reach-in", 5.0))),
    )
}


@dataclass(frozen=True)
class Slot:
    """A batch that is made every working day: at which local time, of what, watched by which probe."""

    hour: int
    minute: int
    product: str
    device: str

    @property
    def afternoon(self) -> bool:
        """Whether it falls away on a Sunday."""
        return self.hour >= 12  # noqa: PLR2004 - noon


SLOTS = (
    Slot(5, 40, "PC", "pan-1"),
    Slot(6, 30, "CA", "pan-2"),
    Slot(7, 15, "FB", "pan-3"),
    Slot(8, 30, "LC", "pan-4"),
    Slot(13, 10, "LC", "pan-1"),
    Slot(14, 5, "CC", "pan-2"),
)
