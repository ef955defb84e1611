"""How a mark stands in the crew's words, and each patch on it: readings, verdict, drawing, what to do."""

from __future__ import annotations

from dataclasses import dataclass, replace

from service.actions.frame.reading import ZoneView
from service.domain.gate.mark_facts import patch_facts
from service.domain.gate.wording import REASONS, say_reasons, say_short
from service.domain.nouns import roles
from service.domain.nouns.rules import TAPE_ONLY
from service.domain.nouns.site import Defect, Patch
from service.domain.patches.overlap import Overlap, judge
from service.domain.patches.repair import (
    COVERED,
    NOT_SEALED,
    OPEN,
    SEALED,
    SEALED_ELSEWHERE,
    Numbers,
    PatchFacts,
    Verdict,
    workmanship,
)
from service.domain.shapes.outline_texts import say_outline
from service.domain.shapes.sides import SIDE_NAMES, side_angle
from service.domain.words.measures import Units, say_length
from service.domain.words.speech import later, tr, trc
from service.domain.words.temperatures import say_typed
from service.web.drawings.drawing import PatchDrawing, PhotoRow
from service.web.drawings.patch_drawing import draw_patch
from service.web.marks.mending import look_lines
from service.web.marks.pictures import photo_rows
from service.web.serving.render import moment
from service.web.shared.crew_words import patch_outline, starting

OTHER_REPAIR = "other-repair"
Words = tuple[str, str, str]  # the sentence, the quieter line, and kind: "", holds, short or stop


@dataclass(frozen=True, slots=True)
class PatchLine:
    """One patch on a mark, as its page tells it. `withdraw_href`, `photo_action`: empty for who may not."""

    title: str
    verdict: str
    facts: tuple[tuple[str, str], ...]
    note: str
    withdrawn: str
    photos: tuple[PhotoRow, ...]
    href: str
    withdraw_href: str
    photo_action: str
    looks: tuple[str, ...] = ()
    look_href: str = ""


def stands_words(defect: Defect, verdict: Verdict, units: Units) -> Words:
    """How a mark stands: `B-08 is sealed: least overlap 6 1/4 in`, or short by how much and where."""
    if defect.withdrawn is not None:
        return tr("{tag} is withdrawn", tag=defect.tag), defect.withdrawn, ""
    if verdict.state == SEALED:
        return _sealed_by(defect, verdict, units), "", "holds"
    if verdict.state == OPEN:
        covered = defect.kind in COVERED
        told = tr("Nothing is laid over it yet.") if covered else tr("Nothing is logged on it yet.")
        return tr("{tag} is open", tag=defect.tag), told, ""
    why = say_reasons(verdict, units)
    return tr("{tag} is not sealed: {why}", tag=defect.tag, why=why), next_step(verdict), "short"


def _sealed_by(defect: Defect, verdict: Verdict, units: Units) -> str:
    overlap, tag = verdict.overlap, defect.tag
    if overlap is not None and overlap.meets and defect.kind in COVERED:
        least = say_length(overlap.overlap_nm or 0, units, "down")
        return tr("{tag} is sealed: least overlap {length}", tag=tag, length=least)
    if defect.kind in SEALED_ELSEWHERE:
        return tr("{tag} is sealed: what lies beneath it was sealed anew", tag=tag)
    standing = [repair.method for repair in defect.repairs if repair.withdrawn is None]
    if not standing:
        return tr("{tag} is sealed: taped over", tag=tag)
    return tr("{tag} is sealed: {method}", tag=tag, method=tr(standing[-1]))


# What to do about a reason, the first that stands; else put right what is named.
NEXT_STEPS = {
    "look-refused": later(
        "Take up what was refused, withdraw it here, and mend it anew. A refusal by the crew is "
        "lifted by a later look; an inspector's only by an inspector."
    ),
    "late": later(
        "Have another person look at it on site and accept it, or log a new patch as it lies there now."
    ),
    "sealed-elsewhere": later("What is logged here does not mend it. Seal what lies beneath it."),
    "other-repair": later("Mend it by one of the ways below, and log that. This stays on record."),
    "collar-first": later(
        "Damage beside a pipe needs patch and collar together: make the collar anew and log it."
    ),
    "wider-than-roll": later("Log it as the pieces it is made of, each lapping the next by the overlap."),
    "band-on-damage": later(
        "Its tape has nothing whole to hold to there: lay one patch over both, or patch the "
        "other so far that this tape lies on whole film."
    ),
    "lot-not-known": later(
        "Log it again with the film's lot as printed on the roll, once that lot is logged as "
        "laid in this zone."
    ),
    "other-material": later("Patch with the film that was laid here, and log it with that lot."),
    "too-cold": later("Wait until the film is warmer, tape anew, and log it again."),
    "lap-short": later("Lap it again or lay a cover strip over it, and log that."),
    "wall-gone": later("Draw the wall again where it stands, or lay film past that side."),
}


def next_step(verdict: Verdict) -> str:
    """What to do about a mark that is not sealed."""
    if verdict.state != NOT_SEALED:
        return ""
    if set(verdict.reasons) <= {"short"}:
        return tr(
            "Lay another patch over it that laps this one, or take it up and lay a larger one. Log either."
        )
    named = next((words for code, words in NEXT_STEPS.items() if code in verdict.reasons), "")
    if named:
        return tr(named)
    return tr("Put right what is named, mend it anew, and log that too. This one stays on record.")


def reach_words(overlap: Overlap, minimum_nm: int, units: Units) -> Words:
    """What a patch not logged yet would come to."""
    asks = tr("This project asks {length} in every direction.", length=say_length(minimum_nm, units, "up"))
    if overlap.overlap_nm is None:
        return "", asks, ""
    if overlap.meets:
        least = say_length(overlap.overlap_nm, units, "down")
        return tr("Holds: least overlap {length}", length=least), asks, "holds"
    return starting(say_short(Verdict(NOT_SEALED, overlap, ("short",)), units)), asks, "short"


def facts_of(view: ZoneView, patch: Patch, defect: Defect) -> PatchFacts:
    """The patch as the gate sees it from one mark, or would if the mark still stood."""
    seen = view.standing.patch_facts(defect.id, patch.id)
    if seen is not None:
        return seen
    around = view.around()
    assert around is not None, "patches lie on marks, and marks on sketches with a scale"
    return patch_facts(patch, defect, view.site.defects.get(patch.defect_id), around)


def patch_line(view: ZoneView, patch: Patch, defect: Defect, person_id: str) -> PatchLine:
    """One patch, as the page of a mark it lies on tells it."""
    project = view.seen.project
    who = view.names.get(patch.by, tr("a person no longer named"))
    own = patch.defect_id == defect.id
    title = f"{who}, {moment(patch.logged_at, project.time_zone)}"
    if not own:
        title = tr("{title}, laid from {tag}", title=title, tag=view.site.defects[patch.defect_id].tag)
    may = patch.withdrawn is None and roles.may(view.seen.role, "withdraw a patch")
    may = may and roles.may_withdraw(view.seen.role, person_id, patch.by, patch.role)
    may_photo = patch.withdrawn is None and roles.may(view.seen.role, "add a photo")
    may_look = patch.withdrawn is None and roles.may_look(view.seen.role, person_id, patch.by)
    return PatchLine(
        title=title,
        verdict=alone_words(view, patch, defect),
        facts=_facts(patch, project.units),
        note=patch.note,
        withdrawn=patch.withdrawn or "",
        photos=photo_rows(view, patch.id, tr("the patch on {tag}", tag=defect.tag)),
        href=f"/patches/{patch.id}",
        withdraw_href=f"/patches/{patch.id}/withdraw" if may else "",
        photo_action=f"/patches/{patch.id}/photos" if may_photo else "",
        looks=look_lines(view, patch.looks),
        look_href=f"/patches/{patch.id}/look" if may_look else "",
    )


def alone_words(view: ZoneView, patch: Patch, defect: Defect) -> str:
    """What this one piece comes to by itself."""
    if patch.withdrawn is not None:
        return tr("Withdrawn: it no longer counts.")
    project, facts = view.seen.project, facts_of(view, patch, defect)
    faults = [tr(REASONS[code]) for code in workmanship(facts, Numbers.of(project.sheet))]
    if facts.band_on:
        faults.append(tr("see {tags}", tags=", ".join(facts.band_on)))
    if defect.kind not in COVERED:
        faults.insert(0, tr(REASONS[OTHER_REPAIR]))
    if faults:
        return tr("Does not count: {why}.", why="; ".join(faults))
    if patch.method == TAPE_ONLY:
        covers = judge(defect.outline, (facts.piece,), 1).meets
        if covers:
            return tr("By itself it holds: tape covers the damage.")
        return tr("Damage shows past the tape.")
    overlap = judge(defect.outline, (facts.piece,), project.sheet.patch_overlap.nm)
    if overlap.overlap_nm is not None and overlap.meets:
        least = say_length(overlap.overlap_nm, project.units, "down")
        return tr("By itself it holds: least overlap {length}.", length=least)
    words, _, _ = reach_words(overlap, project.sheet.patch_overlap.nm, project.units)
    return tr("By itself: {words}.", words=words[:1].lower() + words[1:])


def _facts(patch: Patch, units: Units) -> tuple[tuple[str, str], ...]:
    rows: list[tuple[str, str]] = []
    if patch.sides is not None:
        read = {
            side: tr("wall") if nm is None else say_length(nm, units, "down")
            for side, nm in patch.sides.readings().items()
        }
        told = ", ".join(f"{tr(SIDE_NAMES[side])} {read[side]}" for side in ("far", "left", "right", "near"))
        rows.append((tr("Readings"), told))
    if patch.outline is not None:
        rows.append((tr("Size"), say_outline(patch.outline, units)))
        rows.append((tr("Its middle"), _offset_words(patch.offset, units)))
    answers = (
        tr("cleaned") if patch.cleaned else tr("not cleaned"),
        tr("dry") if patch.dry else tr("not dry"),
        tr("all edges taped") if patch.edges_taped else tr("not all edges taped"),
    )
    rows.append((trc("repair", "Work"), ", ".join(answers)))
    rows.append((tr("Tape"), tr("{width} wide", width=say_length(patch.tape_width_nm, units, "down"))))
    more = ((tr("Method"), tr(patch.method)), (tr("Lot"), patch.lot))
    for term, words in (*more, (tr("Film temperature"), say_typed(patch.film_temperature, units))):
        if words:
            rows.append((term, words))
    return tuple(rows)


def _offset_words(offset: tuple[int, int], units: Units) -> str:
    across, down = offset
    parts = []
    if across:
        told = later("{far} right") if across > 0 else later("{far} left")
        parts.append(tr(told, far=say_length(abs(across), units)))
    if down:
        told = later("{far} down") if down > 0 else later("{far} up")
        parts.append(tr(told, far=say_length(abs(down), units)))
    if not parts:
        return tr("on the damage's middle")
    if len(parts) == 1:
        return tr("{far} of the damage's middle", far=parts[0])
    return tr("{far} and {further} of the damage's middle", far=parts[0], further=parts[1])


def mark_drawing(view: ZoneView, defect: Defect) -> PatchDrawing:
    """The damage with every patch that lies on it; one alone read by the tape shows its four readings."""
    project = view.seen.project
    standing = [p for p in view.patches_on(defect.id) if p.withdrawn is None]
    verdict = view.verdict(defect)
    label = stands_words(defect, verdict, project.units)[0]
    minimum = project.sheet.patch_overlap.nm if defect.kind in COVERED else 0
    if len(standing) == 1 and standing[0].sides is not None and standing[0].defect_id == defect.id:
        sides = standing[0].sides
        read = {side: nm for side, nm in sides.readings().items() if nm is not None}
        return draw_patch(
            defect.outline,
            minimum,
            sides,
            label=label,
            low=[side for side, nm in read.items() if nm < minimum],
            words={side: say_length(nm, project.units, "down") for side, nm in read.items()},
        )
    pieces = []
    for patch in standing:
        piece = facts_of(view, patch, defect).piece
        if piece.outline is not None:
            pieces.append((piece.outline, piece.offset))
        else:
            pieces.append(patch_outline(patch, defect))
    drawn = draw_patch(
        defect.outline, minimum, pieces=pieces, label=label, angle_udeg=side_angle(defect.outline)
    )
    return drawn if minimum else replace(drawn, needed="")
