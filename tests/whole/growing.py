"""The stage with many more of everything that a page lists, counts or looks through.

Written through the actions where these are quick, and as facts in one transaction where they are many.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from service.actions.entrance import accounts, resets
from service.actions.evidence import signing, timestamping
from service.actions.film import layout_keeping
from service.actions.frame.desk import Desk
from service.actions.frame.doing import record, zone_to_change
from service.actions.frame.reading import zone_view
from service.actions.installed import penetrations, seams, terminations
from service.actions.marks import looks, patches, repairs
from service.actions.office import ready_lists, release
from service.actions.people import crew_codes, people
from service.actions.placing import calendars
from service.actions.sketches import zones
from service.actions.telling import telling
from service.domain.nouns.roles import CREW_LEAD, PROJECT_MANAGER
from service.history.facts.facts import PhotoAdded
from service.history.replay.turns import EVENTS, WAYS
from service.storage.accounts import factors
from service.storage.accounts.factors import PASSKEY, SecondFactor
from tests import builders
from tests.bench.filling import mark_many, marks_and_patches
from tests.cast import Cast, enter, start
from tests.whole.stage import Stage

MARKS, PHOTOS, PIPES, SEAMS, TENS = 300, 120, 60, 20, 10


def grow(stage: Stage) -> None:
    """Hundreds of marks, patches, photos and entries; tens of whatever else some page lists."""
    desk, cast, ids = stage.desk, stage.cast, stage.ids
    _people(desk.fresh(), cast)
    _releases(desk.fresh(), cast, ids)
    _film(desk.fresh(), cast, ids)
    _installed(desk.fresh(), cast, ids)
    _on_the_marks(desk.fresh(), cast, ids)
    _sketches(desk.fresh(), cast)
    telling.look(desk.fresh())


def _on_the_marks(desk: Desk, cast: Cast, ids: Mapping[str, str]) -> None:
    """Marks all over two zones; photos, patches, repairs and looks on the marks that have pages."""
    lead, eye = cast.lead.id, cast.inspector.id
    for name in ("zone_id", "clear_id"):
        with desk.writing() as session:
            seen, site = zone_to_change(session, lead, ids[name], "mark a defect")
            for fact in marks_and_patches(desk, seen.zone, MARKS // 2):
                number = int(fact.tag.partition("-")[2])  # past those that are there
                record(
                    desk,
                    session,
                    site,
                    lead,
                    seen.role,
                    replace(fact, tag=f"{seen.zone.letter}-{500 + number}"),
                )
    with desk.writing() as session:
        seen, site = zone_to_change(session, lead, ids["zone_id"], "add a photo")
        marks = list(site.defects.values())
        first = site.photos[ids["photo_id"]]
        for number in range(PHOTOS):
            on = site.defects[ids["defect_id"]] if number % 4 == 0 else marks[number % len(marks)]
            photo = PhotoAdded(
                desk.new_id(), on.id, on.zone_id, on.tag, first.sha256, first.thumb_sha256, 64, 48
            )
            record(desk, session, site, lead, seen.role, photo)
    for _ in range(TENS):
        for mark in ("defect_id", "patched_id"):
            made = patches.log_patch(desk, lead, ids[mark], builders.sides("5 3/4 in")).patch
            looks.look_at_patch(desk, eye, made.id, accepted=True)
        looks.look_at_patch(desk, eye, ids["patch_id"], accepted=True)
        mended = repairs.log_repair(desk, lead, ids["mended_id"], builders.LAPPED).repair
        looks.look_at_repair(desk, eye, ids["mended_id"], mended.id, accepted=True)


def _installed(desk: Desk, cast: Cast, ids: Mapping[str, str]) -> None:
    lead, zone = cast.lead.id, ids["zone_id"]
    row = {"kind": "steel pipe", "size": "NPS 4", "from": [130, 130], "to": [480, 130], "count": PIPES}
    penetrations.place_penetrations(desk, lead, zone, row)
    clear = zone_view(desk, lead, ids["clear_id"]).zone
    for _ in range(TENS):
        terminations.withdraw_edge(desk, lead, builders.an_edge(desk, cast, clear).id, "Drawn wrong")
        kept = builders.a_layout(desk, cast, clear)
        layout_keeping.withdraw_layout(desk, lead, kept.id, "Wider rolls")
    for turn in range(SEAMS):
        seams.draw_seams(desk, lead, zone, {"path": [[150, 150 + 10 * turn], [350, 150 + 10 * turn]]})
        penetrations.log_seal(desk, lead, ids["penetration_id"], builders.COLLAR)
    for _ in range(TENS):
        zones.draw_wall(desk, lead, zone, (100, 100), (500, 100))
        zones.hold_zone(desk, lead, zone, "frost", "White this morning")
        zones.finish_walk(desk, lead, zone)


def _film(desk: Desk, cast: Cast, ids: Mapping[str, str]) -> None:
    """Materials with lots, laid in a zone; what a placing day and the plan of the sheets list."""
    held = zone_view(desk, cast.lead.id, ids["zone_id"]).zone
    for turn in range(TENS):
        material = builders.a_material(desk, cast, name=f"Submittal {turn + 10}")
        for number in range(3):
            lot = builders.a_lot(desk, cast, material, f"G-{turn}-{number}")
        builders.a_laying(desk, cast, held, lot)
        builders.a_reading(desk, cast, held)
        builders.a_thickness(desk, cast, held, "4 in", "4 1/4 in")
        calendars.make_link(desk, cast.manager.id, cast.project_id)
        ready_lists.open_ready_list(desk, cast.manager.id, cast.project_id, f"dispatcher {turn}")


def _releases(desk: Desk, cast: Cast, ids: Mapping[str, str]) -> None:
    """One zone released over and over, told of each time; checkpoints that left, some of them stamped."""
    boss, zone = cast.manager.id, zone_view(desk, cast.manager.id, ids["released_id"]).zone
    telling.ask_to_be_told(desk, boss, cast.project_id, (), EVENTS, WAYS)
    for turn in range(TENS):
        telling.look(desk)
        release.pull_back(desk, boss, zone.id, "Second thoughts")
        telling.look(desk)
        builders.a_release(desk, cast, zone)
        signing.keep_checkpoint(desk, boss, cast.project_id)
        if turn < 3:
            timestamping.stamp_checkpoint(desk, boss, cast.project_id)


def _people(desk: Desk, cast: Cast) -> None:
    """Many on the project and invited to it, signed in by codes; a manager of many projects and sign-ins."""
    boss = cast.manager
    for turn in range(2 * TENS):
        lead = enter(desk, f"Lead {turn}")
        for email in (lead.email, f"nobody.{turn}@example.com"):
            people.invite(desk, boss.id, cast.project_id, email, CREW_LEAD)
        telling.ask_to_be_told(desk, lead.id, cast.project_id, (), EVENTS, WAYS)
        resets.make_reset_for_email(desk, lead.email)
        factor = SecondFactor(
            desk.new_id(), boss.id, PASSKEY, f"key {turn}", "", f"key {turn}", 0, desk.clock()
        )
        with desk.writing() as session:
            factors.add(session, factor, proven=True)
        if turn % 2:
            code = crew_codes.make_code(desk, boss.id, cast.project_id, lead.id)
            crew_codes.use_code(desk, code.token, "10.0.0.9")
        accounts.open_sign_in(desk, boss.id, accounts.PAGE)
        start(desk, f"Depot {turn}", {boss: PROJECT_MANAGER})


def _sketches(desk: Desk, cast: Cast) -> None:
    """Further sketches with zones, each with marks, walked."""
    outlines = (builders.SQUARE, builders.NEXT_DOOR)
    for turn in range(TENS):
        sketch = builders.a_sketch(desk, cast)
        for number, outline in enumerate(outlines):
            zone = builders.a_zone(desk, cast, sketch, f"{chr(70 + turn)}{'XY'[number]}", outline)
            mark_many(desk, cast.lead.id, zone, 4)
            builders.a_walk(desk, cast, zone)
