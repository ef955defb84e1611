"""Everything that can be installed in a zone, with the same words in each of its free texts."""

from __future__ import annotations

from dataclasses import replace

from service.actions.frame.desk import Desk
from service.domain.nouns.installed import LAP_AGAIN, Raised, Station
from service.domain.nouns.placing import DepthReading, PlannedSheet, WeatherReading
from service.domain.nouns.rules import STEPS
from service.domain.shapes.outlines import Rectangle
from service.history.facts import facts as f
from service.history.facts import film as h
from service.history.facts import installed as g
from service.history.facts import placing as p
from service.history.facts.every_fact import Fact
from service.storage.history import books, slices
from tests.history import story
from tests.history.story import INCH, px, ring, work

IDS = {
    "mended_id": "evil-mended", "repair_id": "evil-repair", "penetration_id": "evil-pipe",
    "seam_id": "evil-seam", "termination_id": "evil-edge", "material_id": "evil-film", "lot_id": "evil-lot",
    "laying_id": "evil-laid", "layout_id": "evil-layout", "sheets_id": "evil-sheets",
    "readings_id": "evil-readings", "thickness_id": "evil-thickness",
}  # fmt: skip


def install(desk: Desk, by: str, project: str, sketch: str, zone: str, words: str) -> dict[str, str]:
    """Facts past the actions' own limits of length: what is kept may be longer than what a form takes now.

    The zone is 40 by 30 ft at (100, 100), lettered B. Ids by the names that the addresses use.
    """
    with desk.writing() as session:
        site = slices.whole_site(session, project)
        for fact in _facts(sketch, zone, words):
            books.append(session, site, project, desk.clock(), by, "crew lead", fact)
    return IDS


def _sheets() -> tuple[PlannedSheet, ...]:
    """Two sheets side by side over the zone."""
    rings = (
        ((100, 250), (500, 250), (500, 400), (100, 400)),
        ((100, 100), (500, 100), (500, 256), (100, 256)),
    )
    return tuple(
        PlannedSheet(number, number - 1, (*ring(corners),), 480 * INCH, 180 * INCH)  # type: ignore[arg-type]
        for number, corners in enumerate(rings, 1)
    )


def _facts(sketch: str, zone: str, words: str) -> list[Fact]:
    done = work(lot=words, note=words)
    made = IDS
    return [
        replace(story.film(made["material_id"]), name=words, note=words),
        h.LotReceived(made["lot_id"], made["material_id"], words, 4, words),
        h.LotLaid(made["laying_id"], made["lot_id"], zone, "B", words, words),
        replace(
            story.pipe(made["penetration_id"], (450, 300), tag="B-P01"), sketch=sketch, zone=zone, note=words
        ),
        replace(story.seal("evil-seal", made["penetration_id"], work=done), zone=zone, tag="B-P01"),
        g.SeamDrawn(
            made["seam_id"], sketch, zone, "B-S01", "side lap", ring(((120, 350), (480, 350))), words
        ),
        g.SeamWalked(
            "evil-walk", made["seam_id"], zone, "B-S01", (Station(px(300, 350), 5 * INCH),), (), True,
            False, done,
        ),
        g.TerminationDescribed(
            made["termination_id"], sketch, zone, "B-E01", "impediment", ring(((100, 400), (500, 400))),
            words, words, words,
        ),
        replace(story.edge_seal("evil-edge-seal", made["termination_id"], work=done), zone=zone, tag="B-E01"),
        f.DefectMarked(
            made["mended_id"], sketch, zone, "B-88", "short lap", px(300, 350),
            Rectangle(12 * INCH, INCH), words,
        ),
        g.RepairLogged(
            made["repair_id"], made["mended_id"], zone, "B-88", LAP_AGAIN, 6 * INCH, True, done, True
        ),
        g.RepairLookedAt("evil-look", made["repair_id"], made["mended_id"], zone, "B-88", False, words),
        g.NumbersRaised(zone, "B", (Raised("lap", 7 * INCH, words),), ("lap",)),
        h.HoldPointSigned("evil-signature", zone, "B", STEPS[0], False, words),
        p.LayoutKept(
            made["layout_id"], sketch, (zone,), ("B",), made["material_id"], 180 * INCH, 2400 * INCH,
            6 * INCH, 6 * INCH, 0, "left", 0, (), (), True, _sheets(), (), 44_000_000, 0,
        ),
        p.SheetsLaid(
            made["sheets_id"], made["layout_id"], zone, "B", (1,), made["lot_id"], words, words
        ),
        p.PlacingPlanned(zone, "B", 4 * INCH, 5_000, "9 cu yd", "40 cu yd", "usual", words),
        p.ReadingsTaken(
            made["readings_id"], zone, "B", words,
            (WeatherReading(story.NOON, 80_000, 78_000, 70_000, 50_000, 8_000, True),), words,
        ),
        p.ThicknessMeasured(
            made["thickness_id"], zone, "B", (DepthReading(4 * INCH, words),), words
        ),
    ]  # fmt: skip
