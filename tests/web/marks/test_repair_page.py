"""Logging a repair that is no patch on a phone: what is offered, what is kept, the word after."""

from __future__ import annotations

import httpx
import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.reading import defect_view
from service.actions.marks import defects
from service.domain.nouns.installed import Repair
from service.domain.nouns.site import Defect, Zone
from tests.builders import (
    HOLE,
    LAPPED,
    SLIT,
    a_laying,
    a_lot,
    a_mark,
    a_material,
    a_patch,
    a_pipe,
    a_repair,
    a_zone,
)
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.web.office.forms import form_of

INCH = 25_400_000
MADE = {
    "method": "lap again", "cleaned": "yes", "dry": "yes", "lap": "6 1/2", "taped": "yes", "tape_width": "4",
}  # fmt: skip


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    return a_zone(desk, cast)


@pytest.fixture
def mark(desk: Desk, cast: Cast, zone: Zone) -> Defect:
    return a_mark(desk, cast, zone, (300, 300), "short lap", SLIT)


def path(mark: Defect) -> str:
    return f"/defects/{mark.id}/repair"


def fresh(client: httpx.Client, mark: Defect) -> dict[str, str]:
    return form_of(client.get(path(mark)).text, path(mark))


def logged(desk: Desk, cast: Cast, mark: Defect) -> tuple[Repair, ...]:
    return defect_view(desk, cast.lead.id, mark.id)[1].repairs


def test_the_marks_page_says_what_mends_it_and_the_verdict_stands_there_at_once(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    client = page_of(cast.lead)
    page = client.get(f"/defects/{mark.id}").text
    assert "Cut 50 by 14 in (least 48 by 12 in) as a cover strip, or lap it again and tape it" in page
    assert "clean and dry, lap at least 6 in, taped all along with 4 in or wider" in page
    assert "kept, and does not count on this project" in page, "a replaced sheet"
    assert f'href="{path(mark)}?method=lap%20again"' in page
    chosen = client.get(f"{path(mark)}?method=lap%20again").text
    assert form_of(chosen, path(mark))["method"] == "lap again"
    sent = client.post(path(mark), data=fresh(client, mark) | MADE)
    assert (sent.status_code, sent.headers["location"]) == (303, f"/defects/{mark.id}?said=repair")
    page = client.get(sent.headers["location"]).text
    assert "B-01 is sealed: lap again" in page and "Lap again: it holds." in page
    (repair,) = logged(desk, cast, mark)
    assert (repair.lap_nm, repair.work.tape_width_nm) == (13 * INCH // 2, 4 * INCH)


def test_a_lap_short_after_it_is_told_in_words_and_what_to_do(
    cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    client = page_of(cast.lead)
    sent = client.post(path(mark), data=fresh(client, mark) | MADE | {"lap": "5 15/16"})
    page = client.get(sent.headers["location"]).text
    assert "B-01 is not sealed: the lap measured after it is short" in page
    assert "Lap it again or lay a cover strip over it" in page
    assert "lap 5 15/16 in, 4 in tape. It does not mend it." in page, "the history keeps what was told then"
    assert "Lap again: does not count, the lap measured after it is short." in page


def test_a_question_nobody_answered_is_never_a_pass_and_nothing_typed_is_lost(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    client = page_of(cast.lead)
    form = fresh(client, mark)
    assert not set(form) & {"cleaned", "dry", "taped", "method"}, "no answer is given beforehand"
    for missing in MADE:
        answers = {name: value for name, value in MADE.items() if name != missing}
        answer = client.post(path(mark), data=form | answers | {"note": "kept"})
        assert answer.status_code == 422 and f'id="{missing}-wrong"' in answer.text
        kept = form_of(answer.text, path(mark))
        assert kept["note"] == "kept" and all(kept[name] == value for name, value in answers.items())
    assert logged(desk, cast, mark) == ()


def test_a_temperature_without_a_unit_and_a_lap_that_is_none_stand_beside_their_fields(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    client = page_of(cast.lead)
    for wrong in ({"film_temperature": "55"}, {"lap": "six"}, {"tape_width": "wide"}):
        answer = client.post(path(mark), data=fresh(client, mark) | MADE | wrong)
        (name,) = wrong
        assert answer.status_code == 422 and f'id="{name}-wrong"' in answer.text
        assert form_of(answer.text, path(mark))[name] == wrong[name]
    assert logged(desk, cast, mark) == ()


def test_dirt_is_cleaned_off_without_a_lap(desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone) -> None:
    mark, client = a_mark(desk, cast, zone, (300, 300), "contamination", HOLE), page_of(cast.lead)
    assert "If the sheet was replaced" in client.get(path(mark)).text
    cleaned = {"method": "clean the film", "cleaned": "yes", "dry": "yes"}
    sent = client.post(path(mark), data=fresh(client, mark) | cleaned)
    assert "B-01 is sealed: clean the film" in client.get(sent.headers["location"]).text


@pytest.mark.parametrize(
    ("kind", "end", "words"),
    [
        ("unsealed penetration", "penetrations", "Place it"),
        ("unsealed termination", "edges", "Seal it"),
    ],
)
def test_what_is_sealed_elsewhere_leads_there_and_takes_no_repair(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone, kind: str, end: str, words: str
) -> None:
    mark, client = a_mark(desk, cast, zone, (300, 300), kind, HOLE), page_of(cast.lead)
    page = client.get(f"/defects/{mark.id}").text
    assert f'href="/zones/{zone.id}/{end}">{words}' in page
    assert f'href="{path(mark)}' not in page and f'href="/defects/{mark.id}/patch"' not in page
    assert client.get(path(mark)).headers["location"] == f"/defects/{mark.id}"
    assert client.post(path(mark), data=MADE).status_code == 422


def test_a_hole_is_patched_first_and_the_replaced_sheet_stands_below(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    hole, client = a_mark(desk, cast, zone, (300, 300), "hole", HOLE), page_of(cast.lead)
    page = client.get(f"/defects/{hole.id}").text
    assert page.index("Log the patch") < page.index("Replace the sheet")
    assert fresh(client, hole)["method"] == "replace the sheet", "the only one there is"


def test_the_lot_laid_here_is_offered_and_the_last_one_used_is_filled_in(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone, mark: Defect
) -> None:
    client = page_of(cast.lead)
    assert fresh(client, mark)["lot"] == ""
    film = a_material(desk, cast)
    first = a_lot(desk, cast, film, "R-1")
    a_laying(desk, cast, zone, first)
    assert fresh(client, mark)["lot"] == "R-1", "the only film laid here"
    a_laying(desk, cast, zone, a_lot(desk, cast, film, "R-2"))
    page = client.get(path(mark)).text
    assert "Laid in this zone: R-2, R-1" in page and '<option value="R-1">' in page
    assert fresh(client, mark)["lot"] == "", "which of two, nobody knows"
    a_repair(desk, cast, mark, {**LAPPED, "lot": "R-2", "tape_width": "5 in"})
    assert (fresh(client, mark)["lot"], fresh(client, mark)["tape_width"]) == ("R-2", "5")


def test_it_is_withdrawn_with_a_reason_by_its_maker(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    repair, client = a_repair(desk, cast, mark), page_of(cast.lead)
    where = f"/defects/{mark.id}/repairs/{repair.id}/withdraw"
    assert f'href="{where}"' in client.get(f"/defects/{mark.id}").text
    form = form_of(client.get(where).text, where)
    assert client.post(where, data=form).status_code == 422
    gone = client.post(where, data=form | {"reason": "came undone"})
    page = client.get(gone.headers["location"]).text
    assert "B-01 is open" in page and "Withdrawn: came undone" in page
    assert "Withdrawn already: came undone" in client.get(where).text
    assert page_of(cast.inspector).get(where).status_code == 403
    assert page_of(cast.outsider).get(where).status_code == 404


def test_the_same_repair_sent_twice_is_one_and_a_withdrawn_mark_loses_nothing_typed(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    client = page_of(cast.lead)
    form = fresh(client, mark) | MADE
    assert [client.post(path(mark), data=form).status_code for _ in range(2)] == [303, 303]
    assert len(logged(desk, cast, mark)) == 1
    form = fresh(client, mark) | MADE | {"note": "kept"}
    defects.withdraw_defect(desk, cast.lead.id, mark.id, "a shadow")
    answer = client.post(path(mark), data=form)
    assert answer.status_code == 422 and "was withdrawn: a shadow" in answer.text
    assert form_of(answer.text, path(mark))["note"] == "kept"


def test_damage_beside_a_pipe_waits_for_its_collar_and_leads_to_it(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    """The pipe of 4 1/2 in stands 3 in from the tear's end: within the 6 in that its patch must reach."""
    pipe, client = a_pipe(desk, cast, zone, (250, 350)), page_of(cast.lead)
    tear = a_mark(desk, cast, zone, (256, 350))  # 7.2 in to the right of the pipe's centre
    a_patch(desk, cast, tear)
    page = client.get(f"/defects/{tear.id}").text
    assert "B-01 is not sealed: the collar there was not made anew since the damage; see B-P01" in page
    assert "Damage beside a pipe needs patch and collar together" in page
    assert f'href="/penetrations/{pipe.id}"' in page


# --- film by lot and by roll, on the patch page ----------------------------------------------------------


def test_a_patch_of_another_material_than_the_film_is_told_and_what_to_do(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    tear, client = a_mark(desk, cast, zone), page_of(cast.lead)
    a_laying(desk, cast, zone, a_lot(desk, cast, a_material(desk, cast), "R-1"))
    a_lot(desk, cast, a_material(desk, cast, name="Thinner film"), "X-9")
    sides = {"left": "6 in", "right": "6 in", "near": "6 in", "far": "6 in"}
    made = {"sides": sides, "cleaned": True, "dry": True, "edges_taped": True, "tape_width": "4 in"}
    a_patch(desk, cast, tear, {**made, "lot": "X-9"})
    page = client.get(f"/defects/{tear.id}").text
    assert "B-01 is not sealed: it is of another material than the film" in page
    assert "Patch with the film that was laid here" in page
    a_patch(desk, cast, tear, {**made, "lot": "r-1"})
    assert "B-01 is sealed" in client.get(f"/defects/{tear.id}").text


def test_damage_wider_than_the_roll_is_told_as_the_pieces_it_is_joined_from(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    """A 12 by 10 ft tear at 6 in and 1 in to place: 158 by 134 in. On a 10 ft (120 in) roll, laps of 6 in:
    strips of 120 in, and the rest 134 - (120 - 6) = 20 in."""
    shape = {"shape": "rectangle", "length": "12 ft", "width": "10 ft"}
    tear, client = a_mark(desk, cast, zone, (300, 300), "tear", shape), page_of(cast.lead)
    a_laying(desk, cast, zone, a_lot(desk, cast, a_material(desk, cast, roll_width="10 ft"), "R-1"))
    for address in (f"/defects/{tear.id}", f"/defects/{tear.id}/patch"):
        page = client.get(address).text
        assert "join it from 2 pieces, each lapping the next by 6 in and taped: " in page
        assert "158 by 120 in; 158 by 20 in" in page


def test_a_lap_reading_wider_than_the_roll_is_refused(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone, mark: Defect
) -> None:
    client = page_of(cast.lead)
    a_laying(desk, cast, zone, a_lot(desk, cast, a_material(desk, cast, roll_width="10 ft"), "R-1"))
    answer = client.post(path(mark), data=fresh(client, mark) | MADE | {"lap": "10 ft 1/16 in"})
    assert answer.status_code == 422 and "A lap cannot be wider than the roll" in answer.text
    assert logged(desk, cast, mark) == ()
    sent = client.post(path(mark), data=fresh(client, mark) | MADE | {"lap": "10 ft"})
    assert sent.status_code == 303
