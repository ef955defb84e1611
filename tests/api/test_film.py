"""Film, ready-made sets and a zone's numbers for programs: units, nulls, and each fault at its field."""

from __future__ import annotations

from typing import Any

import pytest

from service.domain.nouns.rules import STEPS
from service.domain.rule_sheet.rule_sets import SETS
from tests.api.conftest import Programs
from tests.api.scene import Scene
from tests.api.shape import assert_refused


def test_a_material_is_told_in_words_and_in_plain_units(scene: Scene, programs: Programs) -> None:
    """Class B of ASTM E1745 by its tension: 40 lbf/in lies between 30 and 45."""
    given = {
        "kind": "film", "name": "Submittal 9", "claimed_class": "B", "permeance": "0.57 ng/(Pa s m2)",
        "thickness": "0.25 mm", "tensile": "40 lbf/in", "puncture": "2.3 kg", "roll_width": "12 ft",
        "least_temperature": "5 C",
    }  # fmt: skip
    told = programs.manager.post(scene.path("/projects/{project}/materials"), json=given).json()
    assert (told["reached_class"], told["claimed_class"], told["meets"]) == ("B", "B", False)
    assert told["thickness"] == {"text": "9.84 mil", "m": 0.00025}
    assert told["permeance"]["value"] == pytest.approx(0.57 / 57.2135, rel=1e-4)
    assert told["puncture"] == {"text": "2,300 g", "value": 2300}
    assert told["least_temperature"] == {"text": "41 °F", "value": 41.0}
    assert (told["roll_length"], told["least_lap"], told["withdrawn"]) == (None, None, None)
    assert [fault["code"] for fault in told["faults"]] == ["below-class", "too-thin"]
    assert told["missing"] == ["least_lap"]


def test_faults_of_a_material_and_of_a_lot_stand_at_their_fields(scene: Scene, programs: Programs) -> None:
    materials, lots = scene.path("/projects/{project}/materials"), scene.path("/materials/{material}/lots")
    answer = programs.manager.post(materials, json={"kind": "film", "name": "", "tensile": "45"})
    assert_refused(answer, 422, "bad-input")
    assert set(answer.json()["error"]["fields"]) == {"name", "tensile"}
    for body, field in (
        ({"number": "F-2207"}, "number"),
        ({"number": "x", "rolls": 0}, "rolls"),
        ({}, "number"),
    ):
        answer = programs.lead.post(lots, json=body)
        assert_refused(answer, 422)
        assert set(answer.json()["error"]["fields"]) == {field}
    for given, field in (({}, "lot"), ({"lot": "nothing"}, "lot"), ({"material": "nothing"}, "material")):
        answer = programs.lead.post(scene.path("/zones/{zone}/film"), json=given)
        assert answer.status_code == 422 and field in answer.json()["error"]["fields"]


def test_the_same_lot_twice_in_a_zone_is_a_conflict(scene: Scene, programs: Programs) -> None:
    body = {"lot": scene.ids["lot"]}
    assert_refused(programs.lead.post(scene.path("/zones/{zone}/film"), json=body), 409, "laid-already")
    next_door = programs.lead.post(scene.path("/zones/{clear}/film"), json=body)
    assert next_door.status_code == 201 and next_door.json()["number"] == "F-2207"
    (lot,) = programs.inspector.get(scene.path("/projects/{project}/lots")).json()
    assert lot["zones"] == ["B", "C"]


def test_every_published_set_is_told_with_its_own_metric_figures(programs: Programs) -> None:
    told = {one["key"]: one for one in programs.lead.get("/api/v1/rule-sets").json()}
    assert set(told) == {rule_set.key for rule_set in SETS}
    assert told["general"]["lap"]["us"]["text"] == "6 in" and told["general"]["lap"]["metric"]["m"] == 0.15
    assert told["irc-2021"]["film_class"] == "A" and told["irc-2021"]["patch_overlap"] is None
    assert told["irc-2021"]["film_thickness"]["us"]["text"] == "10 mil"
    assert all(one["source"] for one in told.values())


def test_sets_and_sources_go_through_the_sheet(scene: Scene, programs: Programs) -> None:
    path = scene.path("/projects/{project}/rule-sheet")
    told = programs.manager.put(path, json={
        "sets": ["soil-gas-12"], "second_look": {"value": True, "source": "Quality plan"},
        "gate_demands": {"value": ["film"], "source": "Owner"}, "film_thickness": "15 mil",
        "hold_points": [*STEPS[:2], "radon pipe laid", *STEPS[2:]], "most_permeance": "none",
    }).json()  # fmt: skip
    assert (told["sets"], told["lap"]["text"], told["second_look"]) == (["soil-gas-12"], "12 in", True)
    assert told["sources"]["second_look"] == "Quality plan" and told["sources"]["gate_demands"] == "Owner"
    assert (told["film_thickness"]["text"], told["film_class"]["class"]) == ("15 mil", "A")
    assert told["most_permeance"] == {
        "text": "not asked for",
        "perm": 0.0,
        "source": told["most_permeance"]["source"],
    }
    assert told["hold_points"][2] == "radon pipe laid" and "film" not in told["not_asked_for"]
    assert programs.inspector.get(path).json() == told
    less = programs.manager.put(path, json={"lap": "11 in"})
    assert set(less.json()["error"]["fields"]) == {"lap"}
    assert (
        programs.manager.put(path, json={"lap": {"value": "11 in", "source": "Engineer"}}).status_code == 200
    )


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"second_look": "yes"}, "second_look"),
        ({"second_look": {"value": "yes"}}, "second_look.value"),
        ({"gate_demands": "film"}, "gate_demands"),
        ({"gate_demands": {"value": ["all"]}}, "gate_demands"),
        ({"sets": ["x"]}, "sets"),
        ({"hold_points": ["laps"]}, "hold_points"),
        ({"film_class": "I"}, "film_class"),
        ({"tape_temperature": "40"}, "tape_temperature"),
        ({"sources": []}, "sources"),
    ],
)
def test_what_the_sheet_cannot_take_stands_at_its_field(
    scene: Scene, programs: Programs, body: dict[str, Any], field: str
) -> None:
    answer = programs.manager.put(scene.path("/projects/{project}/rule-sheet"), json=body)
    assert_refused(answer, 422, "bad-input")
    assert field in answer.json()["error"]["fields"]


def test_a_zones_numbers_tell_who_asks_and_null_takes_back(scene: Scene, programs: Programs) -> None:
    path = scene.path("/zones/{zone}/numbers")
    told = programs.manager.put(
        path, json={"lap": {"value": "8 in", "source": "S-101"}, "mastic_up_to": "1/2 in"}
    )
    assert told.json()["raised"] == ["lap", "mastic_up_to"]
    lap = told.json()["numbers"]["lap"]
    assert (lap["text"], lap["source"], [of["who"] for of in lap["asked"]]) == (
        "8 in", "S-101", ["Rule sheet", "This zone"],
    )  # fmt: skip
    assert told.json()["sheet"]["lap"]["text"] == "8 in"
    back = programs.manager.put(path, json={"lap": None}).json()
    assert back["raised"] == ["mastic_up_to"] and back["numbers"]["lap"]["text"] == "6 in"
    less = programs.manager.put(path, json={"lap": "6 in", "tape_width": "3 in"})
    assert_refused(less, 422, "bad-input")
    assert set(less.json()["error"]["fields"]) == {"lap", "tape_width"}
