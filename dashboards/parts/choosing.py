"""Choosing one of the parts of a page; the choice stays in the address."""

from collections.abc import Mapping

import streamlit as st

from dashboards.parts.at_first import at_first
from holdwatch.language import _

__all__ = ["part_of"]


def part_of(names: Mapping[str, str], *, label: str, key: str, parameter: str = "part") -> str:
    """Ask which part is to be drawn; at first the one that the address names, else the first.

    Parameters
    ----------
    names : what each part is called in English, by its word in the address.
    label : what is asked, for a screen reader.
    key : under which the choice is kept.
    parameter : its name in the address.
    """
    wanted = st.query_params.get(parameter, "")
    chosen = st.pills(
        label,
        list(names),
        default=at_first(key, wanted if wanted in names else next(iter(names))),
        format_func=lambda part: _(names[part]),
        required=True,
        key=key,
        label_visibility="collapsed",
    )
    st.query_params[parameter] = str(chosen)
    return str(chosen)
