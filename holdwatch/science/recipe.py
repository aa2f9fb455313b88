"""From a recipe to what is dissolved in its water.

The composition of ingredients is that of tables of the US Department of Agriculture; a label, or a supplier's
specification, is better, and a recipe may state it for any ingredient. Where we estimate we count fewer sugars than
the table prints, and lactose and starch not at all, so that the activity comes out too high rather than too low.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches

from holdwatch.errors import ConfigError, OutOfRangeError
from holdwatch.language import _, decimals
from holdwatch.science.water_activity import SOLUTES

__all__ = ["INGREDIENTS", "Composition", "Ingredient", "Mixture", "find_ingredient", "mix"]


@dataclass(frozen=True)
class Composition:
    """What a hundred grams hold, in grams; what is neither water nor a solute does not count."""

    name: str
    water: float
    source: str
    sucrose: float = 0.0
    glucose: float = 0.0
    fructose: float = 0.0
    glycerol: float = 0.0

    def solutes(self) -> dict[str, float]:
        """Return grams of each solute in a hundred grams."""
        return {name: float(getattr(self, name)) for name in SOLUTES}


@dataclass(frozen=True)
class Ingredient:
    """So many grams of something in a recipe."""

    composition: Composition
    grams: float


@dataclass(frozen=True)
class Mixture:
    """What a recipe comes to."""

    water_g: float
    solutes_g: dict[str, float] = field(default_factory=dict)
    total_g: float = 0.0


_SR = "USDA National Nutrient Database for Standard Reference, no. {}"
_ESTIMATE = "our estimate, without source: take the label's figures"


def _read(number: str) -> str:
    """Name a row whose figures were read in a copy of the table."""
    return f"{_SR.format(number)} (read 2026-11-25)"


def _split(number: str) -> str:
    """Name a row that prints water and the total of sugars; which sugars, or how many of them we count, is ours."""
    return f"{_read(number)}; which sugars these are is our estimate"


def _memory(number: str) -> str:
    return f"{_SR.format(number)}; from memory: check the label"


INGREDIENTS = {
    each.name: each
    for each in (
        Composition("water", 100.0, "by definition"),
        Composition("granulated sugar", 0.02, _read("19335"), sucrose=99.8),
        Composition("powdered sugar", 0.23, _read("19336"), sucrose=97.8),
        Composition("brown sugar", 1.34, _split("19334"), sucrose=94.5, glucose=1.4, fructose=1.1),
        Composition("honey", 17.1, _split("19296"), sucrose=0.9, glucose=35.8, fructose=40.9),
        Composition("corn syrup", 22.81, _split("19350"), glucose=15.0),
        Composition("invert sugar", 20.0, _ESTIMATE, glucose=37.0, fructose=37.0),
        Composition("glycerol", 0.5, _ESTIMATE, glycerol=99.5),
        Composition("maple syrup", 32.39, _split("19353"), sucrose=58.0),
        Composition("egg white", 87.57, _read("01124")),
        Composition("egg yolk", 52.31, _read("01125")),
        Composition("whole egg", 76.15, _read("01123")),
        Composition("butter", 17.94, _read("01145")),
        Composition("shortening", 0.0, _ESTIMATE),
        Composition("whole milk", 88.13, _read("01077")),
        Composition("heavy cream", 57.81, _read("01053")),
        Composition("cream cheese", 52.62, _read("01017")),
        Composition("mascarpone", 50.0, _ESTIMATE),
        Composition("sour cream", 73.07, _read("01056")),
        Composition("condensed milk", 27.16, _split("01095"), sucrose=43.0),
        Composition("dried milk", 2.47, _read("01090")),
        Composition("dark chocolate", 0.7, _split("19080"), sucrose=36.0),
        Composition("milk chocolate", 1.5, _split("19120"), sucrose=42.0),
        Composition("white chocolate", 1.3, _split("19087"), sucrose=45.0),
        Composition("cocoa", 3.0, _read("19165")),
        Composition("lemon juice", 92.3, _memory("09152")),
        Composition("jam", 30.47, _split("19297"), sucrose=20.0, glucose=14.0, fructose=14.0),
        Composition("fruit purée", 87.0, _ESTIMATE, sucrose=2.0, glucose=3.0, fructose=3.0),
        Composition("vanilla extract", 52.6, _memory("02050")),
        Composition("cornstarch", 8.3, _memory("20027")),
        Composition("flour", 11.9, _memory("20081")),
        Composition("gelatin", 13.0, _read("19177")),
        Composition("salt", 0.0, "does not count: the methods are for sugars, and leaving it out is the careful side"),
    )
}


def find_ingredient(name: str) -> Composition:
    """Return the composition of an ingredient.

    Parameters
    ----------
    name : str. However it is capitalised.

    Returns
    -------
    Composition
        Water and sugars, in % by weight.

    Raises
    ------
    ConfigError
        If there is none of that name in the table.

    Examples
    --------
    >>> find_ingredient("butter").water
    17.94

    References
    ----------
    As stated in the row.
    """
    plain = " ".join(name.lower().split())
    if plain in INGREDIENTS:
        return INGREDIENTS[plain]
    near = get_close_matches(plain, INGREDIENTS, n=1)
    known = (
        _("did you mean {names}?").format(names=repr(near[0]))
        if near
        else _("it knows {names}.").format(names=", ".join(INGREDIENTS))
    )
    raise ConfigError(
        _(
            "{name!r} is not in the table of ingredients: {known} Or state what its label says: "
            "'{name}=100g; water 30%; sucrose 20%'"
        ).format(name=name, known=known)
    )


def mix(ingredients: Sequence[Ingredient], final_g: float | None = None) -> Mixture:
    r"""Return the water and the solutes of a recipe.

    .. math:: m_j = \sum_i m_i w_{ij} / 100

    Parameters
    ----------
    ingredients : sequence of Ingredient. Weights in g, each above 0.
    final_g : float, optional. [g], weight when it is done; what is missing has evaporated as water.

    Returns
    -------
    Mixture
        Grams of water and of each solute.

    Raises
    ------
    ConfigError
        If there is nothing in the recipe, or more evaporated than there was water.
    OutOfRangeError
        If a weight is not above 0, or a composition adds up to more than 100.

    Examples
    --------
    >>> syrup = mix([Ingredient(find_ingredient("granulated sugar"), 100), Ingredient(find_ingredient("water"), 100)], 180)
    >>> round(syrup.water_g), round(syrup.solutes_g["sucrose"])
    (80, 100)

    References
    ----------
    Conservation of mass; compositions as stated in `INGREDIENTS`.
    """
    if not ingredients:
        raise ConfigError(_("there is no ingredient in the recipe"))
    for each in ingredients:
        parts = [each.composition.water, *each.composition.solutes().values()]
        if not 0 < each.grams < 1e9:  # noqa: PLR2004  a thousand tonnes are no kitchen's batch
            raise OutOfRangeError(_("the weight of {each}").format(each=each.composition.name), each.grams, 0, 1e9, "g")
        if min(parts) < 0 or sum(parts) > 100.0 + 1e-9:
            raise OutOfRangeError(
                _("water and sugars of {each}").format(each=each.composition.name), sum(parts), 0, 100, "%"
            )
    total = sum(each.grams for each in ingredients)
    water = sum(each.grams * each.composition.water / 100 for each in ingredients)
    solutes = {
        name: sum(each.grams * each.composition.solutes()[name] / 100 for each in ingredients) for name in SOLUTES
    }
    if final_g is None:
        return Mixture(water, solutes, total)
    gone = total - final_g
    if gone < 0:
        raise ConfigError(
            _("the recipe weighs {total} g: it cannot be {final_g} g when it is done").format(
                total=decimals(f"{total:g}"), final_g=decimals(f"{final_g:g}")
            )
        )
    if gone >= water:
        raise ConfigError(
            _("{gone} g are gone, but there were only {water} g of water in the recipe").format(
                gone=decimals(f"{gone:g}"), water=decimals(f"{water:.0f}")
            )
        )
    return Mixture(water - gone, solutes, final_g)
