"""Starter products of the pastry trade: a plan to begin with, to be checked against one's own recipe."""

import tomllib
from functools import cache
from pathlib import Path

from holdwatch.errors import ConfigError
from holdwatch.limits.table import Table
from holdwatch.plan.model import Product
from holdwatch.plan.reading import product_of

__all__ = ["known_starters", "read_product_file", "starter"]

_HERE = Path(__file__).parent / "starters"


def known_starters() -> tuple[str, ...]:
    """Return the words by which the starters are taken."""
    return tuple(sorted(path.stem for path in _HERE.glob("*.toml")))


@cache
def starter(word: str) -> Product:
    """Return a starter product.

    Raises
    ------
    ConfigError
        If there is none of that word.
    """
    if word not in known_starters():
        raise ConfigError(f"no starter is called {word!r}: use one of {', '.join(known_starters())}")
    return read_product_file(_HERE / f"{word}.toml")


def read_product_file(path: Path) -> Product:
    """Read a product from a file in the form of the starters.

    Raises
    ------
    ConfigError
        If it cannot be read, or breaks the schema.
    """
    try:
        data = tomllib.loads(path.read_bytes().decode("utf-8"))
    except OSError as exc:
        raise ConfigError(f"cannot read product file {path}: {exc.strerror}") from exc
    except UnicodeDecodeError as exc:
        raise ConfigError(f"product file {path} is not UTF-8 text: save it as UTF-8") from exc
    except tomllib.TOMLDecodeError as exc:
        raise ConfigError(f"product file {path} is not TOML: {exc}") from exc
    return product_of(Table(path, "", data, what="product file", error=ConfigError))
