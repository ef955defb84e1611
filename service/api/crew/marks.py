"""Defects, patches, photos and the overlap of shapes that are not stored, as JSON."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Annotated

from fastapi import APIRouter, Depends, File, UploadFile
from starlette.responses import Response

from service.actions.frame import reading
from service.actions.marks import defects, patches
from service.api.answers import marks as out
from service.api.shared import bodies
from service.api.shared.calls import SIGNED_IN, Call, Id, Reads, SignedRoute, Writes
from service.api.shared.errors import READS, WRITES, told
from service.api.shared.uploads import land_upload, only
from service.api.telling import marks as tell
from service.domain.patches.repair import WITHDRAWN
from service.domain.words.refusals import BadInput

router = APIRouter(route_class=SignedRoute, dependencies=SIGNED_IN, tags=["defects and patches"])

IN_OUTLINE = ("shape", "diameter", "length", "width", "opening", "points", "offset")
IN_SIDES = ("left", "right", "near", "far")


@contextmanager
def within(places: dict[str, str]) -> Iterator[None]:
    """Tell a refusal's fields by their whole place in the body: `diameter` is `outline.diameter`."""
    try:
        yield
    except BadInput as bad:
        bad.fields = {places.get(name, name): words for name, words in bad.fields.items()}
        raise


def places(outer: str, names: tuple[str, ...]) -> dict[str, str]:
    return {name: f"{outer}.{name}" for name in names}


@router.post("/zones/{zone_id}/defects", status_code=201, response_model=out.Defect, responses=told(WRITES))
def mark_a_defect(zone_id: Id, body: bodies.NewDefect, call: Writes) -> Response:
    """Mark a defect. Its tag comes at once, to be chalked beside it, and is never given again."""

    def act() -> out.Defect:
        mark = defects.read_mark(body.kind, body.at, bodies.given(body.outline), body.note, body.cause)
        made = defects.mark_and_tell(call.desk, call.by, zone_id, mark)
        return tell.marked(made, {call.by: call.person.name})

    with within(places("outline", (*IN_OUTLINE, "angle_deg"))):
        return call.once(201, act)


def _defect(call: Call, defect_id: str) -> out.Defect:
    return tell.defect(*reading.defect_view(call.desk, call.by, defect_id))


@router.get("/defects/{defect_id}", responses=told(READS))
def one_defect(defect_id: Id, call: Reads) -> out.Defect:
    """A defect as it stands."""
    return _defect(call, defect_id)


@router.post("/defects/{defect_id}/withdraw", response_model=out.Withdrawn, responses=told(WRITES))
def withdraw_a_defect(defect_id: Id, body: bodies.WithReason, call: Writes) -> Response:
    """Entered by mistake: it stays in the history with its reason, and the gate no longer asks for it."""

    def act() -> out.Withdrawn:
        gone = defects.withdraw_defect(call.desk, call.by, defect_id, body.reason)
        return out.Withdrawn(
            id=gone.id, defect=gone.id, tag=gone.tag, withdrawn=gone.withdrawn or "", state=WITHDRAWN
        )

    return call.once(200, act)


def _withdrawn(call: Call, subject: str, defect_id: str, reason: str | None) -> out.Withdrawn:
    view, defect = reading.defect_view(call.desk, call.by, defect_id)
    return out.Withdrawn(
        id=subject,
        defect=defect_id,
        tag=defect.tag,
        withdrawn=reason or "",
        state=view.verdict(defect).state,
    )


@router.post(
    "/defects/{defect_id}/patches", status_code=201, response_model=out.PatchLogged, responses=told(WRITES)
)
def log_a_patch(defect_id: Id, body: bodies.NewPatch, call: Writes) -> Response:
    """Log a patch as it is. One that does not meet the rule is kept and does not seal, the reasons told;
    another over it counts with it as a union."""
    angle = places("sides" if body.sides is not None else "outline", ("angle_deg",))

    def act() -> out.PatchLogged:
        return tell.patch_logged(patches.log_patch(call.desk, call.by, defect_id, _as_given(body)))

    with within(places("outline", IN_OUTLINE) | places("sides", IN_SIDES) | angle):
        return call.once(201, act)


def _as_given(body: bodies.NewPatch) -> dict[str, object]:
    """What was sent; an angle beside the readings is read as theirs."""
    sent = {name: value for name, value in bodies.given(body).items() if value is not None}
    angle = sent.pop("angle_deg", None)
    if angle is not None and body.sides is not None and body.sides.angle_deg is None:
        sent["sides"] = {**sent["sides"], "angle_deg": angle}
    return sent


@router.post("/patches/{patch_id}/withdraw", response_model=out.Withdrawn, responses=told(WRITES))
def withdraw_a_patch(patch_id: Id, body: bodies.WithReason, call: Writes) -> Response:
    """Take a patch back: it stays in the history with its reason and no longer counts."""

    def act() -> out.Withdrawn:
        gone = patches.withdraw_patch(call.desk, call.by, patch_id, body.reason)
        return _withdrawn(call, gone.id, gone.defect_id, gone.withdrawn)

    return call.once(200, act)


Picture = Annotated[UploadFile, File(description="JPEG, PNG or WebP: 15 MiB, 50 megapixels at most.")]
ONLY_A_FILE = [Depends(only("file"))]


@router.post(
    "/defects/{defect_id}/photos",
    status_code=201,
    response_model=out.Photo,
    responses=told(WRITES),
    dependencies=ONLY_A_FILE,
)
def add_a_photo_of_a_defect(defect_id: Id, call: Writes, file: Picture) -> Response:
    """A photo: shrunk, turned upright, stripped of everything but its pixels."""
    return _add_photo(call, "defect", defect_id, file)


@router.post(
    "/patches/{patch_id}/photos",
    status_code=201,
    response_model=out.Photo,
    responses=told(WRITES),
    dependencies=ONLY_A_FILE,
)
def add_a_photo_of_a_patch(patch_id: Id, call: Writes, file: Picture) -> Response:
    """A photo: shrunk, turned upright, stripped of everything but its pixels."""
    return _add_photo(call, "patch", patch_id, file)


def _add_photo(call: Call, kind: str, subject: str, file: UploadFile) -> Response:
    return land_upload(
        call,
        file,
        lambda source: defects.take_in_photo(call.desk, call.by, kind, subject, source),
        lambda taken: tell.photo(
            defects.settle_photo(call.desk, call.by, kind, subject, taken), {call.by: call.person.name}
        ),
    )


@router.get(
    "/photos/{photo_id}",
    response_class=Response,
    responses=told(READS) | {200: {"content": {"image/jpeg": {}}, "description": "The picture."}},
)
def photo(photo_id: Id, call: Reads, small: bool = False) -> Response:
    """A photo's picture, or its small one. It never changes."""
    sha256, body = defects.photo_bytes(call.desk, call.by, photo_id, small=small)
    kept = {"ETag": f'"{sha256}"', "Cache-Control": "private, max-age=31536000, immutable"}
    return Response(body, media_type="image/jpeg", headers=kept)
