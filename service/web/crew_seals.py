"""How a mark stands in the crew's words, and each patch on it: readings, verdict, drawing, what to do."""

from __future__ import annotations

from dataclasses import dataclass, replace

from service.actions.reading import ZoneView
from service.domain import roles
from service.domain.mark_facts import patch_facts
from service.domain.measures import Units, say_length
from service.domain.outline_texts import say_outline
from service.domain.overlap import Overlap, judge
from service.domain.repair import (
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
from service.domain.rules import TAPE_ONLY
from service.domain.sides import side_angle
from service.domain.site import Defect, Patch
from service.domain.wording import REASONS, say_reasons, say_short
from service.web.crew_mending import look_lines
from service.web.crew_pictures import photo_rows
from service.web.crew_words import patch_outline, starting
from service.web.drawing import PatchDrawing, PhotoRow
from service.web.patch_drawing import draw_patch
from service.web.render import moment

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
        return f"{defect.tag} is withdrawn", defect.withdrawn, ""
    if verdict.state == SEALED:
        return f"{defect.tag} is sealed{_by_what(defect, verdict, units)}", "", "holds"
    if verdict.state == OPEN:
        told = "Nothing is laid over it yet." if defect.kind in COVERED else "Nothing is logged on it yet."
        return f"{defect.tag} is open", told, ""
    return f"{defect.tag} is not sealed: {say_reasons(verdict, units)}", next_step(verdict), "short"


def _by_what(defect: Defect, verdict: Verdict, units: Units) -> str:
    overlap = verdict.overlap
    if overlap is not None and overlap.meets and defect.kind in COVERED:
        return f": least overlap {say_length(overlap.overlap_nm or 0, units, 'down')}"
    if defect.kind in SEALED_ELSEWHERE:
        return ": what lies beneath it was sealed anew"
    standing = [repair.method for repair in defect.repairs if repair.withdrawn is None]
    return f": {standing[-1]}" if standing else ": taped over"


# What to do about a reason, the first that stands; else put right what is named.
NEXT_STEPS = {
    "look-refused": "Take up what was refused, withdraw it here, and mend it anew. A refusal by the crew is "
    "lifted by a later look; an inspector's only by an inspector.",
    "sealed-elsewhere": "What is logged here does not mend it. Seal what lies beneath it.",
    "other-repair": "Mend it by one of the ways below, and log that. This stays on record.",
    "collar-first": "Damage beside a pipe needs patch and collar together: make the collar anew and log it.",
    "wider-than-roll": "Log it as the pieces it is made of, each lapping the next by the overlap.",
    "band-on-damage": "Its tape has nothing whole to hold to there: lay one patch over both, or patch the "
    "other so far that this tape lies on whole film.",
    "lot-not-known": "Log it again with the film's lot as printed on the roll, once that lot is logged as "
    "laid in this zone.",
    "other-material": "Patch with the film that was laid here, and log it with that lot.",
    "too-cold": "Wait until the film is warmer, tape anew, and log it again.",
    "lap-short": "Lap it again or lay a cover strip over it, and log that.",
    "wall-gone": "Draw the wall again where it stands, or lay film past that side.",
}


def next_step(verdict: Verdict) -> str:
    """What to do about a mark that is not sealed."""
    if verdict.state != NOT_SEALED:
        return ""
    if set(verdict.reasons) <= {"short"}:
        return "Lay another patch over it that laps this one, or take it up and lay a larger one. Log either."
    named = next((words for code, words in NEXT_STEPS.items() if code in verdict.reasons), "")
    return named or "Put right what is named, mend it anew, and log that too. This one stays on record."


def reach_words(overlap: Overlap, minimum_nm: int, units: Units) -> Words:
    """What a patch not logged yet would come to."""
    asks = f"This project asks {say_length(minimum_nm, units, 'up')} in every direction."
    if overlap.overlap_nm is None:
        return "", asks, ""
    if overlap.meets:
        return f"Holds: least overlap {say_length(overlap.overlap_nm, units, 'down')}", asks, "holds"
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
    who = view.names.get(patch.by, "a person no longer named")
    own = patch.defect_id == defect.id
    other = "" if own else f", laid from {view.site.defects[patch.defect_id].tag}"
    may = patch.withdrawn is None and roles.may(view.seen.role, "withdraw a patch")
    may = may and roles.may_withdraw(view.seen.role, person_id, patch.by, patch.role)
    may_photo = patch.withdrawn is None and roles.may(view.seen.role, "add a photo")
    may_look = patch.withdrawn is None and roles.may_look(view.seen.role, person_id, patch.by)
    return PatchLine(
        title=f"{who}, {moment(patch.logged_at, project.time_zone)}{other}",
        verdict=alone_words(view, patch, defect),
        facts=_facts(patch, project.units),
        note=patch.note,
        withdrawn=patch.withdrawn or "",
        photos=photo_rows(view, patch.id, f"the patch on {defect.tag}"),
        href=f"/patches/{patch.id}",
        withdraw_href=f"/patches/{patch.id}/withdraw" if may else "",
        photo_action=f"/patches/{patch.id}/photos" if may_photo else "",
        looks=look_lines(view, patch.looks),
        look_href=f"/patches/{patch.id}/look" if may_look else "",
    )


def alone_words(view: ZoneView, patch: Patch, defect: Defect) -> str:
    """What this one piece comes to by itself."""
    if patch.withdrawn is not None:
        return "Withdrawn: it no longer counts."
    project, facts = view.seen.project, facts_of(view, patch, defect)
    faults = [REASONS[code] for code in workmanship(facts, Numbers.of(project.sheet))]
    if facts.band_on:
        faults.append(f"see {', '.join(facts.band_on)}")
    if defect.kind not in COVERED:
        faults.insert(0, REASONS["other-repair"])
    if faults:
        return f"Does not count: {'; '.join(faults)}."
    if patch.method == TAPE_ONLY:
        covers = judge(defect.outline, (facts.piece,), 1).meets
        return "By itself it holds: tape covers the damage." if covers else "Damage shows past the tape."
    overlap = judge(defect.outline, (facts.piece,), project.sheet.patch_overlap.nm)
    words, _, kind = reach_words(overlap, project.sheet.patch_overlap.nm, project.units)
    return f"By itself{' it' if kind == 'holds' else ':'} {words[:1].lower()}{words[1:]}."


def _facts(patch: Patch, units: Units) -> tuple[tuple[str, str], ...]:
    rows: list[tuple[str, str]] = []
    if patch.sides is not None:
        read = {
            side: "wall" if nm is None else say_length(nm, units, "down")
            for side, nm in patch.sides.readings().items()
        }
        told = ", ".join(f"{side} {read[side]}" for side in ("far", "left", "right", "near"))
        rows.append(("Readings", told))
    if patch.outline is not None:
        rows.append(("Size", say_outline(patch.outline, units)))
        rows.append(("Its middle", _offset_words(patch.offset, units)))
    answers = (("cleaned", patch.cleaned), ("dry", patch.dry), ("all edges taped", patch.edges_taped))
    rows.append(("Work", ", ".join(word if done else f"not {word}" for word, done in answers)))
    rows.append(("Tape", f"{say_length(patch.tape_width_nm, units, 'down')} wide"))
    for term, words in (
        ("Method", patch.method), ("Lot", patch.lot), ("Film temperature", patch.film_temperature),
    ):  # fmt: skip
        if words:
            rows.append((term, words))
    return tuple(rows)


def _offset_words(offset: tuple[int, int], units: Units) -> str:
    parts = [
        f"{say_length(abs(nm), units)} {plus if nm > 0 else minus}"
        for nm, plus, minus in ((offset[0], "right", "left"), (offset[1], "down", "up"))
        if nm
    ]
    return f"{' and '.join(parts)} of the damage's middle" if parts else "on the damage's middle"


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
