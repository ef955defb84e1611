"""Taking an uploaded sketch in: once, the slow part first, the page of a PDF chosen by looking."""

from __future__ import annotations

import base64
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.once import once_prepared
from service.actions.sketches import pdfs
from service.actions.sketches.pictures import arriving
from service.domain.words.speech import later, tr
from service.web.forms.forms import Form
from service.web.forms.sending import sent_before

T = TypeVar("T")

ACCEPT = "image/png,image/jpeg,image/webp,application/pdf"
HINT = later("PNG, JPEG, WebP, or a page of a PDF. At most 100 MB and 80 million dots.")


@dataclass(frozen=True, slots=True)
class PageToChoose:
    """One page of a PDF: its number, its paper, and its small picture as a data address or nothing."""

    number: int
    paper: str
    src: str


@dataclass(frozen=True, slots=True)
class PagesToChoose:
    """Twelve pages at most. earlier and later: addresses of the pages before and after, or nothing."""

    sha256: str
    total: int
    rows: tuple[PageToChoose, ...]
    earlier: str
    later: str


def pages_to_choose(
    desk: Desk, person: Person, project_id: str, sha256: str, first: int, here: Callable[[int], str]
) -> PagesToChoose:
    """The pages of a PDF kept before. `here`: the address of the same page showing from another number on."""
    view = pdfs.pages_shown(desk, person.id, project_id, sha256, first)
    rows = tuple(
        PageToChoose(
            size.number,
            tr(
                "{width} by {height} in",
                width=f"{size.width_pt / 72:.0f}",
                height=f"{size.height_pt / 72:.0f}",
            ),
            f"data:image/webp;base64,{base64.b64encode(small).decode()}" if small else "",
        )
        for size, small in view.shown
    )
    last = view.first + len(rows) - 1
    return PagesToChoose(
        sha256=sha256,
        total=view.total,
        rows=rows,
        earlier=here(max(view.first - pdfs.AT_ONCE, 1)) if view.first > 1 else "",
        later=here(last + 1) if last < view.total else "",
    )


def page_number(form: Form) -> int | None:
    """The page asked for: by the button under its picture, or typed. None when none is."""
    asked = form.value("take") or form.value("page").strip()
    if not asked:
        return None
    if not (asked.isascii() and asked.isdigit() and len(asked) <= 5 and int(asked) >= 1):
        form.wrong("page", tr("Write the number of a page."))
        return None
    return int(asked)


def take_upload_once(
    request: Request,
    desk: Desk,
    person: Person,
    form: Form,
    project_id: str,
    take: Callable[[Path, int | None], T],
    settle: Callable[[T], str],
    choose_page: Callable[[str], str],
) -> Response | None:
    """Take in the form's `file`, or page `take` or `page` of the PDF kept as `kept`, once for this form.

    `take(path, page)` decodes with no transaction open, `settle` records and gives the address to go to. A
    PDF of several pages goes to `choose_page(sha256)` first. None, with the error noted, when nothing was
    chosen. Refusals pass through.
    """
    kept, file, page = form.value("kept"), form.file("file"), page_number(form)
    if form.errors:
        return None
    sent = f"{request.method} {request.url.path}\n".encode() + form.sent()
    key = form.value("request_key")

    def run(prepare: Callable[[], T | str]) -> Response:
        with sent_before(form):
            status, address, _ = once_prepared(
                desk,
                person.id,
                key,
                sent,
                prepare,
                lambda made: (303, made if isinstance(made, str) else settle(made)),
            )
        return RedirectResponse(address, status)

    if kept:
        if page is None:
            form.wrong("page", tr("Choose a page."))
            return None
        path = pdfs.kept_pdf(desk, person.id, project_id, kept)
        return run(lambda: take(path, page))
    if file is None:
        form.wrong("file", tr("Choose a file first."))
        return None
    with arriving(desk, file.file) as path:

        def prepare() -> T | str:
            many = pdfs.keep_if_many(desk, person.id, project_id, path) if page is None else None
            return choose_page(many) if many else take(path, page)

        return run(prepare)


def with_query(path: str, **query: str | int) -> str:
    """The path with what is not empty as its query."""
    return f"{path}?{urlencode({name: value for name, value in query.items() if value})}"
