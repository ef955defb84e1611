"""Asking to be told, on pages: what is ticked is kept, and what cannot be done is not offered."""

from __future__ import annotations

import asyncio
from dataclasses import replace
from pathlib import Path

import pytest
from fastapi import FastAPI

import service.app as wiring
from service.__main__ import main
from service.actions.frame.desk import Desk
from service.actions.telling import telling
from service.history.replay.turns import BY_MAIL, EVENTS, ON_PAGE, TURNED_CLEAR
from tests.builders import a_walk, a_zone
from tests.cast import Cast, Clock
from tests.conftest import ClientOf


def test_what_is_ticked_is_kept_and_shown_again(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone, page = a_zone(desk, cast), f"/projects/{cast.project_id}/told"
    lead = page_of(cast.lead)
    sent = {"event-clear": "yes", "way-page": "yes", f"zone-{zone.id}": "yes"}
    assert lead.post(page, data=sent).headers["location"] == f"{page}?did=asked"
    wish = telling.wish_of(desk, cast.lead.id, cast.project_id).wish
    assert (wish.zones, wish.events, wish.ways) == tuple(
        map(frozenset, ([zone.id], [TURNED_CLEAR], [ON_PAGE]))
    )
    shown = lead.get(page).text
    for name in sent:
        assert f'name="{name}" id="{name}" value="yes" checked' in shown
    assert 'name="event-lost" id="event-lost" value="yes">' in shown


def test_events_without_a_way_to_hear_of_them_are_an_error(cast: Cast, page_of: ClientOf) -> None:
    answer = page_of(cast.lead).post(f"/projects/{cast.project_id}/told", data={"event-clear": "yes"})
    assert answer.status_code == 422 and "Choose how you want to be told." in answer.text


def test_mail_is_offered_where_there_is_a_server_for_it_and_kept_nowhere_else(
    app: FastAPI, desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    page, lead = f"/projects/{cast.project_id}/told", page_of(cast.lead)
    assert "way-mail" not in lead.get(page).text
    lead.post(page, data={"event-clear": "yes", "way-page": "yes", "way-mail": "yes"})
    assert BY_MAIL not in telling.wish_of(desk, cast.lead.id, cast.project_id).wish.ways
    app.state.outside = replace(app.state.outside, smtp_url="smtp://127.0.0.1:1", mail_from="a@slab.example")
    assert "way-mail" in lead.get(page).text
    lead.post(page, data={"event-clear": "yes", "way-mail": "yes"})
    assert BY_MAIL in telling.wish_of(desk, cast.lead.id, cast.project_id).wish.ways


def test_a_manager_who_never_asked_finds_everything_ticked_on_the_page_alone(desk: Desk, cast: Cast) -> None:
    wish = telling.wish_of(desk, cast.manager.id, cast.project_id).wish
    assert (wish.events, wish.ways) == (frozenset(EVENTS), frozenset((ON_PAGE,)))
    assert telling.wish_of(desk, cast.inspector.id, cast.project_id).wish.events == frozenset()


def test_the_server_looks_by_itself_and_stops_with_the_service(
    app: FastAPI, desk: Desk, cast: Cast, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is waited for what comes, not for a time: the loop ends when the turn is told, or the test hangs."""
    monkeypatch.setattr(wiring, "TELLING_EVERY_S", 0.01)
    zone = a_zone(desk, cast)
    telling.look(desk.fresh())
    a_walk(desk, cast, zone)

    async def running() -> None:
        async with wiring._telling(app):
            while not telling.told_to(desk.fresh(), cast.manager.id):
                await asyncio.sleep(0.01)

    asyncio.run(running())
    assert [m.turn.event for m in telling.told_to(desk, cast.manager.id)] == [TURNED_CLEAR]


def test_a_timer_tells_what_turned_where_no_server_runs(
    data: Path, desk: Desk, cast: Cast, capsys: pytest.CaptureFixture[str]
) -> None:
    zone = a_zone(desk, cast)
    main(["tell", "--data", str(data)])
    a_walk(desk, cast, zone)
    assert main(["tell", "--data", str(data)]) == 0
    assert "1 turn to tell, 0 messages sent." in capsys.readouterr().out
    assert [m.turn.event for m in telling.told_to(desk, cast.manager.id)] == [TURNED_CLEAR]
