"""The catalogs hold just the words of the code, each translated with its fields."""

import ast
from pathlib import Path
from string import Formatter

import pytest
from babel.messages.catalog import Catalog, Message

from holdwatch.language import ENGLISH, LANGUAGES
from scripts import words

OTHERS = [language for language in LANGUAGES if language != ENGLISH]


@pytest.fixture(scope="module")
def said() -> Catalog:
    """Return the words of the code."""
    return words.words()


def _forms(message: Message) -> list[tuple[str, str]]:
    """Return each form of a message beside what it is translated from."""
    if not message.pluralizable:
        return [(str(message.id), str(message.string))]
    one, more = message.id
    return list(zip([one, *[more] * (len(message.string) - 1)], message.string, strict=True))


def _fields(text: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(text) if name is not None}


@pytest.mark.parametrize("language", OTHERS)
def test_catalog_holds_just_the_words_of_the_code(said: Catalog, language: str) -> None:
    """None is missing and none is left over: `make words` brings them up to the code."""
    wanted = {message.id for message in said if message.id}
    assert {message.id for message in words.catalog(language) if message.id} == wanted


@pytest.mark.parametrize("language", OTHERS)
def test_catalog_is_complete(language: str) -> None:
    """Every form of every message is translated, and none only in doubt."""
    open_ones = [
        message.id
        for message in words.catalog(language)
        if message.id and (message.fuzzy or not all(form for _source, form in _forms(message)))
    ]
    assert open_ones == []


@pytest.mark.parametrize("language", OTHERS)
def test_catalog_is_as_the_program_writes_it(language: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Written again it is the same, so that an edit of one word is one line of difference."""
    before = words.path_of(language).read_text(encoding="utf-8")
    kept = words.catalog(language)
    monkeypatch.setattr(words, "path_of", lambda _language: tmp_path / "again.po")
    words.write(language, kept)
    assert (tmp_path / "again.po").read_text(encoding="utf-8") == before


@pytest.mark.parametrize("language", OTHERS)
def test_translations_keep_their_fields(language: str) -> None:
    """What is filled in has the same names in each form; a form may leave the count out, as in "one day"."""
    wrong = [
        (source, form)
        for message in words.catalog(language)
        if message.id
        for source, form in _forms(message)
        if form and _fields(source) ^ _fields(form) > ({"count"} if message.pluralizable else set())
    ]
    assert wrong == []


def test_no_function_throws_away_into_the_name_that_translates() -> None:
    """A loop over ``_`` in a function that says `_("…")` would call what it threw away."""
    wrong = []
    for room in words.ROOMS:
        for path in sorted((words.ROOT / room).rglob("*.py")):
            for function in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(function, ast.FunctionDef | ast.AsyncFunctionDef):
                    named = [each for each in ast.walk(function) if isinstance(each, ast.Name) and each.id == "_"]
                    if len({type(each.ctx) for each in named}) > 1:
                        wrong.append(f"{path.name}:{function.name}")
    assert wrong == []
