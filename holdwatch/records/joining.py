"""The pieces of a long paper joined to one archive file: heads and feet laid over, one outline, the right number of pages."""

import re
from collections.abc import Sequence
from io import BytesIO
from pathlib import Path
from typing import BinaryIO, cast

import pikepdf

__all__ = ["count_pages", "join"]

_GOES_ON = "…"
"""The title of a heading that went before, in an earlier piece (``sections.typ``)."""
_COUNT = re.compile(rb"(<xmpTPg:NPages>)\d+(</xmpTPg:NPages>)")


def count_pages(files: Sequence[Path]) -> int:
    """Return how many pages pieces have together."""
    total = 0
    for file in files:
        with pikepdf.open(file) as piece:
            total += len(piece.pages)
    return total


def join(files: Sequence[Path], feet: bytes, out: BinaryIO) -> None:
    """Write the pieces one after the other, over each page one of `feet`, a PDF of as many pages as they have together."""
    pieces = [pikepdf.open(file) for file in files]
    whole, *rest = pieces
    lines = _outline(pieces)
    for piece in rest:
        whole.pages.extend(piece.pages)
    with whole.open_outline() as outline:
        outline.root[:] = lines
    with pikepdf.open(BytesIO(feet)) as over:
        for page, foot in zip(whole.pages, over.pages, strict=True):
            _lay_over(whole, page, foot)
        _count(whole, len(whole.pages))
        whole.save(out, deterministic_id=True, object_stream_mode=pikepdf.ObjectStreamMode.generate)
    for piece in pieces:
        piece.close()


def _lay_over(whole: pikepdf.Pdf, page: pikepdf.Page, foot: pikepdf.Page) -> None:
    """Lay head and foot over a page of the same size; the library's own way names them at random."""
    resources = dict(page.resources.items())
    drawn = dict(resources["/XObject"].items()) if "/XObject" in resources else {}
    resources["/XObject"] = pikepdf.Dictionary({**drawn, "/Foot": whole.copy_foreign(foot.as_form_xobject())})
    page.obj.Resources = pikepdf.Dictionary(resources)
    page.contents_add(b"q", prepend=True)
    page.contents_add(b"Q q /Foot Do Q")


def _outline(pieces: Sequence[pikepdf.Pdf]) -> list[pikepdf.OutlineItem]:
    """Return the one outline of the joined paper; what goes on from an earlier piece stands under the heading it began under."""
    found: list[pikepdf.OutlineItem] = []
    before = 0
    for piece in pieces:
        numbers = {page.obj.objgen: number for number, page in enumerate(piece.pages, before)}
        before += len(piece.pages)
        with piece.open_outline() as outline:
            for item in _copied(outline.root, numbers):
                if item.title == _GOES_ON and found:
                    found[-1].children += item.children
                else:
                    found.append(item)
    return found


def _copied(items: Sequence[pikepdf.OutlineItem], numbers: dict[tuple[int, int], int]) -> list[pikepdf.OutlineItem]:
    """Return lines of an outline that point into the joined paper, by the number of each page of their piece in it."""
    copied = []
    for item in items:
        page, _, left, top, *_ = cast("pikepdf.Array", item.destination)
        new = pikepdf.OutlineItem(str(item.title), numbers[page.objgen], "XYZ", left=float(left), top=float(top))
        new.children += _copied(item.children, numbers)
        new.is_closed = bool(new.children)
        copied.append(new)
    return copied


def _count(whole: pikepdf.Pdf, pages: int) -> None:
    """Correct what the first piece's properties say of the number of pages."""
    said, times = _COUNT.subn(rb"\g<1>%d\g<2>" % pages, whole.Root.Metadata.read_bytes())
    if times != 1:
        raise RuntimeError("the typesetter's properties tell the number of pages in another way than they did")
    whole.Root.Metadata.write(said)
