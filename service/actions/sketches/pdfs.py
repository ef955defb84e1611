"""Keep an uploaded PDF until one of its pages is chosen as a sketch, and show its pages small."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow
from service.domain.words.refusals import BadInput, NotFound, TooLarge
from service.media.glances import glances
from service.media.headers import what_is
from service.media.picture import PageSize
from service.media.refusals import BadPicture
from service.media.sketches import pdf_pages
from service.storage.history.seen import project_seen_by

AT_ONCE = 12


@dataclass(frozen=True, slots=True)
class PagesView:
    """Some pages of a kept PDF: how many there are, and (size, small WebP or nothing) of those shown."""

    total: int
    first: int
    shown: tuple[tuple[PageSize, bytes], ...]


def keep_if_many(desk: Desk, by: str, project_id: str, source: Path) -> str | None:
    """The SHA-256 of a PDF with several pages, kept until one is chosen; None for any other upload.

    BadInput or TooLarge when it looks like a PDF and cannot be opened. `source` may be moved away.
    """
    with desk.reading() as session:
        allow(project_seen_by(session, by, project_id), "add a sketch")
    try:
        if what_is(source) != "pdf" or len(pdf_pages(source)) < 2:
            return None
    except BadPicture as bad:
        if bad.code == "too-large":
            raise TooLarge(str(bad), fields={"file": str(bad)}) from None
        raise BadInput(str(bad), fields={"file": str(bad)}, code=bad.code) from None
    return desk.blobs.put_file(source)


def kept_pdf(desk: Desk, by: str, project_id: str, sha256: str) -> Path:
    """A PDF kept before, told by its SHA-256: nobody knows that who does not have the file."""
    with desk.reading() as session:
        allow(project_seen_by(session, by, project_id), "add a sketch")
    try:
        return desk.blobs.file(sha256)
    except (ValueError, FileNotFoundError):
        raise NotFound from None


def pages_shown(desk: Desk, by: str, project_id: str, sha256: str, first: int) -> PagesView:
    """Twelve pages from number `first` on, of a PDF kept before."""
    path = kept_pdf(desk, by, project_id, sha256)
    try:
        sizes = pdf_pages(path)
        first = min(max(first, 1), len(sizes))
        small = glances(path, first, AT_ONCE)
    except BadPicture:
        raise NotFound from None
    shown = sizes[first - 1 : first - 1 + AT_ONCE]
    return PagesView(len(sizes), first, tuple((size, small.get(size.number, b"")) for size in shown))
