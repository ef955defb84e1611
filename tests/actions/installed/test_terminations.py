"""Describing how film ends along a zone's edge, and logging its seal.

Numbers: the US sheet asks a lap of 6 in and tape of 4 in, taped at 40 °F or more (TRADE.md 2.4 and 10, common
practice, no source). The zone is 80 by 60 ft, drawn at 10 px to the foot, so its sides are known by hand.
"""

from __future__ import annotations

from typing import Any

import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.actions.installed.terminations import (
    describe_edge,
    edge_view,
    seal_edge,
    unseal_edge,
    withdraw_edge,
)
from service.actions.people import people
from service.domain.nouns.installed import (
    FREE_EDGE,
    IMPEDIMENT,
    JOINT,
    OVER_FOOTING,
    SHORT_OF_FOOTING,
    TERMINATION_KINDS,
    TO_WALL,
    Termination,
)
from service.domain.nouns.site import Zone
from service.domain.words.refusals import BadInput, Conflict, NotAllowed, NotFound
from tests import builders
from tests.cast import Cast, assemble, enter

SEALED = {"sealed": True, "cleaned": True, "dry": True, "tape_width": "4 in"}
AT_JOINT = {"sealed": True, "cleaned": True, "dry": True, "runs_past": "6 in", "protected": True}
ASKED = {OVER_FOOTING: {"authority": "Engineer, S-101"}, SHORT_OF_FOOTING: {"authority": "Code 1907"}}
ASKED[IMPEDIMENT] = {"what": "waterstop"}


@pytest.fixture
def cast(desk: Desk) -> Cast:
    """A project whose gate asks for its edges."""
    return assemble(desk, demands=("terminations",))


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    made = builders.a_zone(desk, cast)
    builders.a_walk(desk, cast, made)
    return made


def to_wall(desk: Desk, cast: Cast, zone: Zone, *edges: int, **more: Any) -> list[Termination]:
    given = {"kind": TO_WALL, "edges": list(edges), **more}
    return describe_edge(desk, cast.lead.id, zone.id, given)


def held_for(desk: Desk, cast: Cast, zone: Zone) -> list[str]:
    return [code for code in builders.blockers_of(desk, cast, zone) if code.startswith("edge-")]


# --- describing ------------------------------------------------------------------------------------------


def test_a_zone_nobody_described_is_held_for_each_of_its_sides(desk: Desk, cast: Cast, zone: Zone) -> None:
    assert held_for(desk, cast, zone) == ["edge-not-described"] * 4


def test_sides_given_together_become_a_stretch_each_with_tags_that_count_on(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    first = to_wall(desk, cast, zone, 1, 2)
    second = to_wall(desk, cast, zone, 4, 4)
    assert [stretch.tag for stretch in (*first, *second)] == ["B-E01", "B-E02", "B-E03"]
    assert held_for(desk, cast, zone).count("edge-not-described") == 1
    assert held_for(desk, cast, zone).count("edge-not-sealed") == 3


def test_all_that_is_left_is_described_in_one_go(desk: Desk, cast: Cast, zone: Zone) -> None:
    run = {"from": {"edge": 1, "distance": "20 ft"}, "to": {"edge": 2, "distance": "10 ft"}}
    describe_edge(desk, cast.lead.id, zone.id, {"kind": TO_WALL, **run})
    rest = describe_edge(desk, cast.lead.id, zone.id, {"kind": FREE_EDGE, "bare": True})
    # 20 ft of side 1, 50 of the 60 ft of side 2, sides 3 and 4 whole: by hand, 10 px to the foot.
    lengths = sorted(
        (abs(a[0] - b[0]) + abs(a[1] - b[1])) / 10_000 for (a, b) in (stretch.path for stretch in rest)
    )
    assert lengths == [20, 50, 60, 80]
    assert "edge-not-described" not in held_for(desk, cast, zone)


def test_a_run_round_corners_is_one_stretch(desk: Desk, cast: Cast, zone: Zone) -> None:
    run = {"from": {"edge": 4, "distance": "0"}, "to": {"edge": 2, "distance": "60 ft"}}
    (stretch,) = describe_edge(desk, cast.lead.id, zone.id, {"kind": TO_WALL, **run})
    corners = [(100, 700), (100, 100), (900, 100), (900, 700)]
    assert stretch.path == tuple((x * 1000, y * 1000) for x, y in corners)


def test_what_is_described_already_is_refused_and_named(desk: Desk, cast: Cast, zone: Zone) -> None:
    to_wall(desk, cast, zone, 1, 2)
    run = {"from": {"edge": 4, "distance": "59 ft"}, "to": {"edge": 1, "distance": "1 in"}}
    for given in ({"edges": [3, 2]}, run):
        with pytest.raises(BadInput) as refusal:
            describe_edge(desk, cast.lead.id, zone.id, {"kind": TO_WALL, **given})
        assert refusal.value.code == "described-already"
        assert "B-E0" in refusal.value.message
    assert len(zone_view(desk, cast.lead.id, zone.id).terminations()) == 2, "side 3 was not kept by itself"


def test_nothing_left_to_describe_is_told(desk: Desk, cast: Cast, zone: Zone) -> None:
    to_wall(desk, cast, zone, 1, 2, 3, 4)
    with pytest.raises(Conflict, match="described already"):
        describe_edge(desk, cast.lead.id, zone.id, {"kind": TO_WALL, "bare": True})


@pytest.mark.parametrize("kind", [OVER_FOOTING, SHORT_OF_FOOTING])
def test_film_at_a_footing_asks_whose_word_it_is_and_keeps_it(
    desk: Desk, cast: Cast, zone: Zone, kind: str
) -> None:
    """Issue and TRADE.md 2.1: the engineer's or the local code's word (common practice, no source)."""
    with pytest.raises(BadInput) as refusal:
        describe_edge(desk, cast.lead.id, zone.id, {"kind": kind, "edges": [1], "authority": "  "})
    assert set(refusal.value.fields) == {"authority"}
    given = {"kind": kind, "edges": [1], "authority": "Engineer, drawing S-101 note 4"}
    (stretch,) = describe_edge(desk, cast.lead.id, zone.id, given)
    assert stretch.authority == "Engineer, drawing S-101 note 4"


def test_an_impediment_is_named(desk: Desk, cast: Cast, zone: Zone) -> None:
    with pytest.raises(BadInput) as refusal:
        describe_edge(desk, cast.lead.id, zone.id, {"kind": IMPEDIMENT, "edges": [1]})
    assert set(refusal.value.fields) == {"what"}


@pytest.mark.parametrize(
    ("given", "field", "words"),
    [
        ({}, "edges", "which part of the edge"),
        ({"edges": []}, "edges", "which part of the edge"),
        ({"edges": [5]}, "edges", "no edge 5"),
        ({"edges": [0]}, "edges", "by their numbers"),
        ({"edges": [5], "bare": True}, "edges", "sides 1 to 4"),
        ({"edges": [1], "from": {"edge": 1, "distance": "1 ft"}, "to": {"edge": 1, "distance": "2 ft"}},
         "edges", "not both"),
        ({"from": {"edge": 1, "distance": "1 ft"}}, "to", "A place is"),
        ({"from": {"edge": 1, "distance": ""}, "to": {"edge": 1, "distance": "2 ft"}}, "from", "how far"),
        ({"from": {"edge": 1, "distance": "six"}, "to": {"edge": 1, "distance": "2 ft"}}, "from", ""),
        ({"from": {"edge": 9, "distance": "1 ft"}, "to": {"edge": 1, "distance": "2 ft"}}, "from", "edge 9"),
        ({"from": {"edge": 1, "distance": "1 ft"}, "to": {"edge": 2, "distance": "61 ft"}}, "to", "shorter"),
        ({"from": {"edge": 1, "distance": "9 ft"}, "to": {"edge": 1, "distance": "2 ft"}}, "to", "swap"),
        ({"edges": [1], "kind": "glued"}, "kind", "one of: over the footing"),
    ],
)  # fmt: skip
def test_what_the_edge_does_not_have_is_refused_beside_its_field(
    desk: Desk, cast: Cast, zone: Zone, given: dict[str, Any], field: str, words: str
) -> None:
    with pytest.raises(BadInput) as refusal:
        describe_edge(desk, cast.lead.id, zone.id, {"kind": TO_WALL, **given})
    assert set(refusal.value.fields) == {field}
    assert words in refusal.value.fields[field]
    assert zone_view(desk, cast.lead.id, zone.id).terminations() == []


# --- sealing ---------------------------------------------------------------------------------------------


def test_one_stretch_left_holds_the_zone_until_it_is_sealed(desk: Desk, cast: Cast, zone: Zone) -> None:
    one, two, three, four = to_wall(desk, cast, zone, 1, 2, 3, 4)
    seal_edge(desk, cast.lead.id, one.id, {**SEALED, "also": [two.id, three.id]})
    assert held_for(desk, cast, zone) == ["edge-not-sealed"]
    (judged,) = seal_edge(desk, cast.lead.id, four.id, SEALED)
    assert judged.faults == ()
    assert builders.state_of(desk, cast, zone) == "clear"


def test_stretches_sealed_in_one_go_get_an_entry_each_and_none_where_one_is_wrong(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    one, two = to_wall(desk, cast, zone, 1, 2)
    (joint,) = describe_edge(desk, cast.lead.id, zone.id, {"kind": JOINT, "edges": [3]})
    with pytest.raises(BadInput) as refusal:
        seal_edge(desk, cast.lead.id, one.id, {**SEALED, "also": [two.id, joint.id]})
    assert set(refusal.value.fields) == {"also"}
    assert held_for(desk, cast, zone).count("edge-not-sealed") == 3
    before = zone_view(desk, cast.lead.id, zone.id).seen.head
    judged = seal_edge(desk, cast.lead.id, one.id, {**SEALED, "lot": "T-118", "also": [two.id, one.id]})
    assert [each.stretch.seal.work.lot for each in judged if each.stretch.seal] == ["T-118", "T-118"]
    assert zone_view(desk, cast.lead.id, zone.id).seen.head == before + 2


@pytest.mark.parametrize("kind", TERMINATION_KINDS)
def test_every_kind_sealed_as_asked_holds_nothing_and_with_a_no_it_holds(
    desk: Desk, cast: Cast, zone: Zone, kind: str
) -> None:
    given = {"kind": kind, "edges": [1], **ASKED.get(kind, {})}
    (stretch,) = describe_edge(desk, cast.lead.id, zone.id, given)
    done = AT_JOINT if kind == JOINT else SEALED
    for answer in ("sealed", "cleaned", "dry"):
        (judged,) = seal_edge(desk, cast.lead.id, stretch.id, {**done, answer: False})
        assert len(judged.faults) == 1
        assert "edge-not-sealed" in held_for(desk, cast, zone)
    (judged,) = seal_edge(desk, cast.lead.id, stretch.id, done)
    assert judged.faults == ()
    assert "edge-not-sealed" not in held_for(desk, cast, zone)


@pytest.mark.parametrize(
    ("more", "faults"),
    [
        ({"tape_width": "3 15/16 in"}, ("tape-narrow",)),
        ({"tape_width": "0"}, ()),  # mastic
        ({"film_temperature": "40 F"}, ()),
        ({"film_temperature": "39.9 F"}, ("too-cold",)),
    ],
)
def test_a_seal_short_of_the_sheet_is_kept_and_does_not_hold(
    desk: Desk, cast: Cast, zone: Zone, more: dict[str, str], faults: tuple[str, ...]
) -> None:
    (stretch,) = to_wall(desk, cast, zone, 1)
    (judged,) = seal_edge(desk, cast.lead.id, stretch.id, {**SEALED, **more})
    assert judged.faults == faults
    assert judged.stretch.seal is not None


@pytest.mark.parametrize(
    ("more", "faults"),
    [
        ({"runs_past": "5 15/16 in"}, ("runs-past-short",)),
        ({"runs_past": "0"}, ("runs-past-short",)),
        ({"protected": False}, ("not-protected",)),
        ({}, ()),
    ],
)
def test_film_runs_past_a_joint_by_the_lap_and_is_protected(
    desk: Desk, cast: Cast, zone: Zone, more: dict[str, Any], faults: tuple[str, ...]
) -> None:
    (stretch,) = describe_edge(desk, cast.lead.id, zone.id, {"kind": JOINT, "edges": [2]})
    (judged,) = seal_edge(desk, cast.lead.id, stretch.id, {**AT_JOINT, **more})
    assert judged.faults == faults


def test_every_question_left_open_is_told_at_once_and_nothing_is_recorded(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    (wall,) = to_wall(desk, cast, zone, 1)
    (joint,) = describe_edge(desk, cast.lead.id, zone.id, {"kind": JOINT, "edges": [2]})
    for stretch, fields in (
        (wall, {"sealed", "cleaned", "dry", "tape_width"}),
        (joint, {"sealed", "cleaned", "dry", "runs_past", "protected"}),
    ):
        with pytest.raises(BadInput) as refusal:
            seal_edge(desk, cast.lead.id, stretch.id, {})
        assert set(refusal.value.fields) == fields
    for more, field in (
        ({"film_temperature": "warm"}, "film_temperature"),
        ({"tape_width": "wide"}, "tape_width"),
        ({"runs_past": "6 in"}, "runs_past"),
        ({"also": ["nothing"]}, "also"),
    ):
        with pytest.raises(BadInput) as refusal:
            seal_edge(desk, cast.lead.id, wall.id, {**SEALED, **more})
        assert set(refusal.value.fields) == {field}
    assert edge_view(desk, cast.lead.id, wall.id)[1].seal is None


# --- taking back -----------------------------------------------------------------------------------------


def test_a_seal_withdrawn_holds_the_zone_again_and_a_stretch_withdrawn_is_bare(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    (stretch,) = to_wall(desk, cast, zone, 1)
    seal_edge(desk, cast.lead.id, stretch.id, SEALED)
    assert unseal_edge(desk, cast.lead.id, stretch.id, "It came loose.").seal is None
    assert "edge-not-sealed" in held_for(desk, cast, zone)
    with pytest.raises(Conflict, match="No seal is logged"):
        unseal_edge(desk, cast.lead.id, stretch.id, "Again.")
    withdraw_edge(desk, cast.lead.id, stretch.id, "Wrong side.")
    assert held_for(desk, cast, zone) == ["edge-not-described"] * 4
    for late in (lambda: withdraw_edge(desk, cast.lead.id, stretch.id, "Again."),
                 lambda: seal_edge(desk, cast.lead.id, stretch.id, SEALED)):  # fmt: skip
        with pytest.raises(Conflict, match="withdrawn"):
            late()
    assert [made.tag for made in to_wall(desk, cast, zone, 1)] == ["B-E02"], "a tag is never used twice"


def test_only_the_maker_or_a_project_manager_takes_an_edge_or_its_seal_back(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    other = enter(desk, "Second Lead")
    people.invite(desk, cast.manager.id, cast.project_id, other.email, "crew lead")
    (stretch,) = to_wall(desk, cast, zone, 1)
    seal_edge(desk, other.id, stretch.id, SEALED)
    with pytest.raises(NotAllowed):
        unseal_edge(desk, cast.lead.id, stretch.id, "Not mine.")
    with pytest.raises(NotAllowed):
        withdraw_edge(desk, other.id, stretch.id, "Not mine.")
    with pytest.raises(NotAllowed):
        withdraw_edge(desk, cast.inspector.id, stretch.id, "Not mine.")
    unseal_edge(desk, other.id, stretch.id, "It came loose.")
    withdraw_edge(desk, cast.manager.id, stretch.id, "Wrong side.")


def test_an_inspector_describes_nothing_and_an_outsider_finds_nothing(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    (stretch,) = to_wall(desk, cast, zone, 1)
    with pytest.raises(NotAllowed):
        describe_edge(desk, cast.inspector.id, zone.id, {"kind": TO_WALL, "edges": [2]})
    with pytest.raises(NotAllowed):
        seal_edge(desk, cast.inspector.id, stretch.id, SEALED)
    for look in (lambda: describe_edge(desk, cast.outsider.id, zone.id, {"kind": TO_WALL, "edges": [2]}),
                 lambda: seal_edge(desk, cast.outsider.id, stretch.id, SEALED),
                 lambda: edge_view(desk, cast.outsider.id, stretch.id)):  # fmt: skip
        with pytest.raises(NotFound):
            look()
