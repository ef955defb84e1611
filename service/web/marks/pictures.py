"""Photos sent with a form: read before anything is recorded, recorded together with what they show."""

from __future__ import annotations

from collections.abc import Callable

from starlette.requests import Request
from starlette.responses import Response

from service.actions.frame.desk import Desk
from service.actions.frame.reading import ZoneView
from service.actions.marks.defects import PhotoIn, settle_photo, take_in_photo
from service.actions.marks.uploads import photo_file, shown
from service.domain.nouns.kept import Photo
from service.domain.nouns.site import Defect
from service.domain.words.refusals import BadInput
from service.domain.words.speech import tr
from service.web.drawings.drawing import PhotoRow
from service.web.forms.forms import MOST_FILES, Form
from service.web.forms.sending import land_once
from service.web.serving.render import moment

PHOTO_FIELDS = ("camera", "picture")  # taken now, or chosen from what is there already
SENT_BEFORE = "photo_sha256"  # sent by its own address before the form


def photos_sent(form: Form) -> bool:
    return bool(form.many(SENT_BEFORE)) or any(form.file(name) is not None for name in PHOTO_FIELDS)


def named_photos(form: Form) -> list[str]:
    """The photos that came before this form, each once. BadInput for more than a form may have."""
    named = list(dict.fromkeys(form.many(SENT_BEFORE)))
    if len(named) > MOST_FILES:
        told = tr("A form takes at most {n} photos.", n=MOST_FILES)
        raise BadInput(told, fields={SENT_BEFORE: told})
    return named


def take_in_photos(desk: Desk, by: str, form: Form, kind: str, subject_id: str) -> list[PhotoIn]:
    """Every photo of the form, decoded and kept; BadInput names the field of one that cannot be read."""
    taken = []
    for sha256 in named_photos(form):
        try:
            taken.append(take_in_photo(desk, by, kind, subject_id, photo_file(desk, by, sha256)))
        except BadInput as bad:
            raise BadInput(bad.message, fields={SENT_BEFORE: bad.message}, code=bad.code) from None
    for name in PHOTO_FIELDS:
        sent = form.file(name)
        if sent is None:
            continue
        try:
            taken.append(take_in_photo(desk, by, kind, subject_id, sent.file.read()))
        except BadInput as bad:
            told = tr(
                "{why} Nothing was recorded; choose the photo again, or go on without.", why=bad.message
            )
            raise BadInput(told, fields={name: told}, code=bad.code) from None
        finally:
            sent.file.seek(0)
    return taken


def send_once_with_photos(
    request: Request,
    desk: Desk,
    person_id: str,
    form: Form,
    subject: tuple[str, str],
    act: Callable[[], tuple[str, str, str]],
) -> Response:
    """As `send_once`, with the form's photos. `subject`: the kind and id that must be seen to send them.

    `act()` records and returns the kind and id of what the photos show, and the address to go to.
    """

    def prepare() -> list[PhotoIn]:
        return take_in_photos(desk, person_id, form, *subject)

    def respond(taken: list[PhotoIn]) -> str:
        kind, shown_id, address = act()
        for photo in taken:
            settle_photo(desk, person_id, kind, shown_id, photo)
        for sha256 in named_photos(form):
            shown(desk, person_id, sha256)
        return address

    return land_once(request, desk, person_id, form, prepare, respond)


def photo_rows(view: ZoneView, subject_id: str, what: str) -> tuple[PhotoRow, ...]:
    """The photos of one mark or patch, oldest first."""
    return tuple(
        _row(view, photo, tr("Photo {n} of {what}", n=n, what=what))
        for n, photo in enumerate(view.photos_of(subject_id), 1)
    )


def _row(view: ZoneView, photo: Photo, alt: str) -> PhotoRow:
    who = view.names.get(photo.by, tr("a person no longer named"))
    words = f"{moment(photo.at, view.seen.project.time_zone)}, {who}"
    return PhotoRow(f"/photos/{photo.id}.webp?small=1", f"/photos/{photo.id}.webp", alt, words)


def before_after(view: ZoneView, defect: Defect) -> tuple[PhotoRow, PhotoRow] | None:
    """The newest photo of a mark as it was found, and the newest of its mending; None without both.

    Found is what was photographed before any patch or repair that stands was logged. A repair's photos are
    its mark's own, so that what came with a repair or after it shows the mending.
    """
    patches = [patch for patch in view.patches_on(defect.id) if patch.withdrawn is None]
    repaired = [repair.signed.at for repair in defect.repairs if repair.withdrawn is None]
    began = min([*repaired, *(patch.logged_at for patch in patches)], default=None)
    if began is None:
        return None
    own = view.photos_of(defect.id)
    found = [photo for photo in own if photo.at < began]
    mended = [photo for patch in patches for photo in view.photos_of(patch.id)]
    mended += [photo for photo in own if repaired and photo.at >= min(repaired)]
    if not found or not mended:
        return None
    after = max(mended, key=lambda photo: (photo.at, photo.id))
    return (
        _row(view, found[-1], tr("{tag} before it was mended", tag=defect.tag)),
        _row(view, after, tr("{tag} after it was mended", tag=defect.tag)),
    )
