"""Hold points: signed by people, in time order, each for the zone as it was drawn then."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.actions.installed.hold_points import did_work, next_step, sign_hold_point, steps_of
from service.actions.marks import repairs
from service.actions.office.release import mark_placed
from service.actions.sketches import sketches, zones
from service.domain.nouns.rules import LOOK_STEP, STEPS, WALK_STEP
from service.domain.nouns.site import Zone
from service.domain.words.refusals import BadInput, Conflict, NotFound
from tests.builders import (
    LAPPED,
    SLIT,
    a_mark,
    a_patch,
    a_pipe,
    a_release,
    a_repair,
    a_walk,
    a_zone,
    an_edge,
    blockers_of,
    state_of,
)
from tests.cast import Cast, assemble, enter

BEFORE_WALK = STEPS[: STEPS.index(WALK_STEP)]


@pytest.fixture
def cast(desk: Desk) -> Cast:
    """A project whose gate asks for hold points and nothing else besides marks and the walk."""
    return assemble(desk, demands=("hold points",))


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    return a_zone(desk, cast)


def signed_up_to_the_walk(desk: Desk, cast: Cast, zone: Zone) -> None:
    for step in BEFORE_WALK:
        sign_hold_point(desk, cast.lead.id, zone.id, step, True)


def next_of(desk: Desk, cast: Cast, zone: Zone) -> str:
    view = zone_view(desk, cast.lead.id, zone.id)
    return next_step(steps_of(view.site, view.zone))


def test_the_nine_steps_of_the_trade_in_time_order_clear_the_zone(desk: Desk, cast: Cast, zone: Zone) -> None:
    """The order: subgrade, film, laps, penetrations, terminations, bar supports, clean, punch walk after
    steel and embedments, second look (hold points: TRADE 12, S80; the list is common practice, no source)."""
    signed_up_to_the_walk(desk, cast, zone)
    assert next_of(desk, cast, zone) == WALK_STEP and state_of(desk, cast, zone) == "laying"
    a_walk(desk, cast, zone)
    assert blockers_of(desk, cast, zone) == ["hold-point-open"]
    sign_hold_point(desk, cast.inspector.id, zone.id, LOOK_STEP, True)
    assert (next_of(desk, cast, zone), state_of(desk, cast, zone)) == ("", "clear")
    a_release(desk, cast, zone)
    assert state_of(desk, cast, zone) == "ready to place"


def test_a_step_out_of_order_is_refused_naming_the_one_before_it(desk: Desk, cast: Cast, zone: Zone) -> None:
    for step in (STEPS[1], STEPS[4], LOOK_STEP):
        with pytest.raises(Conflict, match=STEPS[0]) as refused:
            sign_hold_point(desk, cast.lead.id, zone.id, step, True)
        assert refused.value.code == "hold-point-order"
    sign_hold_point(desk, cast.lead.id, zone.id, STEPS[0], True)
    with pytest.raises(Conflict, match=STEPS[1]):
        sign_hold_point(desk, cast.lead.id, zone.id, STEPS[2], False, "Too early to say")
    assert next_of(desk, cast, zone) == STEPS[1]


def test_the_punch_walk_is_signed_by_finishing_it(desk: Desk, cast: Cast, zone: Zone) -> None:
    signed_up_to_the_walk(desk, cast, zone)
    with pytest.raises(Conflict) as refused:
        sign_hold_point(desk, cast.lead.id, zone.id, WALK_STEP, True)
    assert refused.value.code == "sign-by-walking"


def test_a_refusal_says_why_holds_and_stops_every_later_step(desk: Desk, cast: Cast, zone: Zone) -> None:
    sign_hold_point(desk, cast.lead.id, zone.id, STEPS[0], True)
    with pytest.raises(BadInput) as blank:
        sign_hold_point(desk, cast.lead.id, zone.id, STEPS[1], False)
    assert list(blank.value.fields) == ["note"]
    sign_hold_point(desk, cast.lead.id, zone.id, STEPS[1], False, "North strip bare")
    with pytest.raises(Conflict, match=STEPS[1]):
        sign_hold_point(desk, cast.lead.id, zone.id, STEPS[2], True)
    assert "hold-point-refused" in blockers_of(desk, cast, zone)
    sign_hold_point(desk, cast.lead.id, zone.id, STEPS[1], True, "Laid since")
    assert next_of(desk, cast, zone) == STEPS[2]


def test_an_inspectors_refusal_stands_until_an_inspector_signs(desk: Desk, cast: Cast, zone: Zone) -> None:
    sign_hold_point(desk, cast.inspector.id, zone.id, STEPS[0], False, "Stone in the north bay")
    sign_hold_point(desk, cast.manager.id, zone.id, STEPS[0], True, "Raked")
    assert next_of(desk, cast, zone) == STEPS[0]
    sign_hold_point(desk, cast.inspector.id, zone.id, STEPS[0], True)
    assert next_of(desk, cast, zone) == STEPS[1]


def test_a_step_refused_after_the_release_takes_its_force_away_for_good(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    signed_up_to_the_walk(desk, cast, zone)
    a_walk(desk, cast, zone)
    sign_hold_point(desk, cast.inspector.id, zone.id, LOOK_STEP, True)
    a_release(desk, cast, zone)
    sign_hold_point(desk, cast.inspector.id, zone.id, STEPS[6], False, "Water stands in the low corner")
    assert state_of(desk, cast, zone) == "held"
    sign_hold_point(desk, cast.inspector.id, zone.id, STEPS[6], True, "Pumped")
    assert state_of(desk, cast, zone) == "clear"


def test_whoever_did_work_that_stands_does_not_sign_the_second_look(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    signed_up_to_the_walk(desk, cast, zone)
    a_patch(desk, cast, a_mark(desk, cast, zone))
    mark = a_mark(desk, cast, zone, (500, 300), "short lap", SLIT)
    a_repair(desk, cast, mark)
    own = repairs.log_repair(desk, cast.manager.id, mark.id, LAPPED).repair
    a_walk(desk, cast, zone)
    for person in (cast.lead, cast.manager):
        for accepted in (True, False):
            with pytest.raises(Conflict) as refused:
                sign_hold_point(desk, person.id, zone.id, LOOK_STEP, accepted, "Seen")
            assert refused.value.code == "own-work"
    repairs.withdraw_repair(desk, cast.manager.id, mark.id, own.id, "Logged twice")
    view = zone_view(desk, cast.manager.id, zone.id)
    assert not did_work(view.site, view.zone, cast.manager.id)
    assert did_work(view.site, view.zone, cast.lead.id)
    sign_hold_point(desk, cast.manager.id, zone.id, LOOK_STEP, True)
    assert next_of(desk, cast, zone) == ""


@pytest.mark.parametrize("seal", [an_edge, a_pipe])
def test_a_seal_that_stands_is_ones_own_work_as_a_patch_is(
    desk: Desk, cast: Cast, zone: Zone, seal: Callable[[Desk, Cast, Zone], object]
) -> None:
    seal(desk, cast, zone)
    view = zone_view(desk, cast.lead.id, zone.id)
    assert did_work(view.site, view.zone, cast.lead.id)
    assert not did_work(view.site, view.zone, cast.manager.id)


def test_a_new_outline_or_a_new_scale_lets_every_signature_lapse(desk: Desk, cast: Cast, zone: Zone) -> None:
    signed_up_to_the_walk(desk, cast, zone)
    wider = ((100, 100), (950, 100), (950, 700), (100, 700))
    zones.change_zone(desk, cast.manager.id, zone.id, name="North bay", outline=wider)
    assert next_of(desk, cast, zone) == STEPS[0]
    view = zone_view(desk, cast.lead.id, zone.id)
    first = steps_of(view.site, view.zone)[0]
    assert first.lapsed >= {first.signatures[0].id}
    signed_up_to_the_walk(desk, cast, zone)
    assert next_of(desk, cast, zone) == WALK_STEP
    sketches.set_scale(desk, cast.manager.id, zone.sketch_id, (0, 0), (1000, 0), "99 ft")
    assert next_of(desk, cast, zone) == STEPS[0]


def test_what_is_no_step_of_this_zone_and_a_placed_zone_are_refused(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    with pytest.raises(BadInput) as strange:
        sign_hold_point(desk, cast.lead.id, zone.id, "coffee", True)
    assert list(strange.value.fields) == ["step"]
    stranger = enter(desk, "Sam Stranger")
    with pytest.raises(NotFound):
        sign_hold_point(desk, stranger.id, zone.id, STEPS[0], True)
    mark_placed(desk, cast.manager.id, zone.id)
    with pytest.raises(Conflict) as placed:
        sign_hold_point(desk, cast.lead.id, zone.id, STEPS[0], True)
    assert placed.value.code == "zone-placed"
