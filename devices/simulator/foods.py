"""What the simulated food is made of, as far as heat is concerned."""

from dataclasses import dataclass

__all__ = ["BUTTERCREAM_YOLKS", "CURD", "CUSTARD", "PASTRY_CREAM", "Food"]


@dataclass(frozen=True)
class Food:
    """Conductivity in W/mK, density in kg/m³, heat capacity in J/kgK."""

    name: str
    k_w_mk: float
    density_kg_m3: float
    heat_j_kgk: float

    @property
    def diffusivity_m2_s(self) -> float:
        """How fast a temperature spreads, in m²/s."""
        return self.k_w_mk / (self.density_kg_m3 * self.heat_j_kgk)


# Computed at 20 °C with the component equations of Choi and Okos 1986 (Food Engineering and Process Applications 1,
# 93–101) from usual compositions: water, protein, fat, carbohydrate, ash.
CUSTARD = Food("custard", 0.5366, 1051.5, 3664.3)  # .787 .050 .047 .110 .006
PASTRY_CREAM = Food("pastry cream", 0.4968, 1098.3, 3339.8)  # .66 .045 .065 .222 .008
BUTTERCREAM_YOLKS = Food("yolks for buttercream", 0.4144, 1036.8, 3117.2)  # .5231 .1586 .2654 .0359 .0171
# A curd is close to a pastry cream with more sugar; between it and the 60 % syrup (.4216 1284.7 2622.0).
CURD = Food("lemon curd", 0.475, 1150.0, 3150.0)
