"""Keep a layout of sheets with its seams on the punch list, and take one back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from service.actions.film.layout_ground import Ground, ground_of_zone, on_ground
from service.actions.film.layout_seams import draw_layout_seams, take_back_layouts
from service.actions.film.sheet_layouts import Planned, planned, zone_ids_of
from service.actions.frame.desk import Desk
from service.actions.frame.doing import record, sketch_to_change, words
from service.domain.nouns import roles
from service.domain.nouns.installed import Seam
from service.domain.nouns.placing import Layout
from service.domain.words.refusals import Conflict, NotAllowed
from service.domain.words.speech import tr
from service.history.facts.placing import LayoutKept
from service.storage.history.seen import layout_seen_by


@dataclass(frozen=True, slots=True)
class Kept:
    """A layout kept: the seams it put on the punch list, and of those it takes the place of what went with
    them and the seams that stay because somebody walked them."""

    layout: Layout
    seams: tuple[Seam, ...]
    replaced: tuple[Layout, ...]
    stayed: tuple[Seam, ...]


# --- keeping it ------------------------------------------------------------------------------------------


def keep_zone_layout(
    desk: Desk, by: str, zone_id: str, given: Mapping[str, Any], *, seen_as: str = ""
) -> Kept:
    """Keep a layout of one zone, as `keep_layout`."""
    ground = ground_of_zone(desk, by, zone_id)
    return keep_layout(desk, by, ground.seen.sketch.id, {**given, "zones": [zone_id]}, seen_as=seen_as)


def keep_layout(desk: Desk, by: str, sketch_id: str, given: Mapping[str, Any], *, seen_as: str = "") -> Kept:
    """Keep a layout, and draw its seams unless `draw_seams` is false, in one transaction.

    Layouts of the same zones are withdrawn with `reason`, their seams that nobody walked with them.
    `seen_as`: what was looked at, `Planned.seen_as`; Conflict where it has come to something else since.
    """
    with desk.writing() as session:
        seen, site = sketch_to_change(session, by, sketch_id, "plan the sheets")
        found = planned(on_ground(session, seen, zone_ids_of(given), site=site), given)
        ground = found.ground
        _check_placed(ground)
        if seen_as and seen_as != found.seen_as:
            told = tr("Something it rests on changed since you looked. Look again, then keep it.")
            raise Conflict(told, code="layout-moved")
        old = ground.standing_layouts()
        reason = _reason(given, old)
        for layout in old:
            _allow_taking_back(seen.role, by, layout)
        stayed = take_back_layouts(desk, session, ground, by, old, reason)
        drawn: tuple[Seam, ...] = ()
        if given.get("draw_seams") is not False:
            drawn = draw_layout_seams(desk, session, ground, by, found.seams())
        fact = _kept(desk.new_id(), found, drawn)
        record(desk, session, site, by, seen.role, fact)
    return Kept(site.layouts[fact.layout], drawn, tuple(site.layouts[one.id] for one in old), stayed)


def _check_placed(ground: Ground) -> None:
    placed = next((zone for zone in ground.zones if zone.placement is not None), None)
    if placed is not None:
        told = tr("Concrete is in zone {letter}: no film is laid there any more.", letter=placed.letter)
        raise Conflict(told, code="placed")


def _reason(given: Mapping[str, Any], old: Sequence[Layout]) -> str:
    if not old:
        return ""
    needed = tr("Say why the layout that stands here is replaced.")
    text = given.get("reason") or ""
    return words(text if isinstance(text, str) else "", "reason", needed=needed)


def _allow_taking_back(role: str, by: str, layout: Layout) -> None:
    if not roles.may_withdraw(role, by, layout.signed.by, layout.signed.role):
        raise NotAllowed(tr("A layout is taken back by whoever kept it, or by the project manager."))


def _kept(layout_id: str, found: Planned, drawn: Sequence[Seam]) -> LayoutKept:
    asked, ground = found.layout.asked, found.ground
    assert asked.direction_udeg is not None, "laid out along a direction"
    return LayoutKept(
        layout_id, ground.seen.sketch.id, tuple(zone.id for zone in ground.zones), ground.letters,
        found.entry.material, asked.roll_width_nm, asked.roll_length_nm, asked.side_lap_nm, asked.end_lap_nm,
        asked.direction_udeg, asked.starts, found.layout.offset_nm, found.past, found.openings,
        found.entry.offset_nm is not None, found.sheets(), tuple(seam.id for seam in drawn),
        round(found.layout.film_m2 * 1e6), found.layout.seam_nm,
    )  # fmt: skip


# --- taking it back --------------------------------------------------------------------------------------


def withdraw_layout(desk: Desk, by: str, layout_id: str, reason: str) -> tuple[Layout, tuple[Seam, ...]]:
    """Take a layout back, and its seams that nobody walked with it; the seams that stay are told."""
    reason = words(reason, "reason", needed=tr("Say why the layout is withdrawn."))
    with desk.writing() as session:
        within, _ = layout_seen_by(session, by, layout_id)
        seen, site = sketch_to_change(session, by, within.sketch.id, "plan the sheets")
        _, layout = layout_seen_by(session, by, layout_id)
        ground = on_ground(session, seen, layout.zone_ids, site=site, standing=False)
        if layout.withdrawn is not None:
            raise Conflict(tr("That layout is withdrawn already."), code="withdrawn-already")
        _allow_taking_back(seen.role, by, layout)
        stayed = take_back_layouts(desk, session, ground, by, [layout], reason)
    return site.layouts[layout_id], stayed
