"""The site as it was set at an instant: its limits, its zone, and the words for a person there."""

from contextlib import AbstractContextManager
from dataclasses import dataclass

from sqlmodel import Session, col, select

from holdwatch.clock import clock_words
from holdwatch.language import speaking
from holdwatch.limits import Limits
from holdwatch.quantities import Scale, format_temperature
from holdwatch.rules.raw_egg import Food
from holdwatch.rules.words import Words
from holdwatch.storage.inforce import limits_of
from holdwatch.storage.register import site_at
from holdwatch.storage.tables import Answer, SiteVersion

__all__ = ["InForce", "in_force", "speaking_at"]

_VERSIONS = "holdwatch site versions"


@dataclass(frozen=True)
class InForce:
    """What was in force at an instant."""

    site: SiteVersion
    limits: Limits

    @property
    def timezone(self) -> str:
        """The site's zone."""
        return self.site.timezone

    @property
    def words(self) -> Words:
        """How reasons write instants and temperatures: as the site's clocks and thermometers show them."""
        return Words(when=self.when, scale=Scale(self.site.unit))

    @property
    def served(self) -> frozenset[Food]:
        """What the site's answers at set-up say of all its food: whom it is for."""
        return frozenset({Food.SUSCEPTIBLE}) if self.site.susceptible == Answer.YES else frozenset()

    def when(self, at_ms: int) -> str:
        """Write an instant in local time, with the zone."""
        return clock_words(at_ms, self.site.timezone)

    def degrees(self, celsius: float) -> str:
        """Write a temperature in the site's unit."""
        return format_temperature(celsius, Scale(self.site.unit)).replace("\u202f", " ")

    def level(self, celsius: float) -> str:
        """Write a published level, without decimals where it has none."""
        return self.degrees(celsius).replace(".0 ", " ")


def in_force(session: Session, at_ms: int) -> InForce:
    """Return the site and the limits that were in force at an instant.

    Raises
    ------
    LimitsError
        If the site names limits that are unknown or broken.
    """
    site = _version_at(session, at_ms)
    return InForce(site, limits_of(session, site))


def speaking_at(session: Session, at_ms: int) -> AbstractContextManager[None]:
    """Speak the language that the site had at an instant, for a while. [ms]."""
    return speaking(_version_at(session, at_ms).language)


def _version_at(session: Session, at_ms: int) -> SiteVersion:
    versions = session.info.get(_VERSIONS)
    if versions is None:  # asked for many times in one transaction, in which it cannot change
        query = select(SiteVersion).order_by(col(SiteVersion.from_ms), col(SiteVersion.id))
        versions = session.info[_VERSIONS] = list(session.exec(query))
    at_ms = max(at_ms, versions[0].from_ms) if versions else at_ms  # before the first version nothing else is known
    site = next((version for version in reversed(versions) if version.from_ms <= at_ms), None)
    return site_at(session, at_ms) if site is None else site
