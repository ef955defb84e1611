"""Penetrations and edges that decide about marks: those a patch has to reach, and those right beneath."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from service.domain.gate.surroundings import Surroundings
from service.domain.installed.penetrations import seal_faults
from service.domain.installed.terminations import beneath, termination_faults
from service.domain.nouns.installed import Penetration, Termination
from service.domain.nouns.rules import INCH_NM
from service.domain.nouns.site import Defect, Site, Zone
from service.domain.patches.repair import SEALED_ELSEWHERE, Numbers
from service.domain.shapes.nearby import Placed, within

NOT_SEALED_YET = "not-sealed-yet"


@dataclass(frozen=True, slots=True)
class Near:
    """Penetrations by the marks they lie near: within the overlap asked, and right beneath."""

    pipes: Mapping[str, Penetration]
    asked: Mapping[str, tuple[str, ...]]
    touched: Mapping[str, tuple[str, ...]]
    stretches: tuple[Termination, ...]
    around: Surroundings

    def collars(self, mark: Defect) -> tuple[str, ...]:
        """Tags of penetrations the patch must reach that were not sealed anew since the mark was made."""
        if mark.kind in SEALED_ELSEWHERE:
            return ()
        near = (self.pipes[id] for id in self.asked.get(mark.id, ()))
        return tuple(pipe.tag for pipe in near if not self._sealed_since(pipe, mark))

    def sealed_here(self, mark: Defect) -> bool:
        if mark.kind == "unsealed penetration":
            near = [self.pipes[id] for id in self.touched.get(mark.id, ())]
            return bool(near) and all(self._sealed_since(pipe, mark) for pipe in near)
        if mark.kind == "unsealed termination":
            under = beneath(mark.outline, mark.at, self.stretches, self.around.per_px)
            return bool(under) and all(
                not termination_faults(stretch, self.around.numbers)
                and stretch.seal is not None
                and stretch.seal.signed.seq > mark.seq
                for stretch in under
            )
        return False

    def seals(self, mark: Defect) -> tuple[str, ...]:
        """Ids of the seals that decide about this mark, newest of each thing near it."""
        ids = dict.fromkeys((*self.asked.get(mark.id, ()), *self.touched.get(mark.id, ())))
        seals = [self.pipes[id].seal for id in ids]
        found = [seal.id for seal in seals if seal is not None]
        if mark.kind == "unsealed termination":
            under = beneath(mark.outline, mark.at, self.stretches, self.around.per_px)
            found += [stretch.seal.id for stretch in under if stretch.seal is not None]
        return tuple(sorted(found))

    def _sealed_since(self, pipe: Penetration, mark: Defect) -> bool:
        if pipe.seal is None or pipe.seal.signed.seq <= mark.seq:
            return False
        return not faults_of_seal(pipe, self.pipes, self.around.numbers)


def faults_of_seal(pipe: Penetration, pipes: Mapping[str, Penetration], numbers: Numbers) -> tuple[str, ...]:
    """What is wrong with a penetration's seal; one code when there is none yet."""
    if pipe.seal is None:
        return (NOT_SEALED_YET,)
    outlines = [pipes[id].outline for id in pipe.seal.together if id in pipes]
    return seal_faults(outlines, pipe.seal, numbers)


def near_marks(site: Site, zone: Zone, marks: Sequence[Defect], around: Surroundings) -> Near:
    pipes = {
        pipe.id: pipe
        for pipe in sorted(site.penetrations.values(), key=lambda pipe: pipe.tag)
        if pipe.sketch_id == zone.sketch_id
    }
    standing = [Placed(p.id, p.outline, p.at) for p in pipes.values() if p.withdrawn is None]
    placed = [Placed(mark.id, mark.outline, mark.at) for mark in marks]
    stretches = tuple(
        t for t in site.terminations.values() if t.sketch_id == zone.sketch_id and t.withdrawn is None
    )
    asked: Mapping[str, tuple[str, ...]] = {}
    touched: Mapping[str, tuple[str, ...]] = {}
    if standing and placed:
        asked = within(placed, standing, around.per_px, around.numbers.patch_overlap_nm)
        # A mark made beside a pipe is about that pipe: an inch is what a finger misses by.
        touched = within(placed, standing, around.per_px, INCH_NM)
    return Near(pipes, asked, touched, stretches, around)
