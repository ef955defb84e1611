"""How often a zone's page asks the database: the same however many marks there are, the sign-in included."""

from __future__ import annotations

import pytest

from service.actions.frame.desk import Desk
from tests.bench.bench_zone_page import counting
from tests.bench.filling import mark_many
from tests.builders import a_sketch, a_walk, a_zone
from tests.cast import Cast
from tests.conftest import ClientOf

MOST = 6


@pytest.mark.parametrize("marks", [0, 3, 80])
def test_a_zone_page_asks_at_most_six_times_however_many_marks(
    page_of: ClientOf, desk: Desk, cast: Cast, marks: int
) -> None:
    zone = a_zone(desk, cast, a_sketch(desk, cast))
    mark_many(desk, cast.lead.id, zone, marks)
    a_walk(desk, cast, zone)
    client = page_of(cast.lead)
    served = client._transport.inner.app.state.desk  # type: ignore[attr-defined]  # the app's own database
    with counting(served) as seen:
        answer = client.get(f"/zones/{zone.id}")
    assert answer.status_code == 200 and answer.text.count("/defects/") >= marks
    assert 1 <= seen["statements"] <= MOST, seen
