"""Sheets with a code on pages: the one that opens a zone, and the one that signs a crew in."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.people.code_sheets import CodeSheet, SheetSaid, zone_sheet
from service.domain.words.speech import tr
from service.web.serving.guards import Signed, TheDesk, whole_address
from service.web.serving.render import RECORD_SENTENCE, render
from service.web.serving.ways import shell_of

router = APIRouter(include_in_schema=False)


@dataclass(frozen=True, slots=True)
class CodeSheetPage:
    """`templates/lists/code_sheet.html`. `code`: the path of the code and its modules a side; `address`: the
    same to be typed, empty where it is a secret; `token`: of a code just made, for its paper; `pdf_href`
    opens the paper, by GET, or by POST with the token."""

    title: str
    letter: str
    large: str
    under: str
    code: tuple[str, int]
    address: str
    said: tuple[SheetSaid, ...]
    pdf_href: str
    token: str
    back: str
    back_words: str


def sheet_page(
    sheet: CodeSheet, title: str, *, pdf_href: str, back: str, back_words: str, token: str = ""
) -> CodeSheetPage:
    """A sheet as its page shows it."""
    return CodeSheetPage(
        title=title,
        letter=sheet.letter,
        large=sheet.large,
        under=sheet.under,
        code=sheet.code,
        address="" if sheet.secret else sheet.address,
        said=sheet.said,
        pdf_href=pdf_href,
        token=token,
        back=back,
        back_words=back_words,
    )


@router.get("/zones/{zone_id}/code-sheet")
def zone_code(request: Request, desk: TheDesk, person: Signed, zone_id: str) -> Response:
    seen, sheet = zone_sheet(
        desk, person.id, zone_id, lambda path: whole_address(request, path), RECORD_SENTENCE
    )
    page = sheet_page(
        sheet,
        tr("Code of zone {letter}", letter=sheet.letter),
        pdf_href=f"/zones/{zone_id}/code-sheet.pdf",
        back=f"/zones/{zone_id}",
        back_words=tr("Back to zone {letter}", letter=sheet.letter),
    )
    return HTMLResponse(render("lists/code_sheet.html", page, **shell_of(seen.project, seen.role, person)))


@router.get("/zones/{zone_id}/code-sheet.pdf")
def zone_code_paper(request: Request, desk: TheDesk, person: Signed, zone_id: str) -> Response:
    _, sheet = zone_sheet(
        desk, person.id, zone_id, lambda path: whole_address(request, path), RECORD_SENTENCE
    )
    return paper(sheet, f"zone-{sheet.letter}-code")


def paper(sheet: CodeSheet, name: str) -> Response:
    """A sheet as PDF, kept by no browser where its code is a secret."""
    headers = {"Content-Disposition": f'inline; filename="{name}.pdf"'}
    if sheet.secret:
        headers["Cache-Control"] = "no-store"
    return Response(sheet.pdf(), media_type="application/pdf", headers=headers)
