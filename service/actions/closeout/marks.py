"""Marks for the closeout: each with every patch and repair, its overlap and the minimum asked then."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

from service.actions.closeout.acts import CLEANED, DRY, EDGES_TAPED, TAPED, Acts, yes_and_no
from service.domain.gate.during import found_when
from service.domain.gate.wording import say_reasons
from service.domain.nouns.installed import CLEAN, Repair
from service.domain.nouns.site import Defect, Patch, Site, Zone
from service.domain.patches.repair import OPEN, SEALED, WITHDRAWN, Verdict
from service.domain.shapes.outline_texts import say_outline
from service.domain.sketch.where import where_words
from service.domain.words.measures import say_length
from service.domain.words.speech import later, tr, trc
from service.domain.words.temperatures import say_typed
from service.history.closeout.told import MarkTold, PatchTold, RepairTold, Size
from service.history.facts.facts import PatchLogged
from service.history.facts.installed import RepairLogged

NOT_JUDGED = later("not judged: its sketch has no scale")


class Marks:
    """What is logged on the marks of a site, looked up once however many marks there are.

    `laps`: the least lap asked of each repair then.
    """

    def __init__(self, site: Site, acts: Acts, laps: Mapping[tuple[str, str], int]) -> None:
        self.site, self.acts, self.laps = site, acts, laps
        self.patches: dict[str, list[Patch]] = defaultdict(list)
        self.under: dict[str, list[str]] = defaultdict(list)
        self.photos: dict[str, list[str]] = defaultdict(list)
        for patch in sorted(site.patches.values(), key=lambda patch: (patch.seq, patch.id)):
            self.patches[patch.defect_id].append(patch)
            for other in patch.also if patch.withdrawn is None else ():
                self.under[other].append(site.defects[patch.defect_id].tag)
        for photo in sorted(site.photos.values(), key=lambda photo: (photo.at, photo.id)):
            self.photos[photo.subject].append(f"photos/{photo.sha256}.jpg")

    def of(self, zone: Zone, verdicts: Mapping[str, Verdict]) -> tuple[MarkTold, ...]:
        """The zone's own marks, withdrawn ones too, in the order of their tags. `verdicts`: as it judges."""
        own = [mark for mark in self.site.defects.values() if mark.zone_id == zone.id]
        own.sort(key=lambda mark: (len(mark.tag), mark.tag))
        return tuple(self._told(mark, verdicts.get(mark.id)) for mark in own)

    def _told(self, mark: Defect, verdict: Verdict | None) -> MarkTold:
        acts, units = self.acts, self.acts.units
        patches = self.patches[mark.id]
        state = WITHDRAWN if mark.withdrawn is not None else verdict.state if verdict else NOT_JUDGED
        return MarkTold(
            id=mark.id,
            tag=mark.tag,
            kind=mark.kind,
            size=say_outline(mark.outline, units),
            where=where_words(self.site.sketches[mark.sketch_id], mark.at, units),
            note=mark.note,
            cause=mark.cause,
            state=state,
            why=say_reasons(verdict, units) if verdict and state not in (OPEN, SEALED, WITHDRAWN) else "",
            overlap=self._reached(verdict) if state != WITHDRAWN else None,
            after_placing=mark.after_placing,
            found=found_when(mark),
            act=acts.beginning("defect", mark.id),
            patches=tuple(self._patch(patch) for patch in patches),
            under=tuple(dict.fromkeys(self.under[mark.id])),
            repairs=tuple(self._repair(repair) for repair in mark.repairs),
            photos=tuple(
                photo
                for subject in (mark.id, *(patch.id for patch in patches))
                for photo in self.photos[subject]
            ),
            undone=acts.undone("defect", mark.id, mark.withdrawn),
        )

    def _reached(self, verdict: Verdict | None) -> Size | None:
        nm = verdict.overlap.overlap_nm if verdict and verdict.overlap else None
        return None if nm is None else self.acts.down(nm)

    def _patch(self, patch: Patch) -> PatchTold:
        acts, fact = self.acts, self.acts.fact("patch", patch.id)
        assert isinstance(fact, PatchLogged), "a patch begins with its own fact"
        answers = ((CLEANED, patch.cleaned), (DRY, patch.dry), (EDGES_TAPED, patch.edges_taped))
        how = [
            *yes_and_no(answers),
            tr("{length} tape", length=say_length(patch.tape_width_nm, acts.units, "down")),
        ]
        how += (
            [tr("film at {temperature}", temperature=say_typed(patch.film_temperature, acts.units))]
            if patch.film_temperature
            else []
        )
        return PatchTold(
            method=patch.method,
            size=self._size(patch),
            over=tuple(self.site.defects[other].tag for other in patch.also),
            overlap=None if fact.overlap_nm is None else acts.down(fact.overlap_nm),
            minimum=acts.asked(fact.minimum_nm),
            met=fact.meets,
            how=", ".join(how),
            lot=patch.lot,
            note=patch.note,
            act=acts.beginning("patch", patch.id),
            looks=acts.looks(patch.looks),
            undone=acts.undone("patch", patch.id, patch.withdrawn),
        )

    def _size(self, patch: Patch) -> str:
        if patch.outline is not None:
            return say_outline(patch.outline, self.acts.units)
        read = patch.sides.readings() if patch.sides is not None else {}
        return ", ".join(
            tr("{side} to a wall", side=trc("side", word))
            if nm is None
            else f"{trc('side', word)} {say_length(nm, self.acts.units, 'down')}"
            for word, nm in read.items()
        )

    def _repair(self, repair: Repair) -> RepairTold:
        acts, fact = self.acts, self.acts.fact("repair", repair.id)
        assert isinstance(fact, RepairLogged), "a repair begins with its own fact"
        lapped = repair.method != CLEAN
        answers = ((TAPED, repair.taped),) if lapped else ()
        return RepairTold(
            method=repair.method,
            lap=None if repair.lap_nm is None else acts.down(repair.lap_nm),
            minimum=acts.asked(self.laps["repair", repair.id]) if lapped else None,
            met=fact.meets,
            how=acts.how(repair.work, *answers),
            lot=repair.work.lot,
            note=repair.work.note,
            act=acts.signed(repair.signed),
            looks=acts.looks(repair.looks),
            undone=acts.undone("repair", repair.id, repair.withdrawn),
        )
