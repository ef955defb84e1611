"""Layouts of sheets as JSON: looked at, kept with their seams, taken back; sheets logged as laid."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter
from pydantic import Field, RootModel
from starlette.responses import Response

from service.actions.film import layout_keeping, sheet_layouts, sheets_laid
from service.actions.film.layout_entry import EDGE_KINDS, MOST_CORNERS, MOST_OPENINGS, STARTS
from service.actions.film.layout_ground import Ground, ground_of_layout, ground_of_sketch, ground_of_zone
from service.actions.film.layout_progress import progress_of
from service.actions.film.sheet_layouts import Planned
from service.api.answers.sites import Answer, Area, Length
from service.api.shared import bodies
from service.api.shared.calls import SIGNED_IN, Call, Id, Reads, SignedRoute, Writes
from service.api.shared.errors import READS, WRITES, told
from service.api.telling import layouts as tell
from service.api.telling.telling import length

router = APIRouter(route_class=SignedRoute, dependencies=SIGNED_IN, tags=["layouts"])


class Arrow(bodies.Sent):
    """The placing direction as two places of the sketch."""

    from_: bodies.Place = Field(alias="from")
    to: bodies.Place


class LayoutAsked(bodies.Sent):
    """Which film lies how. `material`, or the size of its roll; laps are the least that hold here, or larger.
    `past`: how far film runs past each kind of edge; left out, what is usual. `offset`: how far the first
    sheet's edge lies outside the floor; left out, the least film is sought."""

    model_config = bodies.example(
        roll_width="15 ft", roll_length="200 ft", direction=90, starts="left",
        past={"sealed to the wall or grade beam": "6 in"}, openings=[[[300, 300], [340, 300], [340, 360]]],
    )  # fmt: skip
    material: bodies.Text | None = None
    roll_width: bodies.Length | None = None
    roll_length: bodies.Length | None = None
    side_lap: bodies.Length | None = None
    end_lap: bodies.Length | None = None
    direction: bodies.Degrees | Arrow | None = Field(
        default=None, description="The way the concrete goes: degrees clockwise from the right, or an arrow."
    )
    starts: bodies.Text = Field(
        default="left", description=f"The side where placing begins, looking along. {bodies.listed(STARTS)}"
    )
    offset: bodies.Length | None = None
    past: dict[str, bodies.Length] | None = Field(default=None, description=bodies.listed(EDGE_KINDS))
    openings: Annotated[
        list[Annotated[list[bodies.Place], Field(max_length=MOST_CORNERS)]], Field(max_length=MOST_OPENINGS)
    ] | None = None  # fmt: skip


class SlabAsked(LayoutAsked):
    """`zones`: ids of zones of the sketch; left out, all that have no concrete."""

    zones: Annotated[list[bodies.MarkId], Field(max_length=200)] | None = None


class Keeping(bodies.Sent):
    """`draw_seams`: false where the film is laid and its seams are drawn. `reason`: asked for where another
    layout stands in the zones. `seen_as`: as the preview told it; kept only if it still comes to that."""

    draw_seams: bool = True
    reason: bodies.Text = ""
    seen_as: bodies.Text = ""


class LayoutKept(LayoutAsked, Keeping):
    """A layout to keep."""


class SlabKept(SlabAsked, Keeping):
    """A layout of a slab to keep."""


class NewSheetsLaid(bodies.Sent):
    """Sheets by number, cut from one lot."""

    model_config = bodies.example(sheets=[1, 2, 3], lot="8c1f0a", note="")
    sheets: Annotated[list[int], Field(max_length=sheets_laid.MOST_AT_ONCE)]
    lot: bodies.Text
    note: bodies.Text = ""


class SheetsBack(bodies.WithReason):
    """`film_too`: no film of that lot lies in the zone at all."""

    film_too: bool = False


class PreviewTold(Answer):
    """What a layout comes to; nothing is recorded. `bound`: no layout laid by this rule takes less film.
    `to_cover`: the floor with what runs past its edges. `seams`: what would go on the punch list."""

    offset: Length
    film: Area
    floor: Area
    to_cover: Area
    bound: Area
    seam_length: Length
    side_lap: Length
    end_lap: Length
    sheets: list[tell.SheetTold]
    seams: list[tell.SeamToDraw]
    seen_as: str


class KeptTold(Answer):
    """The layout, ids of the seams it drew, of the layouts whose place it took and their seams that stay."""

    layout: tell.LayoutTold
    seams: list[str]
    replaced: list[str]
    stayed: list[str]


class LayoutsTold(RootModel[list[tell.LayoutTold]]):
    """Oldest first, withdrawn ones too."""


class LaidTold(RootModel[list[tell.LayingTold]]):
    """A laying for each zone that most of a sheet lies in."""


# --- the calls -------------------------------------------------------------------------------------------


@router.post("/zones/{zone_id}/layouts/preview", response_model=PreviewTold, responses=told(WRITES))
def preview_for_zone(zone_id: Id, body: LayoutAsked, call: Writes) -> Response:
    """What these sheets come to in one zone. Only an Idempotency-Key, if one is given, keeps the reply."""

    def work_out() -> PreviewTold:
        return _preview(sheet_layouts.plan_zone(call.desk, call.by, zone_id, _given(body)))

    return call.once_prepared(200, work_out, lambda found: found)


@router.post("/sketches/{sketch_id}/layouts/preview", response_model=PreviewTold, responses=told(WRITES))
def preview_for_slab(sketch_id: Id, body: SlabAsked, call: Writes) -> Response:
    """What these sheets come to over zones of a sketch. Only an Idempotency-Key keeps the reply."""

    def work_out() -> PreviewTold:
        return _preview(sheet_layouts.plan_sketch(call.desk, call.by, sketch_id, _given(body)))

    return call.once_prepared(200, work_out, lambda found: found)


@router.post("/zones/{zone_id}/layouts", status_code=201, response_model=KeptTold, responses=told(WRITES))
def keep_for_zone(zone_id: Id, body: LayoutKept, call: Writes) -> Response:
    """Keep a layout and put its seams on the punch list."""

    def act() -> KeptTold:
        given = _given(body)
        kept = layout_keeping.keep_zone_layout(
            call.desk, call.by, zone_id, given, seen_as=given.get("seen_as", "")
        )
        return _kept(call, kept)

    return call.once(201, act)


@router.post(
    "/sketches/{sketch_id}/layouts", status_code=201, response_model=KeptTold, responses=told(WRITES)
)
def keep_for_slab(sketch_id: Id, body: SlabKept, call: Writes) -> Response:
    """Keep a layout of a slab and put its seams on the punch list, each within its zone."""

    def act() -> KeptTold:
        given = _given(body)
        kept = layout_keeping.keep_layout(
            call.desk, call.by, sketch_id, given, seen_as=given.get("seen_as", "")
        )
        return _kept(call, kept)

    return call.once(201, act)


@router.get("/zones/{zone_id}/layouts", responses=told((*READS, 409)))
def layouts_of_zone(zone_id: Id, call: Reads) -> LayoutsTold:
    """Every layout that was kept for the zone, alone or with others."""
    return _all(ground_of_zone(call.desk, call.by, zone_id), {zone_id})


@router.get("/sketches/{sketch_id}/layouts", responses=told((*READS, 409)))
def layouts_of_sketch(sketch_id: Id, call: Reads) -> LayoutsTold:
    """Every layout that was kept on the sketch."""
    return _all(ground_of_sketch(call.desk, call.by, sketch_id), set())


@router.get("/layouts/{layout_id}", responses=told((*READS, 409)))
def one_layout(layout_id: Id, call: Reads) -> tell.LayoutTold:
    """A layout as kept, with what is laid of it and what is left."""
    ground, layout = ground_of_layout(call.desk, call.by, layout_id)
    return tell.layout(ground, layout, progress_of(ground, layout))


@router.post("/layouts/{layout_id}/withdraw", response_model=tell.LayoutTold, responses=told(WRITES))
def withdraw_a_layout(layout_id: Id, body: bodies.WithReason, call: Writes) -> Response:
    """Take a layout back, and with it its seams that nobody walked."""

    def act() -> tell.LayoutTold:
        layout_keeping.withdraw_layout(call.desk, call.by, layout_id, body.reason)
        return one_layout(layout_id, call)

    return call.once(200, act)


@router.post(
    "/layouts/{layout_id}/sheets-laid", status_code=201, response_model=LaidTold, responses=told(WRITES)
)
def log_sheets_laid(layout_id: Id, body: NewSheetsLaid, call: Writes) -> Response:
    """Log sheets as laid; their lot is logged as film laid in every zone that they reach into."""

    def act() -> LaidTold:
        made = sheets_laid.log_sheets(call.desk, call.by, layout_id, body.sheets, body.lot, body.note)
        ground, _ = ground_of_layout(call.desk, call.by, layout_id)
        return LaidTold([tell.laying(ground, one) for one in made])

    return call.once(201, act)


@router.post(
    "/layouts/{layout_id}/sheets-laid/{laying_id}/withdraw",
    response_model=tell.LayingTold,
    responses=told(WRITES),
)
def take_sheets_back(layout_id: Id, laying_id: Id, body: SheetsBack, call: Writes) -> Response:
    """Take back that sheets were laid."""

    def act() -> tell.LayingTold:
        made = sheets_laid.withdraw_sheets(
            call.desk, call.by, layout_id, laying_id, body.reason, film_too=body.film_too
        )
        ground, _ = ground_of_layout(call.desk, call.by, layout_id)
        return tell.laying(ground, made)

    return call.once(200, act)


# --- telling ---------------------------------------------------------------------------------------------


def _given(body: bodies.Sent) -> dict[str, Any]:
    """What was sent, by the contract's own names."""
    return body.model_dump(exclude_unset=True, by_alias=True)


def _all(ground: Ground, zone_ids: set[str]) -> LayoutsTold:
    found = (
        one
        for one in ground.site.layouts.values()
        if one.sketch_id == ground.seen.sketch.id and (not zone_ids or zone_ids & set(one.zone_ids))
    )
    told_all = [
        tell.layout(ground, one, progress_of(ground.over(one.zone_ids), one))
        for one in sorted(found, key=lambda one: one.signed.seq)
    ]
    return LayoutsTold(told_all)


def _kept(call: Call, kept: layout_keeping.Kept) -> KeptTold:
    ground, layout = ground_of_layout(call.desk, call.by, kept.layout.id)
    return KeptTold(
        layout=tell.layout(ground, layout, progress_of(ground, layout)),
        seams=[seam.id for seam in kept.seams],
        replaced=[old.id for old in kept.replaced],
        stayed=[seam.id for seam in kept.stayed],
    )


def _preview(of: Planned) -> PreviewTold:
    layout, units = of.layout, of.ground.seen.project.units
    asked = layout.asked
    return PreviewTold(
        offset=tell.along(layout.offset_nm, units),
        film=tell.area(layout.film_m2, units),
        floor=tell.area(layout.area_m2, units),
        to_cover=tell.area(layout.to_cover_m2, units),
        bound=tell.area(layout.bound_m2, units),
        seam_length=tell.along(layout.seam_nm, units),
        side_lap=length(asked.side_lap_nm, units),
        end_lap=length(asked.end_lap_nm, units),
        sheets=[tell.sheet(of.ground.seen.sketch, one, units) for one in of.sheets()],
        seams=[tell.seam(of.ground.seen.sketch, seam) for seam in of.seams()],
        seen_as=of.seen_as,
    )
