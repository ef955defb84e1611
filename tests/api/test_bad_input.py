"""What cannot be read is told as 422 in the one shape, field by field, and never becomes a 500."""

from __future__ import annotations

from typing import Any

import httpx
import pytest

from tests.api.conftest import Programs
from tests.api.rows import JSON_WRITES, TEAR, Row
from tests.api.scene import WORK, Scene, png
from tests.api.shape import assert_refused

MARK: dict[str, Any] = {"kind": "tear", "at": [300, 300], "outline": TEAR}
PATCH: dict[str, Any] = {"outline": {"shape": "circle", "diameter": "18 in"}, **WORK}
ZONE: dict[str, Any] = {"letter": "E", "name": "East", "outline": [[10, 10], [90, 10], [90, 90]]}


def raw(client: httpx.Client, path: str, content: bytes, kind: str = "application/json") -> httpx.Response:
    return client.post(path, content=content, headers={"Content-Type": kind})


def naming(text: bytes) -> bytes:
    """A project's body that is right but for this in the place of its name."""
    return b'{"name": ' + text + b', "units": "us", "time_zone": "America/Chicago"}'


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "needed"),
        (b"{", "no JSON that can be read"),
        (b"[]", "object"),
        (b"7", "object"),
        (b"null", "object"),
        (b'"text"', "object"),
        (naming(b'"\xff\xfe"'), "not UTF-8"),
        (naming(b"NaN"), "NaN is no number"),
        (naming(b"-Infinity"), "Infinity is no number"),
        (naming(b"1e999"), "text in quotes"),
        (naming(b'"A", "name": "B"'), "given twice"),
        (naming(b'"\\ud800"'), "it holds a character that cannot be kept"),
        (naming(b'"a\\u0000b"'), "it holds a character that cannot be kept"),
        (naming(b'"a\x00b"'), "no JSON that can be read"),
        (naming(b"9" * 5000), "too long"),
        (b"[" * 100_000, "nested too deep"),
        (b'{"a":' * 5000 + b"1" + b"}" * 5000, "nested too deep"),
    ],
)
def test_a_body_that_is_no_plain_json_object_is_422(content: bytes, told: str, programs: Programs) -> None:
    """RFC 8259: no NaN, names once (section 4, "SHOULD be unique"), UTF-8; a text that is half a character or
    holds U+0000 can be written in JSON, and not every database here can keep it."""
    error = assert_refused(raw(programs.manager, "/api/v1/projects", content), 422, "bad-input")
    assert told in error["message"], error


def test_a_body_sent_as_something_else_is_422(programs: Programs) -> None:
    right = b'{"name": "A", "units": "us", "time_zone": "America/Chicago"}'
    for kind in ("text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x", ""):
        assert_refused(raw(programs.manager, "/api/v1/projects", right, kind), 422, "bad-input")


def test_a_field_that_the_contract_does_not_name_is_refused_everywhere(
    scene: Scene, programs: Programs
) -> None:
    for row in JSON_WRITES:
        answer = row.send(programs.manager, scene, body={**(row.right_body(scene) or {}), "colour": "red"})
        assert_refused(answer, 422, "bad-input", "colour")


def test_a_field_of_another_type_is_named(scene: Scene, programs: Programs) -> None:
    wrongs: list[Any] = [7.5, {"a": [1]}, [[]]]
    for row in JSON_WRITES:
        right = row.right_body(scene) or {}
        for name in right:
            for wrong in wrongs[name in NUMBERS :]:
                answer = row.send(programs.manager, scene, body={**right, name: wrong})
                error = assert_refused(answer, 422)
                assert any(field.split(".")[0] == name for field in error["fields"]), (row, name, error)


NUMBERS = ("direction",)  # of which 7.5 is none of another type
MAY_BE_LEFT_OUT = {
    ("/projects/{project}/rule-sheet", "patch_overlap"), ("/sketches/{sketch}/zones", "name"),
    ("/zones/{zone}/walks", "note"), ("/zones/{released}/placed", "at"),
    ("/zones/{released}/start-placing", "at"),
    ("/zones/{released}/placed", "volume"), ("/patches/{patch}/looks", "note"),
    ("/defects/{mended}/repairs/{repair}/looks", "note"),
    # What its maker does not state is kept as not stated, and told as missing.
    ("/projects/{project}/materials", "permeance"), ("/projects/{project}/materials", "tensile"),
    ("/materials/{material}/lots", "rolls"), ("/zones/{zone}/film", "rolls"),
    ("/zones/{zone}/thickness", "note"),
    ("/calendar-links", "project"),
    # A zone asks more by any of its numbers.
    ("/zones/{zone}/numbers", "patch_overlap"), ("/zones/{zone}/numbers", "mastic_up_to"),
}  # fmt: skip


def test_a_field_left_out_is_named_and_nothing_is_recorded(scene: Scene, programs: Programs) -> None:
    history = scene.path("/projects/{project}/history?limit=500")
    before = programs.manager.get(history).json()["checkpoint"]
    for row in JSON_WRITES:
        right = row.right_body(scene) or {}
        for name in right:
            if (row.path, name) not in MAY_BE_LEFT_OUT:
                left = {other: value for other, value in right.items() if other != name}
                assert_refused(row.send(programs.manager, scene, body=left), 422, None, name)
    assert programs.manager.get(history).json()["checkpoint"] == before


@pytest.mark.parametrize(
    ("path", "body", "field"),
    [
        ("/zones/{zone}/defects", {**MARK, "outline": {**TEAR, "length": "6"}}, "outline.length"),
        ("/zones/{zone}/defects", {**MARK, "outline": {**TEAR, "length": "six"}}, "outline.length"),
        ("/zones/{zone}/defects", {**MARK, "outline": {**TEAR, "length": "-3 in"}}, "outline.length"),
        ("/zones/{zone}/defects", {**MARK, "outline": {**TEAR, "length": "0"}}, "outline.length"),
        ("/zones/{zone}/defects", {**MARK, "outline": {**TEAR, "length": "1e9 ft"}}, "outline.length"),
        ("/zones/{zone}/defects", {**MARK, "outline": {**TEAR, "length": "5'13\""}}, "outline.length"),
        ("/zones/{zone}/defects", {**MARK, "outline": {**TEAR, "angle_deg": "20"}}, "outline.angle_deg"),
        ("/zones/{zone}/defects", {**MARK, "outline": {"shape": "heart"}}, "outline"),
        ("/zones/{zone}/defects", {**MARK, "outline": {**TEAR, "offset": ["0", "0"]}}, "outline.offset"),
        (
            "/zones/{zone}/defects",
            {
                **MARK,
                "outline": {
                    "shape": "polygon",
                    "points": [["0", "0"], ["4 in", "4 in"], ["4 in", "0"], ["0", "4 in"]],
                },
            },
            "outline.points",
        ),
        ("/zones/{zone}/defects", {**MARK, "at": [300]}, "at"),
        ("/zones/{zone}/defects", {**MARK, "at": [-5, 300]}, "at"),
        ("/zones/{zone}/defects", {**MARK, "at": [1500, 300]}, "at"),
        ("/zones/{zone}/defects", {**MARK, "at": [10**400, 300]}, "at.0"),
        ("/zones/{zone}/defects", {**MARK, "kind": "deficiency"}, "kind"),
        ("/zones/{zone}/defects", {**MARK, "note": "x" * 10_001}, "note"),
        ("/defects/{defect}/patches", {**PATCH, "sides": {}}, "sides.left"),
        ("/defects/{defect}/patches", {**WORK}, "sides"),
        ("/defects/{defect}/patches", {**PATCH, "tape_width": "4"}, "tape_width"),
        ("/defects/{defect}/patches", {**PATCH, "also": ["x" * 10_000]}, "also.0"),
        ("/defects/{defect}/patches", {**PATCH, "also": ["no such mark"]}, "also"),
        (
            "/defects/{defect}/patches",
            {"sides": {"left": "wall", "right": "6 in", "near": "6 in", "far": "6 in"}, **WORK},
            "sides.left",
        ),
        (
            "/defects/{defect}/patches",
            {
                "sides": {"left": "6 in", "right": "6 in", "near": "6 in", "far": "6 in"},
                "cut": {"length": "30 in", "width": "14 in"},
                **WORK,
            },
            "cut",
        ),
        ("/sketches/{sketch}/zones", {**ZONE, "letter": "B"}, "letter"),
        ("/sketches/{sketch}/zones", {**ZONE, "outline": [[0, 0], [9, 9], [9, 0], [0, 9]]}, "outline"),
        ("/sketches/{sketch}/zones", {**ZONE, "outline": [[0, 0], [9, 9]]}, "outline"),
        ("/sketches/{sketch}/zones", {**ZONE, "place_at": "2026-11-26 06:30"}, "place_at"),
        ("/sketches/{sketch}/zones", {**ZONE, "place_at": "0026-11-26T06:30:00Z"}, "place_at"),
        ("/zones/{released}/placed", {"at": "9999-12-31T23:59:59-14:00"}, "at"),
        ("/zones/{released}/placed", {"at": "2999-01-01T00:00:00Z"}, "at"),
        ("/zones/{released}/placed", {"volume": "60"}, "volume"),
        ("/zones/{released}/start-placing", {"at": "2999-01-01T00:00:00Z"}, "at"),
        ("/zones/{released}/start-placing", {"at": "2001-01-01T00:00:00Z"}, "at"),
        ("/zones/{zone}/holds", {"cause": "boredom", "reason": "x"}, "cause"),
        ("/projects/{project}/people", {"email": "no address", "role": "crew lead"}, "email"),
        ("/projects/{project}/people", {"email": "a@example.com", "role": "king"}, "role"),
        ("/overlap", {"damage": TEAR, "patches": [], "minimum": "6"}, "minimum"),
        ("/overlap", {"damage": {**TEAR, "width": "2"}, "patches": [], "minimum": "6 in"}, "damage.width"),
        (
            "/overlap",
            {"damage": TEAR, "patches": [{**TEAR, "offset": ["1 in"]}], "minimum": "6 in"},
            "patches.0.offset",
        ),
        (
            "/overlap",
            {"damage": TEAR, "patches": [{**TEAR, "offset": ["1 in", "2"]}], "minimum": "6 in"},
            "patches.0.offset",
        ),
    ],
)  # fmt: skip
def test_what_cannot_be_is_told_beside_its_field(
    path: str, body: dict[str, Any], field: str, scene: Scene, programs: Programs
) -> None:
    assert_refused(programs.manager.post(scene.path(path), json=body), 422, None, field)


def test_a_rule_sheet_number_is_refused_beside_its_name_and_the_sheet_stays(
    scene: Scene, programs: Programs
) -> None:
    path = scene.path("/projects/{project}/rule-sheet")
    before = programs.manager.get(path).json()
    for body, field in (
        ({"patch_overlap": "6"}, "patch_overlap"),
        ({"patch_overlap": "4 in"}, "patch_overlap"),  # below every published set, and no source
        ({"lap": {"value": "6 in", "origin": "x"}}, "lap.origin"),
        ({"collar_length_factor": 1.5}, "collar_length_factor"),
        ({"second_look": "yes"}, "second_look"),
        ({"gate_demands": ["luck"]}, "gate_demands"),
        ({"tape_width": None}, "tape_width"),
        ({"speed": "6 in"}, "speed"),
    ):
        assert_refused(programs.manager.put(path, json={"cut_allowance": "2 in", **body}), 422, None, field)
    assert programs.manager.get(path).json() == before


def test_an_id_of_ten_thousand_characters_is_422(programs: Programs) -> None:
    for path in ("/projects/{}", "/zones/{}/gate", "/photos/{}", "/projects/{}/record"):
        assert_refused(programs.manager.get("/api/v1" + path.format("a" * 10_000)), 422, "bad-input")
    for odd in ("%00", "%20", "a%0Ab", "%C3%A9"):
        assert_refused(programs.manager.get(f"/api/v1/projects/{odd}"), 422, "bad-input")


@pytest.mark.parametrize(
    "query", ["after=-1", "limit=0", "limit=-5", "after=x", f"after={10**30}", "limit=1.5"]
)
def test_a_history_is_not_asked_for_in_negative_numbers(query: str, scene: Scene, programs: Programs) -> None:
    answer = programs.manager.get(scene.path("/projects/{project}/history?") + query)
    assert_refused(answer, 422, "bad-input", query.partition("=")[0])


def test_an_idempotency_key_of_nothing_or_too_much_is_422(scene: Scene, programs: Programs) -> None:
    row = Row("POST", "/zones/{zone}/walks", 201, body={"note": "x"})
    for key in ("", "k" * 201):
        assert_refused(row.send(programs.manager, scene, key=key), 422, "bad-input", "Idempotency-Key")


def test_a_method_that_an_address_does_not_take_is_told_in_the_same_shape(
    scene: Scene, programs: Programs
) -> None:
    for path in ("/projects/{project}", "/zones/{zone}/gate", "/zones/{zone}"):
        assert_refused(programs.manager.delete(scene.path(path)), 405, "method")


def test_a_body_larger_than_is_taken_is_413(scene: Scene, programs: Programs) -> None:
    big = b'{"note": "' + b"x" * (1024 * 1024) + b'"}'
    assert_refused(raw(programs.manager, scene.path("/zones/{zone}/walks"), big), 413, "too-large")
    told = {"Content-Length": str(102 * 1024 * 1024), "Content-Type": "multipart/form-data; boundary=x"}
    sketches = scene.path("/projects/{project}/sketches")
    assert_refused(programs.manager.post(sketches, content=b"--x", headers=told), 413, "too-large")


def test_an_upload_that_is_no_picture_or_comes_without_its_file_is_422(
    scene: Scene, programs: Programs
) -> None:
    sketches, photos = scene.path("/projects/{project}/sketches"), scene.path("/defects/{defect}/photos")
    page = "<svg xmlns='http://www.w3.org/2000/svg'/>"
    for path in (sketches, photos):
        assert_refused(programs.manager.post(path, files={"file": ("a.png", page)}), 422, None, "file")
        assert_refused(programs.manager.post(path, files={"file": ("a.png", "")}), 422, None, "file")
        assert_refused(programs.manager.post(path, data={"file": "a.png"}), 422, None, "file")
        assert_refused(programs.manager.post(path, files={"other": ("a.png", png())}), 422)
        broken = {"Content-Type": "multipart/form-data; boundary=x"}
        assert_refused(programs.manager.post(path, content=b"--y\r\nnonsense", headers=broken), 422)
    files = {"file": ("a.png", png())}
    assert_refused(programs.manager.post(sketches, files=files, data={"page": "x"}), 422, None, "page")
    assert_refused(programs.manager.post(sketches, files=files, data={"page": "2"}), 422, None, "file")
    assert_refused(programs.manager.post(sketches, files=files, data={"colour": "2"}), 422, None, "colour")
