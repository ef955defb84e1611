"""Marking a defect on a phone, with scripts and without."""

from __future__ import annotations

import httpx

from service.actions.frame.desk import Desk
from service.actions.frame.doing import record, sketch_to_change
from service.actions.frame.reading import zone_view
from service.actions.marks import defects
from service.actions.sketches import zones
from service.domain.nouns.site import Alignment, Defect, Zone
from service.domain.shapes.outlines import Circle, Polygon, Rectangle, Slit
from service.history.facts.facts import SketchRevised
from tests.builders import NEXT_DOOR, a_mark, a_sketch, a_zone
from tests.cast import Cast, Clock
from tests.conftest import ClientOf
from tests.media.making import encoded, scene
from tests.web.office.forms import form_of

INCH = 25_400_000


def marks(desk: Desk, cast: Cast, zone: Zone) -> list[Defect]:
    return zone_view(desk, cast.lead.id, zone.id).defects()


def fresh(client: httpx.Client, zone: Zone) -> dict[str, str]:
    path = f"/zones/{zone.id}/mark"
    form = form_of(client.get(path).text, path)
    form.pop("press", None)
    return form


def tear(form: dict[str, str], **more: str) -> dict[str, str]:
    size = {"shape": "rectangle", "length": "4", "width": "2"}
    return form | {"x": "300", "y": "310", "kind": "tear"} | size | more


def test_a_mark_gets_its_tag_and_its_cut_at_once(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    """16 by 14 in: TRADE.md 2.5, calculated. Tape for all four edges as cut: 2 (18 + 16) = 68 in."""
    zone, client = a_zone(desk, cast), page_of(cast.lead)
    form = tear(fresh(client, zone), angle_deg="30", note="by steel")
    sent = client.post(f"/zones/{zone.id}/mark", data=form)
    assert sent.status_code == 303
    page = client.get(sent.headers["location"]).text
    for words in ("Chalk B-01 beside it", "Cut 18 by 16 in (least 16 by 14 in)", "68 in of tape"):
        assert words in page
    (mark,) = marks(desk, cast, zone)
    assert (mark.at, mark.kind, mark.note) == ((300_000, 310_000), "tear", "by steel")
    assert mark.outline == Rectangle(4 * INCH, 2 * INCH, 30_000_000)


def test_every_shape_is_kept_true_to_size(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone, client = a_zone(desk, cast), page_of(cast.lead)
    form = fresh(client, zone) | {"x": "300", "y": "300", "kind": "hole"}
    given: list[dict[str, str]] = [
        {"shape": "circle", "diameter": "5/8"},
        {"shape": "slit", "slit_length": "30", "opening": "1/4", "slit_angle": "90"},
        {"shape": "slit", "slit_length": "2 ft", "opening": ""},
        {"shape": "polygon", "walked": "right 12 in\ndown 4 in\nleft 12 in"},
        {"shape": "polygon", "corners": "[[-3,-2],[5,-2],[1,4.5]]", "pad_unit": "in"},
    ]
    for n, shape in enumerate(given):
        answer = client.post(f"/zones/{zone.id}/mark", data={**form, **shape, "request_key": f"key-{n}"})
        assert answer.status_code == 303, shape
    circle, slit, closed, walked, drawn = (mark.outline for mark in marks(desk, cast, zone))
    assert circle == Circle(5 * INCH // 8)
    assert slit == Slit(30 * INCH, INCH // 4, 90_000_000)
    assert closed == Slit(24 * INCH, 0, 0)
    assert walked == Polygon(
        ((-6 * INCH, -2 * INCH), (6 * INCH, -2 * INCH), (6 * INCH, 2 * INCH), (-6 * INCH, 2 * INCH))
    )
    box = INCH // 4  # the box 8 by 6 1/2 in lies evenly about the place
    assert drawn == Polygon(((-16 * box, -13 * box), (16 * box, -13 * box), (0, 13 * box)))


def test_what_cannot_be_read_comes_back_as_typed(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone, client = a_zone(desk, cast), page_of(cast.lead)
    for typed in ("six", "-3 in", "0", "1e9 ft", "5'13\""):
        form = tear(fresh(client, zone), length=typed, note="under the chair")
        answer = client.post(f"/zones/{zone.id}/mark", data=form)
        assert answer.status_code == 422, typed
        kept = form_of(answer.text, f"/zones/{zone.id}/mark")
        came_back = (kept["length"], kept["width"], kept["x"], kept["note"])
        assert came_back == (typed, "2", "300", "under the chair")
        assert 'id="length-wrong"' in answer.text
    assert marks(desk, cast, zone) == []


def test_nothing_is_marked_without_a_place_a_kind_and_a_shape(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone, client = a_zone(desk, cast), page_of(cast.lead)
    answer = client.post(f"/zones/{zone.id}/mark", data=fresh(client, zone))
    assert answer.status_code == 422
    assert "where is it?" in answer.text and "Say what it is." in answer.text
    assert marks(desk, cast, zone) == []


def test_a_typed_free_shape_that_crosses_itself_is_refused_in_words(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone, client = a_zone(desk, cast), page_of(cast.lead)
    form = tear(fresh(client, zone), shape="polygon", corners="[[-3,-2],[3,2],[3,-2],[-3,2]]", pad_unit="in")
    answer = client.post(f"/zones/{zone.id}/mark", data=form)
    assert answer.status_code == 422 and "crosses itself" in answer.text


def test_a_place_in_another_zone_asks_and_offers_that_zone(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    sketch = a_sketch(desk, cast)
    zone, right = a_zone(desk, cast, sketch), a_zone(desk, cast, sketch, "C", NEXT_DOOR)
    client = page_of(cast.lead)
    form = tear(fresh(client, zone), x="1000", note="in the corner")
    asked = client.post(f"/zones/{zone.id}/mark", data=form)
    assert asked.status_code == 422
    assert "It lies in zone C: mark it there" in asked.text
    assert f'name="zone" value="{right.id}"' in asked.text
    again = form_of(asked.text, f"/zones/{zone.id}/mark")
    again.pop("press", None)
    sent = client.post(f"/zones/{zone.id}/mark", data=again | {"zone": right.id})
    assert sent.status_code == 303
    assert marks(desk, cast, zone) == []
    (mark,) = marks(desk, cast, right)
    assert (mark.tag, mark.note) == ("C-01", "in the corner")


def test_the_same_mark_sent_twice_is_one_mark(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone, client = a_zone(desk, cast), page_of(cast.lead)
    form = tear(fresh(client, zone))
    first, second = (client.post(f"/zones/{zone.id}/mark", data=form) for _ in range(2))
    assert first.headers["location"] == second.headers["location"]
    assert len(marks(desk, cast, zone)) == 1


def test_the_last_kind_and_size_are_offered_again(
    desk: Desk, cast: Cast, page_of: ClientOf, clock: Clock
) -> None:
    zone, client = a_zone(desk, cast), page_of(cast.lead)
    assert "kind" not in fresh(client, zone)
    a_mark(desk, cast, zone, (300, 300), "burn", {"shape": "circle", "diameter": "5/8 in"})
    clock.go_on(minutes=1)
    a_mark(desk, cast, zone, (320, 300), "hole", {"shape": "circle", "diameter": "2 in"}, by=cast.manager.id)
    form = fresh(client, zone)
    assert (form["kind"], form["shape"], form["diameter"]) == ("burn", "circle", "5/8")


def test_without_scripts_a_place_is_pressed_then_pressed_closer_in(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone, client = a_zone(desk, cast), page_of(cast.lead)
    path = f"/zones/{zone.id}/mark"
    form = tear(fresh(client, zone), x="", y="", note="kept")
    for _ in range(8):
        answer = client.post(path, data={**form, "press.x": "150", "press.y": "160"})
        assert answer.status_code == 200, "a press shows the form again and records nothing"
        form = form_of(answer.text, path)
        form.pop("press", None)
        if form["x"]:
            break
    assert form["note"] == "kept" and form["length"] == "4"
    assert 100 <= float(form["x"]) <= 900 and 100 <= float(form["y"]) <= 700
    assert marks(desk, cast, zone) == []
    assert client.post(path, data=form).status_code == 303
    (mark,) = marks(desk, cast, zone)
    assert abs(mark.at[0] / 1000 - float(form["x"])) < 0.001


def test_a_photo_sent_with_the_mark_is_kept_with_it(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone, client = a_zone(desk, cast), page_of(cast.lead)
    photo = encoded(scene(64, 48), "JPEG")
    form = tear(fresh(client, zone))
    for _ in range(2):
        sent = client.post(
            f"/zones/{zone.id}/mark", data=form, files={"camera": ("IMG.jpg", photo, "image/jpeg")}
        )
        assert sent.status_code == 303
    view = zone_view(desk, cast.lead.id, zone.id)
    (mark,) = view.defects()
    assert len(view.photos_of(mark.id)) == 1


def test_a_photo_that_is_none_records_nothing_and_keeps_what_was_typed(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone, client = a_zone(desk, cast), page_of(cast.lead)
    answer = client.post(
        f"/zones/{zone.id}/mark",
        data=tear(fresh(client, zone), note="kept"),
        files={"picture": ("hole.png", b"<svg onload=alert(1)>", "image/png")},
    )
    assert answer.status_code == 422
    assert 'id="picture-wrong"' in answer.text and "Nothing was recorded" in answer.text
    assert form_of(answer.text, f"/zones/{zone.id}/mark")["note"] == "kept"
    assert marks(desk, cast, zone) == []


def test_an_inspector_may_mark_and_an_outsider_may_not(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    inspector = page_of(cast.inspector)
    assert inspector.post(f"/zones/{zone.id}/mark", data=tear(fresh(inspector, zone))).status_code == 303
    assert marks(desk, cast, zone)[0].role == "inspector"
    outsider = page_of(cast.outsider)
    assert outsider.post(f"/zones/{zone.id}/mark", data=tear({})).status_code == 404


def test_a_zone_deleted_under_somebody_records_nothing(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone, client = a_zone(desk, cast), page_of(cast.lead)
    form = tear(fresh(client, zone))
    zones.withdraw_zone(desk, cast.manager.id, zone.id, "joined with C")
    answer = client.post(f"/zones/{zone.id}/mark", data=form)
    assert answer.status_code == 422 and "joined with C" in answer.text
    assert 'value="310"' in answer.text, "what was typed stays"
    assert not marks(desk, cast, zone)


def test_a_kind_no_patch_mends_says_so_beside_its_tag(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone, client = a_zone(desk, cast), page_of(cast.lead)
    mark = defects.mark_defect(
        desk,
        cast.lead.id,
        zone.id,
        defects.read_mark("unsealed penetration", (300, 300), {"shape": "circle", "diameter": "2 in"}),
    )
    page = client.get(f"/defects/{mark.id}/marked").text
    assert "Not mended by a patch: place the penetration on the sketch and log its seal" in page
    assert f'href="/zones/{zone.id}/penetrations"' in page
    assert f'href="/defects/{mark.id}/patch"' not in page


def test_an_open_seam_is_told_its_cover_strip_beside_its_tag(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    """TRADE 2.5: a 30 in slit open 1/4 in takes 42 by 12 1/4 in at 6 in; cut 1 in larger on every side."""
    zone, client = a_zone(desk, cast), page_of(cast.lead)
    slit = {"shape": "slit", "length": "30 in", "opening": "1/4 in"}
    mark = a_mark(desk, cast, zone, (300, 300), "open seam", slit)
    page = client.get(f"/defects/{mark.id}/marked").text
    assert "Cut 44 by 14 1/4 in (least 42 by 12 1/4 in) as a cover strip, or clean, dry and tape" in page
    assert "Log the cover strip" in page and f'href="/defects/{mark.id}/repair"' in page


def test_what_it_likely_came_from_is_recorded_with_the_mark_and_offered_again(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone, client = a_zone(desk, cast), page_of(cast.lead)
    path = f"/zones/{zone.id}/mark"
    form = form_of(client.get(path).text, path)
    assert "cause" not in form, "nothing is said beforehand"
    sent = {"x": "300", "y": "300", "kind": "tear", "shape": "circle", "diameter": "1"}
    assert client.post(path, data=form | sent | {"cause": "gremlins"}).status_code == 422
    assert client.post(path, data=form | sent | {"cause": "wind"}).status_code == 303
    (mark,) = zone_view(desk, cast.lead.id, zone.id).defects()
    assert (mark.kind, mark.cause) == ("tear", "wind")
    assert form_of(client.get(path).text, path)["cause"] == "wind"
    assert "said what B-01 likely came from: wind" in client.get(f"/defects/{mark.id}").text


def test_on_a_turned_revision_a_mark_lies_as_it_was_drawn_there(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    """A revision scanned a quarter turn clockwise: what lies level on it stood upright on the first picture,
    and what was marked before turns with it."""
    zone, client = a_zone(desk, cast), page_of(cast.lead)
    a_mark(desk, cast, zone, (300, 300))
    with desk.writing() as session:
        seen, site = sketch_to_change(session, cast.manager.id, zone.sketch_id, "add a sketch")
        # The first picture's left edge is the new one's top: (x, y) is shown at (2000 - y, x).
        quarter = Alignment((0, 0), (1_000_000, 0), (2_000_000, 0), (2_000_000, 1_000_000))
        fact = SketchRevised(zone.sketch_id, "1" * 64, None, 2000, 3000, 5, quarter)
        record(desk, session, site, cast.manager.id, seen.role, fact)
    sent = client.post(f"/zones/{zone.id}/mark", data=tear(fresh(client, zone)) | {"x": "1700", "y": "320"})
    assert sent.status_code == 303
    drawn = client.get(f"/zones/{zone.id}/marks.json").json()["marks"]
    spans = [
        [round(max(p[axis] for p in row["ring"]) - min(p[axis] for p in row["ring"]), 2) for axis in (0, 1)]
        for row in drawn
    ]
    assert [row["at"] for row in drawn] == [[1700.0, 300.0], [1700.0, 320.0]]
    assert spans == [[1.67, 3.33], [3.33, 1.67]], "4 by 2 in at 10 px to the foot"
