"""Every page drawn in a language that nobody speaks: what is still to be read in Latin letters was not said with `_`.

The language is English in other letters, so that an untranslated word shows wherever it stands, inside a translated
sentence too. What stays Latin by right is named here: names, units, texts of the codes, and what is kept as it was written.
"""

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from string import ascii_letters
from typing import Any
from urllib.parse import parse_qsl

import pytest
from google.protobuf.message import Message
from sqlmodel import Session

from dashboards import gate, phone, phone_review
from dashboards.parts.calculators import PANELS as CALCULATORS
from dashboards.parts.calculators.recipe import HINT
from dashboards.parts.records import PANELS as OF_RECORDS
from dashboards.parts.round import PANELS as OF_ROUND
from holdwatch import language
from holdwatch.clock import to_datetime
from holdwatch.language import LANGUAGES
from holdwatch.limits import known_limits, load_limits
from holdwatch.plan.starters import starter
from holdwatch.science.recipe import INGREDIENTS
from holdwatch.storage.batching import note
from holdwatch.storage.contacts import add_contact
from holdwatch.storage.deliveries import Delivered, record_delivery
from holdwatch.storage.heard import keep_heard
from holdwatch.storage.keeping import KEPT
from holdwatch.storage.out_of_use import take_out_of_use
from holdwatch.storage.people import add_person
from holdwatch.storage.products import set_product
from holdwatch.storage.tables import Batch, EventKind, Unit
from holdwatch.storage.visits import detain, record_visit
from scripts import words
from tests.dashboards.conftest import Opener, elements, open_page, unfold
from tests.support.heard import heard_now
from tests.views.conftest import BY, NOW, Morning, morning_in

__all__ = ["open_page"]

PAGES = [
    *(
        ("bench", ""),
        ("batches", ""),
        ("batches", "batch=1"),
        ("batches", "batch=2"),
        ("units", ""),
        ("units", "span=week"),
    ),
    *(("findings", ""), ("findings", "finding=1"), ("findings", "finding=2"), ("shift", ""), ("setup", "")),
    *(("round", f"part={part}") for part in OF_ROUND),
    *(("records", f"part={part}") for part in OF_RECORDS),
    *(("calculators", f"calculator={name}") for name in CALCULATORS),
]
_TYPED = (
    HINT,
    *("holdwatch export record -o record.jsonl", "check_record.py", "/d/temp", "/ts", "mgr", "pH"),
    *(
        "full-pan, half-pan, sheet-pan, bowl, round 8in, 20x12in",
        "holdwatch export readings -o readings.csv",
        "holdwatch person pin",
    ),
)
"""What somebody types, or a machine reads."""
_DAYS = re.compile(r"\b(lun|mar|mié|jue|vie|sáb|dom), *|\b\d+ (oct|sept|nov)\b")
_FIGURES = re.compile(r"\b[\d.,]+ ?(h|min|s|in|ft|kg|kb|g|hpa|°?[fc]( at \d+)?)\b|\b[0-9a-f]{12,64}\b")

_OTHER = str.maketrans(ascii_letters, "".join(chr(ord(letter) + 0xFEE0) for letter in ascii_letters))
_FIELDS = re.compile(r"(\{[^}]*\}|<[^>]*>)")
_SAID = frozenset({"label", "help", "body", "placeholder", "options", "content", "text", "caption", "title", "tooltip"})
_NAMES = (
    *("Linden Street Patisserie", "Pastry cream", "Custard", "Walk-in 1", "Mara", "Ines Okafor", "Tomas Ek", "Ines"),
    *("Cream", "Dairy", "Ortiz", "Denver", "Ours", "America/Denver", "MDT", "IO", "TE", "PIN", "Holdwatch"),
    *("Language · Idioma · Langue", "Denver Public Health, Colorado", "json://phone.example"),
)
_READ_ALOUD = frozenset({"alt", "title", "aria-label", "placeholder", "data-head"})


@cache
def _catalogued() -> frozenset[str]:
    """Return every form of every message that a translator has seen."""
    said = (message.id for message in words.catalog("es"))
    return frozenset(form for each in said for form in ([each] if isinstance(each, str) else each))


class _Pseudo:
    """A catalog that writes English in fullwidth letters (Unicode FF21 to FF5A); fields and markup stay.

    What the catalogs lack stays English: a word that is looked up, and that nobody marked with `N_` where it stands.
    """

    def gettext(self, message: str) -> str:
        if message not in _catalogued():
            return message
        parts = _FIELDS.split(message)
        return "".join(part if _FIELDS.fullmatch(part) else part.translate(_OTHER) for part in parts)

    def ngettext(self, one: str, more: str, count: int) -> str:
        return self.gettext(one if count == 1 else more)

    def pgettext(self, _sense: str, message: str) -> str:
        return self.gettext(message)


class _Text(HTMLParser):
    """Everything of a piece of HTML that is seen or read aloud."""

    def __init__(self) -> None:
        super().__init__()
        self.said: list[str] = []
        self._skips = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._skips = tag in {"style", "script"}
        self.said += [value for name, value in attrs if name in _READ_ALOUD and value]

    def handle_endtag(self, tag: str) -> None:  # noqa: ARG002 - the base class asks for it
        self._skips = False

    def handle_data(self, data: str) -> None:
        if not self._skips:
            self.said.append(data)


def _of_html(body: str) -> list[str]:
    parser = _Text()
    parser.feed(body)
    return parser.said


def _of_spec(node: Any) -> Iterator[str]:
    if isinstance(node, dict):
        for name, value in node.items():
            if isinstance(value, str) and name in {"title", "text", "description"}:
                yield value
            else:
                yield from _of_spec(value)
    elif isinstance(node, list):
        for each in node:
            yield from _of_spec(each)


def _of_proto(proto: Message) -> Iterator[str]:
    for field, value in proto.ListFields():
        if field.name == "spec":
            yield from _of_spec(json.loads(value))
        elif field.type == field.TYPE_STRING and field.name in _SAID:
            yield from [value] if isinstance(value, str) else value
        elif field.type == field.TYPE_MESSAGE and not field.message_type.GetOptions().map_entry:
            for each in value if hasattr(value, "append") else [value]:
                yield from _of_proto(each)


def _read(at: Any) -> Iterator[str]:
    """Return all that a page says, a piece each."""
    for element in elements(at):
        proto = getattr(element, "proto", None)
        if not isinstance(proto, Message):
            continue
        if element.type == "html":
            yield from _of_html(proto.body)
        else:
            yield from _of_proto(proto)


@pytest.fixture
def kitchen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Morning]:
    """A morning judged and recorded in that language; of most things that a page can show there is one."""
    monkeypatch.setattr(language, "_catalog", lambda _language: _Pseudo())
    with morning_in(tmp_path, "es") as made:
        with language.speaking("es"), made.store.write() as session:
            _more(session, made)
        yield made


def _more(session: Session, made: Morning) -> None:
    """Add people, a plan, a delivery, a visit, a unit out of use, and what is noted of a batch."""
    told: dict[str, Any] = {"now_ms": NOW, "by": BY}
    slow, walk_in = session.get_one(Batch, made.slow), session.get_one(Unit, made.walk_in)
    add_person(session, "Ines Okafor", "IO", "manager", **told)
    add_person(session, "Tomas Ek", "TE", "cook", **told)
    add_contact(session, "Ines", "json://phone.example", **told)
    set_product(session, starter("lemon-curd"), from_ms=NOW, why="Ours", **told)
    take_out_of_use(session, walk_in, "cleaned", from_ms=NOW, **told)
    came = Delivered("Cream", "Dairy", "receiving-cold", 3.0, taken=True)
    record_delivery(session, came, at_ms=NOW, today=to_datetime(NOW).date(), **told)
    visit = record_visit(session, "Ortiz", "Denver", at_ms=NOW, **told)
    detain(session, visit, slow, at_ms=NOW, **told)
    note(session, slow, EventKind.READING, at_ms=NOW, celsius=40.0, text="T2", **told)
    for kind in (EventKind.MOVED, EventKind.NOTE):
        note(session, slow, kind, at_ms=NOW, unit=walk_in, text="Ours", **told)
    keep_heard(session, [heard_now("holdwatch/x9", at_ms=NOW, said="3.5")])


@cache
def _kept_as_it_is() -> re.Pattern[str]:
    """Return what is Latin by right: texts of codes and laws, names, and what programs read."""
    found = {
        *_NAMES,
        *_TYPED,
        ", ".join(INGREDIENTS),
        *LANGUAGES.values(),
        *(law for each in KEPT.values() for law in each.laws),
    }
    for name in known_limits():
        limits = load_limits(name)
        found |= {limits.title, limits.authority, limits.edition}
    found |= set(_texts(load_limits("us-food-code-2022")))
    longest_first = sorted((re.escape(each.casefold()) for each in found if each), key=len, reverse=True)
    return re.compile(rf"(?<![a-z])(?:{'|'.join(longest_first)})(?![a-z])")


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str) and not isinstance(value, Enum):
        yield value
    elif is_dataclass(value):
        for each in fields(value):
            yield from _texts(getattr(value, each.name))
    elif isinstance(value, Mapping):
        for each in value.values():
            yield from _texts(each)
    elif isinstance(value, (list, tuple)):
        for each in value:
            yield from _texts(each)


def _left(said: str) -> list[str]:
    """Return the Latin words of a text that have no right to be so."""
    text = re.sub("[\u00a0\u202f\u2009]", " ", said).casefold().replace("\\", "")
    for kept in (_kept_as_it_is(), _DAYS, _FIGURES):
        text = kept.sub(" ", text)
    return re.findall(r"[a-zñéèáíóúü]{2,}", text)


@pytest.mark.parametrize(("page", "query"), PAGES)
def test_everything_that_a_page_says_can_be_said_in_another_language(
    kitchen: Morning, open_page: Opener, page: str, query: str
) -> None:
    """Each page and each of its parts; what is found stands with the words that are left."""
    assert kitchen.well
    with language.speaking("es"):
        at = open_page(page, **dict(parse_qsl(query)))
        unfold(at)
    read = list(_read(at))
    assert len(read) > 20, "it has looked"
    assert {said: left for said in read if (left := _left(said))} == {}


@pytest.mark.usefixtures("open_page")
def test_everything_that_a_plain_page_says_can_be_said_in_another_language(kitchen: Morning) -> None:
    """What the link of an alert opens on a phone, the sign-in page, and the review of what was done alone."""
    assert kitchen.well
    with language.speaking("es"):
        pages = [
            phone._page(1, "", "", {}),
            phone._page(2, "seen", "", {}),
            gate._page("/", "", ""),
            phone_review._page(1, "", "", {}),
        ]
    for page in pages:
        read = _of_html(page)
        assert len(read) > 3, "it has looked"
        assert {said: left for said in read if (left := _left(said))} == {}
