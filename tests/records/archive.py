"""Whether a PDF has the marks of an archive file, PDF/A-2b (ISO 19005-2:2011), looked for in its structure with pikepdf.

This is no validator, and none is at hand in the package registries: it looks for what the standard asks that a typesetter
or whoever joins files could get wrong. The figures in brackets are clauses of ISO 19005-2.
"""

import re
from collections.abc import Iterator
from typing import Any
from xml.etree import ElementTree as ET

import pikepdf

__all__ = ["archive_faults"]

_NAMES = {
    "dc": "http://purl.org/dc/elements/1.1/",
    "xmp": "http://ns.adobe.com/xap/1.0/",
    "tpg": "http://ns.adobe.com/xap/1.0/t/pg/",
    "pdfaid": "http://www.aiim.org/pdfa/ns/id/",
    "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
}
_BLENDS = {
    *("/Normal", "/Compatible", "/Multiply", "/Screen", "/Overlay", "/Darken", "/Lighten", "/ColorDodge", "/ColorBurn"),
    *("/HardLight", "/SoftLight", "/Difference", "/Exclusion", "/Hue", "/Saturation", "/Color", "/Luminosity"),
}
_ACTIONS = {"/GoTo", "/GoToR", "/Thread", "/URI", "/Named", "/SubmitForm"}


def archive_faults(pdf: pikepdf.Pdf) -> list[str]:
    """Return what is wrong with an opened file, a line each."""
    return [
        *_file(pdf),
        *_output_intent(pdf),
        *_properties(pdf),
        *(fault for each in pdf.objects for fault in _object(each)),
        *(fault for number, page in enumerate(pdf.pages, 1) for fault in _colours(page, number)),
    ]


def _file(pdf: pikepdf.Pdf) -> Iterator[str]:
    if pdf.is_encrypted or "/Encrypt" in pdf.trailer:
        yield "it is encrypted (6.1.3)"
    ids = pdf.trailer.get("/ID")
    if ids is None or len(ids) != 2 or not all(bytes(each) for each in ids):
        yield "it has no file identifier (6.1.3)"
    if pdf.pdf_version > "1.7":
        yield f"it is PDF {pdf.pdf_version} (6.1.2)"
    for name, clause in {"/AA": "6.5.1", "/OpenAction": "6.5.1", "/XFA": "6.4.2", "/Requirements": "6.11"}.items():
        if name in pdf.Root:
            yield f"its catalogue has {name} ({clause})"
    names = pdf.Root.get("/Names", pikepdf.Dictionary())
    for name in ("/JavaScript", "/EmbeddedFiles", "/AlternatePresentations"):
        if name in names:
            yield f"its names have {name} (6.5, 6.8, 6.10)"


def _output_intent(pdf: pikepdf.Pdf) -> Iterator[str]:
    intents = [each for each in pdf.Root.get("/OutputIntents", []) if each.get("/S") == "/GTS_PDFA1"]
    if len(intents) != 1:
        yield f"it has {len(intents)} output intents for PDF/A (6.2.3)"
        return
    profile = intents[0].get("/DestOutputProfile")
    if not isinstance(profile, pikepdf.Stream):
        yield "its output intent has no ICC profile (6.2.3)"
        return
    icc = profile.read_bytes()
    if icc[36:40] != b"acsp" or icc[16:20] != b"RGB " or icc[12:16] not in {b"mntr", b"prtr"} or icc[8] > 4:
        yield "its ICC profile is none for RGB output (6.2.3)"
    if profile.get("/N") != 3:
        yield "its ICC profile does not say that it has three colours (6.2.3)"


def _properties(pdf: pikepdf.Pdf) -> Iterator[str]:
    if "/Metadata" not in pdf.Root:
        yield "it has no XMP (6.6.2)"
        return
    xml = pdf.Root.Metadata.read_bytes()
    if b"encoding=" in xml.split(b"?>")[0] or b"bytes=" in xml.split(b"?>")[0]:
        yield "its XMP packet has bytes or encoding (6.6.2)"
    root = ET.fromstring(xml)  # noqa: S314  written by our own typesetter

    def told(path: str) -> str:
        found = root.find(f".//{path}", _NAMES)
        return "" if found is None else "".join(found.itertext()).strip()

    if (told("pdfaid:part"), told("pdfaid:conformance")) != ("2", "B"):
        yield "its XMP does not say PDF/A-2b (6.6.4)"
    if told("tpg:NPages") != str(len(pdf.pages)):
        yield "its XMP tells another number of pages"
    info = pdf.docinfo
    for key, path in {"/Title": "dc:title", "/Author": "dc:creator", "/Creator": "xmp:CreatorTool"}.items():
        if str(info.get(key, "")) != told(path):
            yield f"{key} is another in the XMP (6.6.3)"
    for key, path in {"/CreationDate": "xmp:CreateDate", "/ModDate": "xmp:ModifyDate"}.items():
        if re.sub(r"\D", "", str(info.get(key, "")))[:14] != re.sub(r"\D", "", told(path))[:14]:
            yield f"{key} is another in the XMP (6.6.3)"


def _object(each: Any) -> Iterator[str]:
    """Look at one object of the file, by what it is."""
    if not isinstance(each, pikepdf.Dictionary | pikepdf.Stream):
        return
    if isinstance(each, pikepdf.Stream):
        yield from _stream(each)
    if each.get("/Type") == "/Font":
        yield from _font(each)
    yield from _graphics_state(each)
    yield from _annotation(each)


def _stream(each: Any) -> Iterator[str]:
    filters = each.get("/Filter", [])
    if "/LZWDecode" in ([filters] if isinstance(filters, pikepdf.Name) else list(filters)):
        yield "a stream is packed by LZW (6.1.7)"
    if {"/F", "/FFilter"} & set(each.keys()):
        yield "a stream lies in another file (6.1.7)"
    if each.get("/Subtype") == "/PS":
        yield "a PostScript XObject (6.2.9)"
    if each.get("/Subtype") == "/Image" and (each.get("/Interpolate") or {"/Alternates", "/OPI"} & set(each.keys())):
        yield "an image is interpolated or has alternates (6.2.8)"


def _graphics_state(each: Any) -> Iterator[str]:
    if "/TR" in each or "/HTP" in each or each.get("/TR2", "/Default") != "/Default":
        yield "a graphics state has a transfer function (6.2.5)"
    if str(each.get("/BM", "/Normal")) not in _BLENDS:
        yield "a blend mode is unknown (6.2.10)"


def _annotation(each: Any) -> Iterator[str]:
    if each.get("/Subtype") in {"/3D", "/Sound", "/Screen", "/Movie"}:
        yield "an annotation of a kind that is not allowed (6.3.1)"
    if each.get("/Type") == "/Annot" and not int(each.get("/F", 0)) & 4:
        yield "an annotation that is not printed (6.3.2)"
    action = each.get("/A")
    if isinstance(action, pikepdf.Dictionary) and str(action.get("/S")) not in _ACTIONS:
        yield f"an action {action.get('/S')} (6.5.1)"


def _font(font: Any) -> Iterator[str]:
    """A font must be embedded, and say which character each of its shapes is, so that the text can be read out."""
    if font.get("/Subtype") == "/Type0":
        if "/ToUnicode" not in font:
            yield f"{font.get('/BaseFont')} does not say which characters it has"
        return  # its descendant carries the shapes
    if font.get("/Subtype") == "/Type3":
        return
    descriptor = font.get("/FontDescriptor", pikepdf.Dictionary())
    if not {"/FontFile", "/FontFile2", "/FontFile3"} & set(descriptor.keys()):
        yield f"the font {font.get('/BaseFont')} is not embedded (6.2.11.4)"


def _colours(page: pikepdf.Page, number: int) -> Iterator[str]:
    """With an output intent for RGB, nothing may be set in the inks of a printing press."""
    for content in (page, *(each for each in page.form_xobjects.values())):
        operators = {str(one.operator) for one in pikepdf.parse_content_stream(content)}
        if operators & {"k", "K"}:
            yield f"page {number} has colours of a printing press (6.2.4.3)"
