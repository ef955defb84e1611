"""Placing starts from ready to place; what is found while it goes on stands in the record for ever."""

from __future__ import annotations

import csv
import io
from datetime import UTC, datetime, timedelta

import pytest

from service.actions.closeout import closeout
from service.actions.closeout.certificates import certificate
from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.actions.marks import defects, patches
from service.actions.office import release
from service.actions.office.placing_start import start_placing
from service.actions.office.ready_lists import open_ready_list, ready_list
from service.actions.record.tables import tables
from service.actions.sketches import zones
from service.actions.telling import telling
from service.domain.nouns.site import Zone
from service.domain.words.refusals import BadInput, Conflict, NotAllowed, NotFound, ZoneHeld
from service.history.certificate.told import PLACED_UNDER, PULLED_BACK, STANDS
from service.history.certificate.words import words_of
from service.history.facts.encoding import time_text
from service.history.facts.entries import FromPhone
from service.history.facts.placing import PlacingStarted
from service.history.replay.turns import LOST_RELEASE
from service.storage.history import books, slices
from tests.builders import a_mark, a_patch, a_release, a_walk, a_zone, newest_release, state_of
from tests.cast import Cast, Clock


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    """Zone B, walked, with one patched tear, and released."""
    zone = a_zone(desk, cast)
    a_patch(desk, cast, a_mark(desk, cast, zone))
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    return zone


def entries(desk: Desk, cast: Cast) -> int:
    with desk.reading() as session:
        return books.head(session, cast.project_id)


def refused(desk: Desk, cast: Cast, zone: Zone) -> str:
    """The code of why placing cannot be started; nothing is recorded."""
    before = entries(desk, cast)
    with pytest.raises(Conflict) as why:
        start_placing(desk, cast.lead.id, zone.id)
    assert entries(desk, cast) == before
    return why.value.code


def test_a_crew_lead_starts_placing_a_zone_that_is_ready(desk: Desk, cast: Cast, zone: Zone) -> None:
    begun = start_placing(desk, cast.lead.id, zone.id).placing
    assert begun is not None
    made = newest_release(desk, cast, zone)
    assert (begun.started_at, begun.by, begun.release_id) == (desk.clock(), cast.lead.id, made.id)
    assert state_of(desk, cast, zone) == "ready to place"
    assert refused(desk, cast, zone) == "placing-already"


def test_a_held_zone_is_refused_with_every_reason_and_a_clear_one_without_release(
    desk: Desk, cast: Cast
) -> None:
    zone = a_zone(desk, cast)
    mark = a_mark(desk, cast, zone)
    with pytest.raises(ZoneHeld) as held:
        start_placing(desk, cast.lead.id, zone.id)
    assert len(held.value.blockers) == 2
    a_patch(desk, cast, mark)
    a_walk(desk, cast, zone)
    assert refused(desk, cast, zone) == "not-ready"
    a_release(desk, cast, zone)
    a_mark(desk, cast, zone, (500, 500))
    assert refused(desk, cast, zone) == "zone-held", "a release that fell away starts nothing"


def test_a_placed_zone_is_not_started(desk: Desk, cast: Cast, zone: Zone) -> None:
    release.mark_placed(desk, cast.manager.id, zone.id)
    assert refused(desk, cast, zone) == "zone-placed"


def test_an_inspector_starts_nothing_and_a_stranger_sees_nothing(desk: Desk, cast: Cast, zone: Zone) -> None:
    with pytest.raises(NotAllowed):
        start_placing(desk, cast.inspector.id, zone.id)
    with pytest.raises(NotFound):
        start_placing(desk, cast.other_manager.id, zone.id)


def test_it_begins_neither_before_the_release_nor_in_time_to_come(
    desk: Desk, cast: Cast, zone: Zone, clock: Clock
) -> None:
    """A typed time has no seconds: the minute of the release itself is meant well."""
    made = newest_release(desk, cast, zone).at
    clock.go_on(minutes=30, seconds=20)
    for at in (made - timedelta(minutes=1), desk.clock() + timedelta(minutes=1)):
        with pytest.raises(BadInput) as why:
            start_placing(desk, cast.lead.id, zone.id, at)
        assert set(why.value.fields) == {"at"}
    begun = start_placing(desk, cast.lead.id, zone.id, made.replace(second=0, microsecond=0)).placing
    assert begun is not None and begun.started_at == made
    with pytest.raises(BadInput):
        release.mark_placed(desk, cast.manager.id, zone.id, made - timedelta(minutes=5))


def test_damage_found_while_placing_is_mended_as_ever_and_nobody_is_told_of_a_lost_release(
    desk: Desk, cast: Cast, zone: Zone, clock: Clock
) -> None:
    link = open_ready_list(desk, cast.manager.id, cast.project_id, "ready-mix dispatcher")
    before = ready_list(desk, link.token).zones
    telling.look(desk.fresh())
    start_placing(desk, cast.lead.id, zone.id)
    mark = a_mark(desk, cast, zone, (500, 500))
    assert mark.during_placing and not mark.after_placing
    standing = zone_view(desk, cast.lead.id, zone.id).standing
    assert (standing.state, [b.name for b in standing.found]) == ("ready to place", ["B-02"])
    clock.go_on(seconds=5)
    telling.look(desk.fresh())
    assert ready_list(desk, link.token).zones == before, "whoever places sees it ready, by the same release"
    a_patch(desk, cast, mark)
    assert zone_view(desk, cast.lead.id, zone.id).standing.found == ()
    release.pull_back(desk, cast.manager.id, zone.id, "rain")
    clock.go_on(seconds=5)
    telling.look(desk.fresh())
    events = [told.turn.event for told in telling.told_to(desk, cast.manager.id)]
    assert events == [LOST_RELEASE], "of the pull-back, and of nothing else"


def test_what_waited_on_a_phone_counts_when_it_comes(desk: Desk, cast: Cast, zone: Zone) -> None:
    known = entries(desk, cast)
    start_placing(desk, cast.lead.id, zone.id)
    waited = desk.fresh(FromPhone(known, datetime(2020, 1, 1, tzinfo=UTC)))
    assert a_mark(waited, cast, zone, (500, 500)).during_placing
    release.mark_placed(desk, cast.manager.id, zone.id)
    after = a_mark(waited, cast, zone, (520, 500))
    assert (after.during_placing, after.after_placing) == (False, True)


def test_a_hold_or_an_old_patch_taken_up_while_placing_takes_the_release(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    start_placing(desk, cast.lead.id, zone.id)
    hold = zones.hold_zone(desk, cast.inspector.id, zone.id, "storm", "lightning")
    assert state_of(desk, cast, zone) == "held"
    zones.lift_hold(desk, cast.lead.id, hold.id, "passed over")
    assert state_of(desk, cast, zone) == "clear", "and it does not come back"
    assert refused(desk, cast, zone) == "not-ready"
    a_release(desk, cast, zone)
    start_placing(desk, cast.lead.id, zone.id)
    [patch] = zone_view(desk, cast.lead.id, zone.id).site.patches.values()
    patches.withdraw_patch(desk, cast.lead.id, patch.id, "torn off by the hose")
    assert state_of(desk, cast, zone) == "held"


def test_damage_that_concrete_covers_unmended_stands_in_the_record_for_ever(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    start_placing(desk, cast.lead.id, zone.id)
    mended, left = a_mark(desk, cast, zone, (500, 500)), a_mark(desk, cast, zone, (600, 500))
    a_patch(desk, cast, mended)
    kept = release.mark_placed(desk, cast.manager.id, zone.id).placement
    assert kept is not None
    assert (kept.without_release, kept.blockers) == (False, ("B-03 is open: tear",))
    a_patch(desk, cast, left)  # logged afterwards, whatever lies on it now
    assert state_of(desk, cast, zone) == "placed"

    told = certificate(desk, cast.inspector.id, newest_release(desk, cast, zone).id).found.told
    assert told.since.word == PLACED_UNDER
    words = words_of(told, time_text)
    assert [(tag, state) for tag, _, state in words.found] == [("B-02", "sealed"), ("B-03", "open")]
    assert words.left == ("B-03 is open: tear",)

    [zone_told] = closeout.closeout(desk, cast.inspector.id, cast.project_id).zones
    assert zone_told.placed is not None and zone_told.placed.against == ("B-03 is open: tear",)
    assert {mark.tag: mark.found for mark in zone_told.marks} == {
        "B-01": "before placing", "B-02": "during placing", "B-03": "during placing",
    }  # fmt: skip

    with desk.reading() as session:
        site, log = slices.whole_site(session, cast.project_id), books.entries(session, cast.project_id)
    rows = tables(site, log, [b""] * len(log), {})
    found = {
        row["tag"]: row["found_during_placing"] for row in csv.DictReader(io.StringIO(rows["defects.csv"]))
    }
    assert found == {"B-01": "no", "B-02": "yes", "B-03": "yes"}
    [placed] = csv.DictReader(io.StringIO(rows["zones.csv"]))
    assert placed["blockers_at_placing"] == "B-03 is open: tear" and placed["placing_started_at"]
    sentences = rows["history.csv"]
    assert "started placing zone B" in sentences
    assert (
        "Found during placing and not mended before the concrete covered it: B-03 is open: tear" in sentences
    )


def test_a_release_pulled_back_while_placing_leaves_a_zone_placed_without_release(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    start_placing(desk, cast.lead.id, zone.id)
    a_mark(desk, cast, zone, (500, 500))
    made = newest_release(desk, cast, zone)
    assert certificate(desk, cast.inspector.id, made.id).found.told.since.word == STANDS
    release.pull_back(desk, cast.manager.id, zone.id, "the pump stands in the film")
    assert state_of(desk, cast, zone) == "held"
    late = a_mark(desk, cast, zone, (600, 500))
    assert not late.during_placing
    placed = release.mark_placed(desk, cast.manager.id, zone.id).placement
    assert placed is not None and placed.without_release
    assert placed.blockers == ("B-02 is open: tear", "B-03 is open: tear")
    told = certificate(desk, cast.inspector.id, made.id).found.told
    assert told.since.word == PULLED_BACK
    assert [mark.tag for mark in told.since.found] == ["B-02"], "found while it went on, and not after"
    assert words_of(told, time_text).left == (), "it was not placed under this release"


def test_a_mark_made_by_mistake_while_placing_is_withdrawn_and_changes_nothing(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    start_placing(desk, cast.lead.id, zone.id)
    mark = a_mark(desk, cast, zone, (500, 500))
    defects.withdraw_defect(desk, cast.lead.id, mark.id, "a shadow")
    standing = zone_view(desk, cast.lead.id, zone.id).standing
    assert (standing.state, standing.found) == ("ready to place", ())


def test_the_history_names_the_release_that_placing_began_under(desk: Desk, cast: Cast, zone: Zone) -> None:
    start_placing(desk, cast.lead.id, zone.id)
    with desk.reading() as session:
        [*_, newest] = books.entries(session, cast.project_id)
    made = newest_release(desk, cast, zone)
    assert newest.fact == PlacingStarted(zone.id, "B", made.id, desk.clock())
