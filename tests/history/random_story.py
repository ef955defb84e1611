"""Stories told at random: two zones side by side, all that can happen to them, much of it at their joint.

Things lie close together on purpose, so that marks, patches, tape, pipes and walls decide about each other.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import replace

from service.domain.nouns.installed import COLLAR, DAM, FREE_EDGE, JOINT, TO_WALL, Raised, SeamRun, Station
from service.domain.nouns.rules import STEPS, RuleSheet, ready_made
from service.domain.nouns.site import Alignment, Patch, Scale
from service.domain.shapes.outlines import Circle, Outline, Polygon, Rectangle, Slit
from service.domain.shapes.sides import Sides
from service.history.facts import facts as f
from service.history.facts import film as h
from service.history.facts import installed as g
from service.history.facts import placing as p
from service.history.facts.every_fact import Fact
from service.history.replay.standing import READY
from tests.history.story import (
    BESIDE,
    CORNERS,
    EYE,
    INCH,
    LEAD,
    MANAGER,
    SCALE,
    Story,
    edge,
    edge_seal,
    film,
    ground,
    lot,
    patch,
    px,
    ring,
    seal,
    work,
)

ZONES = {"zb": "B", "zc": "C"}
RINGS = {"zb": CORNERS, "zc": BESIDE}
# The joint is at 900: most of what is told lies within 12 ft (120 px) of it.
ACROSS, DOWN = (780, 1020), (380, 470)
SHAPES: tuple[Outline, ...] = (
    Circle(INCH), Circle(40 * INCH), Rectangle(4 * INCH, 2 * INCH, 30_000_000),
    Rectangle(60 * INCH, 10 * INCH), Slit(30 * INCH, 0, 60_000_000), 
    Polygon(((-9 * INCH, -4 * INCH), (9 * INCH, -4 * INCH), (0, 9 * INCH))),
)  # fmt: skip
# What a story tells more of than others do.
MUCH_OF: tuple[tuple[str, ...], ...] = (
    ("mark", "patch"), ("mark", "patch", "wall", "edge", "edge_seal", "unwall", "unedge"), (),
    ("pipe", "seal"), ("start", "mark", "seal", "seam_walk"), ("mark", "patch", "unpatch"),
    ("laid", "lot", "unlot", "unmaterial", "patch"),
)  # fmt: skip
SOME_DEMANDS = ((), (), ("penetrations", "seams"))
MARK_KINDS = (
    "hole",
    "hole",
    "tear",
    "short lap",
    "contamination",
    "unsealed penetration",
    "unsealed termination",
)


class Teller:
    """Draws one fact after another that fits what was told before. Same seed, same story."""

    def __init__(self, seed: int) -> None:
        self.draw = random.Random(seed)
        sheet = replace(ready_made("us"), second_look=self.draw.random() < 0.5)
        if self.draw.random() < 0.8:  # with all that can be asked for, hardly any zone is ever clear
            sheet = replace(sheet, gate_demands=self.draw.choice(SOME_DEMANDS), hold_points=())
        self.story: Story = ground(sheet)
        self.count, self.mending = 0, ""
        self.much = MUCH_OF[seed % len(MUCH_OF)]

    def tell(self, times: int) -> Iterator[Fact]:
        """Each fact as it comes, not told yet."""
        ways: list[tuple[int, Callable[[], Fact | None]]] = [
            (9, self.mark), (14, self.patch), (4, self.unpatch), (3, self.unmark), (6, self.repair),
            (2, self.unrepair), (6, self.look), (8, self.pipe), (7, self.seal), (2, self.unseal),
            (2, self.unpipe), (5, self.seam), (5, self.seam_walk), (1, self.unseam), (4, self.edge),
            (4, self.edge_seal), (1, self.unedge), (4, self.wall), (2, self.unwall), (3, self.lot),
            (3, self.laid), (1, self.unlaid), (1, self.unlot), (1, self.unmaterial), (2, self.raise_numbers),
            (2, self.sheet), (1, self.scale), (1, self.redraw), (1, self.revise), (10, self.walk),
            (3, self.hold), (3, self.lift), (8, self.release), (1, self.pull_back), (3, self.sign),
            (2, self.start), (1, self.none_here), (3, self.nothing), (1, self.end),
        ]  # fmt: skip
        weights = [weight * (6 if way.__name__ in self.much else 1) for weight, way in ways]
        while times:
            fact: Fact | None
            if self.mending:
                fact = self.mend(self.mending)
            else:
                self.mending = self.zone() if self.draw.random() < 0.05 else ""
                [(_, way)] = self.draw.choices(ways, weights)
                fact = way()
            if fact is not None:
                times -= 1
                yield fact

    def mend(self, zone: str) -> Fact:
        """What takes away one reason that holds the zone; where there is none, its release."""
        for blocker in self.story.standing(zone).blockers:
            kind, name = blocker.subject
            if kind == "defect":
                mark = self.story.site.defects[name]
                if mark.kind == "hole" and blocker.code == "defect-open":
                    made = patch(
                        self.name("p"), name, (0, 0), sides=Sides(*[12 * INCH] * 4), zone=mark.zone_id
                    )
                    return replace(made, at=mark.at)
                return f.DefectWithdrawn(name, mark.zone_id, "", "a leaf")
            if kind == "hold":
                return f.HoldLifted(name, zone, ZONES[zone], "storm", "dried")
            if blocker.code == "not-walked":
                return f.WalkFinished(zone, ZONES[zone], "")
            if kind == "penetration":
                return g.PenetrationWithdrawn(name, self.story.site.penetrations[name].zone_id, "", "no pipe")
            if kind == "seam":
                return g.SeamWithdrawn(name, self.story.site.seams[name].zone_id, "", "drawn twice")
            if blocker.code == "none-stated":
                return g.NoneHereStated(zone, ZONES[zone], blocker.detail)
        self.mending = ""
        ready = self.story.standing(zone).state == READY
        return (self.start(zone) if ready else None) or self.release(zone)

    # --- what to draw from -------------------------------------------------------------------------------

    def name(self, kind: str) -> str:
        self.count += 1
        return f"{kind}{self.count}"

    def zone(self) -> str:
        return self.draw.choice(("zb", "zb", "zc"))

    def at(self) -> tuple[float, float]:
        """Anywhere about the joint, and often within 3 ft of a mark that is there."""
        name = self.one("defects")
        if name is None or self.draw.random() < 0.4:
            return self.draw.uniform(*ACROSS), self.draw.uniform(*DOWN)
        x, y = self.story.site.defects[name].at
        return x / 1000 + self.draw.uniform(-30, 30), y / 1000 + self.draw.uniform(-30, 30)

    def one(self, shelf: str) -> str | None:
        """The id of something that stands."""
        standing = [n.id for n in getattr(self.story.site, shelf).values() if n.withdrawn is None]
        return self.draw.choice(standing) if standing else None

    # --- marks and what mends them -----------------------------------------------------------------------

    def mark(self) -> Fact:
        name, zone = self.name("d"), self.zone()
        place, shape = px(*self.at()), self.draw.choice(SHAPES)
        kind = self.draw.choice(MARK_KINDS)
        return f.DefectMarked(name, "s", zone, f"{ZONES[zone]}-{name}", kind, place, shape, "")

    def unmark(self) -> Fact | None:
        if (name := self.one("defects")) is None:
            return None
        return f.DefectWithdrawn(name, self.story.site.defects[name].zone_id, "", "a leaf")

    def patch(self) -> Fact | None:
        if (name := self.one("defects")) is None:
            return None
        mark = self.story.site.defects[name]
        others = [d.id for d in self.story.site.defects.values() if d.id != name and d.withdrawn is None]
        also = tuple(self.draw.sample(others, min(len(others), self.draw.choice((0, 0, 0, 1, 2)))))
        made = patch(
            self.name("p"), name, (0, 0), zone=mark.zone_id, also=also,
            cleaned=self.draw.random() < 0.95, tape_width_nm=self.draw.choice((4, 4, 4, 8, 3)) * INCH,
            lot=self.draw.choice(("F-1", "F-2", "")),
            method=self.draw.choice(("sheet patch",) * 9 + ("tape only",)),
        )  # fmt: skip
        made = replace(made, at=mark.at)
        if self.draw.random() < 0.3:
            size = self.draw.choice((20, 60, 110))
            offset = (self.draw.randint(-9, 9) * INCH, self.draw.randint(-9, 9) * INCH)
            return replace(made, sides=None, outline=Rectangle(size * INCH, size * INCH), offset=offset)
        return replace(made, sides=Sides(self.reading(), self.reading(), self.reading(), self.reading()))

    def reading(self) -> int | None:
        """A side of a patch; None where it is sealed to a wall."""
        if self.draw.random() < (0.3 if "wall" in self.much else 0.05):
            return None
        return self.draw.choice((6, 6, 6, 7, 12, 5)) * INCH

    def unpatch(self) -> Fact | None:
        if (name := self.one("patches")) is None:
            return None
        it = self.story.site.patches[name]
        return f.PatchWithdrawn(name, it.defect_id, it.zone_id, "", "came off")

    def repair(self) -> Fact | None:
        if (name := self.one("defects")) is None:
            return None
        method = self.draw.choice(("tape the seam", "lap again", "clean the film", "replace the sheet"))
        zone = self.story.site.defects[name].zone_id
        return g.RepairLogged(self.name("q"), name, zone, "", method, 6 * INCH, True, work(lot="F-1"), True)

    def unrepair(self) -> Fact | None:
        if (found := self._repair()) is None:
            return None
        return g.RepairWithdrawn(found[1], found[0], found[2], "", "done again")

    def _repair(self) -> tuple[str, str, str] | None:
        marks = self.story.site.defects.values()
        all_of = [(d.id, r.id, d.zone_id) for d in marks for r in d.repairs if r.withdrawn is None]
        return self.draw.choice(all_of) if all_of else None

    def look(self) -> Fact | None:
        accepted = self.draw.random() < 0.7
        if self.draw.random() < 0.3 and (found := self._repair()):
            return g.RepairLookedAt(self.name("k"), found[1], found[0], found[2], "", accepted, "")
        if (name := self.one("patches")) is None:
            return None
        it: Patch = self.story.site.patches[name]
        return g.PatchLookedAt(self.name("k"), name, it.defect_id, it.zone_id, "", accepted, "")

    # --- what is installed -------------------------------------------------------------------------------

    def pipe(self) -> Fact:
        name, zone = self.name("n"), self.zone()
        outline = self.draw.choice((Circle(4 * INCH), Circle(30 * INCH), Rectangle(12 * INCH, 6 * INCH)))
        placed = g.PlacedPenetration(name, f"{ZONES[zone]}-P{name}", "pipe", "4 in", outline, px(*self.at()))
        return g.PenetrationsPlaced("s", zone, placed.tag, (placed,), "")

    def seal(self) -> Fact | None:
        if (name := self.one("penetrations")) is None:
            return None
        others = [n for n in self.story.site.penetrations if n != name]
        also = tuple(self.draw.sample(others, min(len(others), self.draw.choice((0, 0, 1)))))
        zone = self.story.site.penetrations[name].zone_id
        made = seal(self.name("c"), name, zone=zone, also=also, method=DAM if also else COLLAR)
        return replace(made, collar_length_nm=200 * INCH, close_cut=True, fingers=self.draw.random() < 0.9)

    def unseal(self) -> Fact | None:
        sealed = [n for n in self.story.site.penetrations.values() if n.seal]
        if not sealed:
            return None
        it = self.draw.choice(sealed)
        assert it.seal is not None
        also = tuple(id for id in it.seal.together if id != it.id)
        return g.SealWithdrawn(it.seal.id, it.id, also, it.zone_id, "", "torn off")

    def unpipe(self) -> Fact | None:
        if (name := self.one("penetrations")) is None:
            return None
        return g.PenetrationWithdrawn(name, self.story.site.penetrations[name].zone_id, "", "no pipe")

    def seam(self) -> Fact:
        name, zone, y = self.name("e"), self.zone(), self.draw.uniform(*DOWN)
        x0, x1 = self.draw.choice(((700, 1100), (600, 880), (905, 1200), (890, 904)))
        return g.SeamDrawn(
            name, "s", zone, f"{ZONES[zone]}-S{name}", "side lap", ring(((x0, y), (x1, y))), ""
        )

    def seam_walk(self) -> Fact | None:
        if (name := self.one("seams")) is None:
            return None
        it = self.story.site.seams[name]
        (x0, y), (x1, _) = it.path
        places = [(round(x0 + (x1 - x0) * part), y) for part in (0.1, 0.3, 0.5, 0.7, 0.9)]
        laps = tuple(Station(at, self.draw.choice((6, 6, 6, 5)) * INCH) for at in places)
        mark = self.one("defects") or "nobody"
        runs = (SeamRun("untaped", places[1], places[2], mark),) if self.draw.random() < 0.3 else ()
        return g.SeamWalked(self.name("w"), name, it.zone_id, "", laps, runs, True, True, work())

    def unseam(self) -> Fact | None:
        if (name := self.one("seams")) is None:
            return None
        return g.SeamWithdrawn(name, self.story.site.seams[name].zone_id, "", "drawn twice")

    def edge(self) -> Fact:
        kind = self.draw.choice((TO_WALL, TO_WALL, FREE_EDGE, JOINT))
        if self.draw.random() < 0.5:  # along the joint
            return edge(self.name("g"), 2, kind)
        return edge(self.name("g"), self.draw.choice((1, 3, 4)), kind)

    def edge_seal(self) -> Fact | None:
        if (name := self.one("terminations")) is None:
            return None
        well = self.draw.random() < 0.8
        return edge_seal(self.name("t"), name, sealed=well, runs_past_nm=6 * INCH, protected=True)

    def unedge(self) -> Fact | None:
        if (name := self.one("terminations")) is None:
            return None
        return g.TerminationWithdrawn(name, "zb", "", "drawn wrongly")

    def wall(self) -> Fact:
        x, y = self.at()
        far = self.draw.choice(((0, 60), (60, 0), (30, 30)))
        a, b = px(x, y), px(x + far[0], y + far[1])
        return f.WallDrawn(self.name("l"), "s", self.zone(), a, b)

    def unwall(self) -> Fact | None:
        if (name := self.one("walls")) is None:
            return None
        return f.WallWithdrawn(name, self.story.site.walls[name].zone_id, "taken down")

    # --- film, numbers and the ground --------------------------------------------------------------------

    def lot(self) -> Fact:
        material = self.one("materials")
        if material is None or self.draw.random() < 0.3:
            return film(self.name("m"), least_lap_nm=self.draw.choice((None, 7 * INCH)))
        return lot(self.name("o"), material, self.draw.choice(("F-1", "F-2")))

    def laid(self) -> Fact | None:
        zone = self.zone()
        if (name := self.one("lots")) is None:
            return None
        return h.LotLaid(self.name("y"), name, zone, ZONES[zone], "", "")

    def unlaid(self) -> Fact | None:
        zones = self.story.site.zones.values()
        all_of = [(y, z.id) for z in zones for y in z.laid if y.withdrawn is None]
        if not all_of:
            return None
        laying, zone = self.draw.choice(all_of)
        return h.LayingWithdrawn(laying.id, laying.lot_id, zone, ZONES[zone], "", "taken up")

    def unlot(self) -> Fact | None:
        if (name := self.one("lots")) is None:
            return None
        return h.LotWithdrawn(name, self.story.site.lots[name].material_id, "", "misread")

    def unmaterial(self) -> Fact | None:
        if (name := self.one("materials")) is None:
            return None
        return h.MaterialWithdrawn(name, "", "not approved")

    def raise_numbers(self) -> Fact:
        zone = self.zone()
        raised = self.draw.choice(
            ((), (Raised("patch_overlap", 8 * INCH, "x"),), (Raised("lap", 7 * INCH, "x"),))
        )
        return g.NumbersRaised(zone, ZONES[zone], raised, ())

    def sheet(self) -> Fact:
        project = self.story.site.project
        assert project is not None
        overlap = replace(project.sheet.patch_overlap, nm=self.draw.choice((5, 6, 12)) * INCH)
        changed: tuple[RuleSheet, ...] = (
            replace(project.sheet, patch_overlap=overlap),
            replace(project.sheet, second_look=not project.sheet.second_look),
            replace(project.sheet, gate_demands=self.draw.choice(SOME_DEMANDS)),
            project.sheet,
        )
        return f.RuleSheetChanged(self.draw.choice(changed), ())

    def scale(self) -> Fact:
        longer = replace(SCALE, distance_nm=self.draw.choice((1200, 1200, 900)) * INCH)
        return f.ScaleSet("s", self.draw.choice((SCALE, longer, Scale((0, 0), (0, 1_000_000), 1200 * INCH))))

    def redraw(self) -> Fact:
        zone = self.zone()
        moved = [(x + (x == 900) * self.draw.choice((0, -20, 15)), y) for x, y in RINGS[zone]]
        return f.ZoneChanged(zone, self.draw.choice(("", "Bay")), ring(moved), None)

    def revise(self) -> Fact:
        aligned = Alignment((0, 0), (1_000_000, 0), (0, 0), (2_000_000, 0))
        return f.SketchRevised("s", "1" * 64, None, 6000, 4000, 6, aligned)

    # --- who says what -----------------------------------------------------------------------------------

    def walk(self) -> Fact:
        zone = self.zone()
        return f.WalkFinished(zone, ZONES[zone], "")

    def hold(self) -> Fact:
        zone = self.zone()
        return f.ZoneHeld(self.name("v"), zone, ZONES[zone], "storm", "rain")

    def lift(self) -> Fact | None:
        open_ones = [hold for hold in self.story.site.holds.values() if hold.lifted is None]
        if not open_ones:
            return None
        it = self.draw.choice(open_ones)
        return f.HoldLifted(it.id, it.zone_id, ZONES[it.zone_id], it.cause, "dried")

    def release(self, zone: str = "") -> Fact:
        """Of the facts as they stand, clear or not; now and then of others, which never has any force."""
        zone = zone or self.zone()
        digest = "2:stale" if self.draw.random() < 0.1 else self.story.standing(zone).digest
        return f.ZoneReleased(self.name("r"), zone, ZONES[zone], digest, 2, "seen", (), ())

    def pull_back(self) -> Fact | None:
        standing = [r for r in self.story.site.releases.values() if r.pulled_back is None]
        if not standing:
            return None
        it = self.draw.choice(standing)
        return f.ReleasePulledBack(it.id, it.zone_id, ZONES[it.zone_id], "rain")

    def start(self, zone: str = "") -> Fact | None:
        """Placing under the zone's newest release, now and then one that stands no more."""
        zone = zone or self.zone()
        own = [r for r in self.story.site.releases.values() if r.zone_id == zone]
        if not own:
            return None
        return p.PlacingStarted(zone, ZONES[zone], own[-1].id, self.story.entries[-1].at)

    def sign(self) -> Fact:
        zone = self.zone()
        accepted = self.draw.random() < 0.8
        return h.HoldPointSigned(self.name("h"), zone, ZONES[zone], self.draw.choice(STEPS), accepted, "")

    def none_here(self) -> Fact:
        zone = self.zone()
        return g.NoneHereStated(zone, ZONES[zone], self.draw.choice(("penetrations", "seams")))

    def nothing(self) -> Fact:
        """What moves no zone."""
        return self.draw.choice(
            (
                f.PhotoAdded(self.name("f"), "zb", "zb", "", "0" * 64, "0" * 64, 1, 1),
                f.GridLaid("s", ()),
                f.PersonInvited(self.name("i"), "inspector"),
                f.ZoneChanged("zb", self.name("Bay"), self.story.site.zones["zb"].outline, None),
                f.SketchAdded(self.name("s"), "Roof", "2" * 64, None, 10, 10, 1),
            )
        )

    def end(self) -> Fact | None:
        """Concrete, or the zone off the sketch: seldom, and late."""
        if self.count < 40:
            return None
        zone = self.story.site.zones[self.zone()]
        if zone.placement is not None or zone.withdrawn is not None:
            return None
        if self.draw.random() < 0.3:
            return f.ZoneWithdrawn(zone.id, "drawn twice")
        without = self.draw.random() < 0.5
        return f.ZonePlaced(zone.id, zone.letter, self.story.entries[-1].at, "", without, ())


def teller_of(fact: Fact, draw: random.Random) -> tuple[str, str]:
    """Who tells such a fact: looks and hold points are often an inspector's."""
    if isinstance(fact, g.PatchLookedAt | g.RepairLookedAt | h.HoldPointSigned):
        return draw.choice((EYE, EYE, MANAGER))
    return draw.choice((LEAD, LEAD, MANAGER))
