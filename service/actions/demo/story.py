"""The demo's people at work: what they mark, seal, walk and sign, told in the site's own feet and inches."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.actions.installed import hold_points, penetrations, seams, terminations
from service.actions.marks import defects, looks, patches
from service.actions.office import release
from service.actions.sketches import zones
from service.domain.nouns.installed import COLLAR, DAM, JOINT, MASTIC, Penetration, Seam, Termination
from service.domain.nouns.rules import STEPS, WALK_STEP
from service.domain.nouns.site import Defect, Patch, Zone
from service.media.demo_plan import at
from service.storage.accounts.people import Person

Place = tuple[float, float]  # feet from the slab's north-west corner
FILM_LOT, TAPE_LOT, MASTIC_LOT = "F-2207", "T-118", "M-40"
DONE = {"cleaned": True, "dry": True, "film_temperature": "58 F"}
TAPED = {**DONE, "tape_width": "4 in"}
LAPS = ("6 1/2 in", "7 in", "6 1/4 in", "6 3/4 in")
BEFORE_THE_WALK = STEPS[: STEPS.index(WALK_STEP)]


@dataclass
class Ticking:
    """A clock that starts days before and moves as the story does, so that the history reads like one."""

    now: datetime
    step: timedelta

    def __call__(self) -> datetime:
        self.now += self.step
        return self.now


@dataclass
class Story:
    """What can be told of the site. `first`: seven in the morning of the first day."""

    desk: Desk
    clock: Ticking
    lead: Person
    manager: Person
    inspector: Person
    first: datetime

    def day(self, number: int, hours: float = 0) -> datetime:
        """Go on to so many hours after seven on a day of the story (1 is the first); never back."""
        self.clock.now = max(self.clock.now, self.at(number, hours))
        return self.clock.now

    def at(self, number: int, hours: float = 0) -> datetime:
        """That time, without going there."""
        return self.first + timedelta(days=number - 1, hours=hours)

    # Marks and what lies on them

    def mark(
        self, zone: Zone, place: Place, kind: str, outline: dict[str, Any], note: str = "", cause: str = "",
        by: Person | None = None,
    ) -> Defect:  # fmt: skip
        read = defects.read_mark(kind, at(*place), outline, note, cause)
        return defects.mark_defect(self.desk, (by or self.lead).id, zone.id, read)

    def patch(self, mark: Defect, readings: Sequence[str], **more: Any) -> Patch:
        sides = dict(zip(("left", "right", "near", "far"), readings, strict=True))
        made = {"sides": sides, "edges_taped": True, "lot": FILM_LOT, **TAPED, **more}
        return patches.log_patch(self.desk, self.lead.id, mark.id, made).patch

    def look(self, patch: Patch, accepted: bool = True, note: str = "") -> None:
        """The inspector's second look at a patch."""
        looks.look_at_patch(self.desk, self.inspector.id, patch.id, accepted, note)

    def mend(self, mark: Defect, readings: Sequence[str], **more: Any) -> None:
        """A patch, and the second look that accepts it."""
        self.look(self.patch(mark, readings, **more))

    # Penetrations

    def place(self, zone: Zone, kind: str, size: str, place: Place) -> Penetration:
        given = {"kind": kind, "size": size, "at": at(*place)}
        return penetrations.place_penetrations(self.desk, self.lead.id, zone.id, given)[0]

    def row(
        self, zone: Zone, kind: str, size: str, first: Place, last: Place, count: int
    ) -> list[Penetration]:
        given = {"kind": kind, "size": size, "from": at(*first), "to": at(*last), "count": count}
        return penetrations.place_penetrations(self.desk, self.lead.id, zone.id, given)

    def collar(self, pipes: Sequence[Penetration], width: str, length: str) -> None:
        """A collar each, cut alike."""
        made = {"collar_width": width, "collar_length": length, "fingers": True, "lot": FILM_LOT, **TAPED}
        self._seal(pipes, {"method": COLLAR, "taped_to_pipe": True, "taped_to_film": True, **made})

    def mastic(self, pipes: Sequence[Penetration]) -> None:
        """Mastic round each."""
        self._seal(pipes, {"method": MASTIC, "close_cut": True, "lot": MASTIC_LOT, **DONE})

    def dam(self, pipes: Sequence[Penetration]) -> None:
        """All of them in one dam filled with sealant."""
        first, *others = pipes
        given = {"method": DAM, "close_cut": True, "lot": MASTIC_LOT, **DONE, "also": [p.id for p in others]}
        penetrations.log_seal(self.desk, self.lead.id, first.id, given)

    def _seal(self, pipes: Sequence[Penetration], given: dict[str, Any]) -> None:
        first, *others = pipes
        alike = {**given, "same_for": [pipe.id for pipe in others]}
        penetrations.log_seal(self.desk, self.lead.id, first.id, alike)

    # Seams and edges

    def walk_seam(
        self, seam: Seam, long_ft: int, read: dict[int, str] | None = None, runs: Sequence[Any] = ()
    ) -> tuple[Defect, ...]:
        """Laps measured every 10 ft, and where `read` says (feet from the start); the marks made for it."""
        laps = {5 + 10 * n: LAPS[n % len(LAPS)] for n in range(long_ft // 10)} | (read or {})
        stations = [{"at": f"{far} ft", "lap": lap} for far, lap in sorted(laps.items())]
        given = {"stations": stations, "runs": list(runs), "taped": True, "bonded": True, "lot": TAPE_LOT}
        return seams.walk_seam(self.desk, self.lead.id, seam.id, {**given, **TAPED}).marked

    def edge(self, zone: Zone, sides: Sequence[int], kind: str, authority: str = "") -> list[Termination]:
        """How film ends along these sides: 1 north, 2 east, 3 south, 4 west."""
        given = {"kind": kind, "edges": list(sides), "authority": authority}
        return terminations.describe_edge(self.desk, self.lead.id, zone.id, given)

    def seal_edge(self, stretches: Sequence[Termination], runs_past: str = "12 in") -> None:
        first, *others = stretches
        made: dict[str, Any] = {"sealed": True, "lot": TAPE_LOT, "also": [each.id for each in others]}
        made |= {**DONE, "runs_past": runs_past, "protected": True} if first.kind == JOINT else TAPED
        terminations.seal_edge(self.desk, self.lead.id, first.id, made)

    # What is signed

    def sign(self, zone: Zone, steps: Sequence[str], by: Person | None = None) -> None:
        for step in steps:
            hold_points.sign_hold_point(self.desk, (by or self.lead).id, zone.id, step, True)

    def punch_walk(self, zone: Zone, note: str = "") -> None:
        zones.finish_walk(self.desk, self.lead.id, zone.id, note)

    def give_release(self, zone: Zone) -> None:
        digest = zone_view(self.desk, self.manager.id, zone.id).standing.digest
        told = f"Zone {zone.letter} was walked and every mark is sealed. It may be placed."
        release.release_zone(self.desk, self.manager.id, zone.id, digest, told)


def circle(diameter: str) -> dict[str, Any]:
    return {"shape": "circle", "diameter": diameter}


def rectangle(length: str, width: str, angle: float) -> dict[str, Any]:
    return {"shape": "rectangle", "length": length, "width": width, "angle_deg": angle}


def slit(length: str, opening: str = "0 in", angle: float = 0) -> dict[str, Any]:
    return {"shape": "slit", "length": length, "opening": opening, "angle_deg": angle}
