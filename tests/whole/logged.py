"""What the log of requests is told, kept for tests that count its lines."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any


class _Lines(logging.Handler):
    """What is told of each request that passed."""

    def __init__(self) -> None:
        super().__init__()
        self.lines: list[dict[str, Any]] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.lines.append(getattr(record, "told", {}))


@contextmanager
def logged() -> Iterator[list[dict[str, Any]]]:
    """The lines that the log of requests gets from now on."""
    handler, log = _Lines(), logging.getLogger("laptight.requests")
    level = log.level
    log.setLevel(logging.INFO)
    log.addHandler(handler)
    try:
        yield handler.lines
    finally:
        log.removeHandler(handler)
        log.setLevel(level)
