"""Film by lot: judged as submitted, received once, laid where it was laid, and held by what it lacks."""

from __future__ import annotations

import pytest

from service.actions.film import film
from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.domain.nouns.rules import ready_made
from service.domain.nouns.site import Zone
from service.domain.words.refusals import BadInput, Conflict, NotAllowed, NotFound
from tests.builders import a_laying, a_lot, a_material, a_walk, a_zone, blockers_of, state_of
from tests.cast import Cast, assemble

SHEET = ready_made("us")  # class A, 10 mil, 0.1 perm


@pytest.fixture
def cast(desk: Desk) -> Cast:
    """The cast's project asks its gate for film."""
    return assemble(desk, demands=("film",))


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    made = a_zone(desk, cast)
    a_walk(desk, cast, made)
    return made


def faults_of(desk: Desk, cast: Cast, zone: Zone) -> set[str]:
    blockers = zone_view(desk, cast.manager.id, zone.id).standing.blockers
    return {fault for blocker in blockers for fault in blocker.faults}


def test_a_zone_is_held_until_film_that_meets_the_sheet_is_logged_by_lot(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    assert blockers_of(desk, cast, zone) == ["film-not-logged"]
    a_laying(desk, cast, zone, a_lot(desk, cast, a_material(desk, cast)))
    assert state_of(desk, cast, zone) == "clear"


@pytest.mark.parametrize(
    ("given", "reached", "faults"),
    [
        # ASTM E1745 table of classes (numbers seen on public pages): A 45 lbf/in and 2200 g, B 30 and 1700.
        ({}, "A", ()),
        ({"tensile": "45 lbf/in", "puncture": "2200 g", "permeance": "0.1 perm"}, "A", ()),
        ({"tensile": "44.999 lbf/in"}, "B", ("below-class", "claims-more-than-shown")),
        ({"puncture": "2199 g"}, "B", ("below-class", "claims-more-than-shown")),
        ({"permeance": "0.100001 perm"}, "", ("below-class", "claims-more-than-shown", "too-permeable")),
        ({"puncture": ""}, "", ("class-not-shown",)),
        ({"thickness": "9.99 mil"}, "A", ("too-thin",)),
        ({"thickness": "10 mil"}, "A", ()),
        ({"thickness": "0.25 mm"}, "A", ("too-thin",)),  # 9.84 mil
        ({"thickness": ""}, "A", ("thickness-not-shown",)),
    ],
)
def test_a_material_is_judged_at_once_by_what_its_maker_states(
    desk: Desk, cast: Cast, given: dict[str, str], reached: str, faults: tuple[str, ...]
) -> None:
    stands = film.judged(a_material(desk, cast, **given), SHEET)
    assert (stands.reached, stands.faults) == (reached, faults)


def test_what_nobody_stated_is_told_by_name_and_never_taken_as_met(desk: Desk, cast: Cast) -> None:
    bare = {"permeance": "", "tensile": "", "puncture": "", "thickness": "", "claimed_class": ""}
    stands = film.judged(a_material(desk, cast, **bare), SHEET)
    assert stands.missing == ("permeance", "tensile", "puncture", "thickness", "least_lap")
    assert stands.faults == ("class-not-shown", "thickness-not-shown", "permeance-not-shown")


def test_tape_and_mastic_are_kept_and_not_judged_as_film(desk: Desk, cast: Cast, zone: Zone) -> None:
    tape = film.submit_material(desk, cast.manager.id, cast.project_id, {"kind": "tape", "name": "Tape 4 in"})
    assert film.judged(tape, SHEET).faults == ()
    a_laying(desk, cast, zone, a_lot(desk, cast, tape, "T-1"))
    assert blockers_of(desk, cast, zone) == ["film-not-logged"], "tape is not the film"


def test_film_below_the_sheet_is_kept_where_it_was_laid_and_holds(desk: Desk, cast: Cast, zone: Zone) -> None:
    weak = a_material(desk, cast, tensile="40 lbf/in", claimed_class="B")
    laid = a_laying(desk, cast, zone, a_lot(desk, cast, weak))
    assert blockers_of(desk, cast, zone) == ["film-below-sheet"]
    assert faults_of(desk, cast, zone) == {"below-class"}
    film.withdraw_laying(desk, cast.lead.id, zone.id, laid.id, "Laid next door")
    assert blockers_of(desk, cast, zone) == ["film-not-logged"]
    with pytest.raises(Conflict):
        film.withdraw_laying(desk, cast.lead.id, zone.id, laid.id, "Laid next door")


@pytest.mark.parametrize("what", ["material", "lot"])
def test_what_is_withdrawn_holds_the_zones_it_was_laid_in(
    desk: Desk, cast: Cast, zone: Zone, what: str
) -> None:
    material = a_material(desk, cast)
    lot = a_lot(desk, cast, material)
    a_laying(desk, cast, zone, lot)
    if what == "material":
        film.withdraw_material(desk, cast.manager.id, material.id, "Rejected by the engineer")
    else:
        film.withdraw_lot(desk, cast.lead.id, lot.id, "Recalled")
    assert blockers_of(desk, cast, zone) == ["film-below-sheet"]
    assert faults_of(desk, cast, zone) == {f"{what}-withdrawn"}


def test_two_different_films_in_one_zone_are_told(desk: Desk, cast: Cast, zone: Zone) -> None:
    first, other = a_material(desk, cast), a_material(desk, cast, name="Submittal 4")
    a_laying(desk, cast, zone, a_lot(desk, cast, first, "F-1"))
    a_laying(desk, cast, zone, a_lot(desk, cast, first, "F-2"))
    view = zone_view(desk, cast.lead.id, zone.id)
    assert film.two_films(view.site, view.zone) == ()
    a_laying(desk, cast, zone, a_lot(desk, cast, other, "F-1"))
    view = zone_view(desk, cast.lead.id, zone.id)
    assert film.two_films(view.site, view.zone) == ("Submittal 3", "Submittal 4")


def test_a_lots_number_does_not_repeat_within_a_material(desk: Desk, cast: Cast) -> None:
    material, other = a_material(desk, cast), a_material(desk, cast, name="Submittal 4")
    lot = a_lot(desk, cast, material, "F-2207")
    for again in ("F-2207", " f-2207 "):
        with pytest.raises(BadInput) as bad:
            a_lot(desk, cast, material, again)
        assert set(bad.value.fields) == {"number"}
    assert a_lot(desk, cast, other, "F-2207").material_id == other.id
    film.withdraw_lot(desk, cast.lead.id, lot.id, "Three rolls, not four")
    assert a_lot(desk, cast, material, "F-2207").id != lot.id


def test_a_lot_not_received_yet_is_received_and_laid_or_neither(desk: Desk, cast: Cast, zone: Zone) -> None:
    material, lead = a_material(desk, cast), cast.lead.id
    film.receive_and_lay(desk, lead, zone.id, material.id, "F-9", 2, "North half")
    assert state_of(desk, cast, zone) == "clear"
    before = film.film_view(desk, lead, cast.project_id).lots()
    with pytest.raises(BadInput):
        film.receive_and_lay(desk, lead, zone.id, material.id, "F-9", 2)
    with pytest.raises(BadInput) as bad:
        film.receive_and_lay(desk, lead, zone.id, "no such", "", 0)
    assert set(bad.value.fields) == {"material", "number", "rolls"}
    assert film.film_view(desk, lead, cast.project_id).lots() == before


def test_the_same_lot_is_logged_once_in_a_zone_and_again_next_door(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    lot = a_lot(desk, cast, a_material(desk, cast))
    a_laying(desk, cast, zone, lot)
    with pytest.raises(Conflict, match="already"):
        a_laying(desk, cast, zone, lot)
    next_door = a_zone(desk, cast, letter="C")
    a_laying(desk, cast, next_door, lot)
    view = film.film_view(desk, cast.lead.id, cast.project_id)
    assert [zone.letter for zone in view.zones_with(lot.id)] == ["B", "C"]


def test_every_field_at_fault_is_told_at_once(desk: Desk, cast: Cast) -> None:
    given = {
        "kind": "foil", "name": " ", "claimed_class": "D", "permeance": "0.1", "thickness": "10",
        "tensile": "45", "puncture": "2200 lb", "roll_width": "12", "roll_length": "x", "least_lap": "-6 in",
        "least_patch_overlap": "0 in", "least_temperature": "40", "note": "x" * 2001,
    }  # fmt: skip
    with pytest.raises(BadInput) as bad:
        film.submit_material(desk, cast.manager.id, cast.project_id, given)
    assert set(bad.value.fields) == set(given)
    assert film.film_view(desk, cast.lead.id, cast.project_id).materials() == []


def test_only_film_claims_a_class(desk: Desk, cast: Cast) -> None:
    with pytest.raises(BadInput, match="Only film has a class"):
        a_material(desk, cast, kind="tape")


def test_a_lot_of_another_project_is_not_here(desk: Desk, cast: Cast, zone: Zone) -> None:
    manager = cast.other_manager.id
    theirs = film.submit_material(desk, manager, cast.other_project_id, {"kind": "film", "name": "Theirs"})
    lot = film.receive_lot(desk, manager, theirs.id, "X-1")
    with pytest.raises(BadInput):
        film.lay_lot(desk, cast.lead.id, zone.id, lot.id)
    with pytest.raises(NotFound):
        film.receive_lot(desk, cast.lead.id, theirs.id, "X-2")
    with pytest.raises(NotFound):
        film.withdraw_laying(desk, cast.lead.id, zone.id, "no such", "x")


def test_an_inspector_changes_no_film(desk: Desk, cast: Cast, zone: Zone) -> None:
    lot = a_lot(desk, cast, a_material(desk, cast))
    eye = cast.inspector.id
    with pytest.raises(NotAllowed):
        film.lay_lot(desk, eye, zone.id, lot.id)
    with pytest.raises(NotAllowed):
        film.receive_lot(desk, eye, lot.material_id, "F-1")
    with pytest.raises(NotAllowed):
        film.submit_material(desk, cast.lead.id, cast.project_id, {"kind": "film", "name": "x"})
