"""Seams on the crew's pages: drawn with no script, walked with the tape in one hand, marked where at fault.

The zone is 80 by 60 ft at 10 px to the foot; the sheet asks a lap of 6 in and tape of 4 in, read every 10 ft
(common practice, no source).
"""

from __future__ import annotations

import pytest

from service.actions.film import film
from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.actions.installed import seams
from service.actions.office import numbers
from service.actions.sketches import zones
from service.domain.nouns.installed import Seam
from service.domain.nouns.site import Zone
from tests import builders
from tests.cast import Cast, assemble
from tests.conftest import ClientOf
from tests.web.office.forms import form_of

YES = {"taped": "yes", "bonded": "yes", "cleaned": "yes", "dry": "yes", "tape_width": "4"}
FORTY_FT = ((200, 300), (600, 300))


@pytest.fixture
def cast(desk: Desk) -> Cast:
    return assemble(desk, demands=("seams",))


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    return builders.a_zone(desk, cast)


@pytest.fixture
def seam(desk: Desk, cast: Cast, zone: Zone) -> Seam:
    return builders.a_seam(desk, cast, zone, FORTY_FT)


def seams_of(desk: Desk, cast: Cast, zone: Zone) -> list[Seam]:
    return zone_view(desk, cast.lead.id, zone.id).seams()


def laps(form: dict[str, str], *read: str) -> dict[str, str]:
    return form | YES | {f"lap_{number}": lap for number, lap in enumerate(read)}


def test_a_seam_is_pressed_from_start_to_end_where_no_script_runs(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    lead, path = page_of(cast.lead), f"/zones/{zone.id}/seams/draw"
    form = form_of(lead.get(path).text, path)
    for way in ("left", "right"):
        # Closer in until a press settles, a little to the left and then to the right of the middle.
        for _ in range(6):
            pressed = lead.post(
                path, data=form | {"press.x": "90" if way == "left" else "200", "press.y": "160"}
            )
            assert pressed.status_code == 200
            before, form = form["outline"], form_of(pressed.text, path)
            if form["outline"] != before:
                break
    assert form["outline"].count("[") == 3, "two points"
    assert seams_of(desk, cast, zone) == []
    landed = [lead.post(path, data=form).headers["location"] for _ in range(2)]
    (drawn,) = seams_of(desk, cast, zone)
    assert set(landed) == {f"/seams/{drawn.id}?said=drawn"}
    assert drawn.path[0][0] < drawn.path[1][0]


def test_side_laps_go_in_one_go_a_roll_less_its_lap_apart(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    material = film.submit_material(
        desk, cast.manager.id, cast.project_id, builders.FILM_A | {"roll_width": "15 ft"}
    )
    builders.a_laying(desk, cast, zone, builders.a_lot(desk, cast, material))
    lead, path = page_of(cast.lead), f"/zones/{zone.id}/seams/draw"
    form = form_of(lead.get(path).text, path)
    assert form["spacing"] == "14 ft 6 in"
    answer = lead.post(path, data=form | {"outline": "[[150,150],[850,150]]", "count": "2"})
    assert answer.headers["location"] == f"/zones/{zone.id}/seams?said=drawn"
    assert [drawn.path[0][1] for drawn in seams_of(desk, cast, zone)] == [150_000, 295_000, 440_000]


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({"outline": "[[150.0,150.0]]"}, "Press the seam"),
        ({"outline": "[[2000.0,1500.0],[2100.0,1500.0]]"}, "outside zone B"),
        ({"count": "9", "spacing": "14"}, "Not all of them lie in zone B"),
        ({"count": "two", "spacing": "14"}, "more at once"),
        ({"count": "2"}, "How far apart?"),
    ],
)
def test_what_cannot_be_drawn_comes_back_as_typed(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone, sent: dict[str, str], words: str
) -> None:
    path = f"/zones/{zone.id}/seams/draw"
    given = {
        "outline": "[[150.0,150.0],[850.0,150.0]]",
        "kind": "end lap",
        "side": "left",
        "note": "by the dock",
    } | sent
    answer = page_of(cast.lead).post(path, data=given)
    assert answer.status_code == 422 and words in answer.text
    kept = form_of(answer.text, path)
    assert {name: kept[name] for name in given} == given
    assert seams_of(desk, cast, zone) == []


def test_the_walk_offers_places_and_tape_and_never_a_reading(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone, seam: Seam
) -> None:
    lead, path = page_of(cast.lead), f"/seams/{seam.id}/walk"
    form = form_of(lead.get(path).text, path)
    assert [form[f"at_{n}"] for n in range(4)] == ["5 ft", "15 ft", "25 ft", "35 ft"] and "at_4" not in form
    landed = [lead.post(path, data=laps(form, "6", "6 1/2", "6", "7")).headers["location"] for _ in range(2)]
    assert set(landed) == {f"/seams/{seam.id}?said=walked"}
    assert "B-S01 holds" in lead.get(f"/seams/{seam.id}").text
    again = form_of(lead.get(path).text, path)
    assert again["tape_width"] == "4"
    assert [again[f"lap_{n}"] for n in range(4)] == [""] * 4 and "taped" not in again


def test_places_offered_are_never_farther_apart_than_the_sheet_asks(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    # 50.2 ft, read every 100 1/2 in: six readings lie 100.4 in apart, at 50.2 in and 150.6 in; told to the
    # inch, 50 and 151, they would lie too far apart.
    asked = {"station_every": {"value": "100 1/2 in", "source": "S-101"}}
    numbers.raise_numbers(desk, cast.manager.id, zone.id, asked)
    odd = builders.a_seam(desk, cast, zone, ((200, 300), (702, 300)))
    lead, path = page_of(cast.lead), f"/seams/{odd.id}/walk"
    form = form_of(lead.get(path).text, path)
    count = sum(name.startswith("at_") for name in form)
    lead.post(path, data=laps(form, *["6"] * count))
    assert "B-S01 holds" in lead.get(f"/seams/{odd.id}").text


def test_empty_readings_are_filled_from_the_one_above_only_when_asked(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone, seam: Seam
) -> None:
    lead, path = page_of(cast.lead), f"/seams/{seam.id}/walk"
    form = form_of(lead.get(path).text, path) | {"lap_0": "6", "lap_2": "7", "note": "wind"}
    filled = lead.post(path, data=form | {"rows": "fill"})
    kept = form_of(filled.text, path)
    assert [kept[f"lap_{n}"] for n in range(4)] == ["6", "6", "7", "7"] and kept["note"] == "wind"
    more = form_of(lead.post(path, data=kept | {"rows": "reading"}).text, path)
    assert more["lap_4"] == "" and more["lap_3"] == "7"
    lead.post(path, data=laps(form, "6"))
    assert "farther apart than the rule sheet asks" in lead.get(f"/seams/{seam.id}").text
    (walked,) = seams_of(desk, cast, zone)
    assert walked.walk is not None and len(walked.walk.stations) == 2, "an empty row is no reading"


def test_a_short_lap_and_a_fishmouth_are_told_with_what_mends_each(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone, seam: Seam
) -> None:
    lead, path = page_of(cast.lead), f"/seams/{seam.id}/walk"
    run = {"fault_0": "fishmouth", "from_0": "36", "to_0": "36.5", "opening_0": "1"}
    form = laps(form_of(lead.get(path).text, path), "6", "5 15/16", "6", "6") | run
    lead.post(path, data=form)
    page = lead.get(f"/seams/{seam.id}").text
    assert "B-S01 holds but for its marks" in page and "To mend: B-01, B-02." in page
    assert "Fishmouth, 36 ft to 36 ft 6 in" in page and "Short lap, 5 ft to 25 ft" in page
    assert "least 18 by 13 in" in page and "as a cover strip, or lap it again" in page
    assert "short by 1/16 in" in page
    rows = lead.get(f"/zones/{zone.id}/seams").text
    assert "1 seam: 1 with marks open" in rows and "least lap 5 15/16 in" in rows


@pytest.mark.parametrize(
    ("sent", "field", "words"),
    [
        ({"lap_1": "wide"}, "lap_1", "150 mm"),
        ({"at_2": "41"}, "at_2", "past the end of the seam"),
        ({"taped": ""}, "taped", "Is it taped"),
        ({"fault_0": "untaped", "from_0": "2"}, "to_0", "Where does the run end?"),
        ({"lap_0": "", "lap_1": "", "lap_2": "", "lap_3": ""}, "lap_0", "Measure the lap in one place"),
    ],
)
def test_a_walk_with_a_fault_in_it_comes_back_as_typed(
    cast: Cast, page_of: ClientOf, seam: Seam, sent: dict[str, str], field: str, words: str
) -> None:
    path = f"/seams/{seam.id}/walk"
    lead = page_of(cast.lead)
    form = laps(form_of(lead.get(path).text, path), "6", "6", "6", "6") | {"note": "by the dock"} | sent
    answer = lead.post(path, data=form)
    assert answer.status_code == 422 and words in answer.text
    assert f'id="{field}-wrong"' in answer.text
    kept = form_of(answer.text, path)
    assert {name: kept.get(name, "") for name in form} == form


def test_a_lap_wider_than_the_roll_is_told_beside_its_reading(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone, seam: Seam
) -> None:
    material = film.submit_material(
        desk, cast.manager.id, cast.project_id, builders.FILM_A | {"roll_width": "15 ft"}
    )
    builders.a_laying(desk, cast, zone, builders.a_lot(desk, cast, material))
    lead, path = page_of(cast.lead), f"/seams/{seam.id}/walk"
    answer = lead.post(path, data=laps(form_of(lead.get(path).text, path), "6", "6", "16 ft", "6"))
    assert answer.status_code == 422 and 'id="lap_2-wrong"' in answer.text
    assert "A lap cannot be wider than the roll" in answer.text


def test_the_list_leads_with_what_is_left_and_a_seam_taken_back_leaves_it(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone, seam: Seam
) -> None:
    lead, root = page_of(cast.lead), f"/zones/{zone.id}/seams"
    walked = {"stations": [{"at": f"{n} ft", "lap": "6 in"} for n in (5, 15, 25, 35)],
              "taped": True, "bonded": True, "cleaned": True, "dry": True, "tape_width": "4 in"}  # fmt: skip
    seams.walk_seam(desk, cast.lead.id, seam.id, walked)
    other = builders.a_seam(desk, cast, zone, ((200, 450), (600, 450)))
    page = lead.get(root).text
    assert page.index(f'href="/seams/{other.id}"') < page.index(f'href="/seams/{seam.id}"')
    assert "2 seams: 1 not walked" in page and "none-here" not in page
    path = f"/seams/{other.id}/withdraw"
    form = form_of(lead.get(path).text, path)
    assert lead.post(path, data=form).status_code == 422
    assert (
        lead.post(path, data=form | {"reason": "Drawn twice"}).headers["location"] == f"{root}?said=withdrawn"
    )
    page = lead.get(root).text
    assert "1 seam, walked and in order" in page and "Withdrawn: Drawn twice" in page
    assert "is not walked any more" in lead.get(f"/seams/{other.id}/walk").text


def test_an_inspector_reads_and_is_offered_nothing_to_enter(
    cast: Cast, page_of: ClientOf, zone: Zone, seam: Seam
) -> None:
    eye = page_of(cast.inspector)
    for path in (f"/zones/{zone.id}/seams", f"/seams/{seam.id}"):
        page = eye.get(path)
        assert page.status_code == 200
        assert "/draw" not in page.text and "/walk" not in page.text and "/withdraw" not in page.text
    assert eye.get(f"/seams/{seam.id}/walk").status_code == 403


def test_a_zone_off_the_sketch_or_with_no_seam_says_so(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    lead, path = page_of(cast.lead), f"/zones/{zone.id}/seams"
    page = lead.get(path).text
    assert "Nobody stated that there are none" in page and f"/zones/{zone.id}/none-here?what=seams" in page
    zones.withdraw_zone(desk, cast.manager.id, zone.id, "Not poured")
    gone = lead.get(path).text
    assert "was taken off the sketch" in gone and "/draw" not in gone
