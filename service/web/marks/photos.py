"""Photos: add one to a mark or a patch, and hand one out to who may see it."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.reading import defect_view, patch_view
from service.actions.marks.defects import photo_bytes
from service.domain.words.refusals import BadInput, Conflict
from service.domain.words.speech import tr
from service.web.forms.forms import Form, Typed
from service.web.marks.defect import defect_shown
from service.web.marks.pictures import photos_sent, send_once_with_photos
from service.web.marks.shapes import note_wrong
from service.web.serving.guards import Signed, TheDesk

router = APIRouter(include_in_schema=False)

# A photo's bytes never change under its address; private, because only this project's people may see it.
KEEP = "private, max-age=31536000, immutable"
KINDS = ((b"\xff\xd8\xff", "image/jpeg"), (b"RIFF", "image/webp"), (b"\x89PNG", "image/png"))


@router.post("/defects/{defect_id}/photos")
def photograph_mark(request: Request, desk: TheDesk, person: Signed, form: Typed, defect_id: str) -> Response:
    return _photograph(request, desk, person, form, "defect", defect_id, defect_id)


@router.post("/patches/{patch_id}/photos")
def photograph_patch(request: Request, desk: TheDesk, person: Signed, form: Typed, patch_id: str) -> Response:
    _, patch = patch_view(desk, person.id, patch_id)
    return _photograph(request, desk, person, form, "patch", patch_id, patch.defect_id)


def _photograph(
    request: Request, desk: Desk, person: Person, form: Form, kind: str, subject_id: str, defect_id: str
) -> Response:
    if not photos_sent(form):
        form.wrong("camera", tr("Take a photo, or choose a picture."))
    address = f"/defects/{defect_id}?said=photo"
    if not form.errors:
        try:
            return send_once_with_photos(
                request, desk, person.id, form, (kind, subject_id), lambda: (kind, subject_id, address)
            )
        except (BadInput, Conflict) as refusal:
            note_wrong(form, refusal)
    return defect_shown(desk, person, *defect_view(desk, person.id, defect_id), form)


@router.get("/photos/{photo_id}.webp")
def photo(request: Request, desk: TheDesk, person: Signed, photo_id: str, small: str = "") -> Response:
    sha256, body = photo_bytes(desk, person.id, photo_id, small=small == "1")
    headers = {"ETag": f'"{sha256}"', "Cache-Control": KEEP}
    if request.headers.get("if-none-match") == headers["ETag"]:
        return Response(status_code=304, headers=headers)
    kind = next((kind for start, kind in KINDS if body.startswith(start)), "application/octet-stream")
    return Response(body, media_type=kind, headers=headers)
