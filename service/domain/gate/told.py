"""What an entry tells as judged or listed, worked out from the site as it stands just before it.

Actions tell it with these, and whoever verifies a record works it out again with the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields
from itertools import chain

from service.domain.gate.gate import Blocker
from service.domain.gate.mark_facts import patch_facts
from service.domain.gate.surroundings import Surroundings
from service.domain.gate.wording import say_blocker
from service.domain.nouns.installed import Penetration, Raised, Seam, Termination
from service.domain.nouns.rules import RAISABLE, RuleSheet
from service.domain.nouns.site import Defect, Patch, Site
from service.domain.patches.overlap import Piece, too_many_corners
from service.domain.patches.repair import workmanship
from service.domain.shapes.outlines import Outline
from service.domain.words.measures import Units
from service.domain.words.speech import IN_ENGLISH, later, speaking

# More pieces on one mark than this are not judged together.
MOST_ON_A_MARK = 40
NOBODY_RELEASED = later("Nothing stood against it, and nobody released it.")


def counting_pieces(
    mark: Defect, patches: Iterable[Patch], marks: Mapping[str, Defect], around: Surroundings
) -> list[Piece]:
    """Of the patches that stand on a mark, the pieces that count with another one laid there."""
    found = []
    for patch in patches:
        facts = patch_facts(patch, mark, marks.get(patch.defect_id), around)
        if not workmanship(facts, around.numbers):
            found.append(facts.piece)
    return found


def too_many(damage: Outline, pieces: Sequence[Piece]) -> bool:
    """True where judging these together would take longer than anybody should wait: nobody logs so many."""
    return len(pieces) > MOST_ON_A_MARK or too_many_corners(damage, pieces)


def withdrawn_in(site: Site, zone_id: str) -> tuple[str, ...]:
    """What was withdrawn in the zone, listed at every release: tag and reason."""
    own = [mark for mark in site.defects.values() if mark.zone_id == zone_id]
    marks = [f"{mark.tag}: {mark.withdrawn}" for mark in own if mark.withdrawn]
    patches = [
        f"patch on {site.defects[patch.defect_id].tag}: {patch.withdrawn}"
        for patch in site.patches.values()
        if patch.zone_id == zone_id and patch.withdrawn
    ]
    repairs = [
        f"repair of {mark.tag}: {repair.withdrawn}"
        for mark in own
        for repair in mark.repairs
        if repair.withdrawn
    ]
    things: Iterable[Penetration | Seam | Termination] = chain(
        site.penetrations.values(), site.seams.values(), site.terminations.values()
    )
    others = [
        f"{thing.tag}: {thing.withdrawn}" for thing in things if thing.zone_id == zone_id and thing.withdrawn
    ]
    return (*sorted(marks), *sorted(patches), *sorted(repairs), *sorted(others))


def why_not_released(blockers: Sequence[Blocker], units: Units) -> tuple[str, ...]:
    """What is kept with a zone that was placed without release."""
    with speaking(IN_ENGLISH):  # what is kept is the same whoever asked for it
        return tuple(say_blocker(blocker, units) for blocker in blockers) or (NOBODY_RELEASED,)


def found_in_placing(blockers: Sequence[Blocker], units: Units) -> tuple[str, ...]:
    """What is kept with a zone placed while ready: found during placing, and not mended by then."""
    with speaking(IN_ENGLISH):
        return tuple(say_blocker(blocker, units) for blocker in blockers)


def changed_in_sheet(old: RuleSheet, new: RuleSheet) -> tuple[str, ...]:
    """The names of what differs between two rule sheets, in their order."""
    return tuple(f.name for f in fields(new) if getattr(new, f.name) != getattr(old, f.name))


def changed_in_zone(old: Iterable[Raised], new: Iterable[Raised]) -> tuple[str, ...]:
    """The names of what differs between what a zone asked more of and asks more of now."""
    before, after = ({one.name: one for one in all_of} for all_of in (old, new))
    return tuple(name for name in RAISABLE if before.get(name) != after.get(name))
