"""Density, heat capacity and conductivity of food from its composition (Choi and Okos)."""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from types import MappingProxyType

from holdwatch.errors import OutOfRangeError
from holdwatch.language import N_, _

__all__ = ["Makeup", "Properties", "thermal_properties"]

CELSIUS_LOW, CELSIUS_HIGH = 0.0, 150.0
"""The source goes down to −40 °C with a share of ice, which nobody in a kitchen knows: frozen food is refused."""

ADDS_UP_WITHIN = 0.005
"""How far from 1 the shares of a table may add up: tables round."""


_PARTS = (N_("water"), N_("protein"), N_("fat"), N_("carbohydrate"), N_("fibre"), N_("ash"))


@dataclass(frozen=True)
class Makeup:
    """What a food is made of, as shares of its weight that add up to 1."""

    water: float = 0.0
    protein: float = 0.0
    fat: float = 0.0
    carbohydrate: float = 0.0
    fibre: float = 0.0
    ash: float = 0.0

    def __post_init__(self) -> None:
        for name, share in self.shares().items():
            if not 0.0 <= share <= 1.0:
                raise OutOfRangeError(
                    _("the share of {name}").format(name=_(name)), share, 0.0, 1.0, _("of the weight")
                )
        total = sum(self.shares().values())
        if abs(total - 1.0) > ADDS_UP_WITHIN:
            low, high = 1.0 - ADDS_UP_WITHIN, 1.0 + ADDS_UP_WITHIN
            raise OutOfRangeError(_("the sum of the shares"), total, low, high, _("of the weight"))

    def shares(self) -> dict[str, float]:
        """Return the share of each component by its name."""
        return {each.name: float(getattr(self, each.name)) for each in fields(self)}


@dataclass(frozen=True)
class Properties:
    """What the conduction of heat depends on."""

    density_kg_m3: float
    heat_capacity_j_kgk: float
    conductivity_w_mk: float

    @property
    def diffusivity_m2_s(self) -> float:
        """The diffusivity, k/(ρ c_p)."""
        return self.conductivity_w_mk / (self.density_kg_m3 * self.heat_capacity_j_kgk)


@dataclass(frozen=True)
class _Component:
    """Coefficients a, b, c of a + b t + c t², t in °C."""

    conductivity_w_mk: tuple[float, float, float]
    density_kg_m3: tuple[float, float, float]
    heat_capacity_kj_kgk: tuple[float, float, float]


# Choi and Okos 1986, as reprinted by Singh and Heldman, table A.2.9 (read in copies of it). The constant of the heat
# capacity of water is 4.1762 there; a later correction by one of the authors has 4.1280, which is 1.2 % less.
_COMPONENTS: Mapping[str, _Component] = MappingProxyType(
    {
        "water": _Component(
            (0.57109, 1.7625e-3, -6.7036e-6), (997.18, 3.1439e-3, -3.7574e-3), (4.1762, -9.0864e-5, 5.4731e-6)
        ),
        "protein": _Component(
            (0.17881, 1.1958e-3, -2.7178e-6), (1329.9, -0.51840, 0.0), (2.0082, 1.2089e-3, -1.3129e-6)
        ),
        "fat": _Component((0.18071, -2.7604e-4, -1.7749e-7), (925.59, -0.41757, 0.0), (1.9842, 1.4733e-3, -4.8008e-6)),
        "carbohydrate": _Component(
            (0.20141, 1.3874e-3, -4.3312e-6), (1599.1, -0.31046, 0.0), (1.5488, 1.9625e-3, -5.9399e-6)
        ),
        "fibre": _Component((0.18331, 1.2497e-3, -3.1683e-6), (1311.5, -0.36589, 0.0), (1.8459, 1.8306e-3, -4.6509e-6)),
        "ash": _Component((0.32962, 1.4011e-3, -2.9069e-6), (2423.8, -0.28063, 0.0), (1.0926, 1.8896e-3, -3.6817e-6)),
    }
)


def _at(coefficients: tuple[float, float, float], celsius: float) -> float:
    constant, linear, square = coefficients
    return constant + linear * celsius + square * celsius**2


def thermal_properties(makeup: Makeup, celsius: float) -> Properties:
    r"""Return density, heat capacity and conductivity of an unfrozen food without pores.

    .. math::
        1/\rho = \sum x_i/\rho_i, \qquad c_p = \sum x_i c_{p,i}, \qquad
        k = \sum \frac{x_i \rho}{\rho_i} k_i

    Each component's own value is a polynomial of the temperature.

    Parameters
    ----------
    makeup : Makeup. [–], shares of the weight.
    celsius : float. [°C]

    Returns
    -------
    Properties. [kg/m³, J/(kg K), W/(m K)]

    Raises
    ------
    OutOfRangeError
        If `celsius` is not from 0 to 150 °C, ends included. (`Makeup` itself refuses shares that do not add up.)

    Notes
    -----
    Water comes out within 0.3 % (density), 0.7 % (heat capacity) and 2.2 % (conductivity) of its standard, printed heat
    capacities of dairy foods and bread within 3 %; those of egg and yolk are 10 to 13 % lower than it says. Foam and
    cake have air in them, and are measured instead. Ice is left out, and with it everything below 0 °C.

    Examples
    --------
    Whole milk; Geankoplis, table A.4-1 prints 3.85 kJ/(kg K) for 87.5 % water.

    >>> milk = Makeup(water=0.875, protein=0.033, fat=0.037, carbohydrate=0.048, ash=0.007)
    >>> round(thermal_properties(milk, 20.0).heat_capacity_j_kgk / 1000, 2)
    3.88

    References
    ----------
    Y. Choi, M. R. Okos 1986, "Effects of temperature and composition on the thermal properties of foods", *Food
    Engineering and Process Applications* 1, 93–101; reprinted in R. P. Singh, D. R. Heldman, *Introduction to Food
    Engineering*, table A.2.9 (read in copies on 2026-11-24).
    """
    if not CELSIUS_LOW <= celsius <= CELSIUS_HIGH:
        raise OutOfRangeError(_("the temperature of the food"), celsius, CELSIUS_LOW, CELSIUS_HIGH, "°C")
    volume = capacity = carried = 0.0
    for name, share in makeup.shares().items():
        component = _COMPONENTS[name]
        own_volume = share / _at(component.density_kg_m3, celsius)
        volume += own_volume
        capacity += share * _at(component.heat_capacity_kj_kgk, celsius)
        carried += own_volume * _at(component.conductivity_w_mk, celsius)
    return Properties(1.0 / volume, 1_000.0 * capacity, carried / volume)
