"""The record's tables of what is installed: every thing, how it was done, and what the gate finds today."""

from __future__ import annotations

import csv
import io

from service.actions.record.installed import installed_tables
from service.domain.nouns.installed import SeamRun
from service.domain.nouns.rules import STEPS
from service.history.facts import facts as f
from service.history.facts import film as h
from service.history.facts import installed as g
from tests.history.story import (
    EYE,
    INCH,
    Story,
    film,
    laid,
    lot,
    mark,
    pipe,
    px,
    ring,
    seal,
    seam_walk,
    signed,
    whole,
    work,
)

Row = dict[str, str]


def rows(story: Story, name: str) -> list[Row]:
    return list(csv.DictReader(io.StringIO(installed_tables(story.site, "us")[name])))


def only(story: Story, name: str, **wanted: str) -> Row:
    [row] = [r for r in rows(story, name) if all(r[key] == value for key, value in wanted.items())]
    return row


def test_a_penetration_tells_its_seal_as_built_and_what_is_wrong_with_it() -> None:
    story = whole().tell(
        seal("c2", "1", collar_width_nm=11 * INCH, work=work(film_mf=41_500, note="hot day"))
    )
    row = only(story, "penetrations.csv")
    assert (row["tag"], row["size"], row["state"]) == ("B-P1", "4 in", "not sealed")
    assert row["faults"] == "the collar is narrower than the rule sheet asks"
    assert (row["method"], row["collar_width"], row["fingers"], row["lot"]) == ("collar", "11 in", "yes", "")
    assert (row["note"], row["by"], row["role"]) == ("hot day", "lou", "crew lead")
    bare = only(story.tell(pipe("2", (400, 300))), "penetrations.csv", tag="B-P2")
    assert (bare["state"], bare["seal"], bare["cleaned"]) == ("open", "", "")


def test_a_seam_tells_every_station_and_its_least_lap_rounded_down() -> None:
    story = whole().tell(seam_walk("w2", "1", lap_nm=6 * INCH - 1))
    row = only(story, "seams.csv")
    assert (row["state"], row["stations"], row["least_lap"]) == ("not sealed", "8", "5 15/16 in")
    told = rows(story, "stations.csv")
    assert len(told) == 8 and {r["lap_nm"] for r in told} == {str(6 * INCH - 1)}
    assert told[0]["at_px"] == "150.000 400.000"


def test_an_edge_tells_on_whose_word_it_lies_where_it_does() -> None:
    story = whole().tell(
        g.TerminationWithdrawn("1", "zb", "B-E1", "drawn wrongly"),
        g.TerminationDescribed("5", "s", "zb", "B-E5", "over the footing and against the wall",
                               ring(((100, 100), (900, 100))), "the engineer, letter of 3 March", "", ""),
    )  # fmt: skip
    assert only(story, "terminations.csv", tag="B-E1")["withdrawn"] == "drawn wrongly"
    row = only(story, "terminations.csv", tag="B-E5")
    assert (row["authority"], row["state"]) == ("the engineer, letter of 3 March", "open")


def test_repairs_and_both_kinds_of_second_looks_are_told() -> None:
    row = only(whole(), "repairs.csv")
    assert (row["tag"], row["method"], row["tape_width"]) == ("B-02", "clean the film", "none")
    looks = [(r["of"], r["tag"], r["accepted"], r["by"]) for r in rows(whole(), "looks.csv")]
    assert looks == [("patch", "B-01", "yes", "ina"), ("repair", "B-02", "yes", "ina")]


def test_film_is_told_by_material_by_lot_and_by_zone() -> None:
    story = whole().tell(film("m2", puncture_g=None), lot("l2", "m2", "F-2"), laid("y2", "l2", "F-2"))
    assert only(story, "materials.csv", id="m2")["puncture_g"] == ""
    assert only(story, "lots.csv", number="F-2")["name"] == "Film m2"
    row = only(story, "laid.csv", number="F-2")
    assert (row["letter"], row["state"]) == ("B", "below the sheet")
    assert "are not all stated" in row["faults"]
    gone = story.tell(h.LayingWithdrawn("y2", "l2", "zb", "B", "F-2", "another zone"))
    assert only(gone, "laid.csv", number="F-2")["withdrawn"] == "another zone"


def test_a_hold_point_signed_for_an_outline_that_is_no_more_does_not_count() -> None:
    story = whole().tell(signed("n1", STEPS[0], False), who=EYE)
    refused = only(story, "hold_points.csv", id="n1")
    assert (refused["accepted"], refused["counts"], refused["role"]) == ("no", "yes", "inspector")
    story.tell(f.ZoneChanged("zb", "North bay", ring(((100, 100), (900, 100), (900, 690), (100, 700))), None))
    assert {row["counts"] for row in rows(story, "hold_points.csv")} == {"no"}


def test_a_run_at_fault_names_its_mark() -> None:
    run = SeamRun("fishmouth", px(200, 400), px(220, 400), "09")
    story = whole().tell(mark("09", (210, 400), "unbonded tape"), seam_walk("w2", "1", runs=(run,)))
    row = only(story, "runs.csv")
    assert (row["fault"], row["from_px"], row["defect"]) == ("fishmouth", "200.000 400.000", "09")


def test_what_lies_on_a_zone_taken_away_says_so() -> None:
    story = whole().tell(f.ZoneWithdrawn("zb", "merged into C"))
    assert only(story, "penetrations.csv")["state"] == "on a zone taken away"
