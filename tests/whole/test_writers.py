"""Thirty-two writers at once: nobody is answered 500 or more, no lock is met, and every mark told is there.

tests/long goes on for a minute, on served processes.
"""

from __future__ import annotations

import logging

import httpx
import pytest
from fastapi import FastAPI

from service.actions.entrance import accounts
from service.actions.frame.desk import Desk
from service.storage.history import books
from tests.builders import a_zone
from tests.cast import Cast
from tests.in_process import ADDRESS, InProcess
from tests.whole.writing import write_for

WRITERS, SECONDS = 32, 3


def test_thirty_two_writers_are_all_answered_and_none_is_lost(
    app: FastAPI, desk: Desk, cast: Cast, caplog: pytest.LogCaptureFixture
) -> None:
    zones = [a_zone(desk, cast, letter=letter).id for letter in "BCDE"]
    token, _ = accounts.open_sign_in(desk.fresh(), cast.lead.id, accounts.PROGRAM)
    headers = {"Authorization": f"Bearer {token}"}
    programs = [
        httpx.Client(transport=InProcess(app), base_url=ADDRESS, headers=headers) for _ in range(WRITERS)
    ]
    with caplog.at_level(logging.WARNING):
        written = write_for(programs, zones, SECONDS)
    assert written.broken == [] and set(written.statuses) == {201}, written.statuses
    assert "locked" not in caplog.text and "Traceback" not in caplog.text
    with desk.reading() as session:
        entries = books.entries(session, cast.project_id)
    told = {getattr(entry.fact, "defect", None) for entry in entries if entry.type == "defect-marked"}
    assert told == set(written.marks) and len(written.marks) >= WRITERS
    assert [entry.seq for entry in entries] == list(range(1, len(entries) + 1))
