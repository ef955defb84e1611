"""Why a zone is held, as numbered rows with a link to the thing; and the line that tells its state."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from service.domain.gate.gate import Blocker
from service.domain.gate.wording import say_blocker
from service.domain.nouns.site import Defect, Zone
from service.domain.shapes.outline_texts import say_outline
from service.domain.words.measures import Units, say_length
from service.domain.words.speech import tr
from service.web.drawings.drawing import ReasonRow

# Things with a page of their own, by the blocker's kind of subject.
THINGS = {"penetration": "penetrations", "seam": "seams", "termination": "edges"}
KINDS = {"ready to place": "ready", "placed without release": "placed-without-release"}


def kind_of(state: str) -> str:
    """The line that tells a zone's state (`kind` of the title block and the drawings) from its word."""
    return KINDS.get(state, state)


def reason_rows(
    blockers: Iterable[Blocker], zone: Zone, project_id: str, units: Units, marks: Mapping[str, Defect]
) -> tuple[ReasonRow, ...]:
    """One row a blocker, in the gate's order. `marks`: defects by id, for their sizes."""
    return tuple(_row(blocker, zone, project_id, units, marks) for blocker in blockers)


def _row(
    blocker: Blocker, zone: Zone, project_id: str, units: Units, marks: Mapping[str, Defect]
) -> ReasonRow:
    words = say_blocker(blocker, units)
    kind, subject = blocker.subject
    if kind == "defect":
        mark = marks.get(subject)
        sub = _size(mark, blocker, units) if mark else ""
        return ReasonRow(words.removeprefix(f"{blocker.name} "), blocker.name, sub, f"/defects/{subject}")
    if kind in THINGS:
        return ReasonRow(
            words.removeprefix(f"{blocker.name} "), blocker.name, "", f"/{THINGS[kind]}/{subject}"
        )
    href, link = {
        "none-stated": (f"/zones/{zone.id}/{blocker.detail}", tr("Place or state")),
        "edge-not-described": (f"/zones/{zone.id}/edges", tr("Edges")),
        "film-not-logged": (f"/zones/{zone.id}/film", tr("Film")),
        "film-below-sheet": (f"/zones/{zone.id}/film", tr("Film")),
        "hold-point-open": (f"/zones/{zone.id}/hold-points", tr("Hold points")),
        "hold-point-refused": (f"/zones/{zone.id}/hold-points", tr("Hold points")),
        "no-scale": (f"/sketches/{zone.sketch_id}/scale", tr("Set the scale")),
        "zone-hold": (f"/zones/{zone.id}/hold", tr("See it")),
        "cannot-be-checked": (f"/projects/{project_id}/rule-sheet", tr("Rule sheet")),
    }.get(blocker.code, (f"/zones/{zone.id}", tr("Zone page")))
    return ReasonRow(words, href=href, link=link)


def _size(mark: Defect, blocker: Blocker, units: Units) -> str:
    """What was marked and, where it is patched, how far the patch reaches of what is asked."""
    told = say_outline(mark.outline, units)
    overlap = blocker.verdict.overlap if blocker.verdict else None
    if overlap is None or overlap.overlap_nm is None or overlap.overlap_nm < 0 or overlap.meets:
        return told
    reach = say_length(overlap.overlap_nm, units, "down")
    return tr("{size}, overlap {length}", size=told, length=reach)
