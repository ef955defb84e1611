"""Penetrations placed singly and in rows, sealed as built, taken back; and a zone that has none."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.doing import record, zone_to_change
from service.actions.frame.reading import zone_view
from service.actions.installed.none_here import state_none
from service.actions.installed.penetrations import (
    LARGER_THAN_ROLL,
    SealJudged,
    close_groups,
    log_seal,
    penetration_view,
    place_penetrations,
    withdraw_penetration,
    withdraw_seal,
)
from service.actions.office import release
from service.actions.people import people
from service.domain.nouns.installed import FILM, Penetration
from service.domain.nouns.roles import CREW_LEAD
from service.domain.nouns.site import Zone
from service.domain.patches.repair import Numbers
from service.domain.shapes.outlines import Circle, Rectangle
from service.domain.words.refusals import BadInput, Conflict, NotAllowed
from service.history.facts.entries import Entry
from service.history.facts.film import LotLaid, LotReceived, MaterialSubmitted
from service.history.facts.installed import PenetrationsPlaced, SealLogged
from service.storage.history import books
from tests.builders import NEXT_DOOR, a_sketch, a_walk, a_zone, blockers_of
from tests.cast import Cast, assemble, enter

INCH = 25_400_000
PIPE: dict[str, Any] = {"kind": "steel pipe", "size": "NPS 4"}
# TRADE.md 9.1: NPS 4 is 4.500 in across, 1.5 circumferences are 21.206 in; 22 in is enough.
COLLAR: dict[str, Any] = {
    "method": "collar", "collar_width": "12 in", "collar_length": "22 in", "fingers": True,
    "taped_to_pipe": True, "taped_to_film": True, "cleaned": True, "dry": True, "tape_width": "4 in",
}  # fmt: skip
DAM: dict[str, Any] = {"method": "sealant in a dam", "close_cut": True, "cleaned": True, "dry": True}


@pytest.fixture
def cast(desk: Desk) -> Cast:
    return assemble(desk, demands=("penetrations",))


def placed(desk: Desk, cast: Cast, zone: Zone, at: Sequence[float] = (300, 300), **more: Any) -> Penetration:
    (pipe,) = place_penetrations(desk, cast.lead.id, zone.id, {**PIPE, "at": list(at), **more})
    return pipe


def a_row(desk: Desk, cast: Cast, zone: Zone, count: int | None = 5, **more: Any) -> list[Penetration]:
    given = {"kind": "reinforcing bar", "size": "#5", "from": [200, 200], "to": [600, 200], "count": count}
    return place_penetrations(desk, cast.lead.id, zone.id, {**given, **more})


def sealed(desk: Desk, cast: Cast, pipe: Penetration, **more: Any) -> list[SealJudged]:
    return log_seal(desk, cast.lead.id, pipe.id, {**COLLAR, **more})


def entries(desk: Desk, cast: Cast) -> list[Entry]:
    with desk.reading() as session:
        return list(books.entries(session, cast.project_id))


def test_a_penetration_gets_its_tag_and_its_true_outside_at_once(desk: Desk, cast: Cast) -> None:
    """NPS 4 is 4.500 in across: ASME B36.10M."""
    zone = a_zone(desk, cast)
    pipe = placed(desk, cast, zone, note="by the stair")
    assert (pipe.tag, pipe.kind, pipe.size) == ("B-P01", "steel pipe", "NPS 4")
    assert (pipe.outline, pipe.at, pipe.note) == (Circle(114_300_000), (300_000, 300_000), "by the stair")
    assert placed(desk, cast, zone, (400, 300)).tag == "B-P02"


def test_it_holds_the_zone_until_its_seal_holds(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    a_walk(desk, cast, zone)
    assert blockers_of(desk, cast, zone) == ["none-stated"]
    pipe = placed(desk, cast, zone)
    assert blockers_of(desk, cast, zone) == ["penetration-not-sealed"]
    (judged,) = sealed(desk, cast, pipe, collar_length="21 3/16 in")
    assert judged.faults == ("collar-short",), "21.206 in is asked: TRADE.md 9.1, calculated"
    assert blockers_of(desk, cast, zone) == ["penetration-not-sealed"], "kept, and no pass"
    (judged,) = sealed(desk, cast, pipe, collar_length="21 1/4 in")
    assert judged.faults == () and blockers_of(desk, cast, zone) == []
    withdraw_seal(desk, cast.lead.id, pipe.id, "Torn by the rebar")
    assert blockers_of(desk, cast, zone) == ["penetration-not-sealed"]


def test_a_row_is_one_entry_and_stands_evenly_from_end_to_end(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    placed(desk, cast, zone)
    row = a_row(desk, cast, zone)
    assert [pipe.tag for pipe in row] == [f"B-P{number:02d}" for number in range(2, 7)]
    assert [pipe.at[0] for pipe in row] == [200_000, 300_000, 400_000, 500_000, 600_000]
    last = entries(desk, cast)[-1].fact
    assert isinstance(last, PenetrationsPlaced) and last.tag == "B-P02 to B-P06" and len(last.placed) == 5
    assert {pipe.outline for pipe in row} == {Circle(15_875_000)}, "#5 is 0.625 in: ASTM A615"


def test_a_row_by_spacing_holds_as_many_as_fit(desk: Desk, cast: Cast) -> None:
    """10 px is 1 ft: 400 px are 40 ft, and one every 16 in from 0 is 31 of them."""
    row = a_row(desk, cast, a_zone(desk, cast), count=None, spacing="16 in")
    assert len(row) == 31 and row[1].at == (213_333, 200_000)


@pytest.mark.parametrize(
    ("more", "field", "told"),
    [
        ({"size": "NPS 7"}, "size", "5, NPS 6, NPS 8"),
        ({"kind": "stake", "size": "NPS 4"}, "size", "measure across its outside"),
        ({"size": None}, "size", "Say its size"),
        ({"kind": "hose"}, "kind", "One of: steel pipe"),
        ({"outline": {"shape": "circle", "diameter": "4 in"}}, "size", "not both"),
        ({"size": None, "outline": {"shape": "circle", "diameter": "121 in"}}, "diameter", "10 ft"),
        ({"size": None, "outline": {"shape": "slit", "length": "4 in"}}, "shape", "round or four-cornered"),
        ({"size": None, "outline": {"shape": "circle", "diameter": "4"}}, "diameter", "Add the unit"),
        ({"at": None}, "at", "where it stands"),
        ({"at": [2_000_000, 3]}, "at", "Off the sketch"),
        ({"at": None, "from": [200, 200], "to": [300, 200]}, "count", "one of the two"),
        ({"at": None, "from": [200, 200], "to": [300, 200], "count": 201}, "count", "2 to 200"),
        ({"at": None, "from": [200, 200], "count": 3}, "to", "a first place and a last"),
        ({"at": None, "from": [200, 200], "to": [600, 200], "spacing": "1 in"}, "spacing", "at most 200"),
        ({"from": [200, 200], "to": [300, 200], "count": 3}, "at", "not both"),
    ],
)
def test_what_cannot_be_placed_is_told_by_its_field_and_nothing_is_kept(
    desk: Desk, cast: Cast, more: dict[str, Any], field: str, told: str
) -> None:
    zone = a_zone(desk, cast)
    before = len(entries(desk, cast))
    with pytest.raises(BadInput) as refused:
        place_penetrations(desk, cast.lead.id, zone.id, {**PIPE, "at": [300, 300], **more})
    assert told in refused.value.fields[field], refused.value.fields
    assert len(entries(desk, cast)) == before


def test_a_row_that_runs_into_the_next_zone_names_it(desk: Desk, cast: Cast) -> None:
    sketch = a_sketch(desk, cast)
    zone = a_zone(desk, cast, sketch)
    a_zone(desk, cast, sketch, "C", NEXT_DOOR)
    with pytest.raises(BadInput) as refused:
        a_row(desk, cast, zone, to=[1000, 200])
    assert refused.value.code == "outside-zone"
    assert refused.value.fields["to"].startswith(
        "Number 5 of the row: That place is outside zone B. It lies in"
    )
    assert not zone_view(desk, cast.lead.id, zone.id).penetrations()


def test_a_measured_blockout_is_kept_as_it_lies(desk: Desk, cast: Cast) -> None:
    outline = {"shape": "rectangle", "length": "30 in", "width": "20 in", "angle_deg": 30}
    pipe = placed(desk, cast, a_zone(desk, cast), kind="column blockout", size=None, outline=outline)
    assert (pipe.size, pipe.outline) == ("", Rectangle(30 * INCH, 20 * INCH, 30_000_000))


def test_several_close_together_are_sealed_as_one_and_unsealed_as_one(desk: Desk, cast: Cast) -> None:
    """A collar's fingers lie 6 in on the film; 5 px are 6 in from middle to middle, less than that apart."""
    zone = a_zone(desk, cast)
    pipes = [placed(desk, cast, zone, (300 + 5 * n, 300)) for n in range(3)]
    lone = placed(desk, cast, zone, (500, 500))
    view = zone_view(desk, cast.lead.id, zone.id)
    (group,) = close_groups(view.site, zone, Numbers.of(view.seen.project.sheet))
    assert [pipe.tag for pipe in group] == ["B-P01", "B-P02", "B-P03"]
    also = [pipe.id for pipe in pipes[1:]]
    (judged,) = log_seal(desk, cast.lead.id, pipes[0].id, {**DAM, "also": also})
    assert judged.faults == ()
    for pipe in pipes:
        _, now = penetration_view(desk, cast.lead.id, pipe.id)
        assert now.seal is not None and len(now.seal.together) == 3
    assert blockers_of(desk, cast, zone).count("penetration-not-sealed") == 1, "the lone one"
    withdraw_seal(desk, cast.lead.id, pipes[2].id, "Lifted")
    assert blockers_of(desk, cast, zone).count("penetration-not-sealed") == 4
    with pytest.raises(BadInput) as refused:
        log_seal(desk, cast.lead.id, pipes[0].id, {**DAM, "also": [lone.id]})
    assert refused.value.code == "not-close", "nobody dams half a slab with one tick"


def test_a_seal_across_a_joint_is_withdrawn_from_either_side_for_all_it_goes_round(
    desk: Desk, cast: Cast
) -> None:
    """A chain 12 ft long: what is read with the next zone ends 10 ft from it, short of its far end."""
    sketch = a_sketch(desk, cast)
    zone, other = a_zone(desk, cast, sketch), a_zone(desk, cast, sketch, "C", NEXT_DOOR)
    near = placed(desk, cast, other, (900, 200), kind="reinforcing bar", size="#5")
    chain = a_row(desk, cast, zone, 24, **{"from": [780, 200], "to": [895, 200]})
    also = [pipe.id for pipe in (*chain[1:], near)]
    (judged,) = log_seal(desk, cast.lead.id, chain[0].id, {**DAM, "also": also})
    assert judged.faults == () and "penetration-not-sealed" not in blockers_of(desk, cast, other)
    withdraw_seal(desk, cast.lead.id, near.id, "Lifted")
    for pipe in (chain[0], chain[-1], near):
        assert penetration_view(desk, cast.lead.id, pipe.id)[1].seal is None


def test_one_alone_is_not_sealed_by_sealant_in_a_dam(desk: Desk, cast: Cast) -> None:
    (judged,) = log_seal(desk, cast.lead.id, placed(desk, cast, a_zone(desk, cast)).id, DAM)
    assert judged.faults == ("dam-for-one",)


def test_a_row_alike_is_sealed_in_one_go_with_an_entry_each(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    row = a_row(desk, cast, zone)
    before = len(entries(desk, cast))
    mastic = {"method": "mastic", "close_cut": True, "cleaned": True, "dry": True, "lot": "M-7"}
    judged = log_seal(desk, cast.lead.id, row[0].id, {**mastic, "same_for": [pipe.id for pipe in row[1:]]})
    assert [each.penetration.tag for each in judged] == [pipe.tag for pipe in row]
    facts = [entry.fact for entry in entries(desk, cast)[before:]]
    assert len(facts) == 5 and all(isinstance(fact, SealLogged) and not fact.also for fact in facts)
    withdraw_seal(desk, cast.lead.id, row[2].id, "Cut away")
    held = [b.name for b in zone_view(desk, cast.lead.id, zone.id).standing.blockers if b.name in
            {pipe.tag for pipe in row}]  # fmt: skip
    assert held == ["B-P03"]


def test_only_what_is_alike_is_sealed_alike(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    pipe, other = placed(desk, cast, zone), placed(desk, cast, zone, (400, 400), size="NPS 6")
    gone = placed(desk, cast, zone, (500, 500))
    withdraw_penetration(desk, cast.lead.id, gone.id, "Moved")
    for asked in (other.id, gone.id, "none"):
        with pytest.raises(BadInput) as refused:
            sealed(desk, cast, pipe, same_for=[asked])
        assert refused.value.code == "not-alike"
    assert penetration_view(desk, cast.lead.id, pipe.id)[1].seal is None


def test_every_question_left_open_is_told_at_once(desk: Desk, cast: Cast) -> None:
    pipe = placed(desk, cast, a_zone(desk, cast))
    with pytest.raises(BadInput) as refused:
        log_seal(desk, cast.lead.id, pipe.id, {"method": "collar", "film_temperature": "45"})
    assert set(refused.value.fields) == {
        "collar_width", "collar_length", "fingers", "taped_to_pipe", "taped_to_film", "cleaned", "dry",
        "tape_width", "film_temperature",
    }  # fmt: skip
    with pytest.raises(BadInput) as refused:
        log_seal(desk, cast.lead.id, pipe.id, {"method": "mastic", "cleaned": True, "dry": True})
    assert set(refused.value.fields) == {"close_cut"}


def film_laid(desk: Desk, cast: Cast, zone: Zone, wide: int | None, long: int | None) -> None:
    """Film of rolls so large (nanometres), laid in the zone."""
    with desk.writing() as session:
        seen, site = zone_to_change(session, cast.manager.id, zone.id, "read")
        material, lot = desk.new_id(), desk.new_id()
        for fact in (
            MaterialSubmitted(
                material, FILM, "Film", "A", None, None, None, None, wide, long, None, None, None, ""
            ),
            LotReceived(lot, material, "F-1", 1, ""),
            LotLaid(desk.new_id(), lot, zone.id, zone.letter, "F-1", ""),
        ):
            record(desk, session, site, cast.manager.id, seen.role, fact)


def test_a_collar_larger_than_the_roll_is_refused_with_the_reason(desk: Desk, cast: Cast) -> None:
    """A collar of 12 by 21.206 in is cut from a roll 12 in wide and 22 in long, and not from one of 21 in."""
    zone = a_zone(desk, cast)
    pipe = placed(desk, cast, zone)
    film_laid(desk, cast, zone, 12 * INCH, 21 * INCH)
    with pytest.raises(BadInput) as refused:
        sealed(desk, cast, pipe)
    assert refused.value.code == LARGER_THAN_ROLL and "longer than the roll" in refused.value.fields["method"]
    film_laid(desk, cast, zone, 12 * INCH, 22 * INCH)
    assert sealed(desk, cast, pipe)[0].faults == ()


def test_a_roll_that_nobody_measured_refuses_nothing(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    film_laid(desk, cast, zone, None, 21 * INCH)
    assert sealed(desk, cast, placed(desk, cast, zone))[0].faults == ()


def test_a_placed_zone_still_takes_what_people_see_and_do(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    release.mark_placed(desk, cast.manager.id, zone.id)
    assert sealed(desk, cast, placed(desk, cast, zone))[0].faults == ()


def test_one_withdrawn_is_neither_sealed_nor_withdrawn_again(desk: Desk, cast: Cast) -> None:
    pipe = placed(desk, cast, a_zone(desk, cast))
    withdraw_penetration(desk, cast.lead.id, pipe.id, "Placed twice")
    with pytest.raises(Conflict) as refused:
        sealed(desk, cast, pipe)
    assert refused.value.code == "penetration-withdrawn" and "Placed twice" in refused.value.message
    with pytest.raises(Conflict):
        withdraw_penetration(desk, cast.lead.id, pipe.id, "Again")
    with pytest.raises(Conflict):
        withdraw_seal(desk, cast.lead.id, pipe.id, "None there")


def test_what_one_crew_lead_placed_and_sealed_another_does_not_take_back(desk: Desk, cast: Cast) -> None:
    other = enter(desk, "Second Lead")
    people.invite(desk, cast.manager.id, cast.project_id, other.email, CREW_LEAD)
    pipe = placed(desk, cast, a_zone(desk, cast))
    sealed(desk, cast, pipe)
    for take_back in (withdraw_seal, withdraw_penetration):
        with pytest.raises(NotAllowed):
            take_back(desk, other.id, pipe.id, "Mine")
        take_back(desk, cast.manager.id, pipe.id, "Taken out")


def test_that_there_are_none_is_stated_once_and_only_while_none_stands(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    a_walk(desk, cast, zone)
    pipe = placed(desk, cast, zone)
    with pytest.raises(Conflict) as refused:
        state_none(desk, cast.lead.id, zone.id, "penetrations")
    assert refused.value.code == "some-here" and "B-P01" in refused.value.message
    withdraw_penetration(desk, cast.lead.id, pipe.id, "Never there")
    assert blockers_of(desk, cast, zone) == ["none-stated"]
    assert state_none(desk, cast.lead.id, zone.id, "penetrations").none_here == ("penetrations",)
    assert blockers_of(desk, cast, zone) == []
    with pytest.raises(Conflict):
        state_none(desk, cast.lead.id, zone.id, "penetrations")
    with pytest.raises(BadInput):
        state_none(desk, cast.lead.id, zone.id, "holes")
    placed(desk, cast, zone)
    assert blockers_of(desk, cast, zone) == ["penetration-not-sealed"], "a statement seals nothing"
