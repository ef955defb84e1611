"""From marks, patches, the gate and the history to the contract's answers."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping

from service.actions.evidence.audit import Line
from service.actions.frame.reading import ZoneView
from service.actions.marks.defects import Marked
from service.actions.marks.patches import PatchJudged
from service.api.answers import marks as out
from service.api.telling.telling import NOBODY, length, maybe_length, place, zone_of
from service.domain.gate.during import found_when
from service.domain.gate.gate import Blocker
from service.domain.gate.installed_states import KIND_OF, things_in
from service.domain.gate.mark_facts import repair_facts
from service.domain.gate.wording import REASONS, say_blocker, say_short
from service.domain.gate.zone_facts import nm_per_px
from service.domain.nouns.installed import Look, Repair
from service.domain.nouns.kept import Photo
from service.domain.nouns.rules import RuleSheet, not_asked_for
from service.domain.nouns.site import OTHER_REPAIR, Defect, Hold, Patch, Release, Wall
from service.domain.patches.repair import COVERED, WITHDRAWN, Verdict, repair_faults
from service.domain.shapes.outline_texts import say_outline_json
from service.domain.shapes.outlines import Outline, Sides, cut_size
from service.domain.words.measures import Units
from service.domain.words.temperatures import say_temperature, say_typed
from service.history.facts.encoding import time_text
from service.history.replay.standing import Standing


def zone_with_defects(view: ZoneView) -> out.ZoneWithDefects:
    walls = [w for w in view.site.walls.values() if w.zone_id == view.zone.id]
    there = installed(view)
    return out.ZoneWithDefects(
        **dict(zone_of(view)),
        digest=view.standing.digest,
        defects=[defect(view, d) for d in view.defects()],
        reaching_in=[defect(view, d) for d in view.reaching_in()],
        walls=[wall(view, w) for w in walls],
        holds=[hold(h, view.names) for h in view.site.holds.values() if h.zone_id == view.zone.id],
        penetrations=there["penetrations"],
        seams=there["seams"],
        terminations=there["terminations"],
        film=there["film"],
        hold_points=there["hold points"],
    )


def installed(view: ZoneView) -> dict[str, out.Installed]:
    """By demand: how many penetrations, seams, stretches, film lots and hold points stand how."""
    demands, scale = view.standing.facts.numbers.gate_demands, view.seen.sketch.scale
    numbers = view.standing.facts.numbers
    things = () if scale is None else things_in(view.site, view.zone, nm_per_px(scale), numbers)
    return {
        demand: out.Installed(
            asked_for=demand in demands,
            states=Counter(t.state for t in things if t.kind == kind and t.state != WITHDRAWN),
        )
        for demand, kind in KIND_OF.items()
    }


def wall(view: ZoneView, of: Wall) -> out.Wall:
    on = view.seen.sketch
    ends = {"from": place(on, of.a), "to": place(on, of.b)}
    return out.Wall.model_validate({"id": of.id, "zone": of.zone_id, **ends, "withdrawn": of.withdrawn})


def hold(of: Hold, names: dict[str, str]) -> out.Hold:
    return out.Hold(
        id=of.id, zone=of.zone_id, cause=of.cause, reason=of.reason, by=names.get(of.by, NOBODY),
        at=time_text(of.at), lifted=of.lifted,
    )  # fmt: skip


def defect(view: ZoneView, of: Defect) -> out.Defect:
    told = Marked(of, view.seen.sketch, view.seen.project.sheet, view.seen.project.units, view.verdict(of))
    return marked(told, view.names).model_copy(
        update={
            "patches": [patch(view, p) for p in view.patches_on(of.id)],
            "repairs": [repair(view, of, r) for r in of.repairs],
            "photos": photos(view, of.id),
        }
    )


def marked(told: Marked, names: Mapping[str, str]) -> out.Defect:
    """A mark that nothing was logged on and that no photo shows."""
    of, verdict, units = told.defect, told.verdict, told.units
    overlap = verdict.overlap
    return out.Defect(
        id=of.id, zone=of.zone_id, tag=of.tag, kind=of.kind, at=place(told.sketch, of.at),
        outline=say_outline_json(of.outline, units), note=of.note, cause=of.cause, state=verdict.state,
        overlap=None if overlap is None else maybe_length(overlap.overlap_nm, units, "down"),
        short_by=None if overlap is None else length(overlap.short_by_nm, units, "up"),
        reasons=reasons(verdict, of.kind, units), needs=needs(of, told.sheet, units),
        patches=[], repairs=[], photos=[],
        by=names.get(of.by, NOBODY), marked_at=time_text(of.marked_at), after_placing=of.after_placing,
        found=found_when(of), withdrawn=of.withdrawn,
    )  # fmt: skip


def reasons(verdict: Verdict, kind: str, units: Units) -> list[out.Reason]:
    def words(code: str) -> str:
        if code == "short":
            return say_short(verdict, units)
        if code == "other-repair" and kind in OTHER_REPAIR:
            return f"{REASONS[code]}: {OTHER_REPAIR[kind]}"
        if code in ("band-on-damage", "collar-first") and verdict.others:
            return f"{REASONS[code]}: see {', '.join(verdict.others)}"
        return REASONS[code]

    return [out.Reason(code=code, text=words(code)) for code in verdict.reasons]


def needs(of: Defect, sheet: RuleSheet, units: Units) -> out.Needs:
    overlap = length(sheet.patch_overlap.nm, units)
    other = OTHER_REPAIR.get(of.kind)
    if of.kind not in COVERED:
        return out.Needs(
            overlap=overlap, cut_size=None, least_size=None, tape_length=None, other_repair=other
        )
    cut = cut_size(of.outline, sheet.patch_overlap.nm, sheet.cut_allowance.nm)
    return out.Needs(
        overlap=overlap,
        cut_size=sized(cut, units),
        least_size=least(of.outline, sheet.patch_overlap.nm, units),
        tape_length=length(2 * (cut[0] + cut[1]), units, "up"),
        other_repair=other,
    )


def least(outline: Outline, overlap_nm: int, units: Units) -> out.CutSize:
    return sized(cut_size(outline, overlap_nm), units)


def sized(cut: tuple[int, int, int], units: Units) -> out.CutSize:
    """A cut size; its sides rounded up, so that nobody cuts less."""
    return out.CutSize(
        length=length(cut[0], units, "up"), width=length(cut[1], units, "up"), angle_deg=cut[2] / 1_000_000
    )


def patch(view: ZoneView, of: Patch) -> out.Patch:
    units = view.seen.project.units
    return out.Patch(
        id=of.id,
        defect=of.defect_id,
        outline=None if of.outline is None else say_outline_json(of.outline, units),
        offset=[length(nm, units) for nm in of.offset],
        sides=None if of.sides is None else sides(of.sides, units),
        cleaned=of.cleaned,
        dry=of.dry,
        edges_taped=of.edges_taped,
        tape_width=length(of.tape_width_nm, units, "down"),
        method=of.method,
        lot=of.lot,
        film_temperature=say_typed(of.film_temperature, units),
        note=of.note,
        also=list(of.also),
        overlap=maybe_length(of.overlap_nm, units, "down"),
        by=view.names.get(of.by, NOBODY),
        logged_at=time_text(of.logged_at),
        withdrawn=of.withdrawn,
        looks=looks(view, of.looks),
        photos=photos(view, of.id),
    )


def repair(view: ZoneView, defect: Defect, of: Repair) -> out.Repair:
    """A repair with what keeps it from counting as things stand."""
    units, work, around = view.seen.project.units, of.work, view.around()
    assert around is not None, "repairs lie on marks, and marks on sketches with a scale"
    faults = repair_faults(repair_facts(of, around), defect.kind, around.numbers)
    return out.Repair(
        id=of.id,
        defect=defect.id,
        method=of.method,
        lap=maybe_length(of.lap_nm, units, "down"),
        taped=of.taped,
        cleaned=work.cleaned,
        dry=work.dry,
        tape_width=length(work.tape_width_nm, units, "down") if work.tape_width_nm else None,
        film_temperature="" if work.film_mf is None else say_temperature(work.film_mf, units),
        lot=work.lot,
        note=work.note,
        reasons=[out.Reason(code=code, text=REASONS[code]) for code in faults],
        looks=looks(view, of.looks),
        by=view.names.get(of.signed.by, NOBODY),
        logged_at=time_text(of.signed.at),
        withdrawn=of.withdrawn,
    )


def looks(view: ZoneView, of: Iterable[Look]) -> list[out.Look]:
    return [
        out.Look(
            id=look.id, accepted=look.accepted, note=look.note, by=view.names.get(look.by, NOBODY),
            role=look.role, at=time_text(look.at),
        )
        for look in of
    ]  # fmt: skip


def sides(of: Sides, units: Units) -> out.Side:
    read = {word: "wall" if nm is None else length(nm, units, "down") for word, nm in of.readings().items()}
    return out.Side.model_validate({**read, "angle_deg": of.angle_udeg / 1_000_000})


def photos(view: ZoneView, subject: str) -> list[out.Photo]:
    return [photo(of, view.names) for of in view.photos_of(subject)]


def photo(of: Photo, names: dict[str, str]) -> out.Photo:
    return out.Photo(
        id=of.id, width_px=of.width_px, height_px=of.height_px, by=names.get(of.by, NOBODY),
        at=time_text(of.at),
    )  # fmt: skip


def patch_logged(judged: PatchJudged) -> out.PatchLogged:
    of, overlap, units = judged.mark, judged.overlap, judged.units
    return out.PatchLogged(
        id=judged.patch.id, defect=of.id, tag=of.tag,
        overlap=maybe_length(overlap.overlap_nm, units, "down"), meets=overlap.meets,
        short_by=length(overlap.short_by_nm, units, "up"), side=overlap.side,
        defect_state=judged.verdict.state, reasons=reasons(judged.verdict, of.kind, units),
    )  # fmt: skip


# --- gate and history ------------------------------------------------------------------------------------


def blocker(of: Blocker, units: Units) -> out.Blocker:
    kind, subject = of.subject
    return out.Blocker(
        code=of.code, text=say_blocker(of, units), subject=out.Subject(kind=kind, id=subject, tag=of.name)
    )


def release(of: Release, standing: Standing, names: dict[str, str]) -> out.Release:
    return out.Release(
        id=of.id, zone=of.zone_id, digest=of.digest, version=of.version, statement=of.statement,
        not_asked_for=list(of.not_asked_for), by=names.get(of.by, NOBODY), at=time_text(of.at),
        pulled_back=of.pulled_back, state=standing.state, fallen=standing.fallen and of.pulled_back is None,
    )  # fmt: skip


def gate(view: ZoneView) -> out.Gate:
    standing, units = view.standing, view.seen.project.units
    return out.Gate(
        state=standing.state,
        digest=standing.digest,
        blockers=[blocker(of, units) for of in standing.blockers],
        not_asked_for=list(not_asked_for(view.seen.project.sheet)),
        release=None if standing.release is None else release(standing.release, standing, view.names),
    )


def entry(line: Line) -> out.Entry:
    of, (kind, subject) = line.entry, line.entry.subject
    return out.Entry(
        seq=of.seq, type=of.type, at=time_text(of.at), by=line.who, by_id=of.by, role=of.role,
        subject=out.EntrySubject(kind=kind, id=subject), zone=of.zone, tag=of.tag, sentence=line.sentence,
        hash=line.hash,
    )  # fmt: skip
