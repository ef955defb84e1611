"""Prepares an uploaded sketch, or a page of a PDF, as a pyramid of tiles."""

from __future__ import annotations

import shutil
from pathlib import Path

from service.media.bare import write_bare
from service.media.confine import run_apart
from service.media.headers import read_header, what_is
from service.media.limits import SKETCH, check_file, check_header
from service.media.picture import PageSize, Picture
from service.media.refusals import BadPicture


def prepare_sketch(source: Path, into: Path, page: int | None = None) -> Picture:
    """Decode a PNG, JPEG, WebP or one PDF page in a process of its own and write its tiles into a directory.

    `into` is made if missing and must be empty; after a refusal it is gone. Transparent ground becomes white
    paper, Exif orientation is applied, and only pixels are written. `page` counts from 1 and is for a PDF,
    drawn at 200 dots per inch; left out, the first page is drawn. Limits: 100 MB, 80 million pixels.
    Raises BadPicture.
    """
    check_file(source, SKETCH)
    kind = what_is(source)
    if kind == "pdf":
        job: dict[str, object] = {"job": "pdf", "page": 1 if page is None else page}
    else:
        if page not in (None, 1):
            raise BadPicture("page-missing", "This file is a single picture and has no other pages.")
        check_header(read_header(source), SKETCH)
        job = {"job": "sketch", "kind": kind}
    into.mkdir(parents=True, exist_ok=True)
    if any(into.iterdir()):
        raise FileExistsError(f"{into.name} must be empty before a sketch is prepared in it")
    try:
        order = {**job, "source": str(source.absolute()), "into": str(into.absolute())}
        return Picture(**run_apart(order, SKETCH))
    except BaseException:
        shutil.rmtree(into, ignore_errors=True)
        raise


def bare_picture(source: Path, room: Path) -> Path:
    """What is kept of a sketch that could be prepared: a file of `room` with the picture and nothing else.

    The pixels are those that came, but of a picture that its notes say is to be turned: that is decoded and
    drawn anew, upright, as a JPEG. A PDF is `source` itself: an issued drawing is kept as it was issued, its
    writers' names and programs in it. Raises BadPicture.
    """
    kind = what_is(source)
    if kind == "pdf":
        return source
    bare = room / "bare"
    if b"exif" in source.read_bytes().lower():
        job = {"job": "turned", "kind": kind, "source": str(source.absolute()), "into": str(bare.absolute())}
        if run_apart(job, SKETCH)["turned"]:
            return bare
    write_bare(source, kind, bare)
    return bare


def pdf_pages(source: Path) -> list[PageSize]:
    """The pages of a PDF, with the size each would have when drawn (at most the first 500).

    Raises BadPicture: `too-large`, `empty`, `not-a-picture`, `pdf-locked`, `pdf-empty`, `pdf-damaged`.
    """
    check_file(source, SKETCH)
    if what_is(source) != "pdf":
        raise BadPicture("not-a-picture", "This file is not a PDF and has no pages to choose from.")
    answer = run_apart({"job": "pages", "source": str(source.absolute())}, SKETCH)
    return [PageSize(**page) for page in answer["pages"]]
