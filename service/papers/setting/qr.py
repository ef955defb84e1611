"""A QR code as SVG, to be read off a page or a paper by any phone."""

from __future__ import annotations

import io

import segno

QUIET = 4  # modules of white round the code, as ISO/IEC 18004 asks (from memory)


def qr_svg(text: str) -> bytes:
    """The text as a QR code: an SVG of one unit a module, error correction M or better, white round it.

    ValueError where the text is too long for a code (about 2,300 bytes at level M: from memory).
    """
    kept = io.BytesIO()
    _code(text).save(
        kept,
        kind="svg",
        border=QUIET,
        xmldecl=False,
        svgclass=None,
        lineclass=None,
        omitsize=True,
        dark="#000",
    )
    return kept.getvalue()


def qr_modules(text: str) -> tuple[str, int]:
    """(path, side): the dark modules as an SVG path in units of a module, and how many units a side is."""
    rows = [bytes(row) for row in _code(text).matrix_iter(border=QUIET)]
    runs = []
    for y, row in enumerate(rows):
        x = 0
        while x < len(row):
            start = x
            while x < len(row) and row[x]:
                x += 1
            if x > start:
                runs.append(f"M{start} {y}h{x - start}v1h-{x - start}z")
            x += 1
    return "".join(runs), len(rows)


def _code(text: str) -> segno.QRCode:
    try:
        return segno.make_qr(text, error="m", boost_error=True)
    except segno.DataOverflowError as error:
        raise ValueError("the text is too long for a QR code") from error
