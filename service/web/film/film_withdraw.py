"""Taking back what was submitted or received: a material, a lot, each with its reason."""

from __future__ import annotations

from functools import partial

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from service.actions.entrance.accounts import Person
from service.actions.film.film import lot_view, material_view, withdraw_lot, withdraw_material
from service.actions.frame.desk import Desk
from service.domain.nouns import roles
from service.domain.words.refusals import NotAllowed
from service.domain.words.speech import tr
from service.web.forms.forms import Form, Typed
from service.web.serving.guards import Signed, TheDesk
from service.web.shared.withdrawing import Withdrawing, take_back, withdraw_html

router = APIRouter(include_in_schema=False)


@router.get("/materials/{material_id}/withdraw")
def material_page(desk: TheDesk, person: Signed, material_id: str) -> Response:
    return _show_material(desk, person, material_id)


@router.post("/materials/{material_id}/withdraw")
def drop_material(request: Request, desk: TheDesk, person: Signed, form: Typed, material_id: str) -> Response:
    view, _ = material_view(desk, person.id, material_id)

    def act(reason: str) -> str:
        withdraw_material(desk, person.id, material_id, reason)
        return f"/projects/{view.seen.project.id}/film?said=material"

    shown = partial(_show_material, desk, person, material_id)
    return take_back(request, desk, person, form, tr("Say why the material is withdrawn."), act, shown)


def _show_material(
    desk: Desk, person: Person, material_id: str, form: Form | None = None, status: int = 0
) -> Response:
    view, material = material_view(desk, person.id, material_id)
    if not roles.may(view.seen.role, "withdraw a material"):
        raise NotAllowed(tr("Only a project manager withdraws materials."))
    words = tr(
        "{material}, {kind}. Every zone in which it was laid is held from then on.",
        material=material.name,
        kind=tr(material.kind),
    )
    told = Withdrawing(
        title=tr("Withdraw this material"),
        words=words,
        gone=material.withdrawn,
        action=f"/materials/{material.id}/withdraw",
        back=f"/projects/{view.seen.project.id}/film",
        back_words=tr("Back to film and lots"),
    )
    return withdraw_html(told, view.seen.project, view.seen.role, person, form, status)


@router.get("/lots/{lot_id}/withdraw")
def lot_page(desk: TheDesk, person: Signed, lot_id: str) -> Response:
    return _show_lot(desk, person, lot_id)


@router.post("/lots/{lot_id}/withdraw")
def drop_lot(request: Request, desk: TheDesk, person: Signed, form: Typed, lot_id: str) -> Response:
    view, _ = lot_view(desk, person.id, lot_id)

    def act(reason: str) -> str:
        withdraw_lot(desk, person.id, lot_id, reason)
        return f"/projects/{view.seen.project.id}/film?said=lot"

    shown = partial(_show_lot, desk, person, lot_id)
    return take_back(request, desk, person, form, tr("Say why the lot is withdrawn."), act, shown)


def _show_lot(desk: Desk, person: Person, lot_id: str, form: Form | None = None, status: int = 0) -> Response:
    view, lot = lot_view(desk, person.id, lot_id)
    if not roles.may(view.seen.role, "withdraw a lot"):
        raise NotAllowed(tr("A crew lead or a project manager withdraws lots."))
    words = tr(
        "Lot {number} of {material}. Every zone in which it was laid is held from then on, and patches cut "
        "from it are of a lot nobody knows.",
        number=lot.number,
        material=view.site.materials[lot.material_id].name,
    )
    told = Withdrawing(
        title=tr("Withdraw this lot"),
        words=words,
        gone=lot.withdrawn,
        action=f"/lots/{lot.id}/withdraw",
        back=f"/projects/{view.seen.project.id}/film",
        back_words=tr("Back to film and lots"),
    )
    return withdraw_html(told, view.seen.project, view.seen.role, person, form, status)
