"""What a crew used last, to be offered again: tape and lot, out of the film lots laid in the zone."""

from __future__ import annotations

from service.actions.frame.reading import ZoneView
from service.domain.nouns.installed import FILM
from service.domain.rule_sheet.effective import lots_laid
from service.domain.words.measures import say_length


def lots_laid_here(view: ZoneView) -> tuple[str, ...]:
    """Numbers of the film lots that were laid in this zone and stand, the last first."""
    lots = (
        lot.number
        for lot in reversed(lots_laid(view.site, view.zone))
        if lot.withdrawn is None and view.site.materials[lot.material_id].kind == FILM
    )
    return tuple(dict.fromkeys(lots))


def last_used(view: ZoneView, person_id: str) -> dict[str, str]:
    """Tape width and lot of this person's last patch or repair here; what they never said stays empty.

    Where they logged none yet and film of one lot was laid in the zone, that lot.
    """
    laid = [
        (patch.logged_at, patch.tape_width_nm, patch.lot)
        for patch in view.site.patches.values()
        if patch.by == person_id
    ]
    made = [
        (repair.signed.at, repair.work.tape_width_nm, repair.work.lot)
        for mark in view.site.defects.values()
        for repair in mark.repairs
        if repair.signed.by == person_id
    ]
    if not laid and not made:
        here = lots_laid_here(view)
        return {"tape_width": "", "lot": here[0] if len(here) == 1 else ""}
    _, tape_nm, lot = max(laid + made)
    tape = say_length(tape_nm, view.seen.project.units, "down").rsplit(" ", 1)[0] if tape_nm else ""
    return {"tape_width": tape.replace(",", ""), "lot": lot}
