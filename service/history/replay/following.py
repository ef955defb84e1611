"""Follows one zone through a replay: how it stands after each entry, judging anew only what that can move.

Gives what `standing_of` would give after that entry; the tests hold the two together on random stories.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from service.domain.gate import gate, zone_facts
from service.domain.gate.deciding import Deciding
from service.domain.gate.during import placing_under
from service.domain.gate.gate import ZoneFacts
from service.domain.gate.mark_facts import defect_facts, on_sketch
from service.domain.gate.surroundings import surroundings
from service.domain.nouns.installed import Lot, Material, Penetration, Termination
from service.domain.nouns.site import Defect, Patch, Project, Px, Release, Site, Sketch, Wall, Zone
from service.domain.patches.repair import NOT_SEALED, OPEN, DefectFacts, Numbers, Verdict, judge_defect
from service.domain.rule_sheet.effective import sheet_in
from service.domain.shapes.outlines import reach_nm
from service.history.replay.standing import (
    CLEAR,
    HELD,
    LAYING,
    PLACED,
    PLACED_WITHOUT_RELEASE,
    READY,
    digest_of,
    latest_release,
    standing_of,
)
from service.history.replay.touching import Move, touching

OFF = "taken off"


@dataclass(frozen=True, slots=True)
class Stood:
    """How the zone stood after an entry. `open` and `not_sealed` count its marks, as they hold it."""

    state: str
    open: int
    not_sealed: int


class Following:
    """One zone of a site that is being replayed. Ask `after` with every entry's moves, in order."""

    def __init__(self, site: Site, zone_id: str) -> None:
        """KeyError when the site does not hold the zone."""
        self._site, self._id = site, zone_id
        self._release: Release | None = None
        self._released: ZoneFacts | None = None
        self._as_released: dict[str, DefectFacts] = {}
        self._differ: set[str] = set()
        self._rest: ZoneFacts | None = None
        self._begin()
        self._take_release()

    def holds(self, mark_id: str) -> bool:
        """Whether the mark is the zone's own or reaches in, withdrawn or not."""
        return mark_id in self._inside

    def after(self, moves: Iterable[Move]) -> bool:
        """Take in what an entry changed. False where it cannot have moved this zone."""
        touched = touching(self._site, self._id, moves)
        if not touched:
            return False
        self._rest = None
        common = any(isinstance(new, Project | Sketch | Zone | Lot | Material) for _, new in touched)
        if common and self._common != self._in_common():
            self._begin()
        self._judge(self._moved(touched))
        if any(isinstance(new, Release) for _, new in touched):
            self._take_release()
        return True

    def facts(self) -> ZoneFacts:
        """All that the gate reads of the zone now, put together from what was kept."""
        return replace(self._besides(), defects=tuple(self._facts[id] for id in sorted(self._facts)))

    def stood(self) -> Stood:
        return Stood(self._state(), self._tally[OPEN], self._tally[NOT_SEALED])

    # --- the state --------------------------------------------------------------------------------------

    def _state(self) -> str:
        if self._zone.withdrawn is not None:
            return OFF
        if self._zone.placement is not None:
            return PLACED_WITHOUT_RELEASE if self._zone.placement.without_release else PLACED
        if self._ready():
            return READY
        if self._zone.walked_at is None:
            return LAYING
        return HELD if self._blocking or gate.decide(self._besides())[0] else CLEAR

    def _ready(self) -> bool:
        if self._release is None:
            return False
        if self._released is None or placing_under(self._zone, self._release) is not None:
            return standing_of(self._site, self._id).state == READY
        if self._differ or self._blocking:
            return False
        rest = self._besides()
        return rest == self._released and not gate.decide(rest)[0]

    def _besides(self) -> ZoneFacts:
        """What the gate reads besides marks; gathered only where the marks leave the question open."""
        if self._rest is None:
            self._rest = zone_facts.zone_facts(self._site, self._id, kept=())
        return self._rest

    def _take_release(self) -> None:
        """The newest release, with the facts that it names: as long as they stand, it does.

        One judged by an earlier gate, or of other facts than these, is asked whole each time.
        """
        self._release, self._released, self._differ = latest_release(self._site, self._id), None, set()
        release = self._release
        if release is None or release.version != gate.VERSION:
            return
        if digest_of(self.facts()) == release.digest:
            self._released, self._as_released = self._besides(), dict(self._facts)

    # --- the marks ---------------------------------------------------------------------------------------

    @property
    def _zone(self) -> Zone:
        return self._site.zones[self._id]

    def _in_common(self) -> tuple[object, ...]:
        """What every mark of the zone is judged by. While it stays, only the marks near a change move."""
        zone = self._zone
        scale = self._site.sketches[zone.sketch_id].scale
        numbers = Numbers.of(sheet_in(self._site, zone))
        around = surroundings(self._site, zone, 1.0, numbers)
        return zone.outline, scale, numbers, around.lots, around.films, around.roll_nm

    def _begin(self) -> None:
        """Gather and judge every mark."""
        self._rest = None
        self._common = self._in_common()
        self._facts: dict[str, DefectFacts] = {}
        self._verdicts: dict[str, Verdict] = {}
        self._tally: Counter[str] = Counter()
        self._blocking: set[str] = set()
        self._inside: set[str] = set()
        self._near: set[str] = set()
        self._patches: dict[str, list[str]] = defaultdict(list)
        scale = self._site.sketches[self._zone.sketch_id].scale
        self._numbers = Numbers.of(sheet_in(self._site, self._zone))
        self._per_px = None if scale is None else zone_facts.nm_per_px(scale)
        self._deciding = Deciding(self._per_px or 1.0, self._numbers.patch_overlap_nm)
        if self._per_px is not None:
            self._take_marks(self._site.defects.values())
            for patch in self._site.patches.values():
                self._take_patch(patch)
            self._judge(self._near)

    def _take_marks(self, marks: Iterable[Defect]) -> None:
        """Marks that are new here: those inside, and those outside that lie near enough to be looked at."""
        zone, per_px = self._zone, self._per_px
        assert per_px is not None, "marks are placed by a scale"
        near = [mark for mark in marks if self._lies_near(mark, zone, per_px)]
        among = Site(defects={mark.id: mark for mark in near})
        self._inside.update(mark.id for mark in zone_facts.marks_in_zone(among, zone, per_px))
        self._near.update(among.defects)
        for mark in near:
            self._deciding.add_mark(mark)

    @staticmethod
    def _lies_near(mark: Defect, zone: Zone, per_px: float) -> bool:
        if mark.zone_id == zone.id:
            return True
        return mark.sketch_id == zone.sketch_id and zone_facts.may_reach(
            mark, zone, per_px, zone_facts.BESIDE_NM
        )

    def _take_patch(self, patch: Patch) -> None:
        under = [mark for mark in (patch.defect_id, *patch.also) if mark in self._near]
        for mark in under:
            self._patches[mark].append(patch.id)
        if under:
            self._deciding.add_patch(on_sketch(self._site, patch), under)

    def _moved(self, touched: Iterable[Move]) -> set[str]:
        """The marks to be judged anew: what changed, what it stands near, and all that these decide about."""
        if self._per_px is None:
            return set()
        marks: list[str] = []
        patches: list[str] = []
        for old, new in touched:
            match new:
                case Defect():
                    if new.id not in self._near:
                        self._take_marks([new])
                    marks.append(new.id)
                case Patch():
                    if old is None:
                        self._take_patch(new)
                    patches.append(new.id)
                case Penetration() | Wall() | Termination():
                    near = self._deciding.near(*_whole(new))
                    marks += near[0]
                    patches += near[1]
        return self._deciding.moved_by(marks, patches)

    def _judge(self, marks: set[str]) -> None:
        """Judge these marks, among all that decide about them."""
        if not marks or self._per_px is None:
            return
        among = self._deciding.told_by(marks)
        inside, beside = sorted(among & self._inside), sorted(among - self._inside)
        told = defect_facts(
            self._only(among),
            self._zone,
            self._per_px,
            self._numbers,
            [self._site.defects[id] for id in inside],
            [self._site.defects[id] for id in beside],
        )
        for id in marks:
            self._forget(id)
        for facts in told:
            if facts.id in marks:
                self._keep(facts)
        if self._released is not None:
            self._differ -= marks
            self._differ |= {id for id in marks if self._facts.get(id) != self._as_released.get(id)}

    def _only(self, marks: set[str]) -> Site:
        """The site with these marks alone, their patches, and the marks those were logged on."""
        patches = {id: self._site.patches[id] for mark in marks for id in self._patches[mark]}
        of = marks | {patch.defect_id for patch in patches.values()}
        return replace(self._site, defects={id: self._site.defects[id] for id in of}, patches=patches)

    def _forget(self, id: str) -> None:
        if id in self._verdicts:
            self._tally[self._verdicts.pop(id).state] -= 1
        self._facts.pop(id, None)
        self._blocking.discard(id)

    def _keep(self, facts: DefectFacts) -> None:
        verdict = judge_defect(facts, self._numbers)
        self._facts[facts.id], self._verdicts[facts.id] = facts, verdict
        self._tally[verdict.state] += 1
        if any(gate.defect_blockers(facts, verdict, self._numbers)):
            self._blocking.add(facts.id)


def _whole(thing: Penetration | Wall | Termination) -> tuple[Sequence[Px], int]:
    """Where a thing is: points that it runs through, and how far past them it reaches."""
    match thing:
        case Penetration():
            return [thing.at], reach_nm(thing.outline)
        case Wall():
            return [thing.a, thing.b], 0
        case Termination():
            return thing.path, 0
