"""The month that the benches fill is written as the service writes: it replays, and is signed to its head."""

from __future__ import annotations

from collections import Counter

from sqlmodel import select

from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.actions.upkeep.checking import check_histories
from service.history.replay.standing import CLEAR, HELD, LAYING, PLACED, READY, standings_of
from service.storage.history import slices
from service.storage.tables.tables import PatchMarkRow
from tests.bench import month


def test_a_month_replays_and_its_zones_stand_as_its_words_say(desk: Desk) -> None:
    filled = month.fill(desk, month.Size(sites=1, marks=6, photos=2, leads=1))
    checked = check_histories(desk)
    assert checked.faults == () and checked.projects == 1
    with desk.reading() as session:
        site = slices.whole_site(session, filled.projects[0])
    assert (len(site.zones), len(site.defects), len(site.photos)) == (10, 60, 120)
    with desk.reading() as session:  # what a mark's own page finds its patches by, and replay does not tell
        found = {(row.patch_id, row.defect_id) for row in session.exec(select(PatchMarkRow))}
    assert found == {(patch.id, patch.defect_id) for patch in site.patches.values()} and found
    for zone in filled.zones[0]:
        seen = zone_view(desk, filled.managers[0].id, zone.id)
        assert seen.standing.state == standings_of(site)[zone.id].state
    states = Counter(standing.state for standing in standings_of(site).values())
    assert states[PLACED] == 1 and states[READY] == 2 and states[LAYING] == 2
    assert states[HELD] + states[CLEAR] == 5
