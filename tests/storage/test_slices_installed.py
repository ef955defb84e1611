"""A zone's slice tells of pipes, seams, edges, film and repairs what the whole site tells: the same digest.

What matters to a zone may stand in another: a pipe that reaches over the joint, one sealed together with one
beyond it, a seam that runs on, a neighbour's edge that film ends at, its mark under this zone's lap.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterable
from dataclasses import replace

import pytest

from service.actions.frame.desk import Desk
from service.domain.nouns.installed import CLEAN, COLLAR, DAM, LAP_AGAIN, MASTIC, Station, Work
from service.domain.nouns.rules import GATE_DEMANDS, STEPS
from service.domain.nouns.site import Px, Zone
from service.domain.shapes.outlines import Circle, Rectangle
from service.domain.shapes.sides import Sides
from service.history.facts import facts as f
from service.history.facts import film as h
from service.history.facts import installed as g
from service.history.facts.every_fact import Fact
from service.history.replay.standing import standing_of
from service.storage.history import books, slices
from service.storage.history.seen import zone_seen_by
from tests.builders import a_sketch, a_zone
from tests.cast import Cast, assemble
from tests.history import story
from tests.history.story import INCH, px, ring, work

BAYS = ("A", "B", "C")
WIDE = {"narrow": 40, "wide": 900}  # 4 ft and 90 ft: in wide bays a neighbour's things lie far off


@pytest.fixture
def cast(desk: Desk) -> Cast:
    """Their project asks for everything, in place of the one that asks for nothing."""
    return assemble(desk, demands=GATE_DEMANDS)


def bays_of(desk: Desk, cast: Cast, wide: int) -> list[Zone]:
    sketch = a_sketch(desk, cast)
    return [
        a_zone(desk, cast, sketch, letter, [(x, 100), (x + wide, 100), (x + wide, 400), (x, 400)])
        for letter, x in ((letter, 100 + wide * place) for place, letter in enumerate(BAYS))
    ]


def record(desk: Desk, cast: Cast, facts: Iterable[Fact]) -> None:
    """Facts at the head, past the actions: what is tested is what the tables give back."""
    with desk.writing() as session:
        site = slices.whole_site(session, cast.project_id)
        for fact in facts:
            books.append(session, site, cast.project_id, desk.clock(), cast.lead.id, "crew lead", fact)


class Drawn:
    """Facts drawn at random over three bays."""

    def __init__(self, bays: list[Zone], wide: int, draw: random.Random) -> None:
        self.bays, self.wide, self.draw = bays, wide, draw
        self.sketch, self.count = bays[0].sketch_id, 0

    def name(self) -> str:
        self.count += 1
        return f"n{self.count}"

    def bay(self) -> Zone:
        return self.draw.choice(self.bays)

    def place(self, bay: Zone, out: int = 0) -> tuple[float, float]:
        """Somewhere in the bay, near a joint as often as not; `out`: so many pixels past it at most."""
        left = bay.outline[0][0] / 1000
        near = self.draw.choice([left + 1, left + self.wide - 1, left + self.wide * self.draw.random()])
        return near + self.draw.uniform(-out, out), self.draw.uniform(110, 390)

    def work(self) -> Work:
        return work(cleaned=self.draw.random() < 0.9, tape_width_nm=self.draw.choice([4, 4, 3]) * INCH,
                    lot=self.draw.choice(["", "F-1", "F-2"]))  # fmt: skip

    def film(self) -> list[Fact]:
        told: list[Fact] = [
            story.film("m1"), story.film("m2", least_patch_overlap_nm=9 * INCH), story.lot("l1", "m1", "F-1"),
            story.lot("l2", "m2", "F-2"),
        ]  # fmt: skip
        for number, bay in enumerate(self.bays):
            lot = self.draw.choice(["1", "1", "2"])
            told.append(h.LotLaid(f"y{number}", f"l{lot}", bay.id, bay.letter, f"F-{lot}", ""))
        return told

    def pipes(self) -> list[Fact]:
        told: list[Fact] = []
        placed: dict[str, Px] = {}
        for _ in range(12):
            bay, name = self.bay(), self.name()
            shape = Circle(self.draw.choice([INCH // 2, 4 * INCH, 30 * INCH]))
            one = g.PlacedPenetration(
                name, f"{bay.letter}-P{name}", "pipe", "4 in", shape, px(*self.place(bay))
            )
            told.append(g.PenetrationsPlaced(self.sketch, bay.id, one.tag, (one,), ""))
            placed[name] = one.at
        for name in self.draw.sample(sorted(placed), 8):
            # One seal goes round what stands together: 5 ft is 50 px.
            near = [x for x, at in placed.items() if x != name and math.dist(at, placed[name]) < 50_000]
            also = tuple(self.draw.sample(near, min(len(near), self.draw.choice([0, 0, 1, 2]))))
            way = self.draw.choice([COLLAR, MASTIC, DAM])
            told.append(
                story.seal(self.name(), name, also=also, method=way, close_cut=True, work=self.work(),
                           collar_length_nm=160 * INCH)
            )  # fmt: skip
        return [*told, g.PenetrationWithdrawn(min(placed), self.bays[0].id, "x", "not there")]

    def seams(self) -> list[Fact]:
        """Each runs from its bay into the next, and is walked with a short lap here and there."""
        told: list[Fact] = []
        for bay in self.bays:
            y, left = self.draw.uniform(110, 390), bay.outline[0][0] / 1000
            name, ends = self.name(), ((left, y), (left + 1.5 * self.wide, y))
            told.append(
                g.SeamDrawn(name, self.sketch, bay.id, f"{bay.letter}-S{name}", "side lap", ring(ends), "")
            )
            short = self.draw.sample(range(12), 2)
            stations = tuple(
                Station(px(left + 1.5 * self.wide * (i + 0.5) / 12, y), (5 if i in short else 6) * INCH)
                for i in range(12)
            )
            told.append(
                g.SeamWalked(
                    self.name(), name, bay.id, f"{bay.letter}-S{name}", stations, (), True, True, work()
                )
            )
            for i in short:
                other, mark = self.bay(), self.name()
                over = Rectangle(24 * INCH, 12 * INCH)
                told.append(
                    f.DefectMarked(mark, self.sketch, other.id, f"{other.letter}-{mark}", "short lap",
                                   stations[i].at, over, "")
                )  # fmt: skip
                if self.draw.random() < 0.7:
                    told.append(self._repair(mark, other, LAP_AGAIN))
        return told

    def _repair(self, mark: str, bay: Zone, way: str) -> g.RepairLogged:
        return g.RepairLogged(self.name(), mark, bay.id, f"{bay.letter}-{mark}", way, 6 * INCH, True,
                              self.work(), True)  # fmt: skip

    def edges(self) -> list[Fact]:
        told: list[Fact] = []
        for bay in self.bays:
            for side in self.draw.sample(range(4), 3):
                name = self.name()
                path = (bay.outline[side], bay.outline[(side + 1) % 4])
                made = story.edge(name, 1)
                told.append(
                    replace(made, sketch=self.sketch, zone=bay.id, tag=f"{bay.letter}-E{name}", path=path)
                )
                if self.draw.random() < 0.8:
                    told.append(replace(story.edge_seal(self.name(), name, work=self.work()), zone=bay.id))
        return told

    def marks(self) -> list[Fact]:
        """Holes with patches, some sealed to what stands there, and marks that lean on pipes and edges."""
        told: list[Fact] = []
        for _ in range(14):
            bay, name = self.bay(), self.name()
            at = px(*self.place(bay))
            kind = self.draw.choice(
                ["hole", "hole", "unsealed penetration", "unsealed termination", "contamination"]
            )
            size = Rectangle(self.draw.randint(2, 20) * INCH, 2 * INCH)
            told.append(f.DefectMarked(name, self.sketch, bay.id, f"{bay.letter}-{name}", kind, at, size, ""))
            if kind == "contamination":
                told.append(self._repair(name, bay, CLEAN))
            if kind == "hole":
                wall = self.draw.choice([None, 7 * INCH])
                sides = Sides(7 * INCH, wall, 9 * INCH, 9 * INCH)
                patch = story.patch(self.name(), name, (0, 0), sides=sides,
                                    lot=self.draw.choice(["F-1", "F-2", "F-9"]))  # fmt: skip
                told.append(replace(patch, zone=bay.id, at=at))
        return told

    def signatures(self) -> list[Fact]:
        return [
            h.HoldPointSigned(self.name(), bay.id, bay.letter, step, self.draw.random() < 0.8, "")
            for bay in self.bays
            for step in self.draw.sample(STEPS, 6)
        ]

    def walks(self) -> list[Fact]:
        return [f.WalkFinished(bay.id, bay.letter, "") for bay in self.bays]

    def everything(self) -> list[Fact]:
        parts: list[Callable[[], list[Fact]]] = [
            self.pipes,
            self.seams,
            self.edges,
            self.marks,
            self.signatures,
        ]
        self.draw.shuffle(parts)
        return [*self.film(), *(fact for part in parts for fact in part()), *self.walks()]


@pytest.mark.parametrize("wide", WIDE)
@pytest.mark.parametrize("seed", range(4))
def test_a_zones_slice_stands_as_the_whole_site_does(desk: Desk, cast: Cast, wide: str, seed: int) -> None:
    bays = bays_of(desk, cast, WIDE[wide])
    record(desk, cast, Drawn(bays, WIDE[wide], random.Random(seed)).everything())
    with desk.reading() as session:
        whole = slices.whole_site(session, cast.project_id)
        by_sketch = slices.sketch_site(session, cast.project_id, bays[0].sketch_id)
        for bay in bays:
            seen = zone_seen_by(session, cast.lead.id, bay.id)
            slice_ = slices.zone_site(session, cast.project_id, seen.zone, seen.sketch, seen.project)
            told, sketched, sliced = (standing_of(site, bay.id) for site in (whole, by_sketch, slice_))
            assert sketched.facts == told.facts, bay.letter
            assert sliced.facts == told.facts, bay.letter
            assert sliced.digest == told.digest
