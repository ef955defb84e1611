"""What mends a mark besides a patch, in the crew's words: its ways, the repairs logged, and second looks."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from urllib.parse import quote

from service.actions.frame.reading import ZoneView
from service.domain.gate.mark_facts import look_facts, repair_facts
from service.domain.gate.wording import REASONS
from service.domain.nouns import roles
from service.domain.nouns.installed import CAUSES, CLEAN, REPLACE_SHEET, Look, Repair
from service.domain.nouns.roles import INSPECTOR
from service.domain.nouns.rules import RuleSheet
from service.domain.nouns.site import Defect
from service.domain.patches.patch_plan import seamed_pieces
from service.domain.patches.repair import COVERED, MENDED_BY, REFUSED, Numbers, Verdict, repair_faults
from service.domain.shapes.outlines import cut_size
from service.domain.words.measures import Units, say_length, say_sides
from service.domain.words.speech import later, tr, trc, trn
from service.domain.words.temperatures import say_temperature
from service.web.drawings.drawing import Choice, ReasonRow
from service.web.serving.render import moment
from service.web.shared.crew_words import starting

NOBODY = later("a person no longer named")
SEALED_THEN = later("Sealed after this mark was made, it seals the mark.")


@dataclass(frozen=True, slots=True)
class RepairLine:
    """One repair on a mark, as its page tells it. Addresses are empty for who may not."""

    title: str
    verdict: str
    facts: tuple[tuple[str, str], ...]
    note: str
    withdrawn: str
    looks: tuple[str, ...]
    look_href: str
    withdraw_href: str


def repair_line(view: ZoneView, repair: Repair, defect: Defect, person_id: str) -> RepairLine:
    """One repair that is no patch: what was done, what it comes to, who looked at it."""
    role, project, signed = view.seen.role, view.seen.project, repair.signed
    root = f"/defects/{defect.id}/repairs/{repair.id}"
    stands = repair.withdrawn is None
    may_go = stands and roles.may(role, "withdraw a repair")
    may_go = may_go and roles.may_withdraw(role, person_id, signed.by, signed.role)
    may_look = stands and roles.may_look(role, person_id, signed.by)
    return RepairLine(
        title=f"{view.names.get(signed.by, tr(NOBODY))}, {moment(signed.at, project.time_zone)}",
        verdict=repair_words(view, repair, defect),
        facts=_facts(repair, project.units),
        note=repair.work.note,
        withdrawn=repair.withdrawn or "",
        looks=look_lines(view, repair.looks),
        look_href=f"{root}/look" if may_look else "",
        withdraw_href=f"{root}/withdraw" if may_go else "",
    )


def repair_words(view: ZoneView, repair: Repair, defect: Defect) -> str:
    """What this one repair comes to by itself."""
    if repair.withdrawn is not None:
        return tr("Withdrawn: it no longer counts.")
    around = view.around()
    assert around is not None, "repairs lie on marks, and marks on sketches with a scale"
    faults = repair_faults(repair_facts(repair, around), defect.kind, Numbers.of(view.seen.project.sheet))
    if faults:
        why = "; ".join(tr(REASONS[code]) for code in faults)
        return tr("{method}: does not count, {why}.", method=starting(tr(repair.method)), why=why)
    return tr("{method}: it holds.", method=starting(tr(repair.method)))


def _facts(repair: Repair, units: Units) -> tuple[tuple[str, str], ...]:
    work = repair.work
    done = [
        tr("cleaned") if work.cleaned else tr("not cleaned"),
        tr("dry") if work.dry else tr("not dry"),
    ]
    rows: list[tuple[str, str]] = []
    if repair.lap_nm is not None:
        rows.append((tr("Least lap"), say_length(repair.lap_nm, units, "down")))
        done.append(tr("taped from end to end") if repair.taped else tr("not taped from end to end"))
    rows.append((trc("repair", "Work"), ", ".join(done)))
    if work.tape_width_nm:
        rows.append((tr("Tape"), tr("{width} wide", width=say_length(work.tape_width_nm, units, "down"))))
    if work.film_mf is not None:
        rows.append((tr("Film temperature"), say_temperature(work.film_mf, units)))
    if work.lot:
        rows.append((tr("Lot"), work.lot))
    return tuple(rows)


# --- second looks ----------------------------------------------------------------------------------------


def look_lines(view: ZoneView, looks: Iterable[Look]) -> tuple[str, ...]:
    """Each second look as a sentence, oldest first, and what a standing refusal waits for."""
    all_looks = tuple(looks)
    told = [_look_line(view, look) for look in all_looks]
    theirs = [look for look in all_looks if look.role == INSPECTOR]
    if look_facts(all_looks).word == REFUSED and theirs and not theirs[-1].accepted:
        told.append(tr("An inspector's refusal stands until an inspector accepts it, or it is withdrawn."))
    return tuple(told)


def _look_line(view: ZoneView, look: Look) -> str:
    said = {
        (True, False): later("Accepted at a second look by {who}, {role}, {when}."),
        (True, True): later("Accepted at a second look by {who}, {role}, {when}: {note}."),
        (False, False): later("Refused at a second look by {who}, {role}, {when}."),
        (False, True): later("Refused at a second look by {who}, {role}, {when}: {note}."),
    }[look.accepted, bool(look.note)]
    return tr(
        said,
        who=view.names.get(look.by, tr(NOBODY)),
        role=tr(look.role),
        when=moment(look.at, view.seen.project.time_zone),
        note=look.note.removesuffix("."),
    )


def look_wanted(view: ZoneView, defect: Defect) -> str:
    """That a sealed mark still waits for another person, where the rule sheet asks for it."""
    waiting = any(
        b.code == "second-look" and b.subject == ("defect", defect.id) for b in view.standing.blockers
    )
    told = tr("It waits for a second look by another person, which the rule sheet asks for.")
    return told if waiting else ""


# --- causes ----------------------------------------------------------------------------------------------


def cause_choices() -> tuple[Choice, ...]:
    """The likely causes, each as one large answer; that it is not known comes last."""
    return tuple(Choice(cause, starting(tr(cause))) for cause in CAUSES)


# --- ways to mend ----------------------------------------------------------------------------------------


def ways_to_mend(view: ZoneView, defect: Defect, verdict: Verdict) -> tuple[ReasonRow, ...]:
    """What mends this kind besides film laid over it, and where what it waits for is sealed."""
    rows = [*_sealed_elsewhere(view, defect), *_collars(view, verdict)]
    may = roles.may(view.seen.role, "log a repair")
    root = f"/defects/{defect.id}/repair?method="
    sheet = view.seen.project.sheet
    for method in MENDED_BY[defect.kind]:
        asked = method_words(method, sheet, view.seen.project.units)
        href = f"{root}{quote(method)}" if may else ""
        rows.append(ReasonRow(starting(tr(method)), sub=asked, href=href, link=tr("Log it")))
    return tuple(rows)


def method_words(method: str, sheet: RuleSheet, units: Units) -> str:
    """What a repair is asked for on this project, or that it does not count here."""
    if method == REPLACE_SHEET and method not in sheet.repair_methods:
        return tr("kept, and does not count on this project")
    if method == CLEAN:
        return tr("clean and dry")
    lap, tape = say_length(sheet.lap.nm, units, "up"), say_length(sheet.tape_width.nm, units, "up")
    return tr("clean and dry, lap at least {lap}, taped all along with {tape} or wider", lap=lap, tape=tape)


def _sealed_elsewhere(view: ZoneView, defect: Defect) -> list[ReasonRow]:
    root = f"/zones/{view.zone.id}"
    if defect.kind == "unsealed penetration":
        told = tr("The penetration beneath it is placed on the sketch, and its seal logged there.")
        return [ReasonRow(told, sub=tr(SEALED_THEN), href=f"{root}/penetrations", link=tr("Place it"))]
    if defect.kind == "unsealed termination":
        told = tr("The stretch of edge beneath it is described, and its seal logged there.")
        return [ReasonRow(told, sub=tr(SEALED_THEN), href=f"{root}/edges", link=tr("Seal it"))]
    return []


def _collars(view: ZoneView, verdict: Verdict) -> list[ReasonRow]:
    """The penetrations whose seal has to be made anew with the patch."""
    if "collar-first" not in verdict.reasons:
        return []
    return [
        ReasonRow(tr("is sealed anew, together with the patch"), pipe.tag, href=f"/penetrations/{pipe.id}")
        for pipe in sorted(view.site.penetrations.values(), key=lambda pipe: pipe.tag)
        if pipe.tag in verdict.others and pipe.withdrawn is None
    ]


def pieces_words(view: ZoneView, defect: Defect) -> str:
    """How a patch wider than the roll is joined, or nothing where one piece is enough."""
    around, project = view.around(), view.seen.project
    if around is None or around.roll_nm is None or defect.kind not in COVERED:
        return ""
    sheet = project.sheet
    length, width, _ = cut_size(defect.outline, sheet.patch_overlap.nm, sheet.cut_allowance.nm)
    pieces = seamed_pieces(length, width, around.roll_nm, sheet.patch_overlap.nm)
    if len(pieces) == 1:
        return ""
    roll = say_length(around.roll_nm, project.units)
    if not pieces:
        return tr(
            "Wider than the roll ({roll}), which is no wider than the overlap: replace the sheet.", roll=roll
        )
    each = "; ".join(say_sides(a, b, project.units, "up") for a, b in pieces)
    lap = say_length(sheet.patch_overlap.nm, project.units, "up")
    return trn(
        "Wider than the roll ({roll}): join it from {n} piece, each lapping the next by {lap} and taped: "
        "{each}. Log each as a patch of its own.",
        "Wider than the roll ({roll}): join it from {n} pieces, each lapping the next by {lap} and taped: "
        "{each}. Log each as a patch of its own.",
        len(pieces),
        roll=roll,
        lap=lap,
        each=each,
    )
