"""A mark that was just made is told without asking the gate, and a look at it asks: they tell the same."""

from __future__ import annotations

import pytest
from fastapi import FastAPI
from sqlalchemy import event

from service.actions.film import film
from service.actions.frame.desk import Desk
from service.domain.nouns.site import KINDS
from tests import builders
from tests.api.conftest import Programs
from tests.api.rows import TEAR
from tests.api.scene import Scene
from tests.cast import Cast

# On the pipe that is sealed, under the patch on another mark, beside the wall, on the seam, across the edge
# of the zone that is described, and on none of them.
PLACES = ([250, 350], [505, 303], [500, 104], [400, 600], [899, 400], [350, 350])


@pytest.mark.parametrize("kind", KINDS)
def test_a_new_mark_is_answered_with_what_a_look_at_it_tells(
    scene: Scene, programs: Programs, kind: str
) -> None:
    """The zone asks more than the sheet, and so does the maker of the film that is laid in it."""
    asked = {"patch_overlap": {"value": "7 in", "source": "S-101"}}
    assert programs.manager.put(scene.path("/zones/{zone}/numbers"), json=asked).status_code == 200
    for at in PLACES:
        body = {"kind": kind, "at": at, "outline": TEAR, "note": "by a bar chair", "cause": "steel"}
        made = programs.lead.post(scene.path("/zones/{zone}/defects"), json=body)
        assert made.status_code == 201, made.text
        assert made.json() == programs.lead.get(f"/api/v1/defects/{made.json()['id']}").json()
        assert made.json()["needs"]["overlap"]["text"] == "7 in"


def test_the_film_of_the_zone_asks_more_of_a_new_mark_too(
    desk: Desk, cast: Cast, scene: Scene, programs: Programs
) -> None:
    stricter = builders.a_material(desk, cast, name="Twelve inches", least_patch_overlap="12 in")
    lot = film.receive_lot(desk, cast.lead.id, stricter.id, "T-12", 1)
    film.lay_lot(desk, cast.lead.id, scene.ids["zone"], lot.id)
    body = {"kind": "tear", "at": PLACES[-1], "outline": TEAR}
    made = programs.lead.post(scene.path("/zones/{zone}/defects"), json=body)
    assert made.json() == programs.lead.get(f"/api/v1/defects/{made.json()['id']}").json()
    assert made.json()["needs"]["overlap"]["text"] == "12 in"


def test_a_mark_takes_as_many_statements_in_a_zone_of_many_marks(
    app: FastAPI, scene: Scene, programs: Programs
) -> None:
    """Neither the zone's other marks nor its patches are read for it."""
    sent: list[str] = []
    engine = app.state.desk.database.engine
    event.listen(engine, "before_cursor_execute", lambda *given: sent.append(given[2]))

    def mark(number: int) -> list[str]:
        sent.clear()
        body = {"kind": "tear", "at": [200 + number * 20, 450], "outline": TEAR}
        headers = {"Idempotency-Key": f"key-{number}"}
        made = programs.lead.post(scene.path("/zones/{zone}/defects"), json=body, headers=headers)
        assert made.status_code == 201
        return [one for one in sent if one.split()[0] in ("SELECT", "INSERT", "UPDATE", "DELETE")]

    first = mark(0)
    for number in range(1, 12):
        last = mark(number)
    assert any("INSERT INTO entry" in one for one in first)
    assert not any("FROM patch" in one or "defect.zone_id =" in one for one in last)
    assert len(last) <= len(first) + 4  # a history's tree grows by a node now and then
