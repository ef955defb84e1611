"""Taking back what was submitted or received: a material, a lot, each with its reason."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from service.actions.entrance.accounts import Person
from service.actions.film.film import FilmView, lot_view, material_view, withdraw_lot, withdraw_material
from service.domain.nouns import roles
from service.domain.nouns.installed import Lot, Material
from service.domain.words.refusals import NotAllowed
from service.domain.words.speech import tr
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import new_key, send_once
from service.web.serving.guards import Signed, TheDesk
from service.web.shared.sketch_answers import TOLD, answer, refused

router = APIRouter(include_in_schema=False)


@dataclass(frozen=True, slots=True)
class WithdrawPage:
    """`templates/crew/withdraw.html`."""

    title: str
    words: str
    gone: str
    reason: str
    action: str
    key: str
    back: str
    back_words: str


@router.get("/materials/{material_id}/withdraw")
def material_page(desk: TheDesk, person: Signed, material_id: str) -> Response:
    return _show_material(*material_view(desk, person.id, material_id), person)


@router.post("/materials/{material_id}/withdraw")
def drop_material(request: Request, desk: TheDesk, person: Signed, form: Typed, material_id: str) -> Response:
    view, material = material_view(desk, person.id, material_id)
    reason = form.text("reason", needed=tr("Say why the material is withdrawn."))
    status = 0
    if not form.errors:

        def act() -> str:
            withdraw_material(desk, person.id, material_id, reason)
            return f"/projects/{view.seen.project.id}/film?said=material"

        try:
            return send_once(request, desk, person.id, form, act)
        except TOLD as refusal:
            status = refused(form, refusal)
            view, material = material_view(desk, person.id, material_id)
    return _show_material(view, material, person, form, status)


def _show_material(
    view: FilmView, material: Material, person: Person, form: Form | None = None, status: int = 0
) -> Response:
    if not roles.may(view.seen.role, "withdraw a material"):
        raise NotAllowed(tr("Only a project manager withdraws materials."))
    words = tr(
        "{material}, {kind}. Every zone in which it was laid is held from then on.",
        material=material.name,
        kind=tr(material.kind),
    )
    path = f"/materials/{material.id}/withdraw"
    return _show_withdraw(
        view, person, form, status, tr("Withdraw this material"), words, material.withdrawn, path
    )


@router.get("/lots/{lot_id}/withdraw")
def lot_page(desk: TheDesk, person: Signed, lot_id: str) -> Response:
    return _show_lot(*lot_view(desk, person.id, lot_id), person)


@router.post("/lots/{lot_id}/withdraw")
def drop_lot(request: Request, desk: TheDesk, person: Signed, form: Typed, lot_id: str) -> Response:
    view, lot = lot_view(desk, person.id, lot_id)
    reason = form.text("reason", needed=tr("Say why the lot is withdrawn."))
    status = 0
    if not form.errors:

        def act() -> str:
            withdraw_lot(desk, person.id, lot_id, reason)
            return f"/projects/{view.seen.project.id}/film?said=lot"

        try:
            return send_once(request, desk, person.id, form, act)
        except TOLD as refusal:
            status = refused(form, refusal)
            view, lot = lot_view(desk, person.id, lot_id)
    return _show_lot(view, lot, person, form, status)


def _show_lot(
    view: FilmView, lot: Lot, person: Person, form: Form | None = None, status: int = 0
) -> Response:
    if not roles.may(view.seen.role, "withdraw a lot"):
        raise NotAllowed(tr("A crew lead or a project manager withdraws lots."))
    words = tr(
        "Lot {number} of {material}. Every zone in which it was laid is held from then on, and patches cut "
        "from it are of a lot nobody knows.",
        number=lot.number,
        material=view.site.materials[lot.material_id].name,
    )
    path = f"/lots/{lot.id}/withdraw"
    return _show_withdraw(view, person, form, status, tr("Withdraw this lot"), words, lot.withdrawn, path)


def _show_withdraw(
    view: FilmView,
    person: Person,
    form: Form | None,
    status: int,
    title: str,
    words: str,
    gone: str | None,
    path: str,
) -> Response:
    page = WithdrawPage(
        title=title,
        words=words,
        gone=gone or "",
        reason=form.value("reason") if form else "",
        action=path,
        key=(form.value("request_key") if form else "") or new_key(),
        back=f"/projects/{view.seen.project.id}/film",
        back_words=tr("Back to film and lots"),
    )
    project, role = view.seen.project, view.seen.role
    return answer("crew/withdraw.html", page, project, role, person, form, status=status)
