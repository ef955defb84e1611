"""What stands beside marks and changes how they are patched: seams under them, pipes, walls and edges."""

from __future__ import annotations

from collections.abc import Sequence

from service.actions.frame.reading import ZoneView
from service.domain.gate.near_marks import near_marks
from service.domain.gate.surroundings import Surroundings, walled_sides
from service.domain.installed.seams import seams_across
from service.domain.installed.terminations import closes
from service.domain.nouns.installed import FREE_EDGE, JOINT, SHORT_OF_FOOTING, Seam, Termination
from service.domain.nouns.site import Defect, Px
from service.domain.patches.repair import COVERED
from service.domain.shapes.lines_near import lines_within
from service.domain.shapes.sides import SIDE_NAMES, side_angle
from service.domain.words.speech import tr, trn
from service.web.drawings.drawing import ReasonRow
from service.web.shared.crew_words import SEAM_KINDS_OF_MARK


def rows_beside(view: ZoneView, mark: Defect) -> tuple[ReasonRow, ...]:
    """What has to be minded when this mark is patched, each with the way to it; nothing with no scale."""
    around = view.around()
    if around is None or mark.kind not in COVERED:
        return ()
    return (*_seam_rows(view, mark, around), *_pipe_rows(view, mark, around), *_edge_rows(view, mark, around))


def _seams(view: ZoneView) -> list[Seam]:
    return [seam for seam in view.site.seams.values() if seam.sketch_id == view.zone.sketch_id]


def _seam_rows(view: ZoneView, mark: Defect, around: Surroundings) -> list[ReasonRow]:
    seams = _seams(view)
    ids = {seam.tag: seam.id for seam in seams if seam.withdrawn is None}
    told = tr("lies under it: the patch has to lap both sheets")
    if mark.kind in SEAM_KINDS_OF_MARK:
        told = tr("lies under it: the cover strip has to lap both sheets")
    return [
        ReasonRow(
            told, tag, tr("A seam is a sheet's edge. Past it lies the other sheet."), f"/seams/{ids[tag]}"
        )
        for tag in seams_across(mark.outline, mark.at, seams, around.per_px)
    ]


def _pipe_rows(view: ZoneView, mark: Defect, around: Surroundings) -> list[ReasonRow]:
    """Where the mark's verdict names a collar to make anew, its row stands among what mends it."""
    verdict = view.verdict(mark)
    if "collar-first" in verdict.reasons:
        return []
    near = near_marks(view.site, view.zone, [mark], around)
    tags = set(near.collars(mark))
    return [
        ReasonRow(
            tr("comes through the film here: patch and collar together"),
            pipe.tag,
            tr("The mark is sealed once the collar is made anew too."),
            f"/penetrations/{pipe.id}",
        )
        for pipe in near.pipes.values()
        if pipe.tag in tags and pipe.withdrawn is None
    ]


def across_words(view: ZoneView, marks: Sequence[Defect], around: Surroundings) -> dict[str, list[str]]:
    """The same of many marks, a few words each, by mark: seams under them, collars to make anew."""
    near, seams = near_marks(view.site, view.zone, marks, around), _seams(view)
    told: dict[str, list[str]] = {mark.id: [] for mark in marks}
    for mark in marks:
        for tag in seams_across(mark.outline, mark.at, seams, around.per_px):
            told[mark.id].append(
                tr("{mark} lies across seam {seam}: lap both sheets", mark=mark.tag, seam=tag)
            )
        for tag in near.collars(mark):
            told[mark.id].append(
                tr("{mark} is at {penetration}: patch and collar together", mark=mark.tag, penetration=tag)
            )
    return told


# --- walls and edges -------------------------------------------------------------------------------------


def _edge_rows(view: ZoneView, mark: Defect, around: Surroundings) -> list[ReasonRow]:
    """What a wall or a stretch of edge within the overlap means for the side it stands on."""
    stretches = _stretches(view)
    near = [stretches[k] for k in _near(mark, [stretch.path for stretch in stretches], around)]
    here = (w for w in view.site.walls.values() if w.sketch_id == view.zone.sketch_id and w.withdrawn is None)
    walls = _near(mark, [(wall.a, wall.b) for wall in here], around)
    ends = [stretch for stretch in near if closes(stretch, around.numbers)]
    rows = _ending_rows(mark, ends, bool(walls), around)
    return rows + [_going_on(stretch) for stretch in near if stretch not in ends]


def _stretches(view: ZoneView) -> list[Termination]:
    standing = (t for t in view.site.terminations.values() if t.withdrawn is None)
    return sorted((t for t in standing if t.sketch_id == view.zone.sketch_id), key=lambda t: t.tag)


def _near(mark: Defect, paths: Sequence[Sequence[Px]], around: Surroundings) -> tuple[int, ...]:
    """Which of these lines lie within the overlap of the damage."""
    return lines_within(mark.outline, mark.at, paths, around.per_px, around.numbers.patch_overlap_nm)


def _ending_rows(
    mark: Defect, ends: Sequence[Termination], wall: bool, around: Surroundings
) -> list[ReasonRow]:
    """Where film ends beside the mark: the sides on which the patch may end too."""
    if not ends and not wall:
        return []
    names = _listed([f"{each.tag} ({tr(each.kind)})" for each in ends] + ([tr("the wall")] if wall else []))
    href = f"/edges/{ends[0].id}" if ends else ""
    sides = sorted(walled_sides(mark.outline, mark.at, side_angle(mark.outline), around))
    if sides:
        told = trn(
            "On the {sides} side film ends at {names}: the patch may end there too, sealed to it",
            "On the {sides} sides film ends at {names}: the patch may end there too, sealed to it",
            len(sides),
            sides=_listed([tr(SIDE_NAMES[side]) for side in sides]),
            names=names,
        )
        return [ReasonRow(told, sub=tr("Say so in place of that reading when it is logged."), href=href)]
    told = tr(
        "Film ends close by at {names}, which does not stand across from all of the damage", names=names
    )
    return [ReasonRow(told, sub=tr("The whole overlap is asked on every side."), href=href)]


def _listed(names: Sequence[str]) -> str:
    """`one`, `one and another`, `one and another and a third`."""
    told = names[0]
    for name in names[1:]:
        told = tr("{list} and {last}", list=told, last=name)
    return told


def _going_on(stretch: Termination) -> ReasonRow:
    """A stretch where film does not end, or not yet."""
    kind = tr(stretch.kind)
    if stretch.kind == JOINT:
        told = tr("({kind}) is close by: film goes on past it, and so does the patch", kind=kind)
    elif stretch.kind in (FREE_EDGE, SHORT_OF_FOOTING):
        told = tr("({kind}) is close by: nothing stands there to seal the patch to", kind=kind)
    else:
        told = tr("({kind}) is close by and not sealed: film goes on there until it is", kind=kind)
    return ReasonRow(
        told, stretch.tag, tr("The whole overlap is asked past the damage there."), f"/edges/{stretch.id}"
    )
