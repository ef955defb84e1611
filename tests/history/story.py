"""A zone told as a history, fact by fact, with no database: everything the gate can ask for, made whole.

10 px of the sketch is 1 ft. Zone B is 80 by 60 ft with zone C beside it on the right.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import Any

from service.domain.nouns.installed import CLEAN, COLLAR, FILM, SIDE_LAP, TO_WALL, SeamRun, Station, Work
from service.domain.nouns.roles import CREW_LEAD, INSPECTOR, PROJECT_MANAGER
from service.domain.nouns.rules import STEPS, WALK_STEP, RuleSheet, ready_made
from service.domain.nouns.site import Px, Scale, Site
from service.domain.shapes.outlines import Circle, Outline, Rectangle
from service.domain.shapes.sides import Sides
from service.history.facts import facts as f
from service.history.facts import film as h
from service.history.facts import installed as g
from service.history.facts.entries import Entry
from service.history.facts.every_fact import Fact
from service.history.replay.replay import apply
from service.history.replay.standing import Standing, standing_of

INCH = 25_400_000
NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
LEAD, MANAGER, EYE = ("lou", CREW_LEAD), ("max", PROJECT_MANAGER), ("ina", INSPECTOR)
CORNERS = ((100, 100), (900, 100), (900, 700), (100, 700))
BESIDE = ((900, 100), (1700, 100), (1700, 700), (900, 700))
LAPS = tuple((100 + 10 * feet, 400) for feet in range(5, 80, 10))  # a reading every 10 ft, 5 ft in
SCALE = Scale((0, 0), (1_000_000, 0), 1200 * INCH)
PIPE = Circle(round(4.5 * INCH))  # nominal 4 in: outside diameter 4.500 in (ASME B36.10M, from memory)


def px(x: float, y: float) -> Px:
    return round(x * 1000), round(y * 1000)


def ring(points: Sequence[tuple[float, float]]) -> tuple[Px, ...]:
    return tuple(px(*point) for point in points)


def work(**changes: Any) -> Work:
    return replace(Work(True, True, 4 * INCH, 60_000, "", ""), **changes)


@dataclass
class Story:
    """What was told so far. `tell` puts facts at the head, in order."""

    site: Site = field(default_factory=Site)
    entries: list[Entry] = field(default_factory=list)

    def tell(self, *facts: Fact, who: tuple[str, str] = LEAD) -> Story:
        for fact in facts:
            entry = Entry("p", len(self.entries) + 1, NOON, *who, fact)
            self.entries.append(entry)
            apply(self.site, entry)
        return self

    def standing(self, zone: str = "zb") -> Standing:
        return standing_of(self.site, zone)

    @property
    def state(self) -> str:
        return self.standing().state

    def told(self) -> set[tuple[str, str]]:
        """Every blocker as its code and what it names."""
        return {(blocker.code, blocker.name) for blocker in self.standing().blockers}

    def faults(self) -> set[str]:
        """Every code of what is wrong, of seals, walks, film and marks."""
        found: set[str] = set()
        for blocker in self.standing().blockers:
            found |= {*blocker.faults, *(blocker.verdict.reasons if blocker.verdict else ())}
        return found

    def release(self, name: str = "r1") -> Story:
        """Whatever the gate says: it is asked again each time the zone is looked at."""
        standing = self.standing()
        return self.tell(f.ZoneReleased(name, "zb", "B", standing.digest, 2, "seen", (), ()), who=MANAGER)


# --- the facts of which a story is made, each well done unless told otherwise ------------------------------


def mark(name: str, at: tuple[float, float], kind: str = "hole", outline: Outline | None = None,
         zone: str = "zb", tag: str = "") -> f.DefectMarked:  # fmt: skip
    shape = outline or Rectangle(4 * INCH, 2 * INCH)
    return f.DefectMarked(name, "s", zone, tag or f"B-{name}", kind, px(*at), shape, "")


def patch(name: str, on: str, at: tuple[float, float], **changes: Any) -> f.PatchLogged:
    made = f.PatchLogged(
        name, on, "zb", f"B-{on}", px(*at), (), Sides(*[6 * INCH] * 4), None, (0, 0), True, True, True,
        4 * INCH, "sheet patch", "F-1", "", "", 6 * INCH, 6 * INCH, True,
    )  # fmt: skip
    return replace(made, **changes)


def pipe(name: str, at: tuple[float, float], outline: Outline = PIPE, zone: str = "zb",
         tag: str = "") -> g.PenetrationsPlaced:  # fmt: skip
    one = g.PlacedPenetration(name, tag or f"B-P{name}", "pipe", "4 in", outline, px(*at))
    return g.PenetrationsPlaced("s", zone, one.tag, (one,), "")


def seal(name: str, on: str, **changes: Any) -> g.SealLogged:
    made = g.SealLogged(
        name, on, (), "zb", f"B-P{on}", COLLAR, 12 * INCH, 22 * INCH, True, True, True, False, work(), ()
    )
    return replace(made, **changes)


def seam(name: str) -> g.SeamDrawn:
    return g.SeamDrawn(name, "s", "zb", f"B-S{name}", SIDE_LAP, ring(((100, 400), (900, 400))), "")


def seam_walk(name: str, on: str, lap_nm: int = 6 * INCH, runs: tuple[SeamRun, ...] = (),
              **changes: Any) -> g.SeamWalked:  # fmt: skip
    stations = tuple(Station(px(*place), lap_nm) for place in LAPS)
    made = g.SeamWalked(name, on, "zb", f"B-S{on}", stations, runs, True, True, work())
    return replace(made, **changes)


def edge(name: str, number: int, kind: str = TO_WALL, **changes: Any) -> g.TerminationDescribed:
    a, b = CORNERS[number - 1], CORNERS[number % 4]
    made = g.TerminationDescribed(name, "s", "zb", f"B-E{name}", kind, ring((a, b)), "", "", "")
    return replace(made, **changes)


def edge_seal(name: str, on: str, **changes: Any) -> g.TerminationSealed:
    made = g.TerminationSealed(name, on, "zb", f"B-E{on}", True, None, None, work(), ())
    return replace(made, **changes)


def film(name: str, **changes: Any) -> h.MaterialSubmitted:
    made = h.MaterialSubmitted(
        name, FILM, f"Film {name}", "A", 10_000, 381_000, 60_000, 2_600, 144 * INCH, 2400 * INCH, None, None,
        None, "",
    )  # fmt: skip
    return replace(made, **changes)


def lot(name: str, of: str, number: str) -> h.LotReceived:
    return h.LotReceived(name, of, number, 4, "")


def laid(name: str, of: str, number: str) -> h.LotLaid:
    return h.LotLaid(name, of, "zb", "B", number, "")


def signed(name: str, step: str, accepted: bool = True) -> h.HoldPointSigned:
    return h.HoldPointSigned(name, "zb", "B", step, accepted, "")


def signed_all(prefix: str = "h") -> list[h.HoldPointSigned]:
    """Every hold point but the punch walk, which is signed by finishing it."""
    return [signed(f"{prefix}{n}", step) for n, step in enumerate(STEPS) if step != WALK_STEP]


def repair(name: str, on: str, method: str = CLEAN, **changes: Any) -> g.RepairLogged:
    made = g.RepairLogged(name, on, "zb", f"B-{on}", method, None, False, work(tape_width_nm=0), True)
    return replace(made, **changes)


def look(name: str, at_patch: str, of: str, accepted: bool = True) -> g.PatchLookedAt:
    return g.PatchLookedAt(name, at_patch, of, "zb", f"B-{of}", accepted, "")


def ground(sheet: RuleSheet | None = None) -> Story:
    """A project with the sheet given, one scaled sketch, zones B and C. A second look is asked for."""
    asked = sheet or replace(ready_made("us"), second_look=True)
    story = Story().tell(
        f.ProjectStarted("Slab", "us", "UTC", asked),
        *(f.PersonJoined(name, role) for name, role in (MANAGER, LEAD, EYE)),
        f.SketchAdded("s", "Slab", "0" * 64, None, 3000, 2000, 5),
        f.ScaleSet("s", SCALE),
        f.ZoneOutlined("zb", "s", "B", "North bay", ring(CORNERS), None),
        f.ZoneOutlined("zc", "s", "C", "Next door", ring(BESIDE), None),
        who=MANAGER,
    )
    return story


def whole(sheet: RuleSheet | None = None) -> Story:
    """Zone B with one of everything the gate asks for, all of it in order: it is clear."""
    story = ground(sheet).tell(
        film("m1"), lot("l1", "m1", "F-1"), laid("y1", "l1", "F-1"),
        *(edge(str(n), n) for n in (1, 2, 3, 4)), *(edge_seal(f"es{n}", str(n)) for n in (1, 2, 3, 4)),
        seam("1"), seam_walk("w1", "1"),
        pipe("1", (300, 300)), seal("c1", "1"),
        mark("01", (600, 200)), patch("p1", "01", (600, 200)),
        mark("02", (200, 600), "contamination"), repair("q1", "02"),
        f.WalkFinished("zb", "B", ""),
    )  # fmt: skip
    story.tell(look("k1", "p1", "01"), g.RepairLookedAt("k2", "q1", "02", "zb", "B-02", True, ""), who=EYE)
    return story.tell(*signed_all())
