"""What the patches of a plan come to lie on: the plan looks at marks alone, and a crew at all there is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from service.actions.frame.reading import ZoneView
from service.actions.marks.together import ZonePlan
from service.domain.gate.surroundings import Surroundings
from service.domain.patches.patch_plan import PlanGroup
from service.domain.shapes.lines_near import lines_within
from service.domain.shapes.nearby import Placed, within
from service.domain.shapes.outlines import Rectangle
from service.domain.words.measures import Units, say_sides
from service.domain.words.speech import later, tr
from service.web.together.mark_beside import across_words

OVER_END = later("reaches past a wall or a sealed edge: end it there, sealed to it, and log it by the tape")


@dataclass(frozen=True, slots=True)
class Met:
    """`told`: what to mind at one patch, in words. `past_end`: it lies across a place where film ends."""

    told: tuple[str, ...]
    past_end: bool


def met_by(view: ZoneView, found: ZonePlan, around: Surroundings) -> list[Met]:
    """What each patch of the plan meets, in the plan's order."""
    marks = across_words(view, list(found.marks.values()), around)
    pipes, past = _pipes_under(view, found, around), past_end(found.plan.groups, around)
    met = []
    for place, group in enumerate(found.plan.groups):
        words = [words for id in group.marks for words in marks[id]]
        beside = " ".join(words)
        words += [
            tr("lies over {tag}: cut it to fit there and collar it", tag=tag)
            for tag in pipes[place]
            if tag not in beside
        ]
        words += [tr(OVER_END)] if place in past else []
        words += _pieces_words(group, view.seen.project.units)
        met.append(Met(tuple(words), place in past))
    return met


def _rectangle(group: PlanGroup) -> Rectangle:
    return Rectangle(group.length_nm, group.width_nm, group.angle_udeg)


def _pipes_under(view: ZoneView, found: ZonePlan, around: Surroundings) -> list[tuple[str, ...]]:
    """Tags of the penetrations that come through each patch."""
    pipes = {
        pipe.id: pipe
        for pipe in view.site.penetrations.values()
        if pipe.sketch_id == view.zone.sketch_id and pipe.withdrawn is None
    }
    groups = found.plan.groups
    patches = [Placed(group.marks[0], _rectangle(group), group.centre) for group in groups]
    there = [Placed(pipe.id, pipe.outline, pipe.at) for pipe in pipes.values()]
    met = within(patches, there, around.per_px, 0)
    return [tuple(sorted(pipes[id].tag for id in met.get(group.marks[0], ()))) for group in groups]


def past_end(groups: Sequence[PlanGroup], around: Surroundings) -> set[int]:
    """The patches, by their place among these, that lie across a wall or a sealed edge."""
    return {
        place
        for place, group in enumerate(groups)
        if lines_within(_rectangle(group), group.centre, around.lines, around.per_px, 0)
    }


def _pieces_words(group: PlanGroup, units: Units) -> list[str]:
    if not group.seamed:
        return []
    if not group.pieces:
        return [tr("wider than the roll, which is no wider than the overlap: replace the sheet")]
    each = "; ".join(say_sides(long, wide, units, "up") for long, wide in group.pieces)
    return [
        tr(
            "wider than the roll: join it from {each}, each lapping the next and taped, and log each by "
            "itself",
            each=each,
        )
    ]
