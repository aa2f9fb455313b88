"""Words, numbers and days in the language that is spoken; Babel's data are those of the Unicode CLDR."""

import threading
from datetime import date
from gettext import NullTranslations

import pytest

from holdwatch import language
from holdwatch.clock import day_words, zone_words
from holdwatch.errors import ConfigError
from holdwatch.language import (
    _,
    decimals,
    explained,
    many,
    sense,
    short_day,
    speak,
    speaking,
    spoken,
    thousands,
)
from holdwatch.quantities import Scale, format_difference, format_temperature
from holdwatch.storage.names import check_language

NOV_1 = 1_793_548_800_000  # 2026-11-01 16:00 UTC


def test_english_is_spoken_unless_something_else_is_said() -> None:
    """A language is spoken for as long as it is asked for, and the one of before afterwards."""
    assert spoken() == "en"
    with speaking("es"):
        with speaking("fr"):
            assert spoken() == "fr"
        assert spoken() == "es"
    assert spoken() == "en"


def test_a_thread_speaks_for_itself() -> None:
    """What one screen speaks, another does not hear."""
    heard = []
    with speaking("fr"):
        thread = threading.Thread(target=lambda: (heard.append(spoken()), speak("es"), heard.append(spoken())))
        thread.start()
        thread.join()
        assert spoken() == "fr"
    assert heard == ["en", "es"]


def test_a_language_that_nobody_knows_is_refused_where_it_is_set_and_english_where_it_is_spoken() -> None:
    """The refusal lists what there is."""
    with pytest.raises(ConfigError, match=r"'de' is no language that is spoken here: en \(English\), es \(Español\)"):
        check_language("de")
    assert check_language(" FR ") == "fr"
    with speaking("de"):
        assert spoken() == "en"


class Said(NullTranslations):
    """A catalog of two words; French counts none as one."""

    def gettext(self, message: str) -> str:
        """Return a word."""
        return {"kept": "respecté"}.get(message, message)

    def ngettext(self, _one: str, _more: str, count: int) -> str:
        """Return the form of a count."""
        return "{count} jour" if count < 2 else "{count} jours"


def test_words_are_looked_up_when_they_are_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """A word that the catalog lacks is said in English; the form of a count is the language's own."""
    monkeypatch.setattr(language, "_catalog", lambda _spoken: Said())
    assert (_("kept"), many("{count} day", "{count} days", 0)) == ("kept", "0 days")
    with speaking("fr"):
        assert (_("kept"), _("missing")) == ("respecté", "missing")
        assert [many("{count} day", "{count} days", n) for n in (0, 1, 2)] == ["0 jour", "1 jour", "2 jours"]


@pytest.mark.parametrize(
    ("spoken_here", "temperature", "difference"),
    [
        ("en", "\u22123.5\u202f°C", "1.5\u202f°C"),
        ("es", "\u22123,5\u202f°C", "1,5\u202f°C"),
        ("fr", "\u22123,5\u202f°C", "1,5\u202f°C"),
    ],
)
def test_temperatures_have_the_decimal_sign_of_the_language(
    spoken_here: str, temperature: str, difference: str
) -> None:
    """The real minus and the narrow space stay."""
    with speaking(spoken_here):
        assert format_temperature(-3.5, Scale.C) == temperature
        assert format_difference(1.5, Scale.C, 1) == difference
        assert decimals("1.25") == ("1.25" if spoken_here == "en" else "1,25")


@pytest.mark.parametrize(("spoken_here", "day"), [("en", "Sun 1 Nov"), ("es", "dom, 1 nov"), ("fr", "dim. 1 nov.")])
def test_days_are_written_as_in_the_language(spoken_here: str, day: str) -> None:
    """As CLDR writes them; English as it always was."""
    with speaking(spoken_here):
        assert short_day(date(2026, 11, 1)) == day
        assert day_words(NOV_1, "America/Denver") == day


def test_the_zone_keeps_its_own_name() -> None:
    """What the clock is called is the zone's, and no word of a language."""
    assert zone_words(NOV_1, NOV_1, "America/Denver") == "Denver time (MST)"


@pytest.mark.parametrize(
    ("spoken_here", "count", "day", "colon"),
    [
        ("en", "12,960", "1 Nov 2026", "a: b"),
        ("es", "12.960", "1 nov 2026", "a: b"),
        ("fr", "12\u202f960", "1 nov. 2026", "a\u00a0: b"),
    ],
)
def test_counts_days_and_colons_are_those_of_the_language(spoken_here: str, count: str, day: str, colon: str) -> None:
    """Figures are Babel's, of the CLDR; a colon stands alone where nothing is to be said of it."""
    with speaking(spoken_here):
        assert thousands(12_960) == count
        assert short_day(date(2026, 11, 1), weekday=False, year=True) == day
        assert (explained("a", "b"), explained("a", ""), explained("", "b")) == (colon, "a", "b")


def test_a_word_that_means_two_things_is_said_in_one_sense() -> None:
    """The step of a batch, and the person."""
    with speaking("es"):
        assert (sense("step", "cook"), _("cook")) == ("cocer", "cocinero")
        assert (sense("step", "hold"), _("hold")) == ("mantener", "retener"), "food that is held is not set apart"
    assert sense("step", "cook") == "cook"
