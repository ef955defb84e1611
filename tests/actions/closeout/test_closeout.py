"""The closeout told from a history alone: every kind of thing, who and when, and nothing that was not."""

from __future__ import annotations

import base64
import json
from dataclasses import asdict, replace
from typing import Any

import pytest

from service.actions.closeout.closeout import closeout_of
from service.domain.nouns.installed import DAM, JOINT, LAP_AGAIN, OVER_FOOTING, Raised
from service.domain.nouns.rules import Number, ready_made
from service.domain.shapes.outlines import Rectangle
from service.history.closeout.told import MarkTold, ThingTold, ZoneTold
from service.history.closeout.whole import Closeout
from service.history.facts import evidence as e
from service.history.facts import facts as f
from service.history.facts import film as h
from service.history.facts import installed as g
from service.history.proofs.checkpoints import fingerprint, in_fours
from tests.history.cases import CASES, Case
from tests.history.story import (
    EYE,
    INCH,
    MANAGER,
    NOON,
    Story,
    edge,
    edge_seal,
    film,
    laid,
    look,
    lot,
    mark,
    patch,
    pipe,
    repair,
    ring,
    seal,
    seam_walk,
    signed,
    whole,
    work,
)

UNSAID = (None,) * 8  # what the maker of a tape does not state
TAPE = h.MaterialSubmitted("m2", "tape", "Seam tape", "", *UNSAID, 40_000, "")
NAMES = {"lou": "Lou Lead", "max": "Max Manager", "ina": "Ina Inspector"}
UNNAMED = "A person no longer named"


def told(story: Story, **names: str) -> Closeout:
    return closeout_of(story.site, story.entries, names or NAMES)


def zone(story: Story, letter: str = "B") -> ZoneTold:
    [found] = [zone for zone in told(story).zones if zone.letter == letter]
    return found


def marked(story: Story, tag: str) -> MarkTold:
    [found] = [mark for mark in zone(story).marks if mark.tag == tag]
    return found


def everything() -> Story:
    """A zone released, pulled back, released and placed, with one of every kind of thing in it, and more that
    was taken back or came late."""
    story = whole().tell(
        TAPE,
        lot("l2", "m2", "T-7"),
        pipe("2", (320, 300)), pipe("3", (324, 300)),
        seal("c2", "2", also=("3",), method=DAM, close_cut=True, collar_width_nm=0, collar_length_nm=0,
             work=work(tape_width_nm=0, lot="M-404")),
        mark("03", (700, 500)), mark("04", (705, 500)),
        patch("p3", "03", (700, 500), also=("04",), sides=None, outline=Rectangle(40 * INCH, 30 * INCH),
              overlap_nm=6 * INCH + 1, film_temperature="58 F", note="one piece over both"),
        mark("05", (400, 200)), f.DefectWithdrawn("05", "zb", "B-05", "a shadow"),
        mark("06", (450, 150)), patch("p6", "06", (450, 150), overlap_nm=5 * INCH + INCH // 2, meets=False),
        f.PatchWithdrawn("p6", "06", "zb", "B-06", "came off in the wind"),
        patch("p7", "06", (450, 150)),
        f.PhotoAdded("ph", "06", "zb", "B-06", "ab" * 32, "cd" * 32, 640, 480),
        g.CauseTold("06", "zb", "B-06", "wind"),
        f.ZoneHeld("h1", "zb", "B", "frost", "white this morning"),
    )  # fmt: skip
    story.tell(f.HoldLifted("h1", "zb", "B", "frost", "thawed and dried"), who=EYE)
    story.tell(seen := g.PatchLookedAt("k3", "p3", "03", "zb", "B-03", True, "well taped"), who=EYE)
    story.tell(replace(seen, look="k7", patch="p7", defect="06", tag="B-06"), who=EYE)
    story.release("r1").tell(f.ReleasePulledBack("r1", "zb", "B", "rain is coming"), who=MANAGER)
    story.release("r2")
    return story.tell(f.ZonePlaced("zb", "B", NOON, "60 cu yd", False, ()), who=MANAGER)


def things(told: ZoneTold) -> list[MarkTold | ThingTold]:
    return [*told.marks, *told.penetrations, *told.seams, *told.edges]


def strings(told: Closeout) -> str:
    return json.dumps(asdict(told), default=str)


def test_every_kind_of_thing_of_a_zone_is_told() -> None:
    found = zone(everything())
    assert [mark.tag for mark in found.marks] == ["B-01", "B-02", "B-03", "B-04", "B-05", "B-06"]
    assert [pipe.tag for pipe in found.penetrations] == ["B-P1", "B-P2", "B-P3"]
    assert [seam.tag for seam in found.seams] == ["B-S1"]
    assert [edge.tag for edge in found.edges] == ["B-E1", "B-E2", "B-E3", "B-E4"]
    assert [(laid.number, laid.material, laid.shown_class) for laid in found.laid] == [
        ("F-1", "Film m1", "A")
    ]
    assert [release.force for release in found.releases] == ["pulled back", "the zone was placed under it"]
    assert [hold.cause for hold in found.holds] == ["frost"]
    assert len(found.signed) == 8 and {step.state for step in found.steps} == {"signed"}
    assert found.state == "placed" and found.placed is not None
    assert (found.placed.at, found.placed.volume, found.placed.against) == (NOON, "60 cu yd", ())


def test_everything_says_who_did_it_when_and_at_which_entry() -> None:
    story = everything()
    found = zone(story)
    by = {entry.seq: entry for entry in story.entries}
    acts = [
        found.outlined,
        found.walked,
        *(mark.act for mark in found.marks),
        *(patch.act for mark in found.marks for patch in mark.patches),
        *(repair.act for mark in found.marks for repair in mark.repairs),
        *(look.act for mark in found.marks for patch in mark.patches for look in patch.looks),
        *(thing.act for thing in (*found.penetrations, *found.seams, *found.edges)),
        *(thing.made.act for thing in (*found.penetrations, *found.seams, *found.edges) if thing.made),
        *(release.act for release in found.releases),
        *(release.pulled_back.act for release in found.releases if release.pulled_back),
        *(hold.act for hold in found.holds),
        *(laid.act for laid in found.laid),
    ]
    assert len(acts) > 30
    for act in acts:
        assert act is not None
        assert (NAMES[by[act.seq].by], by[act.seq].role, by[act.seq].at) == (act.who, act.role, act.at)
    [lifted] = [hold.lifted for hold in found.holds]
    assert lifted is not None and (lifted.act.who, lifted.why) == ("Ina Inspector", "thawed and dried")


def test_a_patch_tells_its_overlap_and_the_minimum_as_they_were_judged_then() -> None:
    """The rule sheet asks 6 in when both are logged, and 12 in later: what was judged then stays told so."""
    story = everything()
    asked = Number(12 * INCH, "the engineer")
    stricter = replace(replace(ready_made("us"), second_look=True), patch_overlap=asked)
    story.tell(f.RuleSheetChanged(stricter, ("patch_overlap",)), who=MANAGER)
    came_off, patch_now = marked(story, "B-06").patches
    assert came_off.overlap is not None and came_off.undone is not None
    assert (came_off.overlap.text, came_off.minimum.text, came_off.met) == ("5 1/2 in", "6 in", False)
    assert came_off.undone.why == "came off in the wind"
    assert patch_now.overlap is not None
    assert (patch_now.overlap.nm, patch_now.minimum.nm, patch_now.met) == (6 * INCH, 6 * INCH, True)
    assert told(story).numbers[0].words == "12 in"
    assert marked(story, "B-06").state == "not sealed"
    assert "short by 6 in" in marked(story, "B-06").why


def test_overlaps_are_shown_rounded_down_and_minimums_up() -> None:
    story = whole().tell(
        mark("09", (700, 600)),
        patch("p9", "09", (700, 600), overlap_nm=6 * INCH - 1, minimum_nm=6 * INCH + 1, meets=False),
    )
    [logged] = marked(story, "B-09").patches
    assert logged.overlap is not None
    assert (logged.overlap.text, logged.minimum.text) == ("5 15/16 in", "6 1/16 in")


def test_one_patch_over_two_marks_is_told_on_both() -> None:
    on, under = marked(everything(), "B-03"), marked(everything(), "B-04")
    assert on.patches[0].over == ("B-04",)
    assert (under.patches, under.under, under.state) == ((), ("B-03",), "sealed")


def test_a_repair_tells_its_lap_and_the_least_lap_asked_then() -> None:
    """The zone asks 8 in from then on; the repair was held to 6 in."""
    lapped = work(note="lapped anew")
    story = whole().tell(
        mark("07", (500, 400), "short lap"),
        repair("q7", "07", LAP_AGAIN, lap_nm=7 * INCH, taped=True, work=lapped),
        g.NumbersRaised("zb", "B", (Raised("lap", 8 * INCH, "S-101"),), ("lap",)),
    )
    [again] = marked(story, "B-07").repairs
    assert again.lap is not None and again.minimum is not None
    assert (again.method, again.lap.text, again.minimum.text) == ("lap again", "7 in", "6 in")
    assert again.how.startswith("taped, cleaned, dry, 4 in tape")
    [cleaned] = marked(story, "B-02").repairs
    assert (cleaned.lap, cleaned.minimum) == (None, None)
    [more] = zone(story).more_asked
    assert (more.term, more.words, more.source) == ("Lap", "8 in", "S-101")


def test_a_seam_tells_its_least_lap_and_the_lap_asked_when_it_was_walked() -> None:
    story = whole().tell(seam_walk("w2", "1", lap_nm=6 * INCH - 1))
    [seam] = zone(story).seams
    assert seam.made is not None
    assert seam.made.words == "least lap 5 15/16 in of 8 measured, 6 in asked then"
    assert (seam.state, seam.size) == ("not sealed", "80 ft")


def test_a_seal_tells_how_it_was_made_and_what_it_goes_round() -> None:
    pipes = {pipe.tag: pipe for pipe in zone(everything()).penetrations}
    collar, dam = pipes["B-P1"].made, pipes["B-P3"].made
    assert collar is not None and dam is not None
    assert collar.words == "collar 12 in wide, 22 in long"
    assert (
        collar.how
        == "fingers cut, taped to what it wraps, taped to the film, cleaned, dry, 4 in tape, film at 60 °F"
    )
    assert dam.words == "sealant in a dam, one round B-P2, B-P3"
    assert dam.lot == "M-404"


def test_what_was_not_done_is_told_first() -> None:
    story = whole().tell(seal("c2", "1", fingers=False, work=work(dry=False)))
    pipe = zone(story).penetrations[0]
    assert pipe.made is not None and pipe.made.how.startswith(
        "not fingers cut, not dry, taped to what it wraps"
    )
    assert pipe.state == "not sealed" and "fingers" in pipe.why


def test_an_edge_tells_on_whose_word_it_lies_and_what_of_it_nobody_described() -> None:
    story = whole().tell(
        g.TerminationWithdrawn("1", "zb", "B-E1", "drawn wrongly"),
        edge("5", 1, OVER_FOOTING, path=ring(((100, 100), (500, 100))), authority="the engineer, 3 March"),
        g.TerminationWithdrawn("2", "zb", "B-E2", "a joint"),
        edge("6", 2, JOINT), edge_seal("es6", "6", runs_past_nm=7 * INCH, protected=True),
    )  # fmt: skip
    edges = {edge.tag: edge for edge in zone(story).edges}
    assert edges["B-E5"].kind.endswith("on the word of: the engineer, 3 March")
    assert (edges["B-E5"].where, edges["B-E5"].state) == ("part of side 1", "open")
    joint, gone = edges["B-E6"].made, edges["B-E1"].undone
    assert joint is not None and "film runs 7 in past the joint, protected" in joint.words
    assert gone is not None and (gone.why, edges["B-E1"].state) == ("drawn wrongly", "withdrawn")
    assert zone(story).bare == ("40 ft of side 1",)


def test_each_lot_says_in_which_zone_it_lies_and_strays_are_named() -> None:
    story = everything().tell(
        lot("l3", "m1", "F-3"),
        h.LotLaid("y3", "l3", "zc", "C", "F-3", ""),
        laid("y4", "l3", "F-3"),
        h.LayingWithdrawn("y4", "l3", "zb", "B", "F-3", "another zone"),
    )
    found = told(story)
    lots = {lot.number: lot for material in found.materials for lot in material.lots}
    assert (lots["F-1"].laid_in, lots["F-3"].laid_in, lots["T-7"].laid_in) == (("B",), ("C",), ())
    assert (lots["F-1"].worked_in, lots["F-3"].worked_in) == (("B",), ())
    assert [(stray.number, stray.tags) for stray in found.stray_lots] == [("M-404", ("B-P2", "B-P3"))]
    gone = told(everything().tell(h.LotWithdrawn("l1", "m1", "F-1", "misread")))
    assert [stray.number for stray in gone.stray_lots] == ["F-1", "M-404"]
    off = everything().tell(g.PenetrationWithdrawn("3", "zb", "B-P3", "no pipe"))
    assert told(off).stray_lots[0].tags == ("B-P2",)
    [back] = [laid.undone for laid in zone(story).laid if laid.undone]
    assert back.why == "another zone"


def test_a_material_says_what_its_maker_left_unsaid_and_how_it_stands() -> None:
    story = whole().tell(film("m2", puncture_g=None, thickness_nm=None), lot("l2", "m2", "F-2"))
    [first, second] = told(story).materials
    assert (first.shown_class, first.permeance, first.thickness) == ("A", "0.01 perm", "15 mil")
    assert first.stands == "meets the rule sheet"
    assert (second.shown_class, second.thickness) == ("none shown", "not stated")
    assert dict(second.stated)["Puncture"] == "not stated"
    assert second.stands.startswith("below the rule sheet: ")


def test_a_zone_placed_without_release_says_what_stood_against_it_for_ever() -> None:
    story = whole().tell(
        mark("09", (700, 600)),
        f.ZonePlaced("zb", "B", NOON, "60 cu yd", True, ("B-09 is open: hole",)),
        patch("p9", "09", (700, 600)),
    )
    found = zone(story)
    assert found.placed is not None
    assert (found.state, found.placed.without_release) == ("placed without release", True)
    assert found.placed.against == ("B-09 is open: hole",)


@pytest.mark.parametrize(
    ("then", "force"),
    [
        ((), "stands"),
        ((mark("09", (700, 600)),), "fell away: what it released changed"),
        ((f.ReleasePulledBack("r1", "zb", "B", "rain"),), "pulled back"),
    ],
)
def test_a_release_says_what_became_of_it(then: tuple[Any, ...], force: str) -> None:
    story = whole().release("r1").tell(*then)
    [release] = told(story).releases
    assert (release.force, release.letter, release.act.who) == (force, "B", "Max Manager")
    assert release.digest == story.site.releases["r1"].digest


def test_a_release_that_another_followed_says_so() -> None:
    story = whole().release("r1").tell(mark("09", (700, 600)), patch("p9", "09", (700, 600)))
    story.tell(look("k9", "p9", "09"), who=EYE).release("r2")
    forces = [release.force for release in told(story).releases]
    assert forces == ["a later release took its place", "stands"]
    unready = told(whole().release().tell(f.ZonePlaced("zb", "B", NOON, "", True, ("held",)))).releases
    assert [release.force for release in unready] == ["fell away before the zone was placed"]


def test_a_mark_that_came_after_placing_is_told_as_that() -> None:
    story = everything().tell(mark("09", (700, 600)))
    assert marked(story, "B-09").after_placing
    assert any("B-09 is open" in words for words in zone(story).against)


def test_a_hold_point_that_was_signed_for_another_outline_does_not_count() -> None:
    story = whole().tell(signed("n1", "laps", False), who=EYE)
    refused = zone(story).signed[-1]
    assert (refused.step, refused.accepted, refused.counts, refused.act.who) == (
        "laps", False, True, "Ina Inspector"
    )  # fmt: skip
    story.tell(f.ZoneChanged("zb", "North bay", ring(((100, 100), (900, 100), (900, 690), (100, 700))), None))
    assert not any(signature.counts for signature in zone(story).signed)
    assert zone(story).walked is None


def test_a_zone_taken_off_the_sketch_stands_last_with_its_reason_and_asks_for_no_tests() -> None:
    story = everything().tell(f.ZoneWithdrawn("zc", "merged into B"), who=MANAGER)
    found = told(story)
    assert [(zone.letter, zone.state) for zone in found.zones] == [
        ("B", "placed"),
        ("C", "taken off the sketch"),
    ]
    assert found.zones[1].undone is not None and found.zones[1].undone.why == "merged into B"
    [slab] = found.floor.slabs
    assert [zone.name for zone in slab.zones] == ["Zone B"]


def test_floor_tests_are_counted_for_every_zone_and_for_the_slab_as_one() -> None:
    """Zones B and C are 80 by 60 ft, 4800 ft² each, 9600 ft² together: ASTM F2170's counts (a checklist of
    2018) are 3 + 4 = 7 each and 3 + 9 = 12 for the whole."""
    [slab] = told(everything()).floor.slabs
    assert [(zone.area and zone.area.text, zone.count) for zone in slab.zones] == [("4,800 sq ft", 7)] * 2
    assert (slab.whole.area and slab.whole.area.text, slab.whole.count) == ("9,600 sq ft", 12)
    assert (slab.one_by_one, slab.placed) == (14, 1)
    assert "add up" in slab.words and "Concrete is in 1 of its 2 zones." in slab.words


def test_a_sketch_with_no_scale_counts_no_tests_and_says_why() -> None:
    story = Story().tell(
        f.ProjectStarted("Slab", "us", "UTC", ready_made("us")),
        f.SketchAdded("s", "Slab", "0" * 64, None, 3000, 2000, 5),
        f.ZoneOutlined("zb", "s", "B", "North bay", ring(((1, 1), (9, 1), (9, 9))), None),
        who=MANAGER,
    )
    found = told(story)
    [slab] = found.floor.slabs
    assert (slab.whole.count, slab.zones[0].count, found.zones[0].area) == (None, None, None)
    assert "no scale" in slab.words


def test_a_project_with_nothing_yet_has_a_closeout_that_says_so() -> None:
    story = Story().tell(f.ProjectStarted("Slab", "us", "UTC", ready_made("us")), who=MANAGER)
    found = told(story)
    assert (found.zones, found.materials, found.floor.slabs, found.releases) == ((), (), (), ())
    assert (found.head.up_to, found.head.key, found.head.given) == (1, "", 0)


def test_people_are_told_by_the_name_they_have_today_and_erased_ones_by_none() -> None:
    story = everything().tell(f.PersonJoined("lou", "project manager"), f.PersonLeft("ina"), who=MANAGER)
    told_today = told(story, lou="Louise Renamed", max="Max Manager")
    people = [(who.name, who.role, who.left is not None) for who in told_today.people]
    assert people == [
        ("Max Manager", "project manager", False),
        ("Louise Renamed", "project manager", False),
        (UNNAMED, "inspector", True),
    ]
    assert "Ina Inspector" not in strings(told_today)
    assert [look.act.who for look in told_today.zones[0].marks[0].patches[0].looks] == [UNNAMED]
    assert sum(who.entries for who in told_today.people) == len(story.entries)


def test_nothing_is_told_that_no_entry_names() -> None:
    """Every tag, lot and name of the closeout is one of the history's."""
    story = everything()
    known = {entry.tag for entry in story.entries if entry.tag} | {"B-P2", "B-P3"}
    found = told(story)
    for each in found.zones:
        assert {thing.tag for thing in things(each)} <= known
    assert {material.name for material in found.materials} == {"Film m1", "Seam tape"}


def test_the_closeout_says_at_which_head_it_was_told_and_by_which_key() -> None:
    public = bytes(range(32))
    key = base64.b64encode(public).decode()
    story = whole().tell(e.CheckpointGiven("download", key))
    given = len(story.entries)
    story.tell(mark("09", (700, 600)))
    found = told(story)
    assert (found.head.up_to, found.head.given) == (given + 1, given)
    assert found.head.key == fingerprint(public)
    assert any(in_fours(fingerprint(public)) in line for line in found.proof)
    assert any(f"entry {given}" in line for line in found.proof)
    other = base64.b64encode(bytes(32)).decode()
    changed = told(story.tell(e.KeyChanged(key, other)))
    assert (changed.head.key, changed.head.given) == (fingerprint(bytes(32)), given)
    bare = closeout_of(whole().site, whole().entries, NAMES, key=key)
    assert bare.head.key == fingerprint(public) and bare.head.given == 0


def test_cautions_that_outlive_the_pour_each_say_where_they_come_from() -> None:
    """TRADE: silica is 29 CFR 1926.1153 Table 1; the others that stand here have no published source or are
    from memory."""
    cautions = told(whole()).cautions
    assert any("cuts the film" in caution.term for caution in cautions)
    assert any("1926.1153 Table 1" in caution.source and "HEPA" in caution.words for caution in cautions)
    for caution in cautions:
        assert any(mark in caution.source for mark in ("common practice, no source", "CFR", "magazine")), (
            caution
        )


def test_every_change_of_the_numbers_is_told_with_who_made_it() -> None:
    stricter = replace(ready_made("us"), lap=Number(12 * INCH, "the engineer"))
    story = whole().tell(f.RuleSheetChanged(stricter, ("lap",)), who=MANAGER)
    story.tell(g.NumbersRaised("zb", "B", (Raised("lap", 14 * INCH, "S-101"),), ("lap",)), who=MANAGER)
    [sheet, raised] = told(story).numbers_changed
    assert sheet.words == "Max Manager changed the rule sheet: lap 12 in (the engineer)."
    assert "zone B" in raised.words and "14 in (S-101)" in raised.words
    assert (sheet.act.seq, raised.act.seq) == (len(story.entries) - 1, len(story.entries))
    assert told(whole()).numbers_changed == ()


def test_who_stated_that_a_zone_has_none_is_told() -> None:
    story = whole().tell(g.NoneHereStated("zc", "C", "penetrations"), g.NoneHereStated("zc", "C", "seams"))
    found = zone(story, "C")
    assert found.none_here == ("penetrations", "seams")
    assert [(act.who, act.seq) for act in found.none_stated] == [
        ("Lou Lead", len(story.entries) - 1),
        ("Lou Lead", len(story.entries)),
    ]


def test_numbers_stand_with_their_sources_and_what_was_not_asked_for_is_said() -> None:
    sheet = replace(ready_made("us"), gate_demands=("seams",), sets=("irc-2018",))
    story = Story().tell(f.ProjectStarted("Slab", "us", "UTC", sheet), who=MANAGER)
    found = told(story)
    assert found.not_asked == ("penetrations", "terminations", "hold points", "film")
    numbers = {said.term: said for said in found.numbers}
    assert numbers["Patch overlap"].source == sheet.patch_overlap.source
    assert numbers["Asked of the gate besides"].words == "seams"
    assert numbers["Ready-made sets"].words
    assert all(said.source for said in found.numbers)


@pytest.mark.parametrize("case", CASES, ids=str)
def test_whatever_goes_wrong_is_told_as_the_gate_finds_it(case: Case) -> None:
    """Every fault the gate knows, one at a time: what holds the zone stands in the closeout, and no more."""
    story = whole().tell(*case.wrong, who=case.who)
    found = zone(story)
    assert len(found.against) == len(story.standing().blockers) > 0
    unsealed = {thing.tag for thing in things(found) if thing.state in ("open", "not sealed")}
    named = {name for code, name in case.holds if "-" in name}
    waiting = {name for code, name in case.holds if code in ("second-look", "film-below-sheet")}
    assert named - waiting <= unsealed
    assert unsealed <= named


def test_a_mark_on_a_joint_stands_as_its_own_zone_judges_it() -> None:
    """Zone C asks 12 in of every patch, and B 6 in: the same patch is enough on one side of the joint."""
    story = whole().tell(
        g.NumbersRaised("zc", "C", (Raised("patch_overlap", 12 * INCH, "S-101"),), ("patch_overlap",)),
        mark("08", (899.9, 650)),
        patch("p8", "08", (899.9, 650)),
    )
    assert zone(story, "C").reaching_in == ("B-08",)
    assert any("B-08" in words for words in zone(story, "C").against)
    assert marked(story, "B-08").state == "sealed"
