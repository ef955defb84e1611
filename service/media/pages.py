"""Reads the pages of a PDF and draws one of them at 200 dots per inch."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pypdfium2
from pypdfium2 import raw

from service.media.limits import MOST_PAGES, PDF_DPI, SKETCH, check_size
from service.media.refusals import BadPicture
from service.media.strips import STRIP_PX, Strips

POINTS_PER_INCH = 72


def sizes(source: Path) -> list[dict[str, float]]:
    """Number, size in points and drawn size in pixels of each page, the first 500. Raises BadPicture."""
    document = open_document(source)
    return [_facts(document, index) for index in range(min(len(document), MOST_PAGES))]


def draw(source: Path, number: int) -> Strips:
    """One page (numbered from 1) on white paper. Raises BadPicture, by the page's size before it is drawn."""
    document = open_document(source)
    if not 1 <= number <= len(document):
        pages = "1 page" if len(document) == 1 else f"{len(document)} pages"
        raise BadPicture("page-missing", f"This PDF has {pages}; there is no page {number}.")
    facts = _facts(document, number - 1)
    width_in, height_in = facts["width_pt"] / POINTS_PER_INCH, facts["height_pt"] / POINTS_PER_INCH
    what = f"Page {number}, {width_in:.1f} by {height_in:.1f} in, drawn at {PDF_DPI} dots per inch"
    check_size(int(facts["width_px"]), int(facts["height_px"]), SKETCH, what)
    try:
        bitmap = document[number - 1].render(scale=PDF_DPI / POINTS_PER_INCH, rev_byteorder=True)
    except pypdfium2.PdfiumError:
        raise _damaged() from None
    return Strips(bitmap.width, bitmap.height, bitmap.n_channels, bitmap.stride, _strips(bitmap))


def open_document(source: Path) -> Any:
    """The PDF, opened by the library. Raises BadPicture: `pdf-locked`, `pdf-empty`, `pdf-damaged`."""
    try:
        document = pypdfium2.PdfDocument(source)
    except pypdfium2.PdfiumError:
        if raw.FPDF_GetLastError() == raw.FPDF_ERR_PASSWORD:
            raise BadPicture(
                "pdf-locked", "This PDF is locked with a password. Save it without one and upload that."
            ) from None
        # The library calls a PDF without pages broken, so its page count is looked for in the bytes.
        if re.search(rb"/Count\s+0\b", source.read_bytes()):
            raise _empty() from None
        raise _damaged() from None
    if len(document) == 0:
        raise _empty()
    return document


def _empty() -> BadPicture:
    return BadPicture("pdf-empty", "This PDF has no pages.")


def _facts(document: Any, index: int) -> dict[str, float]:
    try:
        width_pt, height_pt = document.get_page_size(index)
    except pypdfium2.PdfiumError:
        raise _damaged() from None
    scale = PDF_DPI / POINTS_PER_INCH
    return {
        "number": index + 1,
        "width_pt": width_pt,
        "height_pt": height_pt,
        "width_px": math.ceil(width_pt * scale),
        "height_px": math.ceil(height_pt * scale),
    }


def _damaged() -> BadPicture:
    return BadPicture("pdf-damaged", "This PDF is damaged and cannot be opened. Save it again and try that.")


def _strips(bitmap: Any) -> Iterator[Any]:
    pixels = memoryview(bitmap.buffer).cast("B")
    for top in range(0, bitmap.height, STRIP_PX):
        yield pixels[top * bitmap.stride : min(top + STRIP_PX, bitmap.height) * bitmap.stride]
