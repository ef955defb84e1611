"""How often the office's pages ask the database: the same however many zones and marks, sign-in included."""

from __future__ import annotations

import pytest

from service.actions.frame.desk import Desk
from tests.bench.bench_zone_page import counting
from tests.bench.filling import mark_many
from tests.builders import NEXT_DOOR, SQUARE, a_sketch, a_walk, a_zone
from tests.cast import Cast
from tests.conftest import ClientOf

MOST = 6
PAGES = {
    "project": "/projects/{project}/office",
    "crew's zones": "/projects/{project}/crew",
    "history": "/projects/{project}/history",
    "causes": "/projects/{project}/causes",
    "release": "/zones/{zone}/release",
}


@pytest.mark.parametrize("marks", [0, 40])
@pytest.mark.parametrize("page", PAGES)
def test_an_office_page_asks_at_most_six_times_however_many_zones_and_marks(
    page_of: ClientOf, desk: Desk, cast: Cast, page: str, marks: int
) -> None:
    sketch = a_sketch(desk, cast)
    made = [a_zone(desk, cast, sketch, *where) for where in (("B", SQUARE), ("C", NEXT_DOOR))]
    for zone in made[: 2 if marks else 1]:
        mark_many(desk, cast.lead.id, zone, marks)
        a_walk(desk, cast, zone)
    client = page_of(cast.manager)
    served = client._transport.inner.app.state.desk  # type: ignore[attr-defined]  # the app's own database
    with counting(served) as seen:
        answer = client.get(PAGES[page].format(project=cast.project_id, zone=made[0].id))
    assert answer.status_code == 200
    assert 1 <= seen["statements"] <= MOST, seen
