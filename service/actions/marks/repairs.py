"""Repairs that are no patch: a seam taped, a lap laid again, film cleaned, a sheet replaced."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from service.actions.frame import late
from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow, length, record, temperature, words, zone_to_change
from service.domain.gate.mark_facts import repair_facts
from service.domain.gate.surroundings import Surroundings, surroundings
from service.domain.gate.zone_facts import nm_per_px
from service.domain.installed.seams import WIDER_THAN_ROLL, lap_possible
from service.domain.nouns import roles
from service.domain.nouns.installed import CLEAN, REPAIRS, Repair, Signed, Work
from service.domain.nouns.site import OTHER_REPAIR, Defect, Site
from service.domain.patches.repair import MENDED_BY, Numbers, Verdict, repair_faults
from service.domain.rule_sheet.effective import sheet_in
from service.domain.words.refusals import BadInput, Conflict, NoScale, NotAllowed, NotFound
from service.domain.words.speech import later, tr, trn
from service.history.facts.installed import RepairLogged, RepairWithdrawn
from service.history.replay.standing import standing_of
from service.storage.history.seen import SeenProject, SeenZone, defect_seen_by

ASKED = {
    "cleaned": later("Was the film cleaned? Answer yes or no."),
    "dry": later("Was it dry? Answer yes or no."),
}
ASKED_OF_LAPS = {"taped": later("Is it taped from end to end? Answer yes or no.")}
MOST_ON_A_MARK = 40


@dataclass(frozen=True, slots=True)
class RepairJudged:
    """A logged repair: `faults` are its own, as codes; `verdict` is how its mark stands now."""

    repair: Repair
    defect: Defect
    faults: tuple[str, ...]
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class RepairEntry:
    """A repair as somebody gives it; `lap_nm` None and no tape where film was only cleaned."""

    method: str
    lap_nm: int | None
    taped: bool
    work: Work


def read_repair(kind: str, given: Mapping[str, Any]) -> RepairEntry:
    """A repair of a mark of this kind in the contract's forms. BadInput names every field left unanswered.

    A repair that makes a lap says what the lap measures after it: a lap nobody measured is no lap.
    """
    method = _method(kind, given.get("method"))
    laps = method != CLEAN
    faults = {
        name: tr(asked)
        for name, asked in (ASKED | (ASKED_OF_LAPS if laps else {})).items()
        if not isinstance(given.get(name), bool)
    }
    if laps and not _typed(given, "lap"):
        faults["lap"] = tr("Measure the lap all along it, and write the least reading with its unit.")
    if laps and given.get("taped") is True and not _typed(given, "tape_width"):
        faults["tape_width"] = tr("Give the tape's width with its unit.")
    if faults:
        raise BadInput(" ".join(faults.values()), fields=faults)
    return RepairEntry(
        method=method,
        lap_nm=length(given["lap"], "lap", zero_ok=True) if laps else None,
        taped=laps and given["taped"],
        work=Work(
            cleaned=given["cleaned"],
            dry=given["dry"],
            tape_width_nm=length(given["tape_width"], "tape_width") if laps and given["taped"] else 0,
            film_mf=temperature(_typed(given, "film_temperature"), "film_temperature"),
            lot=words(_typed(given, "lot"), "lot", most=80),
            note=words(_typed(given, "note"), "note"),
        ),
    )


def _method(kind: str, given: object) -> str:
    mending = MENDED_BY[kind]
    if given in mending:
        return str(given)
    if not mending:
        told = tr("No repair of its own mends this: {mend}.", mend=tr(OTHER_REPAIR[kind]))
        raise BadInput(told, fields={"method": told}, code="sealed-elsewhere")
    methods = ", ".join(map(tr, mending))
    told = tr("A mark of this kind is mended by: {methods}.", methods=methods)
    if given not in REPAIRS:
        told = tr("Say how it was mended. A mark of this kind is mended by: {methods}.", methods=methods)
    raise BadInput(told, fields={"method": told})


def _typed(given: Mapping[str, Any], name: str) -> str:
    value = given.get(name)
    if value is not None and not isinstance(value, str):
        raise BadInput(tr("Write text."), fields={name: tr("Write text.")})
    return (value or "").strip()


def log_repair(desk: Desk, by: str, defect_id: str, given: Mapping[str, Any]) -> RepairJudged:
    """Record a repair as it is, and judge the mark. One that does not mend it is kept, and said so."""
    with desk.writing() as session:
        _, defect = defect_seen_by(session, by, defect_id)
        seen, site = zone_to_change(session, by, defect.zone_id, "log a repair")
        late.check_standing(desk, session, site, site.defects[defect_id])
        defect = _standing(site, defect_id)
        around = _around(site, seen)
        entry = read_repair(defect.kind, given)
        _check_lap(entry, around)
        if sum(repair.withdrawn is None for repair in defect.repairs) >= MOST_ON_A_MARK:
            raise Conflict(
                trn(
                    "{tag} has {n} repair already.",
                    "{tag} has {n} repairs already.",
                    MOST_ON_A_MARK,
                    tag=defect.tag,
                ),
                code="too-many-repairs",
            )
        fact = _fact(desk, seen, defect, entry, around, late.reopened(desk, session, site, by, [defect_id]))
        record(desk, session, site, by, seen.role, fact)
    return judged(site, seen, defect_id, fact.repair)


def _standing(site: Site, defect_id: str) -> Defect:
    defect = site.defects[defect_id]
    if defect.withdrawn is not None:
        told = tr(
            "{tag} was withdrawn: {reason}. Nothing was recorded.", tag=defect.tag, reason=defect.withdrawn
        )
        raise Conflict(told, code="defect-withdrawn")
    return defect


def _around(site: Site, seen: SeenZone) -> Surroundings:
    if seen.sketch.scale is None:
        raise NoScale
    return surroundings(site, seen.zone, nm_per_px(seen.sketch.scale), Numbers.of(sheet_in(site, seen.zone)))


def _check_lap(entry: RepairEntry, around: Surroundings) -> None:
    roll = around.roll_nm
    if entry.lap_nm is not None and roll is not None and not lap_possible(entry.lap_nm, roll):
        raise BadInput(tr(WIDER_THAN_ROLL), fields={"lap": tr(WIDER_THAN_ROLL)}, code="wider-than-roll")


def _fact(
    desk: Desk, seen: SeenZone, defect: Defect, entry: RepairEntry, around: Surroundings, late: bool
) -> RepairLogged:
    """The fact, with the judgement of this repair alone as it is told now."""
    unsigned = Signed("", seen.role, desk.clock(), 0)
    repair = Repair("", entry.method, entry.lap_nm, entry.taped, entry.work, (), unsigned, None, late)
    faults = repair_faults(repair_facts(repair, around), defect.kind, around.numbers)
    return RepairLogged(
        desk.new_id(), defect.id, defect.zone_id, defect.tag, entry.method, entry.lap_nm, entry.taped,
        entry.work, not faults, late,
    )  # fmt: skip


def judged(site: Site, seen: SeenZone, defect_id: str, repair_id: str) -> RepairJudged:
    """How a repair is judged by itself, and how its mark stands with all that lies on it."""
    defect, around = site.defects[defect_id], _around(site, seen)
    repair = repair_on(defect, repair_id)
    faults = repair_faults(repair_facts(repair, around), defect.kind, around.numbers)
    return RepairJudged(repair, defect, faults, standing_of(site, seen.zone.id).verdicts[defect_id])


def repair_on(defect: Defect, repair_id: str) -> Repair:
    """The repair of this mark with this id. NotFound where it has none."""
    found = next((repair for repair in defect.repairs if repair.id == repair_id), None)
    if found is None:
        raise NotFound
    return found


def withdraw_repair(desk: Desk, by: str, defect_id: str, repair_id: str, reason: str) -> Repair:
    """Take a repair back: it stays in the history with its reason and no longer counts."""
    reason = words(reason, "reason", needed=tr("Say why the repair is withdrawn."))
    with desk.writing() as session:
        _, defect = defect_seen_by(session, by, defect_id)
        seen, site = zone_to_change(session, by, defect.zone_id, "withdraw a repair")
        defect = site.defects[defect_id]
        repair = repair_on(defect, repair_id)
        if repair.withdrawn is not None:
            raise Conflict(tr("That repair is withdrawn already."), code="withdrawn-already")
        allow_withdrawing(seen, by, repair)
        fact = RepairWithdrawn(repair_id, defect_id, defect.zone_id, defect.tag, reason)
        record(desk, session, site, by, seen.role, fact)
    return repair_on(site.defects[defect_id], repair_id)


def allow_withdrawing(seen: SeenProject, by: str, repair: Repair) -> None:
    """NotAllowed unless this person may withdraw this repair."""
    allow(seen, "withdraw a repair")
    if not roles.may_withdraw(seen.role, by, repair.signed.by, repair.signed.role):
        raise NotAllowed(tr("A repair is withdrawn by whoever logged it, or by the project manager."))
