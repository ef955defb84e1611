"""The papers that go into a record: the closeout, and the certificate of every release."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from typing import BinaryIO

from service.domain.site import Site
from service.history.entries import Entry


def papers(
    site: Site, entries: Sequence[Entry], names: Mapping[str, str], kept: Sequence[tuple[int, str]]
) -> dict[str, BinaryIO]:
    """Path to PDF, told from these entries alone."""
    found: dict[str, bytes] = {}
    return {path: io.BytesIO(content) for path, content in found.items()}
