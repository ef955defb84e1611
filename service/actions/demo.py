"""Fills a data directory with an invented site: a workshop slab in five zones, from laying to placed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from service.actions import accounts, defects, patches, people, projects, release, sketches, zones
from service.actions.desk import Desk
from service.actions.reading import zone_view
from service.domain import roles
from service.domain.site import Defect, Zone
from service.media.demo_plan import at, draw_plan, grid_lines
from service.storage.people import Person

PASSWORD = "tape every edge"  # noqa: S105 - printed at every start: the people of the demo are invented
PEOPLE = (
    ("rosa@example.com", "Rosa Amaya", roles.CREW_LEAD),
    ("priya@example.com", "Priya Novak", roles.PROJECT_MANAGER),
    ("sam@example.com", "Sam Okafor", roles.INSPECTOR),
)
WELL_MADE = {"cleaned": True, "dry": True, "edges_taped": True, "tape_width": "4 in", "lot": "F-2207"}


@dataclass
class Ticking:
    """A clock that starts the day before and moves as the story does, so that the history reads like one."""

    now: datetime
    step: timedelta

    def __call__(self) -> datetime:
        self.now += self.step
        return self.now


def fill(desk: Desk) -> list[tuple[str, str, str]]:
    """The demo people as email, password and role. Does nothing to a directory that has people already."""
    told = [(email, PASSWORD, role) for email, _, role in PEOPLE]
    if not accounts.nobody_yet(desk):
        return told
    story = desk.fresh()
    morning = (desk.clock() - timedelta(days=1)).replace(hour=13, minute=0, second=0)  # 7 am on the site
    story.clock = Ticking(morning, timedelta(minutes=4))
    lead, manager, inspector = (
        accounts.make_person(story, email, name, PASSWORD) for email, name, _ in PEOPLE
    )
    _Story(story, lead, manager, inspector, desk.clock()).tell()
    return told


@dataclass
class _Story:
    desk: Desk
    lead: Person
    manager: Person
    inspector: Person
    today: datetime

    def tell(self) -> None:
        project = projects.start_project(
            self.desk, self.manager.id, "Alder Road workshop", "us", "America/Chicago"
        )
        for email, _, role in PEOPLE:
            if email != self.manager.email:
                people.invite(self.desk, self.manager.id, project.id, email, role)
        sketch = self._sketch(project.id)
        a, b, c, d, e = (self._zone(sketch, *given) for given in self._zones())
        self._placed(a)
        self._ready(b)
        self._held(c)
        self._fallen(d)
        self._laying(e)

    def _sketch(self, project_id: str) -> str:
        with self.desk.blobs.coming() as folder:
            source = Path(folder) / "plan.png"
            draw_plan(source)
            made = sketches.add_sketch(self.desk, self.manager.id, project_id, source, "Ground floor slab")
        sketches.set_scale(self.desk, self.manager.id, made.id, at(0, 0), at(200, 0), "200 ft")
        sketches.lay_grid(self.desk, self.manager.id, made.id, grid_lines())
        return made.id

    def _zones(self) -> list[tuple[str, str, tuple[float, float, float, float], int]]:
        """Letter, name, west, north, east and south edge in feet, and in how many hours it is placed."""
        return [
            ("A", "North-west bay", (0, 0, 80, 60), -16),
            ("B", "North-east bay", (80, 0, 200, 60), 14),
            ("C", "South-west bay", (0, 60, 80, 120), 18),
            ("D", "South middle bay", (80, 60, 140, 120), 42),
            ("E", "South-east bay", (140, 60, 200, 120), 66),
        ]

    def _zone(
        self, sketch: str, letter: str, name: str, box: tuple[float, float, float, float], hours: int
    ) -> Zone:
        west, north, east, south = box
        outline = [at(west, north), at(east, north), at(east, south), at(west, south)]
        when = (self.today + timedelta(hours=hours)).replace(minute=30, second=0, microsecond=0)
        zone = zones.outline_zone(self.desk, self.manager.id, sketch, letter, name, outline, when)
        self._wall(zone, box)
        return zone

    def _wall(self, zone: Zone, box: tuple[float, float, float, float]) -> None:
        west, north, east, south = box
        edge = north if north == 0 else south
        zones.draw_wall(self.desk, self.manager.id, zone.id, at(west, edge), at(east, edge))

    def _mark(
        self, zone: Zone, place: tuple[float, float], kind: str, outline: dict[str, Any], note: str = "",
        by: Person | None = None,
    ) -> Defect:  # fmt: skip
        read = defects.read_mark(kind, at(*place), outline, note)
        return defects.mark_defect(self.desk, (by or self.lead).id, zone.id, read)

    def _patch(self, mark: Defect, readings: Sequence[str], **more: Any) -> None:
        sides = dict(zip(("left", "right", "near", "far"), readings, strict=True))
        patches.log_patch(self.desk, self.lead.id, mark.id, {"sides": sides, **WELL_MADE, **more})

    def _release(self, zone: Zone) -> None:
        digest = zone_view(self.desk, self.manager.id, zone.id).standing.digest
        told = f"Zone {zone.letter} was walked and every mark is sealed. It may be placed."
        release.release_zone(self.desk, self.manager.id, zone.id, digest, told)

    def _walk(self, zone: Zone, note: str = "") -> None:
        zones.finish_walk(self.desk, self.lead.id, zone.id, note)

    def _placed(self, zone: Zone) -> None:
        for number, place in enumerate(((22, 18), (41, 36), (66, 12))):
            mark = self._mark(zone, place, "hole", circle("5/8 in"), "stake hole" if number else "")
            self._patch(mark, ("6 1/2 in", "6 1/4 in", "6 in", "7 in"))
        self._walk(zone)
        self._release(zone)
        release.mark_placed(self.desk, self.manager.id, zone.id, self.desk.clock(), "93 cu yd")

    def _ready(self, zone: Zone) -> None:
        tear = self._mark(zone, (104, 22), "tear", rectangle("4 in", "2 in", 20), "by a bar chair")
        self._patch(tear, ("6 1/2 in", "5 3/4 in", "6 1/4 in", "6 1/2 in"), note="cut too narrow")
        self._patch(tear, ("8 in", "9 in", "8 in", "8 in"))
        burn = self._mark(zone, (150, 41), "burn", circle("2 in"), "torch spark")
        self._patch(burn, ("6 in", "6 in", "6 1/4 in", "6 in"))
        fold = self._mark(zone, (176, 8), "other", rectangle("12 in", "1 in", 0), "looked like a cut")
        defects.withdraw_defect(self.desk, self.lead.id, fold.id, "a fold in the film, not a cut")
        self._walk(zone, "walked after the steel was tied")
        self._release(zone)

    def _held(self, zone: Zone) -> None:
        short = self._mark(zone, (18, 78), "tear", rectangle("4 in", "2 in", 160))
        self._patch(short, ("6 in", "5 3/4 in", "6 1/4 in", "6 1/2 in"))
        self._mark(zone, (47, 92), "hole", circle("1/2 in"), "stake")
        slit = {"shape": "slit", "length": "30 in", "opening": "1/4 in", "angle_deg": 35}
        self._mark(zone, (61, 71), "tear", slit)
        self._mark(zone, (33, 108), "open seam", {"shape": "slit", "length": "7 ft"}, "tape lifted over dust")
        pipe, told = circle("3 1/2 in"), "no collar yet"
        self._mark(zone, (52, 80), "unsealed penetration", pipe, told, self.inspector)
        edge = self._mark(zone, (70, 119.6), "hole", circle("1 in"), "beside the south wall")
        self._patch(edge, ("6 1/2 in", "7 in", "wall", "6 in"))
        self._walk(zone)

    def _fallen(self, zone: Zone) -> None:
        done = self._mark(zone, (92, 84), "hole", circle("1/2 in"))
        self._patch(done, ("6 in", "6 1/2 in", "7 in", "6 in"))
        self._walk(zone)
        self._release(zone)
        corners = [[0, -3], [5, -1], [4, 3], [-3, 4], [-5, 0]]
        polygon = {"shape": "polygon", "points": [[f"{x} in", f"{y} in"] for x, y in corners]}
        self._mark(zone, (121, 102), "tear", polygon, "dragged plate")

    def _laying(self, zone: Zone) -> None:
        self._mark(zone, (171, 90), "short lap", {"shape": "slit", "length": "12 ft"}, "4 in lap")
        zones.hold_zone(self.desk, self.lead.id, zone.id, "standing water", "low spot by the east wall")


def circle(diameter: str) -> dict[str, Any]:
    return {"shape": "circle", "diameter": diameter}


def rectangle(length: str, width: str, angle: float) -> dict[str, Any]:
    return {"shape": "rectangle", "length": length, "width": width, "angle_deg": angle}
