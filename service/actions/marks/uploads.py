"""Take in a photo before the form that shows it, by what it holds: a phone sends it in its own time."""

from __future__ import annotations

from contextlib import suppress
from datetime import timedelta
from pathlib import Path

from service.actions.frame.desk import Desk
from service.domain.words.refusals import BadInput, Conflict, NotFound
from service.media.headers import what_is
from service.media.refusals import BadPicture
from service.storage.blobs import uploads

KEPT_FOR = timedelta(days=90)
KEPT_AFTER = timedelta(days=1)  # once a form shows it: a retry may still name it
MOST_BYTES = 2_000_000_000  # of one person's photos that wait


class NoRoom(Conflict):
    """507: this person's photos fill what a person may have waiting."""

    code = "no-room"


def is_here(desk: Desk, by: str, sha256: str) -> bool:
    """Whether this person's upload is here. Of anybody else's nothing is told."""
    with desk.reading() as session:
        return _named(sha256) and uploads.has(session, by, sha256)


def take_in(desk: Desk, by: str, sha256: str, source: Path) -> None:
    """Keep a file that came whole. BadInput where it is no photo; NoRoom where too much of theirs waits."""
    if not _named(sha256):
        raise NotFound
    try:
        kind = what_is(source)
    except BadPicture as bad:
        raise BadInput(bad.message, fields={"photo": bad.message}, code=bad.code) from None
    if kind == "pdf":
        told = "This is a PDF. A photo must be a JPEG, PNG, WebP or HEIC picture."
        raise BadInput(told, fields={"photo": told}, code="not-a-picture")
    now, size = desk.clock(), source.stat().st_size
    with desk.writing() as session:
        gone = uploads.sweep(session, now - KEPT_FOR, now - KEPT_AFTER)
        if not uploads.has(session, by, sha256) and uploads.held(session, by) + size > MOST_BYTES:
            raise NoRoom("Too many of your photos wait here for their forms. Send those forms first.")
        desk.blobs.put_waiting(source, by, sha256)
        uploads.note(session, by, sha256, size, now)
    for person, name in gone:
        if (person, name) != (by, sha256):
            desk.blobs.drop_waiting(person, name)


def photo_file(desk: Desk, by: str, sha256: str) -> Path:
    """The file of this person's upload. BadInput where it is not here: it is to be sent (again) first."""
    if is_here(desk, by, sha256):
        with suppress(FileNotFoundError):
            return desk.blobs.waiting(by, sha256)
    told = "The photo has not come yet. Send it first."
    raise BadInput(told, fields={"photo_sha256": told}, code="photo-missing")


def shown(desk: Desk, by: str, sha256: str) -> None:
    """A form that shows it is being recorded, in the transaction open on this desk."""
    with desk.writing() as session:
        uploads.landed(session, by, sha256, desk.clock())


def _named(sha256: str) -> bool:
    return len(sha256) == 64 and all(sign in "0123456789abcdef" for sign in sha256)
