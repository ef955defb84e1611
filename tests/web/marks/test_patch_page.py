"""Logging a patch: four readings or a size, what is asked, and the word after."""

from __future__ import annotations

import httpx
import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.reading import defect_view
from service.actions.marks import defects
from service.actions.sketches import zones
from service.domain.nouns.site import Defect, Patch
from service.domain.shapes.outlines import Rectangle, Sides
from tests.builders import HOLE, a_mark, a_patch, a_zone, sides
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.media.making import encoded, scene
from tests.web.office.forms import form_of

INCH = 25_400_000
MADE = {"cleaned": "yes", "dry": "yes", "edges_taped": "yes", "tape_width": "4"}
READ = {"far": "6 1/2", "left": "6", "right": "6 1/4", "near": "6.25"}


def path(mark: Defect) -> str:
    return f"/defects/{mark.id}/patch"


def fresh(client: httpx.Client, mark: Defect) -> dict[str, str]:
    return form_of(client.get(path(mark)).text, path(mark))


def logged(desk: Desk, cast: Cast, mark: Defect) -> list[Patch]:
    return defect_view(desk, cast.lead.id, mark.id)[0].patches_on(mark.id)


@pytest.fixture
def mark(desk: Desk, cast: Cast) -> Defect:
    return a_mark(desk, cast, a_zone(desk, cast))


def test_four_readings_seal_the_mark(desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect) -> None:
    client = page_of(cast.lead)
    sent = client.post(path(mark), data=fresh(client, mark) | READ | MADE | {"lot": "R-1182"})
    assert sent.status_code == 303
    assert "B-01 is sealed: least overlap 6 in" in client.get(sent.headers["location"]).text
    (patch,) = logged(desk, cast, mark)
    assert patch.sides == Sides(6 * INCH, 25 * INCH // 4, 25 * INCH // 4, 13 * INCH // 2, 0)
    assert (patch.lot, patch.tape_width_nm) == ("R-1182", 4 * INCH)


def test_a_reading_a_quarter_inch_short_says_where_and_what_to_do(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    client = page_of(cast.lead)
    sent = client.post(path(mark), data=fresh(client, mark) | READ | MADE | {"right": "5 3/4"})
    page = client.get(sent.headers["location"]).text
    assert "B-01 is not sealed: short by 1/4 in on the right" in page
    assert "Lay another patch over it" in page
    assert f'href="{path(mark)}"' in page


def test_a_question_nobody_answered_is_never_a_pass(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    client = page_of(cast.lead)
    form = fresh(client, mark)
    assert not set(form) & {"cleaned", "dry", "edges_taped"}, "no answer is given beforehand"
    for missing in MADE:
        answers = {name: value for name, value in MADE.items() if name != missing}
        blank = {"tape_width": ""} if missing == "tape_width" else {}
        answer = client.post(path(mark), data=form | READ | answers | blank | {"note": "kept"})
        assert answer.status_code == 422
        assert f'id="{missing}-wrong"' in answer.text
        kept = form_of(answer.text, path(mark))
        assert (kept["far"], kept["note"]) == ("6 1/2", "kept")
        assert missing not in kept or not kept[missing]
    assert logged(desk, cast, mark) == []


def test_a_no_is_kept_and_does_not_seal(desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect) -> None:
    client = page_of(cast.lead)
    sent = client.post(path(mark), data=fresh(client, mark) | READ | MADE | {"dry": "no"})
    assert "B-01 is not sealed: the film was not dry" in client.get(sent.headers["location"]).text
    assert logged(desk, cast, mark)[0].dry is False


def test_numbers_that_cannot_all_be_true_are_refused_in_words(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    """4 in of damage with 6 in and 6 1/4 in beside it make 16 1/4 in: no 20 in piece."""
    client = page_of(cast.lead)
    typed = fresh(client, mark) | READ | MADE | {"cut_length": "20", "cut_width": "14 3/4"}
    answer = client.post(path(mark), data=typed)
    assert answer.status_code == 422
    assert "make 16 1/4 in, but the cut is 20 in long" in answer.text
    assert form_of(answer.text, path(mark))["cut_length"] == "20"
    assert client.post(path(mark), data=typed | {"cut_length": "16 1/4"}).status_code == 303


def test_a_reading_that_is_no_length_comes_back_as_typed(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    client = page_of(cast.lead)
    answer = client.post(path(mark), data=fresh(client, mark) | READ | MADE | {"near": "six"})
    assert answer.status_code == 422 and 'id="near-wrong"' in answer.text
    assert form_of(answer.text, path(mark))["near"] == "six"
    assert logged(desk, cast, mark) == []


def test_by_size_and_offset_the_short_side_is_told(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    mark = a_mark(desk, cast, a_zone(desk, cast), (300, 300), "hole", {"shape": "circle", "diameter": "2 in"})
    client = page_of(cast.lead)
    size = {"by": "size", "shape": "rectangle", "length": "14", "width": "14", "offset_x": "1"}
    sent = client.post(path(mark), data=fresh(client, mark) | MADE | size | {"offset_x_way": "right"})
    assert "short by 1 in on the left" in client.get(sent.headers["location"]).text
    (patch,) = logged(desk, cast, mark)
    assert (patch.outline, patch.offset) == (Rectangle(14 * INCH, 14 * INCH, 0), (INCH, 0))


def test_without_scripts_the_verdict_can_be_asked_for_first(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    client = page_of(cast.lead)
    size = {"by": "size", "shape": "rectangle", "length": "16", "width": "14", "check": "yes"}
    answer = client.post(path(mark), data=fresh(client, mark) | size)
    assert answer.status_code == 200 and "Holds: least overlap 6 in" in answer.text
    assert form_of(answer.text, path(mark))["length"] == "16"
    assert logged(desk, cast, mark) == []


def test_the_live_verdict_joins_what_lies_there_already(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    a_patch(desk, cast, mark, sides(right="5 in"))
    client = page_of(cast.lead)
    shape = {"by": "size", "shape": "rectangle", "length": "8 in", "width": "14 in", "offset_x": "4 in"}
    told = client.post(f"{path(mark)}/preview", data=shape | {"offset_x_way": "right"})
    assert told.status_code == 200
    # The two together reach from 6 in left of the damage to 6 in right of it (4 + 4 - 2).
    assert told.json()["words"] == "Holds: least overlap 6 in"
    assert "Together with what lies there already" in told.json()["small"]
    bad = client.post(f"{path(mark)}/preview", data=shape | {"length": "eight"})
    assert bad.status_code == 422 and bad.json()["words"]
    assert len(logged(desk, cast, mark)) == 1


def test_a_wall_is_a_choice_only_where_one_is_drawn(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    zones.draw_wall(desk, cast.lead.id, zone.id, (200, 296), (400, 296))  # 4.8 in above the mark's centre
    mark, client = a_mark(desk, cast, zone), page_of(cast.lead)
    page = client.get(path(mark)).text
    assert 'name="far_wall"' in page and 'name="left_wall"' not in page
    read = READ | {"far": ""}
    sent = client.post(path(mark), data=fresh(client, mark) | read | MADE | {"far_wall": "yes"})
    assert "B-01 is sealed" in client.get(sent.headers["location"]).text
    lied = client.post(path(mark), data=fresh(client, mark) | READ | MADE | {"left_wall": "yes"})
    assert lied.status_code == 422 and "No wall and no sealed edge is within 6 in" in lied.text


def test_the_drawing_of_a_round_hole_turns_and_keeps_what_was_typed(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    mark, client = a_mark(desk, cast, a_zone(desk, cast), (300, 300), "hole", HOLE), page_of(cast.lead)
    turned = client.post(path(mark), data=fresh(client, mark) | READ | MADE | {"turn": "15"})
    assert turned.status_code == 200
    form = form_of(turned.text, path(mark))
    assert (form["turn_deg"], form["far"], form["cleaned"]) == ("15", "6 1/2", "yes")
    client.post(path(mark), data=form)
    sides_read = logged(desk, cast, mark)[0].sides
    assert sides_read is not None and sides_read.angle_udeg == 15_000_000


def test_one_piece_over_two_marks_seals_both(desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect) -> None:
    zone = defect_view(desk, cast.lead.id, mark.id)[0].zone
    near = a_mark(desk, cast, zone, (302, 300), "hole", HOLE)  # 2.4 in to the right
    client = page_of(cast.lead)
    assert f'name="also" value="{near.id}"' in client.get(path(mark)).text
    read = dict.fromkeys(("far", "left", "right", "near"), "9")
    client.post(path(mark), data=fresh(client, mark) | read | MADE | {"also": near.id})
    view = defect_view(desk, cast.lead.id, near.id)[0]
    assert {view.verdict(d).state for d in view.defects()} == {"sealed"}


def test_the_same_patch_sent_twice_is_one_patch(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    client = page_of(cast.lead)
    form, photo = fresh(client, mark) | READ | MADE, encoded(scene(64, 48), "JPEG")
    first, second = (
        client.post(path(mark), data=form, files={"camera": ("a.jpg", photo, "image/jpeg")}) for _ in range(2)
    )
    assert first.headers["location"] == second.headers["location"]
    (patch,) = logged(desk, cast, mark)
    assert len(defect_view(desk, cast.lead.id, mark.id)[0].photos_of(patch.id)) == 1


def test_last_tape_and_lot_are_offered_and_no_reading_is(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    client = page_of(cast.lead)
    assert fresh(client, mark)["tape_width"] == "", "the first time nothing is"
    a_patch(desk, cast, mark, sides() | {"tape_width": "6 in", "lot": "T-9"})
    form = fresh(client, mark)
    assert (form["tape_width"], form["lot"]) == ("6", "T-9")
    assert [form[side] for side in READ] == ["", "", "", ""]


def test_a_cover_strip_seals_an_open_seam(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone, client = a_zone(desk, cast), page_of(cast.lead)
    seam = a_mark(desk, cast, zone, (300, 300), "open seam", {"shape": "slit", "length": "3 ft"})
    page = client.get(path(seam)).text
    assert "log a cover strip" in page and "Cut 50 by 14 in (least 48 by 12 in) as a cover strip" in page
    sent = client.post(path(seam), data=fresh(client, seam) | READ | MADE)
    assert "B-01 is sealed: least overlap 6 in" in client.get(sent.headers["location"]).text


def test_a_displaced_sheet_takes_a_patch_that_does_not_seal_it(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone, client = a_zone(desk, cast), page_of(cast.lead)
    sheet = a_mark(desk, cast, zone, (300, 300), "displaced sheet", {"shape": "slit", "length": "3 ft"})
    form = client.get(path(sheet)).text
    assert "it does not seal this" in form
    assert "data-verdict" not in form, "no word that holds while typing"
    told = client.post(f"{path(sheet)}/preview", data={"by": "readings", "unit": "in", **READ}).json()
    assert (told["kind"], told["words"]) == ("stop", "This does not seal it")
    sent = client.post(path(sheet), data=fresh(client, sheet) | READ | MADE)
    page = client.get(sent.headers["location"]).text
    assert "B-01 is not sealed: what was logged does not mend this" in page
    assert "Does not count: what was logged does not mend this." in page


def test_a_patch_on_film_too_cold_is_told_at_once(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    """40 °F: the ready-made sheet's least film temperature (TRADE: common practice, no source)."""
    client = page_of(cast.lead)
    cold = fresh(client, mark) | READ | MADE | {"film_temperature": "39.9 F"}
    page = client.get(client.post(path(mark), data=cold).headers["location"]).text
    assert "B-01 is not sealed: the film was colder than the rule sheet asks for taping" in page
    assert "Wait until the film is warmer" in page
    warm = fresh(client, mark) | READ | MADE | {"film_temperature": "40 F"}
    assert "B-01 is sealed" in client.get(client.post(path(mark), data=warm).headers["location"]).text


def test_a_temperature_without_a_unit_is_refused_and_nothing_typed_is_lost(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    client = page_of(cast.lead)
    answer = client.post(path(mark), data=fresh(client, mark) | READ | MADE | {"film_temperature": "45"})
    assert answer.status_code == 422 and "Write F or C behind the temperature" in answer.text
    assert form_of(answer.text, path(mark))["film_temperature"] == "45"
    assert form_of(answer.text, path(mark))["far"] == "6 1/2"
    assert logged(desk, cast, mark) == []


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"left": "90 ft"}, "far"),
        ({"by": "size", "shape": "rectangle", "length": "110 ft", "width": "2 ft"}, "length"),
        ({"by": "size", "shape": "circle", "diameter": "110 ft"}, "diameter"),
    ],
)
def test_a_patch_larger_than_its_zone_is_refused_in_words(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect, typed: dict[str, str], field: str
) -> None:
    """The zone is 80 by 60 ft: 100 ft from corner to corner (3-4-5), and 6 in more past each end."""
    client = page_of(cast.lead)
    read = READ | ({"right": "12 ft"} if "left" in typed else {})
    answer = client.post(path(mark), data=fresh(client, mark) | read | MADE | typed)
    assert answer.status_code == 422 and "is larger than zone B itself" in answer.text
    assert f'id="{field}-wrong"' in answer.text
    name, value = next((n, v) for n, v in typed.items() if v.endswith("0 ft"))
    assert form_of(answer.text, path(mark))[name] == value
    assert logged(desk, cast, mark) == []


def test_a_patch_as_long_as_its_zone_and_the_overlap_past_it_is_kept(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    client = page_of(cast.lead)
    size = {"by": "size", "shape": "rectangle", "length": "101 ft", "width": "2 ft"}
    assert client.post(path(mark), data=fresh(client, mark) | MADE | size).status_code == 303
    longer = size | {"length": "101 ft 1/16 in"}
    assert client.post(path(mark), data=fresh(client, mark) | MADE | longer).status_code == 422


def test_a_replaced_sheet_is_no_patch_and_is_not_offered_as_one(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    client = page_of(cast.lead)
    assert 'value="replace the sheet"' not in client.get(path(mark)).text
    answer = client.post(path(mark), data=fresh(client, mark) | READ | MADE | {"method": "replace the sheet"})
    assert answer.status_code == 422 and "logged as a repair of the mark, not as a patch" in answer.text


def test_a_patch_on_a_mark_withdrawn_meanwhile_is_refused_and_nothing_typed_is_lost(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    client = page_of(cast.lead)
    form = fresh(client, mark) | READ | MADE
    defects.withdraw_defect(desk, cast.manager.id, mark.id, "a shadow")
    answer = client.post(path(mark), data=form)
    assert answer.status_code == 422 and "was withdrawn: a shadow" in answer.text
    assert form_of(answer.text, path(mark))["far"] == "6 1/2"
    assert client.get(path(mark)).headers["location"] == f"/defects/{mark.id}"


def test_an_inspector_logs_no_patch_and_an_outsider_sees_none(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    patch = a_patch(desk, cast, mark)
    inspector, outsider = page_of(cast.inspector), page_of(cast.outsider)
    assert inspector.get(path(mark)).status_code == 403
    assert inspector.post(path(mark), data=READ | MADE | {"unit": "in"}).status_code == 403
    assert inspector.get(f"/patches/{patch.id}").status_code == 200
    for address in (path(mark), f"/patches/{patch.id}", f"/defects/{mark.id}"):
        assert outsider.get(address).status_code == 404
    assert outsider.post(f"{path(mark)}/preview", data=READ).status_code == 404
