"""What a release confirms, in words: the numbers in force, every mark and patch, walk and holds."""

from __future__ import annotations

from collections.abc import Iterator

from service.actions.frame.reading import ZoneView
from service.domain.gate.wording import say_state
from service.domain.gate.zone_facts import nm_per_px
from service.domain.nouns.rules import RuleSheet, not_asked_for, source_of
from service.domain.nouns.site import Defect, Patch, Sketch
from service.domain.patches.repair import SEALED
from service.domain.rule_sheet.effective import lots_laid
from service.domain.rule_sheet.rule_texts import TITLES, say_rule
from service.domain.shapes.outline_texts import say_outline
from service.domain.sketch.zones import perimeter_nm
from service.domain.words.measures import Units, say_distance, say_length, say_perimeter
from service.domain.words.speech import tr, trc
from service.web.drawings.drawing import ScheduleRow
from service.web.serving.render import moment
from service.web.shared.crew_words import starting
from service.web.shared.placing_words import found_words
from service.web.shared.zone_views import size_of


def confirmed_facts(view: ZoneView) -> tuple[tuple[str, ...], ...]:
    """Rows (term, words, where it comes from) of everything in the digest that is no mark."""
    project, sketch = view.seen.project, view.seen.sketch
    sheet, units = project.sheet, project.units
    return (
        (tr("Outline"), _outline_words(view)),
        _scale_row(sketch, units),
        *_number_rows(sheet, units),
        (tr("Repair that counts"), ", ".join(map(tr, sheet.repair_methods)) or tr("none"),
         tr(source_of(sheet, "repair_methods"))),
        (tr("Second look"), tr("asked for on every patch") if sheet.second_look else tr("not asked for"),
         tr(source_of(sheet, "second_look"))),
        *_film_rows(view),
        *_hold_point_rows(view),
        (tr("Punch walk"), tr("finished {moment}", moment=moment(view.zone.walked_at, project.time_zone))
         if view.zone.walked_at else tr("none finished")),
        (tr("Holds"), *_hold_words(view)),
    )  # fmt: skip


def _scale_row(sketch: Sketch, units: Units) -> tuple[str, str, str]:
    set_by = tr("none set")
    if sketch.scale:
        far = say_distance(sketch.scale.distance_nm, units)
        set_by = tr("{distance} between two points of the sketch", distance=far)
    return (
        tr("Scale"),
        set_by,
        tr("sketch {name}, revision {revision}", name=sketch.name, revision=sketch.revision),
    )


# Which numbers a demand makes the gate read, in the sheet's order.
NUMBERS_OF = {
    "seams": ("lap", "station_every"),
    "penetrations": ("collar_width", "collar_length_factor", "mastic_up_to"),
}


def _number_rows(sheet: RuleSheet, units: Units) -> Iterator[tuple[str, str, str]]:
    """The numbers in force here that the gate reads on this project, each with where it comes from."""
    asked = [name for demand, names in NUMBERS_OF.items() if demand in sheet.gate_demands for name in names]
    for name in ("patch_overlap", "tape_width", "tape_temperature", *asked):
        yield tr(TITLES[name]), say_rule(sheet, name, units), tr(getattr(sheet, name).source)


def _film_rows(view: ZoneView) -> Iterator[tuple[str, ...]]:
    """What the film has to be, and what was laid, where film is asked for by lot."""
    sheet, units = view.seen.project.sheet, view.seen.project.units
    if "film" not in sheet.gate_demands:
        return
    for name in ("film_class", "film_thickness", "most_permeance"):
        yield tr(TITLES[name]), say_rule(sheet, name, units), tr(getattr(sheet, name).source)
    lots = [tr("{name}, lot {number}", name=view.site.materials[lot.material_id].name, number=lot.number)
            for lot in lots_laid(view.site, view.zone)]  # fmt: skip
    yield tr("Film laid"), "; ".join(lots) or tr("none logged")


def _hold_point_rows(view: ZoneView) -> Iterator[tuple[str, str]]:
    steps = view.standing.facts.steps
    if steps:
        signed = sum(step.met for step in steps)
        left = [step.step for step in steps if not step.met]
        told = tr("{signed} of {all} signed", signed=signed, all=len(steps))
        if left:
            told = tr(
                "{signed} of {all} signed; left: {steps}",
                signed=signed,
                all=len(steps),
                steps=", ".join(map(tr, left)),
            )
        yield tr("Hold points"), told


def _outline_words(view: ZoneView) -> str:
    sketch, units = view.seen.sketch, view.seen.project.units
    area = size_of(view.zone, sketch, view.seen.project)
    if sketch.scale is None:
        return area
    return tr(
        "{area}, {perimeter} round",
        area=area,
        perimeter=say_perimeter(perimeter_nm(view.zone.outline, nm_per_px(sketch.scale)), units),
    )


def _hold_words(view: ZoneView) -> tuple[str, ...]:
    own = (hold for hold in view.site.holds.values() if hold.zone_id == view.zone.id)
    holds = sorted(own, key=lambda hold: hold.at)
    standing = [f"{tr(hold.cause)}: {hold.reason}" for hold in holds if hold.lifted is None]
    lifted = [
        tr("{cause} lifted: {words}", cause=tr(hold.cause), words=hold.lifted)
        for hold in holds
        if hold.lifted is not None
    ]
    return ("; ".join(standing) or tr("none stands"), *(("; ".join(lifted),) if lifted else ()))


def mark_rows(view: ZoneView) -> tuple[ScheduleRow, ...]:
    """Every standing mark that reaches into the zone, with the patches that lie on it."""
    own = [mark for mark in view.defects() if mark.withdrawn is None]
    return tuple(_mark_row(view, mark) for mark in (*own, *view.reaching_in()))


def _mark_row(view: ZoneView, mark: Defect) -> ScheduleRow:
    units, verdict = view.seen.project.units, view.verdict(mark)
    patches = [patch for patch in view.patches_on(mark.id) if patch.withdrawn is None]
    told = [_patch_words(view, patch) for patch in patches]
    if mark.zone_id != view.zone.id:
        other = view.site.zones.get(mark.zone_id)
        told.insert(
            0,
            tr("reaches in from zone {letter}", letter=other.letter)
            if other
            else tr("reaches in from a neighbour"),
        )
    if found := found_words(mark):
        told.insert(0, found)
    if verdict.state == SEALED:
        told.insert(0, say_state(verdict, units).removeprefix("sealed, "))
    return ScheduleRow(
        tag=mark.tag,
        main=f"{tr(mark.kind)}, {say_outline(mark.outline, units)}",
        sub="; ".join(told) or tr("no patch logged"),
        way=starting(trc("mark", verdict.state)),
        href=f"/defects/{mark.id}",
        kind=verdict.state.replace(" ", "-"),
    )


def _patch_words(view: ZoneView, patch: Patch) -> str:
    """`patch by Lou Lead: 4 in tape, lot A7`, and everything said to be wrong with it."""
    who = view.names.get(patch.by, tr("a person no longer named"))
    faults = [
        words
        for fine, words in (
            (patch.cleaned, tr("not cleaned")),
            (patch.dry, tr("not dry")),
            (patch.edges_taped, tr("edges not all taped")),
        )
        if not fine
    ]
    tape = tr("{length} tape", length=say_length(patch.tape_width_nm, view.seen.project.units))
    lot = [tr("lot {lot}", lot=patch.lot)] if patch.lot else []
    return tr(
        "{method} by {who}: {told}", method=tr(patch.method), who=who, told=", ".join([tape, *faults, *lot])
    )


def withdrawn_rows(view: ZoneView) -> tuple[ScheduleRow, ...]:
    """What was entered by mistake and taken back in this zone, each with its reason."""
    rows = [
        ScheduleRow(
            mark.tag, tr("{kind}, withdrawn", kind=tr(mark.kind)), mark.withdrawn, href=f"/defects/{mark.id}"
        )
        for mark in view.defects()
        if mark.withdrawn
    ]
    for patch in sorted(view.site.patches.values(), key=lambda patch: (patch.logged_at, patch.id)):
        if patch.withdrawn and patch.zone_id == view.zone.id and patch.defect_id in view.site.defects:
            tag = view.site.defects[patch.defect_id].tag
            href = f"/defects/{patch.defect_id}"
            rows.append(ScheduleRow(tag, tr("patch, withdrawn"), patch.withdrawn, href=href))
    return tuple(rows)


def not_asked_words(view: ZoneView) -> str:
    """What this project's gate does not ask for, in a sentence, or nothing."""
    left_out = not_asked_for(view.seen.project.sheet)
    if not left_out:
        return ""
    words = [tr(one) for one in left_out]
    if len(words) == 1:
        return tr(
            "This project does not ask the gate for {demand}. That was not checked here.", demand=words[0]
        )
    return tr(
        "This project does not ask the gate for {demands} and {last}. Those were not checked here.",
        demands=", ".join(words[:-1]),
        last=words[-1],
    )
