"""Penetrations as JSON: sizes against their standards, needs, groups, seals, and what is refused."""

from __future__ import annotations

from typing import Any

import pytest

from tests.api.conftest import Programs
from tests.api.scene import Scene
from tests.api.shape import assert_refused
from tests.builders import COLLAR

PIPE: dict[str, Any] = {"kind": "steel pipe", "size": "NPS 4", "at": [400, 400]}
ROUND = {"shape": "circle", "diameter": "4 in"}


def test_the_trade_sizes_are_those_of_the_standards(programs: Programs) -> None:
    """TRADE.md 9.1 to 9.3: ASME B36.10M, ANSI C80.3, ASTM B88, ASTM A615."""
    told = {of["kind"]: of["sizes"] for of in programs.lead.get("/api/v1/trade-sizes").json()}
    across = {(kind, s["name"]): s["outside_diameter"]["text"] for kind in told for s in told[kind]}
    assert across["steel pipe", "NPS 4"] == "4.500 in"
    assert across["EMT conduit", "3/4 in"] == "0.922 in"
    assert across["copper tube", "2 in"] == "2.125 in"
    assert across["reinforcing bar", "#9"] == "1.128 in"
    assert told["duct"] == [] and all(size["source"] for sizes in told.values() for size in sizes)


def test_a_penetration_tells_the_collar_to_cut(scene: Scene, programs: Programs) -> None:
    """1.5 times the girth of NPS 4 is 21.206 in (TRADE.md 9.1, calculated): 21 1/4 in, rounded up."""
    made = programs.lead.post(scene.path("/zones/{zone}/penetrations"), json=PIPE)
    (pipe,) = made.json()["penetrations"]
    needs = pipe["needs"]
    assert [needs[name]["text"] for name in ("collar_width", "collar_length", "finger")] == [
        "12 in",
        "21 1/4 in",
        "6 in",
    ]
    assert needs["mastic"] is False and (pipe["state"], pipe["at"]) == ("open", [400.0, 400.0])
    small = {"kind": "reinforcing bar", "size": "#5", "at": [450, 400]}
    made = programs.lead.post(scene.path("/zones/{zone}/penetrations"), json=small)
    assert made.json()["penetrations"][0]["needs"]["mastic"] is True


def test_a_group_is_told_with_the_sheet_to_cut_and_sealed_as_one(scene: Scene, programs: Programs) -> None:
    """Two of 1 in across, 6 in from middle to middle: 7 by 1 in, and 6 in more on every side."""
    row = {"kind": "stake", "outline": {"shape": "circle", "diameter": "1 in"}, "count": 2}
    made = programs.lead.post(
        scene.path("/zones/{zone}/penetrations"), json={**row, "from": [500, 500], "to": [505, 500]}
    ).json()["penetrations"]
    told = programs.lead.get(scene.path("/zones/{zone}/penetrations")).json()
    (group,) = told["groups"]
    assert group["tags"] == [pipe["tag"] for pipe in made]
    assert [group["sheet"][side]["text"] for side in ("length", "width")] == ["19 in", "13 in"]
    dam = {"method": "sealant in a dam", "close_cut": True, "cleaned": True, "dry": True}
    path = f"/api/v1/penetrations/{made[0]['id']}/seals"
    alone = programs.lead.post(path, json=dam).json()
    assert (alone["state"], alone["reasons"][0]["code"]) == ("not sealed", "dam-for-one")
    sealed = programs.lead.post(path, json={**dam, "also": [made[1]["id"]]}).json()
    assert (sealed["state"], sealed["reasons"]) == ("sealed", [])
    other = programs.lead.get(f"/api/v1/penetrations/{made[1]['id']}").json()
    assert other["state"] == "sealed" and len(other["seal"]["together"]) == 2


@pytest.mark.parametrize(
    ("path", "body", "field", "code"),
    [
        ("/zones/{zone}/penetrations", {**PIPE, "size": "NPS 7"}, "size", "no-such-size"),
        ("/zones/{zone}/penetrations", {**PIPE, "kind": "hose"}, "kind", None),
        ("/zones/{zone}/penetrations", {"kind": "duct", "at": [400, 400]}, "outline", None),
        (
            "/zones/{zone}/penetrations",
            {"kind": "duct", "outline": {**ROUND, "diameter": "11 ft"}, "at": [400, 400]},
            "outline.diameter",
            "too-big",
        ),
        (
            "/zones/{zone}/penetrations",
            {"kind": "duct", "outline": {"shape": "slit", "length": "4 in"}, "at": [400, 400]},
            "outline.shape",
            None,
        ),
        ("/zones/{zone}/penetrations", {**PIPE, "at": [1200, 400]}, "at", "outside-zone"),
        ("/zones/{zone}/penetrations", {**PIPE, "count": 3}, "from", None),
        ("/zones/{zone}/penetrations", {**PIPE, "count": 3.5}, "count", None),
        ("/penetrations/{penetration}/seals", {**COLLAR, "method": "glue"}, "method", None),
        ("/penetrations/{penetration}/seals", {**COLLAR, "collar_length": "22"}, "collar_length", None),
        ("/penetrations/{penetration}/seals", {**COLLAR, "film_temperature": "45"}, "film_temperature", None),
        ("/penetrations/{penetration}/seals", {**COLLAR, "also": ["none"]}, "also", "not-close"),
        ("/penetrations/{penetration}/seals", {**COLLAR, "same_for": ["none"]}, "same_for", "not-alike"),
        ("/zones/{clear}/none-here", {"what": "holes"}, "what", None),
    ],
)
def test_what_cannot_be_is_told_beside_its_field_and_nothing_is_recorded(
    scene: Scene, programs: Programs, path: str, body: dict[str, Any], field: str, code: str | None
) -> None:
    history = scene.path("/projects/{project}/history?limit=500")
    before = programs.manager.get(history).json()["checkpoint"]
    assert_refused(programs.lead.post(scene.path(path), json=body), 422, code, field)
    assert programs.manager.get(history).json()["checkpoint"] == before


def test_none_here_is_refused_while_one_stands(scene: Scene, programs: Programs) -> None:
    answer = programs.lead.post(scene.path("/zones/{zone}/none-here"), json={"what": "penetrations"})
    assert "B-P01" in assert_refused(answer, 409, "some-here")["message"]
