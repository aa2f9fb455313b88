"""What the pages ask of the languages, and what they record; like `data`, for the site and for a person's own screens."""

from dashboards import data, signedin
from holdwatch.errors import ConfigError
from holdwatch.language import ENGLISH, _
from holdwatch.storage.people import person_named, set_screen
from holdwatch.storage.site import set_site, site_at

__all__ = ["keep_for_myself", "site_speaks", "site_speaks_now"]


def site_speaks() -> tuple[str, str]:
    """Return the language of the site, and F or C."""
    with data.store().read() as session:
        site = site_at(session, None)
    return site.language or ENGLISH, site.unit


@data.told
def site_speaks_now(*, language: str, scale: str, by: str, pin: str) -> bool:
    """Let the site speak a language and show °F or °C from now on; a manager's."""
    with data.set_up(by, pin) as (session, now):
        set_site(session, from_ms=now, now_ms=now, by=by, language=language, unit=scale)
    signedin.forget()
    return True


def keep_for_myself(language: str, scale: str) -> None:
    """Keep a language and degrees for whoever is alone before this screen; an empty one stays as they had it.

    It is nobody else's and says nothing of food, so it takes no PIN, and somebody who only looks may too.

    Raises
    ------
    ConfigError
        If nobody in particular is signed in here any more.
    """
    name = signedin.alone(signedin.here())
    if not name:
        raise ConfigError(_("nobody is signed in here any more: sign in again"))
    with data.store().write() as session:
        person = person_named(session, name)
        set_screen(
            session,
            person,
            language=language or person.language,
            scale=scale or person.scale,
            now_ms=data.now_ms(),
            by=name,
        )
    signedin.forget()
