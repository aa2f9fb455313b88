"""Bring every catalog up to the words in the code: new ones are added untranslated, those that are gone are dropped."""

import sys
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po, write_po

from holdwatch.language import ENGLISH, LANGUAGES

ROOT = Path(__file__).resolve().parents[1]
KEYWORDS: dict[str, tuple[int, ...] | None] = {"_": None, "N_": None, "many": (1, 2)}
ROOMS = ("holdwatch", "dashboards")
# no dates and no names: they would change with every word, and git knows them
_HEADER = """msgid ""
msgstr ""
"Language: {language}\\n"
"Plural-Forms: {plural_forms}\\n"
"MIME-Version: 1.0\\n"
"Content-Type: text/plain; charset=utf-8\\n"
"Content-Transfer-Encoding: 8bit\\n"

"""


def words() -> Catalog:
    """Return every message of the code, with the files that say it."""
    found = Catalog(project="Holdwatch", charset="utf-8")
    for room in ROOMS:
        for file, _line, message, comments, context in extract_from_dir(
            ROOT / room, method_map=[("**.py", "python")], keywords=KEYWORDS, comment_tags=("Translators:",)
        ):
            found.add(message, None, [(f"{room}/{file}", 0)], auto_comments=comments, context=context)
    return found


def path_of(language: str) -> Path:
    """Return where the catalog of a language is."""
    return ROOT / "holdwatch" / "locale" / language / "LC_MESSAGES" / "holdwatch.po"


def catalog(language: str) -> Catalog:
    """Return the catalog of a language as it is written; an empty one where there is none yet."""
    path = path_of(language)
    if not path.exists():
        return Catalog(locale=language, charset="utf-8")
    with path.open("rb") as file:
        return read_po(file, locale=language)


def write(language: str, kept: Catalog) -> None:
    """Write the catalog of a language, in an order that no edit of the code changes."""
    path = path_of(language)
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("wb") as file:
        file.write(_HEADER.format(language=language, plural_forms=kept.plural_forms).encode())
        write_po(file, kept, width=0, sort_by_file=True, omit_header=True, include_lineno=False, ignore_obsolete=True)


def main() -> int:
    """Write every catalog, and say what waits for a translator."""
    found = words()
    for language in LANGUAGES:
        if language == ENGLISH:
            continue
        before = catalog(language)
        kept = Catalog(locale=language, project="Holdwatch", charset="utf-8", fuzzy=False)
        for message in found:
            if message.id:
                known = before.get(message.id)
                string = known.string if known is not None and not known.fuzzy else None
                kept.add(message.id, string, message.locations, auto_comments=message.auto_comments)
        write(language, kept)
        waits = sum(
            not all(message.string) if message.pluralizable else not message.string for message in kept if message.id
        )
        print(f"{language}: {len(kept)} messages, {waits} to be translated")
    return 0


if __name__ == "__main__":
    sys.exit(main())
