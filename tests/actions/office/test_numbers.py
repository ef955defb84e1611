"""A zone's own numbers: they ask more than the rule sheet, never less, and what they do is seen first."""

from __future__ import annotations

from typing import Any

import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.actions.office import numbers
from service.actions.office.projects import change_rule_sheet
from service.domain.nouns.rules import RAISABLE
from service.domain.nouns.site import Zone
from service.domain.words.refusals import BadInput, FactsMoved, NotAllowed
from service.history.sentences.sentences import sentence
from service.storage.history import books
from tests.builders import a_laying, a_lot, a_mark, a_material, a_patch, a_release, a_walk, a_zone, state_of
from tests.cast import Cast

INCH_NM = 25_400_000
STRICTER = {
    "patch_overlap": "6 1/16 in", "lap": "6 1/16 in", "tape_width": "4 1/16 in", "collar_width": "12 1/16 in",
    "collar_length_factor": "1.501", "mastic_up_to": "15/16 in", "station_every": "9 ft 11 in",
    "tape_temperature": "40.001 F",
}  # fmt: skip
LAXER = {
    "patch_overlap": "5 15/16 in", "lap": "3 in", "tape_width": "2 in", "collar_width": "11 in",
    "collar_length_factor": "1.4", "mastic_up_to": "2 in", "station_every": "10 ft 1 in",
    "tape_temperature": "39.999 F",
}  # fmt: skip
SAME = {
    "patch_overlap": "6 in", "lap": "152.4 mm", "tape_width": "4 in", "collar_width": "1 ft",
    "collar_length_factor": "1 1/2", "mastic_up_to": "1 in", "station_every": "10 ft",
    "tape_temperature": "40 F",
}  # fmt: skip


@pytest.fixture
def ready(desk: Desk, cast: Cast) -> Zone:
    """A released zone whose one patch overlaps by exactly 6 in."""
    zone = a_zone(desk, cast)
    a_patch(desk, cast, a_mark(desk, cast, zone))
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    return zone


def raise_by(desk: Desk, cast: Cast, zone: Zone, **given: Any) -> Zone:
    return numbers.raise_numbers(desk, cast.manager.id, zone.id, given)


def test_every_number_that_may_be_raised_is_tried_here() -> None:
    assert set(STRICTER) == set(LAXER) == set(SAME) == set(RAISABLE)


@pytest.mark.parametrize("name", RAISABLE)
def test_a_zone_may_ask_more_and_neither_less_nor_the_same(desk: Desk, cast: Cast, name: str) -> None:
    zone = a_zone(desk, cast)
    for text in (LAXER[name], SAME[name]):
        with pytest.raises(BadInput) as bad:
            raise_by(desk, cast, zone, **{name: text})
        assert bad.value.fields[name].startswith("A zone may only ask more")
    raised = raise_by(desk, cast, zone, **{name: {"value": STRICTER[name], "source": "S-101"}})
    assert [(one.name, one.source) for one in raised.raised] == [(name, "S-101")]
    taken_back = raise_by(desk, cast, zone, **{name: None})
    assert taken_back.raised == () and taken_back.raised_revision == 2


def test_a_spacing_of_readings_is_never_raised_to_none(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    for text in ("none", "0", ""):
        with pytest.raises(BadInput):
            raise_by(desk, cast, zone, station_every=text)
    change_rule_sheet(desk, cast.manager.id, cast.project_id, {"station_every": "none"})
    assert raise_by(desk, cast, zone, station_every="30 ft").raised[0].value == 360 * INCH_NM


def test_raising_a_zones_overlap_takes_its_release_away_and_is_told_first(
    desk: Desk, cast: Cast, ready: Zone
) -> None:
    effect = numbers.effect_of_raising(desk, cast.manager.id, ready.id, {"patch_overlap": "6 1/16 in"})
    assert (effect.before, effect.after) == ("ready to place", "held")
    assert state_of(desk, cast, ready) == "ready to place", "looking changes nothing"
    raise_by(desk, cast, ready, patch_overlap="6 1/16 in")
    assert state_of(desk, cast, ready) == effect.after


def test_a_raise_undone_does_not_bring_a_release_back(desk: Desk, cast: Cast, ready: Zone) -> None:
    raise_by(desk, cast, ready, lap="8 in")
    effect = numbers.effect_of_raising(desk, cast.manager.id, ready.id, {"lap": None})
    raise_by(desk, cast, ready, lap=None)
    assert state_of(desk, cast, ready) == effect.after == "clear"


def test_another_zone_is_judged_by_the_sheet_alone(desk: Desk, cast: Cast, ready: Zone) -> None:
    other = a_zone(desk, cast, letter="C")
    raise_by(desk, cast, other, patch_overlap="12 in")
    assert state_of(desk, cast, ready) == "ready to place"
    _, sheets = numbers.zone_sheets(desk, cast.lead.id, cast.project_id)
    overlaps = {one.zone.letter: one.sheet.patch_overlap.nm for one in sheets}
    assert overlaps == {"B": 6 * INCH_NM, "C": 12 * INCH_NM}


def test_what_is_left_out_stays_and_nothing_changed_is_nothing_recorded(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    raise_by(desk, cast, zone, lap={"value": "8 in", "source": "S-101"})
    raise_by(desk, cast, zone, patch_overlap="8 in")
    again = raise_by(desk, cast, zone, lap="8 in")
    assert [(one.name, one.source) for one in again.raised] == [
        ("patch_overlap", "set for this zone, no source given"), ("lap", "S-101"),
    ]  # fmt: skip
    assert again.raised_revision == 2


def test_the_strictest_of_sheet_zone_and_maker_governs_and_each_is_told(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    a_laying(desk, cast, zone, a_lot(desk, cast, a_material(desk, cast, least_lap="9 in")))
    raise_by(desk, cast, zone, lap="8 in")
    view = zone_view(desk, cast.lead.id, zone.id)
    assert view.seen.project.sheet.lap.nm == 9 * INCH_NM
    told = [(of.who, of.words) for of in numbers.origins(view.site, view.zone, "lap", "us")]
    assert told == [("Rule sheet", "6 in"), ("This zone", "8 in"), ("Submittal 3", "9 in")]


def test_a_sheet_that_rose_past_a_zone_governs_and_the_zone_can_still_be_changed(
    desk: Desk, cast: Cast
) -> None:
    zone = a_zone(desk, cast)
    raise_by(desk, cast, zone, lap="8 in")
    change_rule_sheet(desk, cast.manager.id, cast.project_id, {"lap": "12 in"})
    raise_by(desk, cast, zone, patch_overlap="8 in")
    assert zone_view(desk, cast.lead.id, zone.id).seen.project.sheet.lap.nm == 12 * INCH_NM


def test_a_form_drawn_before_somebody_elses_change_is_refused(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    raise_by(desk, cast, zone, lap="8 in")
    with pytest.raises(FactsMoved):
        numbers.raise_numbers(desk, cast.manager.id, zone.id, {"lap": "7 in"}, seen_revision=0)


def test_what_cannot_be_raised_or_read_is_told_field_by_field(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    with pytest.raises(BadInput) as bad:
        raise_by(desk, cast, zone, film_class="A", lap="8", tape_temperature="50", patch_overlap={"value": 8})
    assert set(bad.value.fields) == {"film_class", "lap", "tape_temperature", "patch_overlap"}


def test_only_a_project_manager_raises(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    for person in (cast.lead, cast.inspector):
        with pytest.raises(NotAllowed):
            numbers.raise_numbers(desk, person.id, zone.id, {"lap": "8 in"})


def test_the_history_tells_what_is_asked_more_and_what_is_taken_back(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    raise_by(desk, cast, zone, lap={"value": "8 in", "source": "S-101"}, tape_temperature="50 F")
    raise_by(desk, cast, zone, lap=None)
    with desk.reading() as session:
        last = books.entries(session, cast.project_id)[-2:]
    told = [sentence(entry, {cast.manager.id: "Max"}, "us") for entry in last]
    assert "lap 8 in (S-101); tape temperature 50 °F (set for this zone, no source given)" in told[0]
    assert told[1].endswith("lap as the rule sheet asks.")
