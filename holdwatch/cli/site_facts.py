"""What the calculators take from the site, where there is one: its code, its zone and its scale."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from holdwatch.limits import Limits
    from holdwatch.quantities import Scale

__all__ = ["CodeOption", "SiteFacts", "site_facts"]

_WITHOUT_A_SITE = "us-food-code-2022"

CodeOption = Annotated[
    str | None,
    typer.Option(
        "--limits",
        metavar="LIMITS",
        show_default=False,
        help="A code of practice, or the path of a limits file; if not given, the site's, else us-food-code-2022.",
    ),
]


@dataclass(frozen=True)
class SiteFacts:
    """The code that is held to, in which zone and scale; no zone where there is no site."""

    limits: "Limits"
    timezone: str | None
    scale: "Scale"
    altitude: str = ""
    """Of the kitchen as it was written; empty where nobody said."""


def site_facts(data: Path | None, limits: str | None) -> SiteFacts:
    """Return the facts of the site; without one, those that the options alone give.

    Raises
    ------
    StoreMissingError
        If a directory was named that holds no site.
    LimitsError
        If the code is unknown.
    """
    from holdwatch.cli.common import opened, settings_for
    from holdwatch.limits import load_limits
    from holdwatch.quantities import Scale
    from holdwatch.settings import DEFAULT_DATA, STORE_NAME

    settings = settings_for(data)
    nobody_named_one = settings.data == DEFAULT_DATA and settings.database_url is None
    if nobody_named_one and not (settings.data / STORE_NAME).exists():
        return SiteFacts(load_limits(limits or _WITHOUT_A_SITE), None, Scale.F)
    from holdwatch.storage.inforce import limits_of
    from holdwatch.storage.register import site_at

    with opened(data) as store, store.read() as session:
        site = site_at(session, None)
        code = limits_of(session, site) if limits is None else load_limits(limits)
        return SiteFacts(code, site.timezone, Scale(site.unit), site.altitude)
