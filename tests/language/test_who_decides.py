"""Who decides in which language and in which degrees something is said: the person before a screen, else the site."""

from collections.abc import Callable

import pytest
from streamlit.testing.v1 import AppTest

from dashboards import signedin
from holdwatch.errors import ConfigError
from holdwatch.language import speaking
from holdwatch.quantities import Scale
from holdwatch.storage.engine import Store
from holdwatch.storage.people import add_person, set_screen
from holdwatch.storage.register import set_site
from holdwatch.views.site import site_view
from tests.dashboards.conftest import empty, kitchen_screen, open_page, shown
from tests.views.conftest import BY, NOW

__all__ = ["empty", "open_page"]


def test_a_page_speaks_the_language_of_the_site(empty: Store, open_page: Callable[..., AppTest]) -> None:
    """Nobody has chosen another one: the Bench of an empty kitchen teaches in Spanish."""
    with empty.write() as session:
        set_site(session, from_ms=NOW - 1, now_ms=NOW, by=BY, language="es")
    text = shown(open_page())
    assert "No hay nada en curso." in text
    assert "Muestra lo que muestran los registros; deciden su código local y su inspector." in text


def test_a_person_alone_before_a_screen_is_spoken_to_in_their_own(
    empty: Store, open_page: Callable[..., AppTest]
) -> None:
    """With two on shift it is the site's again."""
    with empty.write() as session:
        ana = add_person(session, "Ana Ruiz", "AR", "manager", now_ms=NOW, by=BY)
        add_person(session, "Luc Petit", "LP", "cook", now_ms=NOW, by=BY)
        set_screen(session, ana, language="fr", scale="C", now_ms=NOW, by=BY)
    open_page()
    alone, both = kitchen_screen("Ana Ruiz"), kitchen_screen("Ana Ruiz", "Luc Petit")
    assert (signedin.language_of(alone), signedin.scale_of(alone)) == ("fr", "C")
    assert (signedin.language_of(both), signedin.scale_of(both)) == ("", "")


def test_a_language_or_a_scale_that_nobody_knows_is_not_set(empty: Store) -> None:
    """The person keeps what was."""
    with empty.write() as session:
        ana = add_person(session, "Ana Ruiz", "AR", "manager", now_ms=NOW, by=BY)
        for language, scale in (("de", ""), ("", "K")):
            with pytest.raises(ConfigError):
                set_screen(session, ana, language=language, scale=scale, now_ms=NOW, by=BY)
        assert (ana.language, ana.scale) == ("", "")


def test_temperatures_are_shown_in_the_degrees_of_whoever_is_spoken_to(empty: Store) -> None:
    """Nothing is judged by them: only the view of the site changes."""
    with empty.read() as session:
        assert site_view(session).scale is Scale.F
        with speaking("fr", "C"):
            assert site_view(session).scale is Scale.C
        assert site_view(session).scale is Scale.F


def test_the_foot_of_a_page_offers_every_language_by_its_own_name(
    empty: Store, open_page: Callable[..., AppTest]
) -> None:
    """Chosen there, the whole page speaks it; nothing is kept of it."""
    assert empty
    at = open_page()
    at.button_group(key="language-chosen-en").select("fr").run()
    assert not at.exception
    assert "Rien n\u2019est en cours." in shown(at).replace("'", "\u2019")
