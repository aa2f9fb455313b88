"""Who decides in which language and in which degrees something is said: the person before a screen, else the site."""

from collections.abc import Callable

import pytest
from streamlit.runtime.context import ContextProxy
from streamlit.testing.v1 import AppTest

from dashboards import signedin
from dashboards.speaking import COOKIE
from holdwatch.errors import ConfigError, UnknownNameError
from holdwatch.language import speaking
from holdwatch.people.pins import hash_pin
from holdwatch.quantities import Scale
from holdwatch.storage.engine import Store
from holdwatch.storage.people import add_person, keep_pin, people, person_named, set_screen
from holdwatch.storage.register import set_site, site_at
from holdwatch.views.site import site_view
from tests.dashboards.conftest import empty, kitchen_screen, open_page, press, shown
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
    assert (signedin.language_of(both), signedin.scale_of(both)) == ("en", "")


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
    """Chosen there, the whole page speaks it, and the browser is told for the pages to come; the store is not."""
    assert empty
    at = open_page()
    at.button_group(key="language-chosen-en").select("fr").run()
    assert not at.exception
    assert "Rien n\u2019est en cours." in shown(at).replace("'", "\u2019")
    assert f"{COOKIE}=fr%7C%7C;" in shown(at)
    assert not [button for button in at.button if button.key == "speaking-keep"], "there is nobody to keep it for"


@pytest.mark.parametrize(
    ("held", "spoken"), [("fr%7CC%7C", True), ("fr%7CC%7CAna Ruiz", False), ("xx%7CC%7C", False), ("fr%7CK%7C", False)]
)
def test_what_was_chosen_on_a_page_holds_on_the_next(
    empty: Store, open_page: Callable[..., AppTest], monkeypatch: pytest.MonkeyPatch, held: str, spoken: bool
) -> None:
    """For those who chose it, and not for who is alone there since; what no page wrote is nothing."""
    assert empty
    monkeypatch.setattr(ContextProxy, "cookies", {COOKIE: held})
    assert ("Rien n\u2019est en cours." in shown(open_page()).replace("'", "\u2019")) is spoken


def test_whoever_is_alone_before_a_screen_keeps_what_they_chose(
    empty: Store, open_page: Callable[..., AppTest], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of both, only what was chosen; it holds on every screen of theirs, and on nobody else's."""
    with empty.write() as session:
        for name, initials in (("Ana Ruiz", "AR"), ("Luc Petit", "LP")):
            add_person(session, name, initials, "cook" if initials == "LP" else "manager", now_ms=NOW, by=BY)
    at = open_page()
    at.button_group(key="language-chosen-en").select("fr").run()
    assert not [button for button in at.button if button.key == "speaking-keep"], "two are on shift"
    monkeypatch.setattr(signedin, "here", lambda: kitchen_screen("Luc Petit"))
    at = open_page()
    assert not [button for button in at.button if button.key == "speaking-keep"], "nothing is chosen"
    at.button_group(key="language-chosen-en").select("fr").run()
    at.button(key="speaking-keep").click().run()
    assert not at.exception
    assert "Rien n\u2019est en cours." in shown(open_page()).replace("'", "\u2019")
    with empty.read() as session:
        kept = [(each.name, each.language, each.scale) for each in people(session)]
    assert kept == [("Ana Ruiz", "", ""), ("Luc Petit", "fr", "")]


def test_a_manager_lets_the_site_speak_another_language(empty: Store, open_page: Callable[..., AppTest]) -> None:
    """On Set-up, signed with the PIN; a cook's is refused. The whole page speaks it at once."""
    with empty.write() as session:
        for name, initials, role in (("Ana Ruiz", "AR", "manager"), ("Luc Petit", "LP", "cook")):
            keep_pin(
                session,
                add_person(session, name, initials, role, now_ms=NOW, by=BY),
                hash_pin("8046"),
                now_ms=NOW,
                by=BY,
            )
    for name, taken in (("Luc Petit", False), ("Ana Ruiz", True)):
        at = open_page("setup")
        at.selectbox(key="speaks-language").set_value("es")
        at.radio(key="speaks-scale").set_value("C")
        at.selectbox(key="speaks-who").set_value(name)
        at.text_input(key="speaks-pin").input("8046")
        press(at, "Speak so from now on")
        with empty.read() as session:
            site = site_at(session, None)
        assert ((site.language, site.unit) == ("es", "C")) is taken
    assert "No hay nada en curso." in shown(open_page())
    assert at.selectbox(key="speaks-1-language").value == "es"


def test_what_cannot_be_is_said_in_the_language_of_whoever_asked(empty: Store) -> None:
    """With the words that are given back to them as they wrote them; a command is answered in English."""
    with empty.write() as session:
        add_person(session, "Ana Ruiz", "AR", "manager", now_ms=NOW, by=BY)
        with pytest.raises(ConfigError, match=r"^'9' are no initials: give 1 to "):
            add_person(session, "Luc Petit", "9", "cook", now_ms=NOW, by=BY)
        with speaking("es"):
            with pytest.raises(ConfigError, match=r"^'9' no son iniciales: dé de 1 a "):
                add_person(session, "Luc Petit", "9", "cook", now_ms=NOW, by=BY)
            with pytest.raises(ConfigError, match=r"^'waiter' no vale como función: use uno de "):
                add_person(session, "Luc Petit", "LP", "waiter", now_ms=NOW, by=BY)
            with pytest.raises(UnknownNameError, match=r"^no existe 'Ana Ruis' .persona.: ¿quiso decir 'Ana Ruiz'"):
                person_named(session, "Ana Ruis")
