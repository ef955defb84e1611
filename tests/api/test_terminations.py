"""The edge of a zone over JSON: the whole of it described and sealed by a program that knows no outline.

The zone is 80 by 60 ft and its neighbour lies along side 2; one foot is 0.3048 m exactly (NIST SP 811).
"""

from __future__ import annotations

from tests.api.conftest import Programs
from tests.api.scene import Scene
from tests.api.shape import assert_refused

DONE = {"sealed": True, "cleaned": True, "dry": True}


def test_what_is_bare_comes_back_by_side_and_length(scene: Scene, programs: Programs) -> None:
    edges = programs.lead.get(scene.path("/zones/{zone}/terminations")).json()
    assert [(part["edge"], part["length"]["m"]) for part in edges["bare"]] == [
        (2, 60 * 0.3048), (3, 80 * 0.3048), (4, 60 * 0.3048),
    ]  # fmt: skip
    (wall,) = edges["described"]
    assert (wall["tag"], wall["state"], wall["edges"]) == ("B-E01", "sealed", [1])
    assert wall["length"] == {"text": "960 in", "m": 24.384}


def test_a_zones_edge_is_described_and_sealed_to_its_end(scene: Scene, programs: Programs) -> None:
    path = scene.path("/zones/{zone}/terminations")
    (joint,) = programs.lead.post(path, json={"kind": "construction joint", "edges": [2]}).json()
    assert joint["neighbours"] == ["C"] and joint["needs"]["runs_past"]["text"] == "6 in"
    rest = programs.lead.post(path, json={"kind": "free edge", "bare": True}).json()
    assert [stretch["edges"] for stretch in rest] == [[3], [4]]
    short = programs.lead.post(
        f"/api/v1/terminations/{joint['id']}/seals",
        json={**DONE, "runs_past": "5 15/16 in", "protected": True},
    ).json()
    assert (short["meets"], [r["code"] for r in short["reasons"]]) == (False, ["runs-past-short"])
    both = programs.lead.post(
        f"/api/v1/terminations/{rest[0]['id']}/seals", json={**DONE, "also": [rest[1]["id"]]}
    ).json()
    assert both["meets"] and [(other["tag"], other["state"]) for other in both["also"]] == [
        ("B-E04", "sealed")
    ]
    edges = programs.lead.get(path).json()
    assert edges["bare"] == []
    assert [stretch["state"] for stretch in edges["described"]] == [
        "sealed",
        "not sealed",
        "sealed",
        "sealed",
    ]


def test_a_run_goes_in_by_side_and_distance_and_is_refused_where_it_is_described(
    scene: Scene, programs: Programs
) -> None:
    path = scene.path("/zones/{zone}/terminations")
    run = {"from": {"edge": 2, "distance": "10 ft"}, "to": {"edge": 3, "distance": "20 ft"}}
    answer = programs.lead.post(path, json={"kind": "free edge", **run})
    (stretch,) = answer.json()
    assert stretch["path"] == [[900.0, 200.0], [900.0, 700.0], [700.0, 700.0]]
    again = programs.lead.post(path, json={"kind": "free edge", **run})
    assert_refused(again, 422, "described-already")
    assert "B-E02" in again.json()["error"]["fields"]["from"]
    past = programs.lead.post(path, json={"kind": "free edge", **run, "to": {"edge": 3, "distance": "81 ft"}})
    assert_refused(past, 422, "past-end")
    assert set(past.json()["error"]["fields"]) == {"to"}


def test_a_stretch_taken_back_stays_to_be_read(scene: Scene, programs: Programs) -> None:
    stretch = scene.path("/terminations/{termination}")
    assert programs.lead.post(f"{stretch}/unseal", json={"reason": "Came loose"}).json()["state"] == "open"
    gone = programs.lead.post(f"{stretch}/withdraw", json={"reason": "Wrong side"}).json()
    assert (gone["state"], gone["withdrawn"]) == ("withdrawn", "Wrong side")
    edges = programs.lead.get(scene.path("/zones/{zone}/terminations")).json()
    assert edges["described"] == [] and [of["tag"] for of in edges["withdrawn"]] == ["B-E01"]
    assert_refused(
        programs.lead.post(f"{stretch}/seals", json={**DONE, "tape_width": "4 in"}), 409, "edge-withdrawn"
    )
