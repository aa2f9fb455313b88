"""A product written as a file, to be changed and taken into the plan again."""

import json
from collections.abc import Iterator, Mapping
from typing import Any

from holdwatch.plan.model import Product
from holdwatch.plan.reading import product_data

__all__ = ["product_text"]


def product_text(product: Product) -> str:
    """Return a product as TOML, in the form of the starters."""
    return "\n".join(_lines("", product_data(product))) + "\n"


def _lines(where: str, data: Mapping[str, Any]) -> Iterator[str]:
    inner = {key: value for key, value in data.items() if isinstance(value, dict) or _tables(value)}
    yield from (f"{key} = {_value(value)}" for key, value in data.items() if key not in inner)
    for key, value in inner.items():
        name = f"{where}{key}"
        for each in value if isinstance(value, list) else [value]:
            yield ""
            yield f"[[{name}]]" if isinstance(value, list) else f"[{name}]"
            yield from _lines(f"{name}.", each)


def _tables(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and isinstance(value[0], dict)


def _value(value: Any) -> str:
    """Write a value; a basic string of TOML takes the escapes of JSON, but for the delete character."""
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007F")
