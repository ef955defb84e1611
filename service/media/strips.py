"""A decoded picture as strips of rows, top down, decoded ahead of whoever cuts them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from queue import Queue
from threading import Thread
from typing import Any

STRIP_PX = 256
"""Rows in a strip: one tile's height."""
# Decoded strips waiting to be cut; of the widest plan each is some 10 MB.
_WAITING = 6


@dataclass(frozen=True)
class Strips:
    """A picture's size in pixels, its bands (3 is RGB, 4 RGBA), and its rows as buffers of up to 256 rows.

    A row takes `row_bytes` in its buffer, which may be more than its pixels need.
    """

    width_px: int
    height_px: int
    bands: int
    row_bytes: int
    rows: Iterator[Any]


def ahead(rows: Iterable[Any]) -> Iterator[Any]:
    """The same strips, decoding begun at once in a thread of its own; raises what decoding raised."""
    waiting: Queue[tuple[Any, BaseException | None]] = Queue(_WAITING)
    Thread(target=_fill, args=(rows, waiting), daemon=True).start()
    return _drain(waiting)


def _fill(rows: Iterable[Any], waiting: Queue[tuple[Any, BaseException | None]]) -> None:
    try:
        for strip in rows:
            waiting.put((strip, None))
    except BaseException as failed:
        waiting.put((None, failed))
    else:
        waiting.put((None, None))


def _drain(waiting: Queue[tuple[Any, BaseException | None]]) -> Iterator[Any]:
    while True:
        strip, failed = waiting.get()
        if failed is not None:
            raise failed
        if strip is None:
            return
        yield strip
