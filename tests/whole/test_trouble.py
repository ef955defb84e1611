"""Bad input as a person meets it: plain words at the field, nothing typed lost, nothing recorded."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from service.actions.frame.reading import zone_view
from tests.media.hostile import REFUSED
from tests.whole.asking import CREW_LEAD, PROJECT_MANAGER, actor_of, main_words, shown_again, shown_form
from tests.whole.routes import TEAR
from tests.whole.stage import Stage

# --- uploads that are not what they say ------------------------------------------------------------------

UPLOADS = {
    "a JPEG under a PNG signature": "picture",
    "a PNG cut in half": "cut short",
    "a true PNG of 900 million pixels": "80 million",
    "an SVG with a script": "PNG, JPEG",
    "an HTML page": "PNG, JPEG",
    "a PDF with a password": "password",
    "a PDF with no pages": "no page",
}


@pytest.mark.parametrize("name", UPLOADS)
def test_a_bad_upload_is_told_beside_its_field_and_the_name_typed_stays(stage: Stage, name: str) -> None:
    _, make = REFUSED[name]
    path = f"/projects/{stage.ids['project_id']}/sketches/new"
    before = stage.digest()
    with stage.client(actor_of(stage, PROJECT_MANAGER), program=False) as client:
        sent = shown_form(client, path) | {"name": "Level <2>"}
        answer = client.post(path, data=sent, files={"file": ("plan.png", make(), "image/png")})
    assert answer.status_code in (413, 422)
    assert 'value="Level &lt;2&gt;"' in answer.text
    assert UPLOADS[name] in main_words(answer), main_words(answer)
    assert "There is a problem" in main_words(answer)
    assert stage.digest() == before


@pytest.mark.parametrize("name", UPLOADS)
def test_a_bad_upload_is_refused_to_a_program_with_its_reason(stage: Stage, name: str) -> None:
    code, make = REFUSED[name]
    path = f"/api/v1/projects/{stage.ids['project_id']}/sketches"
    before = stage.digest()
    with stage.client(actor_of(stage, PROJECT_MANAGER), program=True) as client:
        answer = client.post(path, files={"file": ("plan.png", make(), "image/png")})
    assert answer.status_code in (413, 422)
    assert answer.json()["error"]["code"] in (code, "too-large")
    assert UPLOADS[name] in answer.json()["error"]["fields"]["file"]
    assert stage.digest() == before


@pytest.mark.parametrize("name", [name for name in UPLOADS if "PDF" not in name])
def test_a_bad_photo_marks_nothing_and_everything_else_typed_stays(stage: Stage, name: str) -> None:
    _, make = REFUSED[name]
    path = f"/zones/{stage.ids['zone_id']}/mark"
    before = stage.digest()
    with stage.client(actor_of(stage, CREW_LEAD), program=False) as client:
        sent = shown_form(client, path) | TEAR | {"x": "250", "y": "250", "kind": "tear", "note": "by steel"}
        answer = client.post(path, data=sent, files={"picture": ("photo.jpg", make(), "image/jpeg")})
    assert answer.status_code == 422
    assert "Nothing was recorded; choose the photo again" in main_words(answer)
    assert "by steel" in answer.text and 'value="250"' in answer.text
    assert stage.digest() == before


# --- sizes -----------------------------------------------------------------------------------------------

SIZES = {
    "6 of": "6",
    "six": "six",
    "less than nothing": "-3 in",
    "nothing": "0",
    "a billion feet": "1e9 ft",
    "thirteen inches": "5'13\"",
}


@pytest.mark.parametrize("typed", SIZES.values(), ids=SIZES.keys())
def test_a_size_that_is_none_is_told_at_its_field_and_stays_as_typed(stage: Stage, typed: str) -> None:
    path = f"/zones/{stage.ids['zone_id']}/mark"
    before = stage.digest()
    with stage.client(actor_of(stage, CREW_LEAD), program=False) as client:
        sent = shown_form(client, path) | {"x": "250", "y": "250", "kind": "hole", "shape": "circle"}
        sent |= {"diameter": typed, "diameter_unit": "", "note": "by steel"}
        answer = client.post(path, data=sent)
    with stage.client(actor_of(stage, CREW_LEAD), program=True) as program:
        body = {"kind": "hole", "at": [250, 250], "outline": {"shape": "circle", "diameter": typed}}
        told = program.post("/api/v1" + path.replace("mark", "defects"), json=body)
    assert answer.status_code == told.status_code == 422
    words = told.json()["error"]["fields"]["outline.diameter"]
    assert words in main_words(answer), "page and program say the same"
    assert 'href="#diameter"' in answer.text
    assert f'value="{typed}"'.replace("'", "&#39;").replace('13"', "13&#34;") in answer.text
    assert "by steel" in answer.text
    assert stage.digest() == before


# --- places ----------------------------------------------------------------------------------------------


def test_a_mark_in_the_next_zone_is_offered_to_that_zone_and_lands_there(stage: Stage) -> None:
    path = f"/zones/{stage.ids['zone_id']}/mark"
    with stage.client(actor_of(stage, CREW_LEAD), program=False) as client:
        sent = shown_form(client, path) | TEAR | {"x": "700", "y": "250", "kind": "tear", "note": "by steel"}
        asked = client.post(path, data=sent)
        assert asked.status_code == 422
        assert "outside zone B. It lies in zone C." in main_words(asked)
        offered = shown_again(asked.text, path) | {"zone": stage.ids["clear_id"]}
        landed = client.post(path, data=offered)
        assert landed.status_code == 303
        assert "Chalk C-01 beside it" in main_words(client.get(landed.headers["location"]))
    marks = zone_view(stage.desk.fresh(), stage.cast.lead.id, stage.ids["clear_id"]).defects()
    assert [mark.note for mark in marks] == ["by steel"]


def test_a_mark_in_no_zone_is_asked_for_again(stage: Stage) -> None:
    path = f"/zones/{stage.ids['zone_id']}/mark"
    before = stage.digest()
    with stage.client(actor_of(stage, CREW_LEAD), program=False) as client:
        sent = shown_form(client, path) | TEAR | {"x": "1100", "y": "850", "kind": "tear"}
        asked = client.post(path, data=sent)
    assert asked.status_code == 422
    assert "outside zone B, and in no other zone. Choose the place again." in main_words(asked)
    assert stage.digest() == before


# --- sizes and shapes of a whole request -----------------------------------------------------------------

ODD: dict[str, Callable[[], bytes]] = {
    "ten megabytes of text": lambda: b"reason=" + b"x" * 10_000_000,
    "six hundred fields": lambda: b"&".join(b"f%d=1" % n for n in range(600)),
}


@pytest.mark.parametrize("name", ODD)
def test_a_request_too_large_to_be_meant_gets_its_own_page(stage: Stage, name: str) -> None:
    with stage.client(actor_of(stage, CREW_LEAD), program=False) as client:
        kind = {"Content-Type": "application/x-www-form-urlencoded"}
        answer = client.post(f"/zones/{stage.ids['zone_id']}/hold", content=ODD[name](), headers=kind)
    assert answer.status_code in (400, 413)
    assert "Nothing was recorded" in main_words(answer)


@pytest.mark.parametrize("letters", ["punycode", "unicode_escape", "undefined", "utf-16"])
def test_a_form_in_letters_that_are_not_utf_8_is_refused_before_it_is_read(
    stage: Stage, letters: str
) -> None:
    """The names are codecs of Python's own: two break while decoding, one makes halves of characters."""
    body = b'--x\r\nContent-Disposition: form-data; name="reason"\r\n\r\n\\ud800\r\n--x--\r\n'
    for given in (f"charset={letters}", f"charset*=utf-8''{letters}", f'charset = "{letters}"'):
        kind = {"Content-Type": f"multipart/form-data; boundary=x; {given}"}
        for program, path in ((False, f"/zones/{stage.ids['zone_id']}/hold"), (True, _sketches(stage))):
            with stage.client(actor_of(stage, PROJECT_MANAGER), program) as client:
                assert client.post(path, content=body, headers=kind).status_code == 422


def _sketches(stage: Stage) -> str:
    return f"/api/v1/projects/{stage.ids['project_id']}/sketches"


@pytest.mark.parametrize(
    ("path", "field", "typed"),
    [
        ("/zones/{zone_id}/mark", "corners", "[[1" + "0" * 400 + ",1],[2,3],[4,5]]"),
        ("/zones/{zone_id}/mark", "corners", "[" * 3000),
        ("/projects/{project_id}/sketches/new", "page", "000001" + "9" * 5000),
        ("/sketches/{sketch_id}/revise", "page", "9" * 5000),
    ],
)
def test_a_number_of_thousands_of_digits_is_told_as_any_other_fault(
    stage: Stage, path: str, field: str, typed: str
) -> None:
    where = path.format(**stage.ids)
    with stage.client(actor_of(stage, PROJECT_MANAGER), program=False) as client:
        sent = shown_form(client, where) | {"x": "250", "y": "250", "kind": "hole", "shape": "polygon"}
        assert client.post(where, data=sent | {field: typed}).status_code == 422
