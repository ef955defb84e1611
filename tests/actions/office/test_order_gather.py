"""What an order is gathered from: what is done, does not fit or is not laid out stays out, and is named."""

from __future__ import annotations

from service.actions.frame.desk import Desk
from service.actions.installed import seams, terminations
from service.actions.sketches import zones
from service.domain.nouns.installed import SIDE_LAP, TO_WALL
from service.domain.nouns.placing import Delivery, StockCount
from service.domain.nouns.site import Site
from service.domain.order.asked import NOT_DESCRIBED, TAPE_LENGTH_NM, TAPE_WIDTH_NM
from service.domain.order.gather import Gathered, OrderChoice, as_chosen, gather, stock_offered
from service.domain.words.measures import NM_PER_FOOT
from service.storage.history import slices
from tests.builders import (
    NEXT_DOOR,
    SQUARE,
    a_lot,
    a_pipe,
    a_seam,
    a_sketch,
    a_zone,
    an_edge,
)
from tests.cast import Cast
from tests.laid_out import a_layout, a_roll, a_tape, rows_over, sheets_laid

BOTH = (*SQUARE, *NEXT_DOOR)


def site_of(desk: Desk, cast: Cast) -> Site:
    with desk.reading() as session:
        return slices.order_site(session, cast.project_id)


def gathered(desk: Desk, cast: Cast, chosen: OrderChoice | None = None) -> Gathered:
    site = site_of(desk, cast)
    return gather(site, chosen or as_chosen(None, site))


def test_a_zone_brings_its_sheets_in_laying_order_and_its_area(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    a_roll(desk, cast)
    a_layout(desk, cast, [zone], rows_over(SQUARE))
    found = gathered(desk, cast)
    assert found.asked is not None
    (asked,) = found.asked.zones
    # 60 ft in rows of 12 ft lapped 6 in: TRADE.md section 10, 1 + ceil((60 - 12) / 11.5) = 6 (calculated).
    assert [(sheet.name, sheet.cut_length_nm) for sheet in asked.sheets] == [
        (str(n), 80 * NM_PER_FOOT) for n in range(1, 7)
    ]
    assert asked.area_mm2 == 80 * 60 * 92_903_04 // 100  # 1 sq ft is 92,903.04 mm2 by definition
    assert (found.asked.roll_width_nm, found.asked.roll_length_nm) == (12 * NM_PER_FOOT, 200 * NM_PER_FOOT)


def test_sheets_laid_and_what_is_sealed_need_nothing_more(desk: Desk, cast: Cast) -> None:
    zone, film = a_zone(desk, cast), a_roll(desk, cast)
    layout = a_layout(desk, cast, [zone], rows_over(SQUARE), film.id)
    before = gathered(desk, cast)
    sheets_laid(desk, cast, zone, layout, a_lot(desk, cast, film).id, (1, 2))
    a_pipe(desk, cast, zone)
    an_edge(desk, cast, zone, 1)
    terminations.describe_edge(desk, cast.lead.id, zone.id, {"kind": TO_WALL, "edges": [2]})
    found = gathered(desk, cast)
    assert before.asked is not None and found.asked is not None
    (asked,) = found.asked.zones
    assert [sheet.name for sheet in asked.sheets] == ["3", "4", "5", "6"]
    assert (found.done, before.done) == (2, 0)
    assert asked.pipes == () and asked.groups == ()
    # Of 280 ft round the zone 80 are sealed, 60 described, 140 not described.
    assert [(edge.kind, edge.length_nm) for edge in asked.edges] == [
        (TO_WALL, 60 * NM_PER_FOOT), (NOT_DESCRIBED, 140 * NM_PER_FOOT),
    ]  # fmt: skip


def test_a_seam_found_taped_on_a_walk_takes_no_tape_and_one_that_is_not_does(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    a_roll(desk, cast)
    a_layout(desk, cast, [zone], rows_over(SQUARE))
    planned = gathered(desk, cast).asked
    assert planned is not None  # no seam is drawn: five of 80 ft, as the layout has them
    assert [(seam.kind, seam.length_nm) for seam in planned.zones[0].seams] == [(SIDE_LAP, 400 * NM_PER_FOOT)]
    taped, bare, new = (a_seam(desk, cast, zone, ((200, y), (600, y))) for y in (200, 300, 400))
    for seam, sealed in ((taped, True), (bare, False)):
        stations = [{"at": f"{at} ft", "lap": "6 in"} for at in (5, 15, 25, 35)]
        made = {"taped": sealed, "bonded": True, "cleaned": True, "dry": True, "tape_width": "4 in"}
        seams.walk_seam(desk, cast.lead.id, seam.id, {"stations": stations, **made})
    found = gathered(desk, cast).asked
    assert found is not None
    assert [seam.length_nm for seam in found.zones[0].seams] == [40 * NM_PER_FOOT] * 2, (bare, new)


def test_where_film_of_one_layout_runs_into_the_next_zone_there_is_no_edge(desk: Desk, cast: Cast) -> None:
    sketch = a_sketch(desk, cast)
    pair = [a_zone(desk, cast, sketch), a_zone(desk, cast, sketch, "C", NEXT_DOOR)]
    a_roll(desk, cast)
    a_layout(desk, cast, pair, rows_over(BOTH))
    found = gathered(desk, cast)
    assert found.asked is not None
    assert [edge.length_nm for zone in found.asked.zones for edge in zone.edges] == [220 * NM_PER_FOOT] * 2


def test_a_sheet_over_two_zones_comes_once_with_the_first_delivery(desk: Desk, cast: Cast) -> None:
    sketch = a_sketch(desk, cast)
    one, two = a_zone(desk, cast, sketch), a_zone(desk, cast, sketch, "C", NEXT_DOOR)
    a_roll(desk, cast)
    a_layout(desk, cast, [one, two], rows_over(BOTH))
    chosen = OrderChoice(
        as_chosen(None, site_of(desk, cast)).material_id,
        deliveries=(Delivery("Truck 1", None, (two.id,)), Delivery("Truck 2", None, (one.id,))),
    )
    found = gathered(desk, cast, chosen)
    assert found.asked is not None
    assert {zone.zone_id: len(zone.sheets) for zone in found.asked.zones} == {one.id: 0, two.id: 6}


def test_sheets_of_several_layouts_are_told_apart_by_their_zones(desk: Desk, cast: Cast) -> None:
    sketch = a_sketch(desk, cast)
    one, two = a_zone(desk, cast, sketch), a_zone(desk, cast, sketch, "C", NEXT_DOOR)
    first = a_layout(desk, cast, [one], rows_over(SQUARE))
    a_layout(desk, cast, [two], rows_over(NEXT_DOOR))
    found = gathered(desk, cast)
    assert found.names["B 1"] == (first, 1) and "C 6" in found.names and len(found.names) == 12


def test_zones_without_a_layout_or_with_one_that_no_longer_fits_are_named(desk: Desk, cast: Cast) -> None:
    sketch = a_sketch(desk, cast)
    one, two = a_zone(desk, cast, sketch), a_zone(desk, cast, sketch, "C", NEXT_DOOR)
    a_layout(desk, cast, [one], rows_over(SQUARE))
    assert [zone.letter for zone in gathered(desk, cast).without] == ["C"]
    # The zone grows by 10 ft past its film: the layout is not ordered by any more.
    grown = ((50, 100), (900, 100), (900, 700), (50, 700))
    zones.change_zone(desk, cast.manager.id, one.id, name="North bay", outline=grown)
    found = gathered(desk, cast)
    assert [zone.letter for zone in found.stale] == ["B"]
    assert [zone.id for zone in found.without] == [two.id]
    assert found.asked is None


def test_a_film_whose_roll_is_not_stated_orders_nothing(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    a_layout(desk, cast, [zone], rows_over(SQUARE))
    bare = a_roll(desk, cast, roll_width="", roll_length="")
    assert gathered(desk, cast, OrderChoice(bare.id)).asked is None
    by_layout = gathered(desk, cast, OrderChoice("")).asked  # the roll that the layout is for
    assert by_layout is not None and by_layout.roll_width_nm == 12 * NM_PER_FOOT


def test_tape_is_the_newest_submitted_and_as_usual_where_it_is_not_stated(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    a_layout(desk, cast, [zone], rows_over(SQUARE))
    found = gathered(desk, cast)
    assert found.rolls is not None and not found.rolls.tape_stated
    assert (found.rolls.tape_width_nm, found.rolls.tape_length_nm) == (TAPE_WIDTH_NM, TAPE_LENGTH_NM)
    tape = a_tape(desk, cast, roll_width="3 in", roll_length="100 ft")
    counted = gathered(desk, cast, OrderChoice("", stock=(StockCount(tape.id, 4),)))
    assert counted.asked is not None
    assert (counted.asked.tape_length_nm, counted.asked.tape_in_stock) == (100 * NM_PER_FOOT, 4)


def test_the_stock_offered_is_what_came_less_what_the_sheets_laid_took(desk: Desk, cast: Cast) -> None:
    zone, film = a_zone(desk, cast), a_roll(desk, cast)
    layout = a_layout(desk, cast, [zone], rows_over(SQUARE), film.id)
    lot = a_lot(desk, cast, film)  # 4 rolls
    assert stock_offered(site_of(desk, cast), film) == 4
    sheets_laid(desk, cast, zone, layout, lot.id, (1, 2, 3))  # 240 ft: two rolls are opened
    assert stock_offered(site_of(desk, cast), film) == 2
