"""Counts the passes a JPEG is built up in: each walks the whole picture again, however little it says."""

from __future__ import annotations

import re
from pathlib import Path

from service.media.headers import MOST_PARTS, damaged
from service.media.refusals import BadPicture

# The library that phones' and cameras' programs share writes 6 for grey, 10 for colour and 18 for four inks
# (counted in what it writes). The format has no limit but one pass for each bit of each number: 2,647 for
# colour, and so many over 50 million pixels, in half a megabyte, took 25 seconds here before they were ended.
MOST_PASSES = 40
# A marker with a length behind it, or the end (ITU-T T.81, table B.1): neither a byte of a pass's own data,
# where 0x00 follows 0xFF, nor one of the marks between its parts, of which there may be any number.
_MARKER = re.compile(rb"\xff[\x02-\xcf\xd8-\xfe]")
_END, _PASS = 0xD9, 0xDA


def check_passes(source: Path) -> None:
    """Refuse a JPEG of more than 40 passes, or of so many parts that counting them takes long.

    Raises BadPicture: `picture-too-hard` or `picture-damaged`. What is wrong otherwise, its decoder says.
    """
    data, at, passes = source.read_bytes(), 2, 0
    for _ in range(MOST_PARTS):
        found = _MARKER.search(data, at)
        if found is None or (marker := data[found.end() - 1]) == _END:
            return
        at = found.end() + int.from_bytes(data[found.end() : found.end() + 2], "big")
        passes += marker == _PASS
        if passes > MOST_PASSES:
            raise BadPicture(
                "picture-too-hard",
                f"This picture is built up in more than {MOST_PASSES} passes. "
                "Save it again as a plain PNG or JPEG and upload that.",
            )
    raise damaged()
