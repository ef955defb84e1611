"""Log sheets of a layout as laid, off one lot, and take that back."""

from __future__ import annotations

from collections.abc import Sequence

from sqlmodel import Session

from service.actions.film.layout_ground import Ground, on_ground
from service.actions.frame.desk import Desk
from service.actions.frame.doing import record, sketch_to_change, words
from service.domain.nouns import roles
from service.domain.nouns.installed import Lot
from service.domain.nouns.placing import Layout, PlannedSheet, SheetsLaying
from service.domain.sheets.zones import zones_under
from service.domain.words.refusals import BadInput, Conflict, NotAllowed, NotFound
from service.domain.words.speech import tr, trn
from service.history.facts.film import LayingWithdrawn, LotLaid
from service.history.facts.placing import SheetsLaid, SheetsLaidWithdrawn
from service.history.sentences.placing import say_numbers
from service.storage.history.seen import layout_seen_by

MOST_AT_ONCE = 200


def laid_numbers(layout: Layout) -> set[int]:
    """The sheets that are logged as laid."""
    return {number for laying in layout.laid if laying.withdrawn is None for number in laying.sheets}


def log_sheets(
    desk: Desk, by: str, layout_id: str, sheets: Sequence[int], lot_id: str, note: str = ""
) -> tuple[SheetsLaying, ...]:
    """These sheets are laid, off this lot: one laying for each zone that most of a sheet lies in.

    The lot is logged as film laid in every zone that they reach into and where nobody logged it yet.
    """
    note = words(note, "note")
    with desk.writing() as session:
        ground, layout = _to_change(session, by, layout_id)
        chosen = _chosen(layout, sheets)
        lot = _lot(ground, lot_id)
        under = {sheet.number: zones_under(sheet, ground.zones) for sheet in chosen}
        made = []
        for zone in ground.zones:
            if any(zone.id in zones for zones in under.values()):
                _lay_lot(desk, session, ground, by, zone.id, lot)
            here = tuple(number for number, zones in under.items() if zones[:1] == (zone.id,))
            if here:
                fact = SheetsLaid(
                    desk.new_id(), layout.id, zone.id, zone.letter, here, lot.id, lot.number, note
                )
                record(desk, session, ground.site, by, ground.seen.role, fact)
                made.append(fact.laying)
    after = ground.site.layouts[layout.id]
    return tuple(laying for laying in after.laid if laying.id in made)


def _to_change(session: Session, by: str, layout_id: str) -> tuple[Ground, Layout]:
    within, _ = layout_seen_by(session, by, layout_id)
    seen, site = sketch_to_change(session, by, within.sketch.id, "log sheets laid")
    _, layout = layout_seen_by(session, by, layout_id)
    ground = on_ground(session, seen, layout.zone_ids, site=site, standing=False)
    if not ground.zones:
        raise Conflict(tr("The zones of this layout were taken off the sketch."), code="zone-withdrawn")
    return ground, layout


def _chosen(layout: Layout, sheets: Sequence[int]) -> list[PlannedSheet]:
    """The sheets by number; BadInput for none, or for a number that is not there; Conflict for one laid."""
    if layout.withdrawn is not None:
        told = tr("This layout was withdrawn: {reason}. Nothing was recorded.", reason=layout.withdrawn)
        raise Conflict(told, code="layout-withdrawn")
    wanted = sorted(set(sheets))
    if not wanted or len(wanted) > MOST_AT_ONCE:
        told = tr("Choose the sheets that were laid, at most {most} at once.", most=MOST_AT_ONCE)
        raise BadInput(told, fields={"sheets": told})
    there = {sheet.number: sheet for sheet in layout.sheets}
    missing = [number for number in wanted if number not in there]
    if missing:
        numbers = say_numbers(missing)
        told = trn(
            "There is no sheet {numbers}.", "There are no sheets {numbers}.", len(missing), numbers=numbers
        )
        raise BadInput(told, fields={"sheets": told}, code="no-such-sheet")
    laid = [number for number in wanted if number in laid_numbers(layout)]
    if laid:
        raise _laid_already(laid)
    return [there[number] for number in wanted]


def _laid_already(laid: Sequence[int]) -> Conflict:
    numbers = say_numbers(laid)
    told = trn(
        "Sheet {numbers} is logged as laid already. Nothing was recorded.",
        "Sheets {numbers} are logged as laid already. Nothing was recorded.",
        len(laid),
        numbers=numbers,
    )
    return Conflict(told, fields={"sheets": told}, code="laid-already")


def _lot(ground: Ground, lot_id: str) -> Lot:
    found = next((lot for lot in ground.film_lots() if lot.id == lot_id), None)
    if found is None:
        told = tr("Choose one of the film lots received on this project.")
        raise BadInput(told, fields={"lot": told})
    return found


def _lay_lot(desk: Desk, session: Session, ground: Ground, by: str, zone_id: str, lot: Lot) -> None:
    """Film of this lot lies in the zone, if nobody logged it."""
    zone = ground.site.zones[zone_id]
    if any(laying.lot_id == lot.id and laying.withdrawn is None for laying in zone.laid):
        return
    fact = LotLaid(desk.new_id(), lot.id, zone.id, zone.letter, lot.number, "")
    record(desk, session, ground.site, by, ground.seen.role, fact)


# --- taking back -----------------------------------------------------------------------------------------


def withdraw_sheets(
    desk: Desk, by: str, layout_id: str, laying_id: str, reason: str, *, film_too: bool = False
) -> SheetsLaying:
    """Take back that sheets were laid. `film_too`: also that film of their lot lies in the zone."""
    reason = words(reason, "reason", needed=tr("Say why it is taken back."))
    with desk.writing() as session:
        ground, layout = _to_change(session, by, layout_id)
        laying = laying_of(layout, laying_id)
        if laying.withdrawn is not None:
            raise Conflict(tr("That is withdrawn already."), code="withdrawn-already")
        role, zone = ground.seen.role, ground.site.zones[laying.zone_id]
        if not roles.may_withdraw(role, by, laying.signed.by, laying.signed.role):
            raise NotAllowed(tr("It is taken back by whoever logged it, or by the project manager."))
        fact = SheetsLaidWithdrawn(laying.id, layout.id, zone.id, zone.letter, laying.sheets, reason)
        record(desk, session, ground.site, by, role, fact)
        lots = [x for x in zone.laid if x.lot_id == laying.lot_id and x.withdrawn is None]
        if film_too:
            for of in lots:
                number = ground.site.lots[of.lot_id].number
                gone = LayingWithdrawn(of.id, of.lot_id, zone.id, zone.letter, number, reason)
                record(desk, session, ground.site, by, role, gone)
    return laying_of(ground.site.layouts[layout.id], laying_id)


def laying_of(layout: Layout, laying_id: str) -> SheetsLaying:
    """One laying of the layout; NotFound where there is no such."""
    found = next((laying for laying in layout.laid if laying.id == laying_id), None)
    if found is None:
        raise NotFound
    return found
