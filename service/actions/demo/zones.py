"""The demo's five zones, each brought to its state: placed, ready to place, held, clear, laying."""

from __future__ import annotations

from collections.abc import Sequence

from service.actions.demo import layout as demo_layout
from service.actions.demo import placing
from service.actions.demo.film import Lots, lay
from service.actions.demo.story import BEFORE_THE_WALK, FILM_LOT, TAPED, Story, circle, rectangle, slit
from service.actions.installed import hold_points
from service.actions.marks import defects, looks, patches, repairs
from service.actions.office import release
from service.actions.sketches import zones
from service.domain.nouns.installed import JOINT, OVER_FOOTING, REPLACE_SHEET, SHORT_OF_FOOTING, TO_WALL, Seam
from service.domain.nouns.rules import LOOK_STEP
from service.domain.nouns.site import Zone

ON_FOOTING = "Structural sheet S-2, note 6: film may lie over the footing"
OFF_FOOTING = "Structural sheet S-2, detail 4: no film under the bearing of the east wall"
GROUND, FILM_DOWN, LAPS, PIPES, EDGES, STEEL, CLEAN = BEFORE_THE_WALK


def placed(story: Story, zone: Zone, lots: Lots) -> None:
    """North-west bay: all in order, released and concreted."""
    story.day(2)
    story.sign(zone, (GROUND,), story.inspector)
    layout, seams = demo_layout.plan(story, zone, lots.film, 10)
    demo_layout.lay(story, layout, lots.film)
    story.sign(zone, (FILM_DOWN,))
    for seam in seams:
        story.walk_seam(seam, 80)
    story.sign(zone, (LAPS,))
    story.collar(story.row(zone, "SDR 35 sewer pipe", "4", (22, 14), (32, 14), 3), "12 in", "20 in")
    story.sign(zone, (PIPES,))
    story.seal_edge(story.edge(zone, (1, 4), TO_WALL))
    story.seal_edge(story.edge(zone, (2, 3), JOINT))
    story.sign(zone, (EDGES,))
    story.day(3)
    for number, place in enumerate(((22, 18), (41, 34), (66, 14))):
        note = "stake hole" if number else ""
        mark = story.mark(zone, place, "hole", circle("5/8 in"), note, "forming")
        story.mend(mark, ("6 1/2 in", "6 1/4 in", "6 in", "7 in"))
    story.sign(zone, (STEEL, CLEAN))
    story.punch_walk(zone)
    story.sign(zone, (LOOK_STEP,), story.inspector)
    story.give_release(zone)
    when = story.day(4, 1.5)
    release.mark_placed(story.desk, story.manager.id, zone.id, when, "93 cu yd")
    placing.measured(story, zone)


def ready(story: Story, zone: Zone, lots: Lots) -> None:
    """North-east bay: a short lap under a cover strip, a patch refused and put right, then released."""
    story.day(4, 4)
    story.sign(zone, (GROUND,), story.inspector)
    layout, seams = demo_layout.plan(story, zone, lots.film, 13)
    demo_layout.lay(story, layout, lots.film)
    story.sign(zone, (FILM_DOWN,))
    _laps_with_a_cover_strip(story, seams)
    story.sign(zone, (LAPS,), story.inspector)
    _pipes_of_the_east_bay(story, zone)
    story.sign(zone, (PIPES,))
    story.seal_edge(story.edge(zone, (1,), OVER_FOOTING, ON_FOOTING))
    story.seal_edge(story.edge(zone, (2,), SHORT_OF_FOOTING, OFF_FOOTING))
    story.seal_edge(story.edge(zone, (3, 4), JOINT))
    story.sign(zone, (EDGES,))
    story.day(5)
    _marks_of_the_east_bay(story, zone)
    story.sign(zone, (STEEL, CLEAN))
    story.punch_walk(zone, "walked after the steel was tied")
    story.sign(zone, (LOOK_STEP,), story.inspector)
    story.give_release(zone)
    placing.planned(story, zone)


def _laps_with_a_cover_strip(story: Story, seams: Sequence[Seam]) -> None:
    first, second, *rest = seams
    story.walk_seam(first, 120)
    (short,) = story.walk_seam(second, 120, {55: "6 1/4 in", 60: "4 1/2 in", 65: "6 in"})
    for seam in rest:
        story.walk_seam(seam, 120)
    story.mend(short, ("8 in", "7 in", "7 in", "7 1/2 in"), note="cover strip along the short lap")


def _pipes_of_the_east_bay(story: Story, zone: Zone) -> None:
    story.mastic(story.row(zone, "EMT conduit", "3/4", (118, 6), (123, 6), 6))
    story.dam(story.row(zone, "PVC pipe", "2", (160, 33), (161.2, 33), 3))
    story.collar([story.place(zone, "steel pipe", "4", (168, 36))], "12 in", "22 in")


def _marks_of_the_east_bay(story: Story, zone: Zone) -> None:
    desk, lead = story.desk, story.lead.id
    tear = story.mark(zone, (104, 22), "tear", rectangle("4 in", "2 in", 20), "by a bar chair", "steel")
    short = story.patch(tear, ("6 1/2 in", "5 3/4 in", "6 1/4 in", "6 1/2 in"), note="cut too narrow")
    patches.withdraw_patch(desk, lead, short.id, "taken up, a wider one goes on")
    story.mend(tear, ("8 in", "9 in", "8 in", "8 in"))
    burn = story.mark(zone, (150, 50), "burn", circle("2 in"), "torch spark", "plumbing")
    patch = story.patch(burn, ("6 in", "6 in", "6 1/4 in", "6 in"))
    story.look(patch, False, "the tape stands off at the far corner")
    story.look(patch, True, "rolled down again while I stood there")
    fold = story.mark(zone, (176, 8), "other", rectangle("12 in", "1 in", 0), "looked like a cut")
    defects.withdraw_defect(desk, lead, fold.id, "a fold in the film, not a cut")


def clear(story: Story, zone: Zone, lots: Lots) -> None:
    """South middle bay: released, torn by a dragged plate, the sheet replaced; it wants a new release."""
    story.day(5, 4)
    story.sign(zone, (GROUND,), story.inspector)
    layout, seams = demo_layout.plan(story, zone, lots.film, 12)
    demo_layout.lay(story, layout, lots.film)
    story.sign(zone, (FILM_DOWN,))
    for seam in seams:
        story.walk_seam(seam, 60)
    story.sign(zone, (LAPS,))
    story.collar(story.row(zone, "PVC pipe", "4", (112, 96), (118, 96), 2), "12 in", "22 in")
    story.sign(zone, (PIPES,))
    story.seal_edge(story.edge(zone, (3,), TO_WALL))
    story.seal_edge(story.edge(zone, (1, 2, 4), JOINT))
    story.sign(zone, (EDGES,))
    story.day(6)
    hole = story.mark(zone, (92, 79), "hole", circle("1/2 in"), "", "steel")
    story.mend(hole, ("6 in", "6 1/2 in", "7 in", "6 in"))
    story.sign(zone, (STEEL, CLEAN))
    story.punch_walk(zone)
    story.sign(zone, (LOOK_STEP,), story.inspector)
    story.give_release(zone)
    corners = [[0, -3], [5, -1], [4, 3], [-3, 4], [-5, 0]]
    polygon = {"shape": "polygon", "points": [[f"{x} ft", f"{y / 2} ft"] for x, y in corners]}
    tear = story.mark(zone, (121, 108), "tear", polygon, "dragged plate", "our own work")
    done = {"method": REPLACE_SHEET, "lap": "8 in", "taped": True, "lot": FILM_LOT, **TAPED}
    repair = repairs.log_repair(story.desk, story.lead.id, tear.id, done).repair
    looks.look_at_repair(story.desk, story.inspector.id, tear.id, repair.id, True)


def held(story: Story, zone: Zone, lots: Lots) -> None:
    """South-west bay: a reason of every kind that can stand side by side."""
    story.day(6, 3)
    story.sign(zone, (GROUND,), story.inspector)
    layout, seams = demo_layout.plan(story, zone, lots.film, 10)
    *most, last = (sheet.number for sheet in layout.sheets)
    demo_layout.lay(story, layout, lots.film, most)
    lay(story, zone, lots.old, "in place of the last sheet, when the other roll ran out")
    demo_layout.lay(story, layout, lots.old, [last], "12 ft wide, where 15 ft were planned")
    story.sign(zone, (FILM_DOWN,))
    _seams_at_fault(story, seams)
    hold_points.sign_hold_point(
        story.desk, story.inspector.id, zone.id, LAPS, False, "two laps short, one seam not walked"
    )
    _pipes_not_sealed(story, zone)
    story.seal_edge(story.edge(zone, (3,), TO_WALL))
    story.seal_edge(story.edge(zone, (1,), JOINT))
    story.seal_edge(story.edge(zone, (2,), JOINT), runs_past="4 in")
    _marks_not_sealed(story, zone)
    told = "the film lies loose by the west wall after the wind"
    zones.hold_zone(story.desk, story.inspector.id, zone.id, "storm", told)
    story.punch_walk(zone)


def _seams_at_fault(story: Story, seams: Sequence[Seam]) -> None:
    first, second, third, _ = seams
    story.walk_seam(first, 80)
    lifted = {"fault": "untaped", "from": "33 ft", "to": "40 ft"}
    story.walk_seam(second, 80, runs=[lifted])
    story.walk_seam(third, 80, {55: "6 in", 60: "4 in", 65: "6 1/2 in"})


def _pipes_not_sealed(story: Story, zone: Zone) -> None:
    story.place(zone, "PVC pipe", "3", (52, 80))
    story.collar([story.place(zone, "copper tube", "2", (14, 92))], "8 in", "11 in")
    told = "no collar yet"
    story.mark(zone, (52, 80), "unsealed penetration", circle("3 1/2 in"), told, by=story.inspector)


def _marks_not_sealed(story: Story, zone: Zone) -> None:
    short = story.mark(zone, (18, 78), "tear", rectangle("4 in", "2 in", 160), "", "steel")
    story.look(story.patch(short, ("6 in", "5 3/4 in", "6 1/4 in", "6 1/2 in")))
    story.mark(zone, (47, 92), "hole", circle("1/2 in"), "stake", "forming")
    story.mark(zone, (61, 76), "tear", slit("30 in", "1/4 in", 35), "", "stored material")
    beside = story.mark(zone, (70, 119.6), "hole", circle("1 in"), "beside the south wall", "steel")
    story.mend(beside, ("6 1/2 in", "7 in", "wall", "6 in"))
    story.patch(story.mark(zone, (26, 106), "hole", circle("1/2 in")), ("7 in", "7 in", "6 1/2 in", "6 in"))


def laying(story: Story, zone: Zone, lots: Lots) -> None:
    """South-east bay: film coming down, nothing walked, standing water in the low spot."""
    story.day(6, 8)
    story.sign(zone, (GROUND,))
    layout, _ = demo_layout.plan(story, zone, lots.film, 10)
    demo_layout.lay(story, layout, lots.film, [1, 2, 3])
    story.edge(zone, (3,), TO_WALL)
    story.mark(zone, (171, 84.5), "short lap", slit("12 ft"), "4 in lap", "our own work")
    zones.hold_zone(story.desk, story.lead.id, zone.id, "standing water", "low spot by the east wall")
