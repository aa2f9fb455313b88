"""Labels and cooling tags: what stands on them, that it is the store's, and that the code opens the batch."""

import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
import segno
import zxingcpp
from PIL import Image

from holdwatch.errors import ConfigError
from holdwatch.records.label_size import LabelSize, read_size
from holdwatch.records.labels import LabelWanted, label_pdf, print_doors, qr_svg
from holdwatch.storage.doors import door_code
from holdwatch.storage.engine import store_url
from holdwatch.storage.parts import add_part
from holdwatch.storage.register import end_batch
from holdwatch.storage.tables import EventKind
from tests.watch.kitchen import HOUR, MIN, T0, Kitchen, cooling

pytestmark = pytest.mark.pdf
URL = "http://192.168.1.20:8501"


@pytest.fixture
def kitchen(tmp_path: Path) -> Iterator[Kitchen]:
    """A pan of cream in six vessels that has just left the heat."""
    found = Kitchen.on(store_url(tmp_path, None), migrate=True)
    found.probe("p1")
    batch = found.batch("PC-1", "p1", vessels=6)
    found.note(batch, EventKind.LEFT_HEAT, T0)
    found.note(batch, EventKind.ALLERGENS, T0, text="eggs, milk")
    yield found
    found.store.close()


def _pdf(kitchen: Kitchen, now_ms: int, *lots: str, **more: object) -> bytes:
    return label_pdf(kitchen.store, LabelWanted(lots or ["PC-1"], **more), now_ms=now_ms, base_url=URL)  # type: ignore[arg-type]


def _words(pdf: bytes, tmp_path: Path) -> str:
    file = tmp_path / "label.pdf"
    file.write_bytes(pdf)
    text = subprocess.run(["pdftotext", "-layout", str(file), "-"], capture_output=True, text=True, check=True).stdout
    return " ".join(text.replace("\u202f", " ").replace("\xa0", " ").split())


def _picture(pdf: bytes, tmp_path: Path) -> Image.Image:
    (tmp_path / "label.pdf").write_bytes(pdf)
    subprocess.run(
        ["pdftoppm", "-r", "203", "-gray", "-png", str(tmp_path / "label.pdf"), str(tmp_path / "page")], check=True
    )  # 203 dpi: a thermal printer
    return Image.open(min(tmp_path.glob("page*.png")))


def test_label_says_what_the_record_says(kitchen: Kitchen, tmp_path: Path) -> None:
    """Seven days from Tuesday, the first being today (3-501.17(A)); and nowhere that it is safe."""
    said = _words(_pdf(kitchen, T0 + MIN), tmp_path)
    for words in (
        "Pastry cream",
        "PC-1",
        "DISCARD BY",
        "Mon 30 Nov 2026",
        "Made Tue 24 Nov 08:00",
        "egg, milk",
        "test",
    ):
        assert words in said
    assert "safe" not in said.lower()


def test_unknown_allergens_are_printed_as_not_declared(kitchen: Kitchen, tmp_path: Path) -> None:
    """Of the batch of which nobody said anything, beside what is known of the part."""
    cake = kitchen.batch("K-1", processes=["cold-holding"])
    cream = 1
    with kitchen.store.write() as session:
        from holdwatch.storage.tables import Batch

        add_part(
            session, session.merge(cake), session.get_one(Batch, cream), at_ms=T0 + MIN, now_ms=T0 + MIN, by="test"
        )
    said = _words(_pdf(kitchen, T0 + MIN, "K-1"), tmp_path)
    assert "Contains: egg, milk" in said
    assert "Allergens not declared: Pastry cream K-1" in said
    assert "none" not in said


def test_tag_has_one_page_a_pan_and_the_times_of_the_limits(kitchen: Kitchen, tmp_path: Path) -> None:
    """FDA Food Code 2022, 3-501.14(A): 70 °F within 2 h and 41 °F within 6 h, here from leaving the heat at 08:00."""
    said = _words(_pdf(kitchen, T0, kind="cooling-tag"), tmp_path)
    assert re.findall(r"vessel (\d) of 6", said) == list("123456")
    assert said.count("70 °F by 10:00") == said.count("41 °F by 14:00") == 6
    assert "when it left the heat" in said


def test_tag_counts_from_where_the_watch_found_the_clock_to_start(kitchen: Kitchen, tmp_path: Path) -> None:
    """The last reading at 135 °F or above begins it, a few minutes after leaving the heat."""
    kitchen.arrive("p1", cooling(60), T0 + HOUR)
    kitchen.rounds(T0 + HOUR)
    (clause,) = [row.facts for row in kitchen.clauses() if row.clause == "3-501.14(A)(1)"]
    due = (clause["due"][0] - T0) // MIN
    said = _words(_pdf(kitchen, T0 + HOUR, kind="cooling-tag", vessel=1), tmp_path)
    assert due > 120
    assert f"70 °F by {8 + due // 60}:{due % 60:02d}" in said.replace("08:", "8:")


def test_open_deviation_of_a_part_stands_on_the_label(kitchen: Kitchen, tmp_path: Path) -> None:
    """In words, not in colour."""
    kitchen.arrive("p1", cooling(200, half_min=200), T0 + 200 * MIN)
    kitchen.rounds(T0 + 200 * MIN)
    said = _words(_pdf(kitchen, T0 + 200 * MIN), tmp_path)
    assert "DEVIATION: Pastry cream PC-1, vessel 1 of 6. Keep apart until it is decided." in said


@pytest.mark.parametrize("size", ["57mm", "40mm", "2x3in", "3x2in", "letter/3x8"])
def test_code_on_the_print_opens_the_batch(kitchen: Kitchen, tmp_path: Path, size: str) -> None:
    """Read back from the picture of a thermal print, at every size."""
    found = zxingcpp.read_barcodes(_picture(_pdf(kitchen, T0, size=size), tmp_path))
    assert {each.text for each in found} == {f"{URL}/batches?batch=1"}


def test_code_has_the_modules_of_its_standard_form() -> None:
    """Version and modules are those of ISO/IEC 18004 as the library makes them, with four modules of quiet zone."""
    url = f"{URL}/batches?batch=1"
    side = segno.make_qr(url, error="m").symbol_size(border=4)[0]
    assert qr_svg(url).startswith(f'<svg xmlns="http://www.w3.org/2000/svg" width="{side}" height="{side}"')


def test_same_batch_at_the_same_instant_gives_the_same_bytes(kitchen: Kitchen) -> None:
    """And another instant another file."""
    assert _pdf(kitchen, T0) == _pdf(kitchen, T0)
    assert _pdf(kitchen, T0) != _pdf(kitchen, T0 + MIN)


def test_label_of_an_ended_batch_is_refused(kitchen: Kitchen) -> None:
    """There is nothing left to label."""
    from holdwatch.storage.tables import Batch

    with kitchen.store.write() as session:
        end_batch(session, session.get_one(Batch, 1), outcome="used", at_ms=T0 + MIN, now_ms=T0 + MIN, by="test")
    with pytest.raises(ConfigError, match="nothing left to label"):
        _pdf(kitchen, T0 + MIN)


def test_tag_of_food_that_does_not_cool_is_refused(kitchen: Kitchen) -> None:
    """Cold food has no time to be cold by."""
    kitchen.batch("K-1", processes=["cold-holding"])
    with pytest.raises(ConfigError, match="nothing to say"):
        _pdf(kitchen, T0, "K-1", kind="cooling-tag")


@pytest.mark.parametrize(
    ("said", "size"),
    [
        ("57mm", LabelSize(57, None)),
        ("62", LabelSize(62, None)),
        ("2x3in", LabelSize(50.8, 76.2)),
        ("50 × 76 mm", LabelSize(50, 76)),
        ("a4/3x8", LabelSize(210, 297, 3, 8)),
    ],
)
def test_size_is_read(said: str, size: LabelSize) -> None:
    """Width by height; a roll has a width alone."""
    found = read_size(said)
    assert found.page_width_mm == pytest.approx(size.page_width_mm)
    assert found.page_height_mm == (None if size.page_height_mm is None else pytest.approx(size.page_height_mm))
    assert (found.columns, found.rows) == (size.columns, size.rows)


@pytest.mark.parametrize("said", ["", "wide", "10mm", "400mm", "57x9mm", "letter/0x3", "a4/12x2", "b5/2x2"])
def test_size_that_cannot_be_is_refused_with_what_to_write(said: str) -> None:
    """No label is printed on what nobody has."""
    with pytest.raises(ConfigError, match="57mm"):
        read_size(said)


def test_door_sign_has_the_code_that_confirms_a_move(kitchen: Kitchen, tmp_path: Path) -> None:
    """In letters, and in a code that opens the page which asks what was put in."""
    unit = kitchen.unit("Walk-in 1", "walk-in")
    out = tmp_path / "doors.pdf"
    print_doors(kitchen.store, out, size="4x3in", now_ms=T0, base_url=URL)
    with kitchen.store.read() as session:
        code = door_code(session, session.merge(unit))
    said = _words(out.read_bytes(), tmp_path)
    assert "Walk-in 1" in said
    assert code in said
    (found,) = zxingcpp.read_barcodes(_picture(out.read_bytes(), tmp_path))
    assert found.text == f"{URL}/batches?door={code}"
