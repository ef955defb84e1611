"""The order list of a project: what to order and how it came about; the choices, looked at or saved."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import APIRouter
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.office.orders import OrderView, order_csv, order_paper, order_view, plan_order, told_of
from service.domain.nouns import roles
from service.domain.words.refusals import BadInput, NotAllowed
from service.domain.words.speech import later, tr
from service.history.closeout.sheet import tables_in
from service.history.order.told import OrderSheet
from service.history.order.words import sheet_of
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import new_key, send_once
from service.web.office.order_form import OrderForm, beside, given_of, is_choice, order_form
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import moment, render
from service.web.serving.ways import shell_of
from service.web.shared.sketch_answers import TOLD, refused

router = APIRouter(include_in_schema=False)

SAID = {"saved": later("The choices are saved.")}
LOOKED_AT = later("This is looked at and not saved: nothing is recorded before you save the choices.")


@dataclass(frozen=True, slots=True)
class OrderPage:
    """`templates/office/order.html`. `sheet`: None where `trouble` says why there is none. `lay_out`: zones
    that are not in the order, pairs (letter, href). `form`: for who may change the choices."""

    root: str
    sheet: OrderSheet | None
    hrefs: Mapping[tuple[str, str], str]
    looked_at: str
    trouble: str
    lay_out: tuple[tuple[str, str], ...]
    form: OrderForm | None
    key: str
    zone_time: str


@router.get("/projects/{project_id}/order")
def order(request: Request, desk: TheDesk, person: Signed, project_id: str, did: str = "") -> Response:
    """The order as saved; or, where choices are given in the address, as it would be with those."""
    typed = Form(FormData([*request.query_params.multi_items()]))
    view = order_view(desk, person.id, project_id)
    if not is_choice(typed):
        return _show(view, person, said=tr(SAID.get(did, "")))
    given = given_of(typed, view)
    try:
        looked = order_view(desk, person.id, project_id, given)
    except BadInput as refusal:
        refused(typed, refusal, beside(typed))
        return _show(view, person, typed)
    return _show(view if typed.errors else looked, person, typed)


@router.post("/projects/{project_id}/order")
def save(request: Request, desk: TheDesk, person: Signed, form: Typed, project_id: str) -> Response:
    view = order_view(desk, person.id, project_id)
    if not roles.may(view.seen.role, "plan the order"):
        raise NotAllowed(tr("Only a project manager plans the order."))
    given = given_of(form, view)

    def act() -> str:
        plan_order(desk, person.id, project_id, given)
        return f"/projects/{project_id}/order?did=saved"

    status = 422
    try:
        if not form.errors:
            return send_once(request, desk, person.id, form, act)
        order_view(desk, person.id, project_id, given)  # what else is at fault is told with it
    except TOLD as refusal:
        status = refused(form, refusal, beside(form))
    return _show(view, person, form, status)


@router.get("/projects/{project_id}/order.csv")
def order_table(desk: TheDesk, person: Signed, project_id: str) -> Response:
    text = order_csv(order_view(desk, person.id, project_id))
    return _file(text.encode(), "text/csv; charset=utf-8", f"/projects/{project_id}/order.csv")


@router.get("/projects/{project_id}/order.pdf")
def order_on_paper(desk: TheDesk, person: Signed, project_id: str) -> Response:
    view = order_view(desk, person.id, project_id)
    time_zone = view.seen.project.time_zone
    paper = order_paper(view, lambda at: moment(at, time_zone), desk.clock())
    return _file(paper, "application/pdf", f"/projects/{project_id}/order.pdf")


def _file(content: bytes, media_type: str, path: str) -> Response:
    """The file; where there is nothing to order from yet, the page, which says why."""
    page, _, ending = path.rpartition(".")
    if not content:
        return RedirectResponse(page, 303)
    headers = {"Content-Disposition": f'inline; filename="order.{ending}"'}
    return Response(content, media_type=media_type, headers=headers)


def _show(
    view: OrderView, person: Person, typed: Form | None = None, status: int = 0, *, said: str = ""
) -> Response:
    project, errors = view.seen.project, typed.errors if typed else {}
    shell = shell_of(project, view.seen.role, person, errors=errors, said=said)
    page = order_page(view, typed)
    return HTMLResponse(render("office/order.html", page, **shell), status or (422 if errors else 200))


def order_page(view: OrderView, typed: Form | None = None) -> OrderPage:
    """Everything the page shows, decided. `typed`: choices that are looked at, or at fault."""
    project, gathered = view.seen.project, view.worked.gathered
    looked_at = typed is not None and not typed.errors
    told = told_of(view, saved=not looked_at)
    sheet = sheet_of(told, lambda at: moment(at, project.time_zone)) if told else None
    parts = (*sheet.before, *sheet.deliveries, *sheet.after) if sheet else ()
    things = {row.thing for table in tables_in(parts) for row in table.rows if row.thing[1]}
    return OrderPage(
        root=f"/projects/{project.id}",
        sheet=sheet,
        hrefs={thing: f"/zones/{thing[1]}" for thing in things},
        looked_at=tr(LOOKED_AT) if looked_at else "",
        trouble=view.worked.trouble,
        lay_out=tuple(
            (zone.letter, f"/zones/{zone.id}/layout") for zone in (*gathered.without, *gathered.stale)
        ),
        form=order_form(view, typed) if roles.may(view.seen.role, "plan the order") else None,
        key=new_key(),
        zone_time=project.time_zone,
    )
