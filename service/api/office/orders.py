"""The order of a project as JSON: its choices, and the film, tape, collars and mastic they come to."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter
from pydantic import Field
from starlette.responses import Response

from service.actions.office.orders import OrderView, order_view, plan_order
from service.api.answers import orders as out
from service.api.answers.sites import Area, Length
from service.api.shared.bodies import MarkId, Sent, Text, example, given
from service.api.shared.calls import SIGNED_IN, Id, Reads, SignedRoute, Writes
from service.api.shared.errors import READS, WRITES, told
from service.api.sketches.sketches import moment
from service.api.telling.telling import NOBODY, length
from service.domain.order.counts import ToOrder
from service.domain.order.film import FilmOrder
from service.domain.order.gather import OrderChoice
from service.domain.order.order_list import FAULT_WORDS, OrderList
from service.domain.patches.roll_cuts import CutRow
from service.domain.words.measures import NM_PER_M, Units, metres, say_area
from service.history.facts.encoding import time_text
from service.history.order.measures import cut_run, left_run, share

router = APIRouter(route_class=SignedRoute, dependencies=SIGNED_IN, tags=["order"])

Number = Annotated[str, Field(max_length=40)]


class StockGiven(Sent):
    material: MarkId
    whole_rolls: Annotated[int, Field(ge=0, le=10_000)]


class DeliveryGiven(Sent):
    label: Text
    at: Text | None = Field(default=None, description="RFC 3339.")
    zones: Annotated[list[MarkId], Field(max_length=500)]


class NewOrder(Sent):
    """The whole choice, put in place of the last."""

    model_config = example(
        material="8c1f...", film_allowance="5", tape_allowance="10", repairs="2",
        stock=[{"material": "8c1f...", "whole_rolls": 3}],
        deliveries=[{"label": "Truck 1", "at": "2026-11-30T13:00:00Z", "zones": ["77ab..."]}],
    )  # fmt: skip
    material: Text = Field(description="A film's id; empty: the roll that the layouts are for.")
    film_allowance: Number = Field(description='Per cent, shown apart: "5" or "7.5".')
    tape_allowance: Number = Field(description='Per cent, shown apart: "5" or "7.5".')
    repairs: Number = Field(description='Patches expected in 1,000 sq ft: "2" or "0.5".')
    stock: Annotated[list[StockGiven], Field(max_length=200)]
    deliveries: Annotated[list[DeliveryGiven], Field(max_length=50)]


@router.get("/projects/{project_id}/order", responses=told(READS))
def order_of_a_project(project_id: Id, call: Reads) -> out.OrderTold:
    """The order list by the choices saved last. Of zones without a layout nothing is in it."""
    return _told(order_view(call.desk, call.by, project_id))


@router.put("/projects/{project_id}/order", response_model=out.OrderTold, responses=told(WRITES))
def plan_an_order(project_id: Id, body: NewOrder, call: Writes) -> Response:
    """Save the choices, all of them. The same again changes nothing."""

    def act() -> out.OrderTold:
        plan_order(call.desk, call.by, project_id, _given(body))
        return _told(order_view(call.desk, call.by, project_id))

    return call.once(200, act)


def _given(body: NewOrder) -> dict[str, Any]:
    """As the action reads it, with times as moments."""
    deliveries = [
        {**given(each), "at": moment(each.at, f"deliveries.{i}.at")} for i, each in enumerate(body.deliveries)
    ]
    return {**given(body), "deliveries": deliveries}


# --- telling ----------------------------------------------------------------------------------------------


def _told(view: OrderView) -> out.OrderTold:
    worked, gathered = view.worked, view.worked.gathered
    signed = view.plan.signed if view.plan else None
    return out.OrderTold(
        project=view.seen.project.id,
        choices=_choices(worked.chosen),
        saved=out.SavedTold(
            by=view.names.get(signed.by, NOBODY), role=signed.role, at=time_text(signed.at), seq=signed.seq
        )
        if signed
        else None,
        order=_list(view, worked.order) if worked.order else None,
        trouble=out.Trouble(code=worked.code, text=worked.trouble) if worked.trouble else None,
        without_layout=[zone.id for zone in gathered.without],
        layout_no_longer_fits=[zone.id for zone in gathered.stale],
        placed=[zone.id for zone in gathered.placed],
        sheets_laid=gathered.done,
        stock_is_old=view.stock_is_old,
    )


def _choices(chosen: OrderChoice) -> out.Choices:
    plain = [
        share(value).removesuffix(" %")
        for value in (chosen.film_allowance_mpct, chosen.tape_allowance_mpct, chosen.repairs_per_1000ft2_m)
    ]
    return out.Choices(
        material=chosen.material_id,
        film_allowance=plain[0],
        tape_allowance=plain[1],
        repairs=plain[2],
        stock=[out.StockTold(material=of.material_id, whole_rolls=of.whole_rolls) for of in chosen.stock],
        deliveries=[
            out.DeliveryChosen(
                label=of.label, at=time_text(of.at) if of.at else None, zones=list(of.zone_ids)
            )
            for of in chosen.deliveries
        ],
    )


def _list(view: OrderView, order: OrderList) -> out.ListTold:
    units = view.seen.project.units
    tape, mastic = order.tape, order.mastic
    return out.ListTold(
        film=_film(view, order.film),
        tape=out.TapeTold(
            rolls=_rolls(tape.counts),
            total=_long(tape.total_nm, units),
            allowance=_long(tape.allowance_nm, units),
            uses=[out.TapeUseTold(use=of.use, length=_long(of.nm, units)) for of in tape.uses],
        ),
        collars=[
            out.CollarTold(
                length=length(of.length_nm, units, "up"), width=length(of.width_nm, units, "up"),
                count=of.count, tags=list(of.tags),
            )
            for of in order.collars
        ],
        mastic=out.MasticTold(
            beads=mastic.beads, bead=_long(mastic.bead_nm, units), dams=mastic.dams,
            volume_ml=mastic.volume_mm3 / 1000,
        ),
        repairs=order.repairs,
        zones=_zones(view, order),
        deliveries=[
            out.DeliveryTold(
                label=of.label, zones=list(of.zone_ids), sheets=of.sheets, film=_rolls(of.film),
                tape=_rolls(of.tape),
            )
            for of in order.deliveries
        ],
        faults=[out.Trouble(code=code, text=FAULT_WORDS[code]) for code in order.faults],
    )  # fmt: skip


def _zones(view: OrderView, order: OrderList) -> list[out.ZoneTold]:
    units = view.seen.project.units
    return [
        out.ZoneTold(
            zone=of.zone_id, letter=view.site.zones[of.zone_id].letter, sheets=of.sheets,
            film=_area(of.film_nm2, units), tape=_long(of.tape_nm, units),
            collars=sum(size.count for size in of.collars), repairs=of.repairs,
        )
        for of in order.zones
    ]  # fmt: skip


def _film(view: OrderView, film: FilmOrder) -> out.FilmTold:
    units = view.seen.project.units
    return out.FilmTold(
        rolls=_rolls(film.counts), sheet_rolls=film.sheet_rolls, bound=film.bound, proved=film.proved,
        collar_rolls=film.collar_rolls, repair_rolls=film.repair_rolls,
        cut_from=_area(film.cut_from_nm2, units), serves=_area(film.placed_nm2, units),
        waste=_area(film.waste_nm2, units), waste_percent=film.waste_mpct / 1000,
        unserved=list(film.unserved), cuts=_cuts(view, film),
    )  # fmt: skip


def _cuts(view: OrderView, film: FilmOrder) -> list[out.RollTold]:
    """Every roll that is opened: those for sheets, then those for small pieces alone."""
    units, names = view.seen.project.units, view.worked.gathered.names
    served = {of.roll: _pieces(of.rows, units) for of in film.offcuts}
    rolls = [
        out.RollTold(
            number=roll.number,
            delivery=roll.delivery,
            sheets=[
                out.SheetCut(
                    name=of.name, layout=names[of.name][0], number=names[of.name][1],
                    cut_length=_long(of.cut_length_nm, units),
                )
                for of in roll.sheets
            ],
            offcut=_left(roll.offcut_nm, units),
            serves=served.get(roll.number, []),
        )
        for roll in film.rolls
    ]  # fmt: skip
    return rolls + [
        out.RollTold(
            number=of.roll, delivery=of.delivery, sheets=[], offcut=_left(of.length_nm, units),
            serves=_pieces(of.rows, units),
        )
        for of in film.whole
    ]  # fmt: skip


def _pieces(rows: tuple[CutRow, ...], units: Units) -> list[out.PieceCut]:
    return [
        out.PieceCut(
            length=length(piece.length_nm, units, "up"), width=length(piece.width_nm, units, "up"),
            tags=list(piece.tags),
        )
        for row in rows
        for piece in row.pieces
    ]  # fmt: skip


def _rolls(counts: ToOrder) -> out.Rolls:
    return out.Rolls(
        needed=counts.needed, allowance=counts.allowance, stock=counts.stock, to_order=counts.to_order,
        left_over=counts.left_over,
    )  # fmt: skip


def _long(nm: int, units: Units) -> Length:
    return Length(text=cut_run(nm, units), m=metres(nm))


def _left(nm: int, units: Units) -> Length:
    return Length(text=left_run(nm, units), m=metres(nm))


def _area(nm2: int, units: Units) -> Area:
    m2 = nm2 / NM_PER_M**2
    return Area(text=say_area(m2, units), m2=m2)
