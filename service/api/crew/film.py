"""Film, tape and mastic by lot as JSON: materials, lots, what was laid in a zone."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter
from pydantic import Field
from starlette.responses import Response

from service.actions.film import film
from service.actions.frame import reading
from service.api.answers import film as out
from service.api.shared.bodies import Length, MarkId, Sent, Text, WithReason, example, given
from service.api.shared.calls import SIGNED_IN, Call, Id, Reads, SignedRoute, Writes
from service.api.shared.errors import READS, WRITES, told
from service.api.telling import film as tell
from service.domain.nouns.installed import MATERIAL_KINDS, Laying
from service.domain.words.refusals import BadInput

router = APIRouter(route_class=SignedRoute, dependencies=SIGNED_IN, tags=["film"])

Stated = Annotated[str, Field(max_length=200)]


class NewMaterial(Sent):
    """All but `kind` and `name` may be left out: what its maker does not state is not stated."""

    model_config = example(
        kind="film", name="Submittal 07 26 00-3", claimed_class="A", permeance="0.01 perm",
        thickness="15 mil", tensile="50 lbf/in", puncture="2300 g", roll_width="12 ft",
        roll_length="200 ft", least_lap="6 in",
    )  # fmt: skip
    kind: Text = Field(description="One of: " + ", ".join(MATERIAL_KINDS) + ".")
    name: Text = Field(description="As the submittal has it.")
    claimed_class: Stated | None = Field(default=None, description="A, B or C of ASTM E1745.")
    permeance: Stated | None = Field(default=None, description='"0.01 perm" or "0.57 ng/(Pa s m2)".')
    thickness: Stated | None = Field(default=None, description='"10 mil" or "0.25 mm".')
    tensile: Stated | None = Field(default=None, description='"45 lbf/in" or "7.9 kN/m".')
    puncture: Stated | None = Field(default=None, description='"2200 g".')
    roll_width: Length | None = None
    roll_length: Length | None = None
    least_lap: Length | None = Field(default=None, description="The maker's own least lap.")
    least_patch_overlap: Length | None = Field(default=None, description="The maker's own.")
    least_temperature: Stated | None = Field(default=None, description='For taping: "40 F" or "5 C".')
    note: Text | None = None


class NewLot(Sent):
    model_config = example(number="F-2207", rolls=4)
    number: Text = Field(description="As printed on the roll; not twice within a material.")
    rolls: Annotated[int, Field(ge=1, le=film.MOST_ROLLS)] = 1
    note: Text = ""


class NewLaying(Sent):
    """`lot`: one received already; or `material` and `number`, and it is received as well."""

    model_config = example(lot="8c1f...", note="The north half")
    lot: MarkId | None = None
    material: MarkId | None = None
    number: Text | None = None
    rolls: Annotated[int, Field(ge=1, le=film.MOST_ROLLS)] | None = None
    note: Text = ""


@router.post(
    "/projects/{project_id}/materials", status_code=201, response_model=out.Material, responses=told(WRITES)
)
def submit_a_material(project_id: Id, body: NewMaterial, call: Writes) -> Response:
    """Submit film, tape or mastic. It is judged at once against the rule sheet, and kept either way."""

    def act() -> out.Material:
        made = film.submit_material(call.desk, call.by, project_id, given(body))
        return tell.material(made, film.film_view(call.desk, call.by, project_id))

    return call.once(201, act)


@router.get("/projects/{project_id}/materials", responses=told(READS))
def materials_of_a_project(project_id: Id, call: Reads) -> list[out.Material]:
    """Every material submitted, withdrawn ones too, each judged against the rule sheet as it is now."""
    view = film.film_view(call.desk, call.by, project_id)
    return [tell.material(of, view) for of in view.materials()]


@router.post("/materials/{material_id}/withdraw", response_model=out.Material, responses=told(WRITES))
def withdraw_a_material(material_id: Id, body: WithReason, call: Writes) -> Response:
    """Take a material back: zones in which it was laid are held."""

    def act() -> out.Material:
        gone = film.withdraw_material(call.desk, call.by, material_id, body.reason)
        return tell.material(gone, film.material_view(call.desk, call.by, material_id)[0])

    return call.once(200, act)


@router.post("/materials/{material_id}/lots", status_code=201, response_model=out.Lot, responses=told(WRITES))
def receive_a_lot(material_id: Id, body: NewLot, call: Writes) -> Response:
    """A lot came to the site."""

    def act() -> out.Lot:
        made = film.receive_lot(call.desk, call.by, material_id, body.number, body.rolls, body.note)
        return tell.lot(made, film.material_view(call.desk, call.by, material_id)[0])

    return call.once(201, act)


@router.get("/projects/{project_id}/lots", responses=told(READS))
def lots_of_a_project(project_id: Id, call: Reads) -> list[out.Lot]:
    """Every lot received, withdrawn ones too, with the zones it is logged in."""
    view = film.film_view(call.desk, call.by, project_id)
    return [tell.lot(of, view) for of in view.lots()]


@router.post("/lots/{lot_id}/withdraw", response_model=out.Lot, responses=told(WRITES))
def withdraw_a_lot(lot_id: Id, body: WithReason, call: Writes) -> Response:
    """Take a lot back: zones in which it was laid are held, and patches cut from it are of a lot unknown."""

    def act() -> out.Lot:
        gone = film.withdraw_lot(call.desk, call.by, lot_id, body.reason)
        return tell.lot(gone, film.lot_view(call.desk, call.by, lot_id)[0])

    return call.once(200, act)


@router.get("/zones/{zone_id}/film", responses=told(READS))
def film_of_a_zone(zone_id: Id, call: Reads) -> out.ZoneFilm:
    """Which lots were laid in the zone, and what their materials lack there."""
    return tell.zone_film(reading.zone_view(call.desk, call.by, zone_id))


@router.post("/zones/{zone_id}/film", status_code=201, response_model=out.Laying, responses=told(WRITES))
def log_film_laid(zone_id: Id, body: NewLaying, call: Writes) -> Response:
    """Log which lot was laid in the zone."""

    def act() -> out.Laying:
        made = _lay(call, zone_id, body)
        return tell.laying(made, reading.zone_view(call.desk, call.by, zone_id))

    return call.once(201, act)


def _lay(call: Call, zone_id: str, body: NewLaying) -> Laying:
    if body.lot is None and body.material is None and body.number is not None:
        raise BadInput("Of what material is that lot?", fields={"material": "Of what material is that lot?"})
    if body.lot is not None or body.material is None:
        return film.lay_lot(call.desk, call.by, zone_id, body.lot or "", body.note)
    return film.receive_and_lay(
        call.desk, call.by, zone_id, body.material, body.number or "", body.rolls or 1, body.note
    )


@router.post("/zones/{zone_id}/film/{laying_id}/withdraw", response_model=out.Laying, responses=told(WRITES))
def withdraw_film_laid(zone_id: Id, laying_id: Id, body: WithReason, call: Writes) -> Response:
    """Take back that a lot was laid in the zone."""

    def act() -> out.Laying:
        gone = film.withdraw_laying(call.desk, call.by, zone_id, laying_id, body.reason)
        return tell.laying(gone, reading.zone_view(call.desk, call.by, zone_id))

    return call.once(200, act)
