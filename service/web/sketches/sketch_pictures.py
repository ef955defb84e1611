"""The pieces of a sketch's picture: tiles, the preview, and the still windows of the way without scripts."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from service.actions.sketches import pictures
from service.actions.sketches.pictures import Piece, Taken
from service.domain.words.refusals import NotFound
from service.web.serving.guards import Signed, TheDesk

router = APIRouter(include_in_schema=False)

FOR_EVER, ASK_AGAIN = "private, max-age=31536000, immutable", "private, no-cache"


def _which(
    desk: TheDesk, person: Signed, sketch_id: str, v: int | None = None, coming: str = ""
) -> tuple[Taken, bool]:
    return pictures.shown_picture(desk, person.id, sketch_id, v, Taken.read(coming) if coming else None)


def _send(request: Request, piece: Piece, for_ever: bool) -> Response:
    """Kept for ever where the address names the revision; else asked for anew, and told when unchanged."""
    headers = {"ETag": f'"{piece.name}"', "Cache-Control": FOR_EVER if for_ever else ASK_AGAIN}
    if request.headers.get("if-none-match") == headers["ETag"]:
        return Response(status_code=304, headers=headers)
    return Response(piece.body, media_type="image/webp", headers=headers)


@router.get("/sketches/{sketch_id}/tiles/{level}/{x}_{y}.webp")
def tile(
    request: Request,
    desk: TheDesk,
    person: Signed,
    sketch_id: str,
    level: int,
    x: int,
    y: int,
    v: int | None = None,
    coming: str = "",
) -> Response:
    """One tile. `v`: the revision the page was drawn for; `coming`: a picture not yet the sketch's own."""
    taken, for_ever = _which(desk, person, sketch_id, v, coming)
    return _send(request, pictures.tile(desk, taken, level, x, y), for_ever)


@router.get("/sketches/{sketch_id}/preview.webp")
def preview(
    request: Request, desk: TheDesk, person: Signed, sketch_id: str, v: int | None = None, coming: str = ""
) -> Response:
    """The whole picture, small."""
    taken, for_ever = _which(desk, person, sketch_id, v, coming)
    return _send(request, pictures.preview(desk, taken), for_ever)


@router.get("/sketches/{sketch_id}/window.webp")
def window(
    request: Request,
    desk: TheDesk,
    person: Signed,
    sketch_id: str,
    level: int,
    x: int,
    y: int,
    w: int,
    h: int,
    v: int | None = None,
    coming: str = "",
) -> Response:
    """A still window: the middle (x, y) in thousandths of a pixel, the level, the size in dots."""
    if max(abs(x), abs(y)) > 10**9:
        raise NotFound
    taken, for_ever = _which(desk, person, sketch_id, v, coming)
    return _send(request, pictures.still(desk, taken, (x, y), level, w, h), for_ever)
