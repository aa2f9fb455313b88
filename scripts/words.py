"""Bring every catalog up to the words in the code: new ones are added untranslated, those that are gone are dropped."""

import ast
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po, write_po

from holdwatch.calculators.cakes import known_cakes, read_cake
from holdwatch.language import ENGLISH, LANGUAGES
from holdwatch.plan import starters

ROOT = Path(__file__).resolve().parents[1]
FORMS = {"_": 1, "N_": 1, "many": 2, "sense": 2}
"""What says a message, and how many forms of it; of `sense` the first names the sense."""
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
    """Return every message of the code, of the starters and of the cakes; Babel's own reader does not look inside f-strings."""
    found = Catalog(project="Holdwatch", charset="utf-8")
    for room in ROOMS:
        for path in sorted((ROOT / room).rglob("*.py")):
            for said in said_in(ast.parse(path.read_text(encoding="utf-8"), str(path))):
                found.add(said.words, context=said.sense)
    for text in (*starters.texts(), *(read_cake(name).title for name in known_cakes())):
        found.add(text)
    return found


@dataclass(frozen=True)
class Said:
    """A message: of a count, both forms; and in which sense, where it has several."""

    words: str | tuple[str, str]
    sense: str | None = None


def said_in(tree: ast.AST) -> Iterator[Said]:
    """Give every message that a file says.

    Raises
    ------
    ValueError
        If a message is put together where it is said: nobody could translate it.
    """
    for node in ast.walk(tree):
        if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in FORMS):
            continue
        said = [each.value if isinstance(each, ast.Constant) else None for each in node.args[: FORMS[node.func.id]]]
        if node.func.id != "_" and not all(isinstance(each, str) for each in said):
            raise ValueError(f"line {node.lineno}: {ast.unparse(node)} is no message that can be looked up")
        if said and isinstance(said[0], str) and said[0]:
            if node.func.id == "sense":
                yield Said(str(said[1]), sense=said[0])
            else:
                yield Said(said[0] if len(said) == 1 else (said[0], str(said[1])))


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
        write_po(file, kept, width=0, sort_output=True, omit_header=True, no_location=True, ignore_obsolete=True)


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
                known = before.get(message.id, message.context)
                string = known.string if known is not None and not known.fuzzy else None
                kept.add(message.id, string, context=message.context)
        write(language, kept)
        waits = sum(
            not all(message.string) if message.pluralizable else not message.string for message in kept if message.id
        )
        print(f"{language}: {len(kept)} messages, {waits} to be translated")
    return 0


if __name__ == "__main__":
    sys.exit(main())
