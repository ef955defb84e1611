"""A paper read back by a library that did not write it: its tags, its marks of conformance, its words."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import pikepdf
import pypdfium2
import pytest

MM_PER_POINT = 25.4 / 72


@dataclass(frozen=True, slots=True)
class Tag:
    """One element of the structure tree: its type, and its words for those who do not see it."""

    kind: str
    alt: str


def opened(pdf: bytes) -> pikepdf.Pdf:
    return pikepdf.open(io.BytesIO(pdf))


def tags(pdf: pikepdf.Pdf) -> list[Tag]:
    """Every element of the structure tree, in reading order."""
    return list(_walk(pdf.Root.StructTreeRoot.K))


def _walk(node: Any) -> Iterator[Tag]:
    if isinstance(node, pikepdf.Array):
        for child in node:
            yield from _walk(child)
    elif isinstance(node, pikepdf.Dictionary) and "/S" in node:
        yield Tag(str(node.S)[1:], str(node.get("/Alt", "")))
        if "/K" in node:
            yield from _walk(node.K)


def printed_outline(pdf: bytes, page: int, wide_mm: float, tall_mm: float) -> tuple[float, float]:
    """How far apart the middles of an outline's sides are on a printed page, in millimetres.

    The page is drawn at 600 dots to the inch by a library that knows nothing of it, and its dark columns and
    rows are counted. Told from other lines by its thickness (0.6 mm) and by being about as long as it should.
    """
    scale = 600 / 72
    dark = pypdfium2.PdfDocument(pdf)[page].render(scale=scale, grayscale=True).to_numpy() < 128
    per = MM_PER_POINT / scale
    return _apart(dark.T, tall_mm, per), _apart(dark, wide_mm, per)


def _apart(dark: np.ndarray, long_mm: float, per: float) -> float:
    """How far apart the outermost thick lines of this length are, across the rows of dots."""
    long = _longest_runs(dark) * per / long_mm
    lines = np.flatnonzero((long > 0.95) & (long < 1.05))
    groups = np.split(lines, np.flatnonzero(np.diff(lines) > 1) + 1)
    middles = [group.mean() for group in groups if 0.45 < len(group) * per < 0.8]
    return float(max(middles) - min(middles)) * per


def _longest_runs(dark: np.ndarray) -> np.ndarray:
    """The longest run of dark dots in every row."""
    run = np.zeros(dark.shape[0], dtype=int)
    longest = np.zeros(dark.shape[0], dtype=int)
    for column in dark.T:
        run = np.where(column, run + 1, 0)
        longest = np.maximum(longest, run)
    return longest


def fonts(pdf: pikepdf.Pdf) -> list[tuple[str, bool]]:
    """(name, whether its program is embedded) of every simple or descendant font in the file."""
    found = []
    for thing in pdf.objects:
        if isinstance(thing, pikepdf.Dictionary) and thing.get("/Type") == "/FontDescriptor":
            kept = any(key in thing for key in ("/FontFile", "/FontFile2", "/FontFile3"))
            found.append((str(thing.FontName), kept))
    return found


def words(pdf: bytes) -> str:
    """All text of all pages, in the order it was set."""
    document = pypdfium2.PdfDocument(pdf)
    return "\n".join(page.get_textpage().get_text_range() for page in document).replace("\r\n", "\n")


def broken_rules(pdf: bytes) -> list[str]:
    """Every rule of PDF/A-2a and of PDF/UA-1 that an independent validator finds broken, with its message.

    page-validation: a validator that shares no code with the typesetter and is held to the corpus of the
    reference validator by its makers. Skips where it is not installed.
    """
    page = pytest.importorskip("page", reason="the independent PDF validator is not installed")
    reports = [page.validate_pdf_bytes(pdf, profile=profile) for profile in ("2a", "ua1")]
    assert all(report.rules.total > 100 for report in reports)
    found = [failure for report in reports for failure in report.failures]
    return [f"{one.rule_id}: {one.message}" for one in found if not _ends_with_a_return(pdf, one)]


def _ends_with_a_return(pdf: bytes, failure: Any) -> bool:
    """Whether a stream is said to be of the wrong length only because its last byte is a carriage return.

    The validator takes that byte and the line end before `endstream` for one line end, and counts one byte
    less. `Length` counts the bytes of the stream's data alone (ISO 32000-1, 7.3.8.2, from memory).
    """
    if "STREAM-LENGTH" not in failure.rule_id or failure.object_id is None:
        return False
    stream = opened(pdf).get_object(failure.object_id.object_number, failure.object_id.generation)
    raw = stream.read_raw_bytes()
    return raw[-1:] == b"\r" and len(raw) == int(stream.Length) and raw + b"\nendstream" in pdf


def must_be_an_archive_that_can_be_heard(pdf: bytes, title: str) -> None:
    """The marks of PDF/A-2a and PDF/UA-1, read back: what can be checked without a validator.

    Clauses of ISO 19005-2 and ISO 14289-1, from memory: identification in the metadata, an output intent,
    embedded fonts, marked content with a structure tree, a language, a title shown, words for figures,
    heads for tables.
    """
    file = opened(pdf)
    meta = file.open_metadata()
    assert (meta["pdfaid:part"], meta["pdfaid:conformance"]) == ("2", "A")
    assert meta["pdfuaid:part"] == "1"
    assert meta["dc:title"] == title
    root = file.Root
    assert root.MarkInfo.Marked and not root.MarkInfo.get("/Suspects", False)
    assert str(root.Lang) and root.ViewerPreferences.DisplayDocTitle
    assert [str(intent.S) for intent in root.OutputIntents] == ["/GTS_PDFA1"]
    assert "/Encrypt" not in file.trailer
    assert fonts(file) and all(kept for _, kept in fonts(file))
    found = tags(file)
    assert all(tag.alt for tag in found if tag.kind == "Figure")
    kinds = [tag.kind for tag in found]
    assert kinds[0] == "Document" and "H1" in kinds
    assert kinds.count("Table") == kinds.count("THead")
    if "Table" in kinds:
        assert "TH" in kinds and "TD" in kinds
