"""A second look at a patch or a repair: another person than its maker accepts it on site, or refuses it."""

from __future__ import annotations

from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow, record, words, zone_to_change
from service.actions.marks.repairs import repair_on
from service.domain.nouns import roles
from service.domain.nouns.installed import Repair
from service.domain.nouns.site import Patch
from service.domain.words.refusals import Conflict, NotAllowed
from service.domain.words.speech import later, tr
from service.history.facts.installed import PatchLookedAt, RepairLookedAt
from service.storage.history.seen import SeenProject, defect_seen_by, patch_seen_by

SAY_WHY = later("Say what is wrong with it: whoever mends it reads this.")


def look_at_patch(desk: Desk, by: str, patch_id: str, accepted: bool, note: str = "") -> Patch:
    """Record a second look at a patch. A refusal holds its mark, and says why."""
    note = words(note, "note", needed=None if accepted else tr(SAY_WHY))
    with desk.writing() as session:
        _, patch = patch_seen_by(session, by, patch_id)
        seen, site = zone_to_change(session, by, patch.zone_id, "take a second look")
        patch = site.patches[patch_id]
        allow_looking(seen, by, patch.by)
        _standing(patch.withdrawn, "patch")
        tag = site.defects[patch.defect_id].tag
        fact = PatchLookedAt(desk.new_id(), patch_id, patch.defect_id, patch.zone_id, tag, accepted, note)
        record(desk, session, site, by, seen.role, fact)
    return site.patches[patch_id]


def look_at_repair(
    desk: Desk, by: str, defect_id: str, repair_id: str, accepted: bool, note: str = ""
) -> Repair:
    """Record a second look at a repair that is no patch."""
    note = words(note, "note", needed=None if accepted else tr(SAY_WHY))
    with desk.writing() as session:
        _, defect = defect_seen_by(session, by, defect_id)
        seen, site = zone_to_change(session, by, defect.zone_id, "take a second look")
        defect = site.defects[defect_id]
        repair = repair_on(defect, repair_id)
        allow_looking(seen, by, repair.signed.by)
        _standing(repair.withdrawn, "repair")
        fact = RepairLookedAt(desk.new_id(), repair_id, defect_id, defect.zone_id, defect.tag, accepted, note)
        record(desk, session, site, by, seen.role, fact)
    return repair_on(site.defects[defect_id], repair_id)


def allow_looking(seen: SeenProject, by: str, made_by: str) -> None:
    """NotAllowed at one's own work: a second look is another person's."""
    allow(seen, "take a second look")
    if not roles.may_look(seen.role, by, made_by):
        raise NotAllowed(tr("A second look is taken by another person than whoever made the repair."))


def _standing(withdrawn: str | None, what: str) -> None:
    if withdrawn is not None:
        told = later("That patch was withdrawn: {reason}. There is nothing to look at.")
        if what == "repair":
            told = later("That repair was withdrawn: {reason}. There is nothing to look at.")
        raise Conflict(tr(told, reason=withdrawn), code=f"{what}-withdrawn")
