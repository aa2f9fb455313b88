"""Papers in the site's language: no sentence of ours stays English, every figure is the one of the English paper."""

import re
import subprocess
from collections.abc import Iterator
from pathlib import Path
from string import Formatter
from typing import Any

import pikepdf
import pytest

from holdwatch.language import speaking
from holdwatch.plan.changing import taken
from holdwatch.records import blank_sheet, fixed_words, labels, plan_paper
from holdwatch.records.blank_sheet import blank_pdf
from holdwatch.records.gathering import Wanted, gather
from holdwatch.records.kinds import CHECKS, DAY, FINDINGS
from holdwatch.records.labels import LabelWanted, label_pdf
from holdwatch.records.log import print_batches, print_log
from holdwatch.records.plan_paper import plan_pdf
from holdwatch.records.setting import speaking_of_site
from holdwatch.records.span import Span
from holdwatch.storage.engine import Store, open_store, store_url
from holdwatch.storage.products import set_product
from holdwatch.storage.register import set_site
from scripts import words
from tests.records.conftest import SITE_SET_MS, set_up_site
from tests.records.kitchen import BY, NOW, T0, fill

URL = "http://192.168.1.20:8501"
TEMPLATES = sorted(Path(fixed_words.__file__).parent.glob("*.typ"))
FONTS = {"Source Sans Pro", "Libertinus Serif", "DejaVu Sans Mono"}
OTHERS = ["es", "fr"]


def _speak(store: Store, language: str) -> None:
    with store.write() as session:
        set_site(session, from_ms=SITE_SET_MS, now_ms=SITE_SET_MS, by=BY, language=language)


def _kitchen(directory: Path, language: str) -> Store:
    """A kitchen that has spoken a language from its first day on, with a product in its plan."""
    store = open_store(store_url(directory, None), migrate=True)
    set_up_site(store)
    _speak(store, language)
    with store.write() as session:
        set_product(session, taken("pastry-cream", language=language), from_ms=T0, now_ms=T0, by=BY, why="test")
    fill(store)
    return store


@pytest.fixture(scope="module", params=OTHERS)
def printed(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Path]]:
    """A language, and a directory with one of each paper in it."""
    out, store = tmp_path_factory.mktemp("papers"), _kitchen(tmp_path_factory.mktemp("kitchen"), request.param)
    print_log(store, T0, NOW, out / "log.pdf", by="Ana", now_ms=NOW)
    print_batches(store, ("L-103",), out / "batch.pdf", now_ms=NOW)
    for name, wanted in {
        "labels": LabelWanted(["L-104", "L-105"], size="letter/3x8"),
        "tag": LabelWanted(["L-104"], kind="cooling-tag", vessel=1),
    }.items():
        (out / f"{name}.pdf").write_bytes(label_pdf(store, wanted, now_ms=NOW, base_url=URL))
    (out / "blank.pdf").write_bytes(blank_pdf(store, pages=1, paper="letter", by="Ana", now_ms=NOW))
    (out / "plan.pdf").write_bytes(plan_pdf(store, plan_paper.Wanted(), now_ms=NOW))
    yield request.param, out
    store.close()


def _english(language: str) -> set[str]:
    """Every message of three words or more, and every part of four between its fields, whose translation has others."""
    found = set()
    for message in words.catalog(language):
        if not message.id:
            continue
        forms = (
            zip(message.id, message.string, strict=False) if message.pluralizable else [(message.id, message.string)]
        )
        for source, said in forms:
            for part, *_field in Formatter().parse(source):
                plain = " ".join(part.split()).strip(" ,;:.()")
                least = 3 if part == source else 4  # less may stand in the text of a code: "or less, or"
                if len(re.findall(r"[A-Za-z']+", plain)) >= least and plain not in said:
                    found.add(plain)
    return found


def _text(pdf: Path) -> str:
    done = subprocess.run(["pdftotext", pdf, "-"], check=True, capture_output=True, text=True)
    return " ".join(done.stdout.replace("\u200b", "").split())


@pytest.fixture(scope="module")
def english(printed: tuple[str, Path]) -> list[re.Pattern[str]]:
    """What must not stand on the papers of a language."""
    return [re.compile(rf"(?<!\w){re.escape(part)}(?!\w)") for part in sorted(_english(printed[0]))]


@pytest.mark.pdf
@pytest.mark.parametrize("name", ["log", "batch", "labels", "tag", "blank", "plan"])
def test_no_sentence_of_ours_is_left_in_english(
    printed: tuple[str, Path], english: list[re.Pattern[str]], name: str
) -> None:
    """Of what the catalogs translate; texts of codes stand as their source prints them, names as people gave them."""
    text = _text(printed[1] / f"{name}.pdf")
    assert [found[0] for part in english if (found := part.search(text))] == []


@pytest.mark.pdf
@pytest.mark.parametrize("name", ["log", "labels", "blank", "plan"])
def test_a_paper_names_its_language(printed: tuple[str, Path], name: str) -> None:
    """PDF 32000-1, 14.9.2: a reader that speaks reads it out in that language."""
    language, papers = printed
    with pikepdf.open(papers / f"{name}.pdf") as pdf:
        assert str(pdf.Root.Lang).split("-")[0] == language


@pytest.mark.pdf
@pytest.mark.parametrize("name", ["log", "blank", "plan"])
def test_pages_are_counted_in_the_language(printed: tuple[str, Path], name: str) -> None:
    """At the foot of each."""
    language, papers = printed
    between = {"es": r"página 1 de \d+", "fr": r"page 1 sur \d+"}[language]
    assert re.search(between, _text(papers / f"{name}.pdf"))


@pytest.fixture(scope="module")
def kitchen(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """A kitchen that kept its record in English."""
    store = _kitchen(tmp_path_factory.mktemp("kitchen"), "en")
    yield store
    store.close()


def _facts(store: Store, monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """All that goes to the typesetter for every kind of paper."""
    taken_by: list[Any] = []
    with monkeypatch.context() as patched:
        for module in (labels, blank_sheet, plan_paper):
            patched.setattr(module, "typeset", lambda sheet, _now_ms, pages: taken_by.append(sheet) or b"")  # noqa: ARG005
        with speaking_of_site(store, NOW):
            for kind in (DAY, FINDINGS, CHECKS):  # the log's own facts, without its drawings
                taken_by += [sheet for _, sheet in gather(store, Span(T0, NOW), NOW, Wanted(kind), lambda _: None)]
        label_pdf(store, LabelWanted(["L-104", "L-105"]), now_ms=NOW, base_url=URL)
        label_pdf(store, LabelWanted(["L-104"], kind="cooling-tag"), now_ms=NOW, base_url=URL)
        blank_pdf(store, pages=1, paper="letter", by="Ana", now_ms=NOW)
        plan_pdf(store, plan_paper.Wanted(), now_ms=NOW)
    return taken_by


_FIGURES = re.compile(r"\d+")
_BETWEEN = re.compile(r"(?<=\d)[.,\u202f\u00a0](?=\d)")


def _figures(facts: Any) -> Iterator[tuple[str, ...]]:
    """Give the figures of each text in the order of the facts; a sentence may tell its own in another order.

    Not of drawings, which leave out words for which there is no room.
    """
    if isinstance(facts, dict):
        for key in sorted(facts):
            if key not in {"record", "check", "chart"}:
                yield from _figures(facts[key])
    elif isinstance(facts, list | tuple):
        for each in facts:
            yield from _figures(each)
    elif isinstance(facts, str):
        found = tuple(sorted(_FIGURES.findall(_BETWEEN.sub("", facts))))
        yield from [found] if found else []


@pytest.mark.parametrize("language", OTHERS)
def test_figures_are_the_same_in_every_language(kitchen: Store, monkeypatch: pytest.MonkeyPatch, language: str) -> None:
    """Every temperature, instant, count and clause of every paper; only the sign between the digits differs."""
    english = list(_figures(_facts(kitchen, monkeypatch)))
    with monkeypatch.context() as patched:
        _speak_for_a_while(patched, language)
        there = list(_figures(_facts(kitchen, monkeypatch)))
    assert there == english
    assert sum(map(len, english)) > 1000


def _speak_for_a_while(patched: pytest.MonkeyPatch, language: str) -> None:
    """Have papers speak a language of which the store does not know, so that both are of the very same record."""
    from holdwatch.records import setting

    patched.setattr(setting, "speaking", lambda _site: speaking(language))


def _literals(template: Path) -> set[str]:
    code = re.sub(r"//.*", "", template.read_text(encoding="utf-8"))
    return set(re.findall(r'"((?:[^"\\]|\\.)*)"', code)) - FONTS


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda path: path.name)
def test_templates_have_no_words_of_their_own(template: Path) -> None:
    """No text in them begins with a capital or has two words; what they say comes with the facts."""
    assert [
        text for text in _literals(template) if re.search(r"^[A-Z]|[a-z]{2} [a-z]{2}", text) and "\\d" not in text
    ] == []


def test_templates_and_fixed_words_name_each_other() -> None:
    """No template asks for a word that there is not, and none is kept that no template says."""
    said = {name: template.read_text(encoding="utf-8") for template in TEMPLATES for name in [template.name]}
    shared = set(re.findall(r"\bwords\.(?!py)(\w+)", said["paper.typ"]))
    for names, kept in (
        (("sections.typ", "record.typ", "feet.typ"), fixed_words.RECORD),
        (("blank.typ",), fixed_words.BLANK),
        (("plan.typ",), fixed_words.PLAN),
    ):
        asked = {word for name in names for word in re.findall(r"\bwords\.(?!py)(\w+)", said[name])}
        assert asked | shared == set(kept)
    assert set(re.findall(r"\bwords\.(?!py)(\w+)", said["label.typ"])) == set(fixed_words.LABEL)


def test_how_far_it_is_is_told_in_the_language_of_whoever_prints(kitchen: Store) -> None:
    """Not in that of the paper."""
    told: list[str] = []
    with speaking("es"):
        list(gather(kitchen, Span(T0, NOW), NOW, Wanted(DAY, reader="fr"), told.append))
    assert told[0] == "enceinte 1 sur 2"
