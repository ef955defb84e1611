"""The rule sheet: read by all, changed in two steps by the project manager."""

from __future__ import annotations

import pytest

from service.actions.frame.desk import Desk
from service.actions.office.numbers import raise_numbers
from service.actions.office.projects import change_rule_sheet, one_project
from service.domain.nouns.rules import LENGTHS, STEPS, Choice, RuleSheet, source_of
from service.domain.nouns.site import Zone
from service.domain.rule_sheet.rule_sets import SETS
from service.web.shared.sheet_words import GROUPS, MEANINGS
from tests.builders import a_mark, a_patch, a_release, a_walk, a_zone, state_of
from tests.cast import Cast, assemble
from tests.conftest import ClientOf
from tests.web.office.forms import actions_of, form_of

INCH_NM = 25_400_000


def path(cast: Cast) -> str:
    return f"/projects/{cast.project_id}/rule-sheet"


def sheet(desk: Desk, cast: Cast) -> RuleSheet:
    return one_project(desk, cast.manager.id, cast.project_id).project.sheet


@pytest.fixture
def ready(desk: Desk, cast: Cast) -> Zone:
    """A released zone whose one patch overlaps by exactly 6 in."""
    zone = a_zone(desk, cast)
    a_patch(desk, cast, a_mark(desk, cast, zone))
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    return zone


def test_every_number_is_told_with_its_source(cast: Cast, page_of: ClientOf) -> None:
    for person in (cast.manager, cast.lead, cast.inspector):
        page = page_of(person).get(path(cast)).text
        for words in ("Patch overlap", "6 in", "ASTM E1643 section 8", "common practice, no source", "1.5"):
            assert words in page, words
    assert path(cast) not in actions_of(page_of(cast.lead).get(path(cast)).text)


def test_every_number_of_the_sheet_says_what_it_means() -> None:
    others = {"collar_length_factor", "tape_temperature", "film_class", "most_permeance"}
    assert set(MEANINGS) == {*LENGTHS, *others} == {name for _, names in GROUPS for name in names}


def test_a_change_shows_what_it_does_before_it_is_saved(
    desk: Desk, cast: Cast, page_of: ClientOf, ready: Zone
) -> None:
    manager = page_of(cast.manager)
    sent = form_of(manager.get(path(cast)).text, path(cast))
    sent |= {"patch_overlap": "8 in", "patch_overlap_source": "Specification 07 26 00", "step": "look"}
    looked = manager.post(path(cast), data=sent)
    assert looked.status_code == 200
    assert (
        "The release of zone B falls away." in looked.text and "ready to place now, held then" in looked.text
    )
    assert (
        sheet(desk, cast).patch_overlap.nm == 6 * INCH_NM and state_of(desk, cast, ready) == "ready to place"
    )
    save = form_of(looked.text, path(cast)) | {"step": "save"}
    answers = [manager.post(path(cast), data=save) for _ in range(2)]
    assert {answer.status_code for answer in answers} == {303}
    assert answers[1].headers["location"] == f"{path(cast)}?did=saved"
    changed = sheet(desk, cast)
    assert (changed.patch_overlap.nm, changed.patch_overlap.source) == (8 * INCH_NM, "Specification 07 26 00")
    assert state_of(desk, cast, ready) == "held"


def test_nothing_is_saved_without_looking(desk: Desk, cast: Cast, page_of: ClientOf, ready: Zone) -> None:
    """A trick: straight to the second step."""
    manager = page_of(cast.manager)
    sent = form_of(manager.get(path(cast)).text, path(cast)) | {"patch_overlap": "8 in", "step": "save"}
    answer = manager.post(path(cast), data=sent)
    assert answer.status_code == 409 and "Nothing is saved yet" in answer.text
    assert state_of(desk, cast, ready) == "ready to place"


def test_a_zone_released_since_the_look_is_looked_at_again(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    a_walk(desk, cast, zone)
    manager = page_of(cast.manager)
    sent = form_of(manager.get(path(cast)).text, path(cast)) | {"patch_overlap": "8 in", "step": "look"}
    looked = manager.post(path(cast), data=sent)
    assert "No zone changes its state" in looked.text
    a_release(desk, cast, zone)
    again = manager.post(path(cast), data=form_of(looked.text, path(cast)) | {"step": "save"})
    assert again.status_code == 409 and "The release of zone B falls away" in again.text
    assert state_of(desk, cast, zone) == "ready to place"
    save = form_of(again.text, path(cast)) | {"step": "save"}
    assert manager.post(path(cast), data=save).status_code == 303
    assert state_of(desk, cast, zone) == "clear"


def test_a_sheet_somebody_else_changed_is_not_overwritten(
    desk: Desk, cast: Cast, page_of: ClientOf, ready: Zone
) -> None:
    manager = page_of(cast.manager)
    sent = form_of(manager.get(path(cast)).text, path(cast)) | {"tape_width": "5 in", "step": "look"}
    looked = manager.post(path(cast), data=sent)
    change_rule_sheet(desk, cast.manager.id, cast.project_id, {"patch_overlap": "8 in"})
    for answer in (
        manager.post(path(cast), data=form_of(looked.text, path(cast)) | {"step": "save"}),
        manager.post(path(cast), data=sent),
    ):
        assert answer.status_code == 409
        assert "Somebody changed the rule sheet" in answer.text and "patch overlap 8 in" in answer.text
        kept = form_of(answer.text, path(cast))
        assert (kept["tape_width"], kept["patch_overlap"]) == ("5 in", "8 in")
        assert sheet(desk, cast).tape_width.nm == 4 * INCH_NM
    again = manager.post(path(cast), data=kept | {"step": "look"})
    save = form_of(again.text, path(cast)) | {"step": "save"}
    assert manager.post(path(cast), data=save).status_code == 303
    assert (sheet(desk, cast).tape_width.nm, sheet(desk, cast).patch_overlap.nm) == (
        5 * INCH_NM, 8 * INCH_NM,
    )  # fmt: skip


def test_a_number_nobody_touched_keeps_its_exact_value(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    """155 mm is shown as 6 1/8 in (155.575 mm): read back from the form it would be another number."""
    change_rule_sheet(desk, cast.manager.id, cast.project_id, {"patch_overlap": "155 mm"})
    manager = page_of(cast.manager)
    shown = form_of(manager.get(path(cast)).text, path(cast))
    assert shown["patch_overlap"] == "6 1/8 in"
    sent = shown | {"patch_overlap_source": "Drawing S-101", "lap": "7 in", "step": "look"}
    looked = manager.post(path(cast), data=sent)
    manager.post(path(cast), data=form_of(looked.text, path(cast)) | {"step": "save"})
    assert sheet(desk, cast).patch_overlap.nm == 155_000_000
    assert sheet(desk, cast).patch_overlap.source == "Drawing S-101"


def test_an_old_source_never_stands_beside_a_new_number(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    manager = page_of(cast.manager)
    sent = form_of(manager.get(path(cast)).text, path(cast))
    sent |= {"patch_overlap": "8 in", "collar_length_factor": "2", "step": "look"}
    looked = manager.post(path(cast), data=sent)
    manager.post(path(cast), data=form_of(looked.text, path(cast)) | {"step": "save"})
    found = sheet(desk, cast)
    assert (
        found.patch_overlap.source
        == found.collar_length_factor.source
        == "set by the project, no source given"
    )


def test_a_demand_that_cannot_be_checked_holds_and_says_so_first(
    desk: Desk, cast: Cast, page_of: ClientOf, ready: Zone
) -> None:
    manager = page_of(cast.manager)
    sent = form_of(manager.get(path(cast)).text, path(cast)) | {"gate_demands_1": "yes", "step": "look"}
    looked = manager.post(path(cast), data=sent)
    assert "nothing now" in looked.text and "seams" in looked.text and "held then" in looked.text
    manager.post(path(cast), data=form_of(looked.text, path(cast)) | {"step": "save"})
    assert sheet(desk, cast).gate_demands == ("seams",) and state_of(desk, cast, ready) == "held"
    back = form_of(manager.get(path(cast)).text, path(cast))
    assert back.pop("gate_demands_1") == "yes"
    looked = manager.post(path(cast), data=back | {"step": "look"})
    manager.post(path(cast), data=form_of(looked.text, path(cast)) | {"step": "save"})
    assert sheet(desk, cast).gate_demands == ()


@pytest.mark.parametrize(
    ("field", "typed", "told"),
    [
        ("patch_overlap", "6", "6 of what?"),
        ("patch_overlap", "six", "in figures"),
        ("patch_overlap", "0", "0 of what?"),
        ("lap", "3 in", "below every published rule set"),
        ("tape_width", "-3 in", "no plus or minus"),
        ("tape_width", "1e9 ft", "without e"),
        ("collar_length_factor", "90", "1 to 10 times"),
        ("patch_overlap_source", "x" * 301, "Keep it to 300"),
    ],
)
def test_a_number_that_cannot_be_kept_comes_back_as_typed(
    desk: Desk, cast: Cast, page_of: ClientOf, field: str, typed: str, told: str
) -> None:
    manager, before = page_of(cast.manager), sheet(desk, cast)
    sent = form_of(manager.get(path(cast)).text, path(cast)) | {"mastic_up_to": "2 in", "step": "look"}
    answer = manager.post(path(cast), data=sent | {field: typed})
    assert answer.status_code == 422 and told in answer.text
    kept = form_of(answer.text, path(cast))
    assert (kept[field], kept["mastic_up_to"]) == (typed, "2 in")
    assert sheet(desk, cast) == before


def test_a_form_with_nothing_changed_says_so(cast: Cast, page_of: ClientOf) -> None:
    manager = page_of(cast.manager)
    sent = form_of(manager.get(path(cast)).text, path(cast)) | {"step": "look"}
    for typed in ("6 in", '6"', "0.5 ft"):
        answer = manager.post(path(cast), data=sent | {"patch_overlap": typed})
        assert answer.status_code == 422 and "Nothing is changed yet" in answer.text


def test_back_to_the_form_everything_typed_is_there(cast: Cast, page_of: ClientOf) -> None:
    manager = page_of(cast.manager)
    sent = form_of(manager.get(path(cast)).text, path(cast))
    sent |= {"patch_overlap": "8 in", "patch_overlap_source": "Drawing S-101", "second_look_0": "yes"}
    looked = manager.post(path(cast), data=sent | {"step": "look"})
    back = manager.post(path(cast), data=form_of(looked.text, path(cast)) | {"step": "edit"})
    kept = form_of(back.text, path(cast))
    assert {name: kept.get(name) for name in sent if name != "request_key"} == {
        name: value for name, value in sent.items() if name != "request_key"
    }


@pytest.mark.parametrize(("who", "status"), [("lead", 403), ("inspector", 403), ("outsider", 404)])
def test_only_a_project_manager_changes_it(
    desk: Desk, cast: Cast, page_of: ClientOf, who: str, status: int
) -> None:
    before, sent = sheet(desk, cast), form_of(page_of(cast.manager).get(path(cast)).text, path(cast))
    for step in ("look", "save", "edit", ""):
        answer = page_of(getattr(cast, who)).post(path(cast), data=sent | {"lap": "9 in", "step": step})
        assert answer.status_code == status
    assert sheet(desk, cast) == before


def test_ready_made_sets_govern_together_and_are_seen_before_they_are_saved(
    desk: Desk, cast: Cast, page_of: ClientOf, ready: Zone
) -> None:
    """ANSI/AARST CC-1000-2018 6.4 asks 12 in at laps and patches; IRC 2021 R506.2.3 class A and 10 mil."""
    manager = page_of(cast.manager)
    shown = manager.get(path(cast)).text
    for rule_set in SETS:
        assert rule_set.name in shown and rule_set.source in shown
    keys = [rule_set.key for rule_set in SETS]
    ticks = {f"sets_{keys.index(key)}": "yes" for key in ("irc-2021", "soil-gas-12")}
    looked = manager.post(path(cast), data=form_of(shown, path(cast)) | ticks | {"step": "look"})
    assert "6 in now, <b>12 in</b> then" in looked.text and "CC-1000-2018" in looked.text
    assert "The release of zone B falls away." in looked.text and sheet(desk, cast).sets == ()
    manager.post(path(cast), data=form_of(looked.text, path(cast)) | {"step": "save"})
    assert sheet(desk, cast).sets == ("irc-2021", "soil-gas-12")
    assert sheet(desk, cast).lap.nm == sheet(desk, cast).patch_overlap.nm == 12 * INCH_NM
    page = manager.get(path(cast)).text
    assert "What the chosen sets ask together" in page
    less = form_of(page, path(cast)) | {"lap": "7 in", "step": "look"}
    refused = manager.post(path(cast), data=less)
    assert refused.status_code == 422 and "to ask less, write where that comes from" in refused.text
    assert manager.post(path(cast), data=less | {"lap_source": "Engineer, 3 May"}).status_code == 200


def test_the_projects_own_hold_points_stand_among_the_nine(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    manager = page_of(cast.manager)
    shown = form_of(manager.get(path(cast)).text, path(cast))
    assert shown["hold_points"].split("\n") == list(STEPS)
    for typed, told in (
        (shown["hold_points"].replace("laps\n", ""), "stays"),
        (f"{shown['hold_points']}\nlaps", "order of time"),
    ):
        answer = manager.post(path(cast), data=shown | {"hold_points": typed, "step": "look"})
        assert answer.status_code == 422 and told in answer.text
        assert form_of(answer.text, path(cast))["hold_points"] == typed
    typed = shown["hold_points"].replace("\nlaps\n", "\r\nradon pipe laid\r\nlaps\r\n")
    looked = manager.post(path(cast), data=shown | {"hold_points": typed, "step": "look"})
    assert "the 9 of the trade and radon pipe laid" in looked.text
    manager.post(path(cast), data=form_of(looked.text, path(cast)) | {"step": "save"})
    assert sheet(desk, cast).hold_points == (*STEPS[:2], "radon pipe laid", *STEPS[2:])


def test_where_a_choice_comes_from_is_kept_and_moves_no_zone(
    desk: Desk, cast: Cast, page_of: ClientOf, ready: Zone
) -> None:
    manager = page_of(cast.manager)
    sent = form_of(manager.get(path(cast)).text, path(cast))
    sent |= {"second_look_source": "Quality plan 4.2", "film_class_source": "Contract 07 26 00"}
    looked = manager.post(path(cast), data=sent | {"step": "look"})
    assert "No zone changes its state" in looked.text and "from another source" in looked.text
    manager.post(path(cast), data=form_of(looked.text, path(cast)) | {"step": "save"})
    assert source_of(sheet(desk, cast), "second_look") == "Quality plan 4.2"
    assert sheet(desk, cast).film_class == Choice("A", "Contract 07 26 00")
    assert state_of(desk, cast, ready) == "ready to place"
    assert "Quality plan 4.2" in page_of(cast.lead).get(path(cast)).text


def test_zones_that_ask_more_are_told_beside_the_sheet(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    raise_numbers(desk, cast.manager.id, zone.id, {"lap": "8 in"})
    page = page_of(cast.lead).get(path(cast)).text
    assert "lap 8 in" in page and f"/zones/{zone.id}/numbers" in page


def test_a_metric_sheet_goes_through_its_form_unmoved(desk: Desk, page_of: ClientOf) -> None:
    cast = assemble(desk.fresh(), units="metric")
    manager = page_of(cast.manager)
    shown = manager.get(path(cast)).text
    for words in ("5 °C", "0.25 mm", "3 m", "150 mm", "5.721 ng/(Pa s m2)"):
        assert words in shown, words
    answer = manager.post(path(cast), data=form_of(shown, path(cast)) | {"step": "look"})
    assert "Nothing is changed yet" in answer.text
