"""A seeded sample of requests drawn from the description of the API, as every role. More: tests/long."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Mapping
from contextlib import ExitStack
from unittest import mock

import httpx
import pytest

pytest.importorskip("schemathesis", reason="the test extra brings it: pip install -e '.[test]'")

from jsonschema_rs import ValidationError

from tests.whole.asking import CREW_LEAD, INSPECTOR, PROJECT_MANAGER, actor_of
from tests.whole.described import Call, calls_of, cases_of, client_of, hold, try_call
from tests.whole.stage import Stage

ROLES = (CREW_LEAD, PROJECT_MANAGER, INSPECTOR)
CALLS, CASES, EACH = 14, 4, 6


def try_calls(
    stage: Stage, calls: Mapping[Call, int], cases: int, again: int = 0
) -> Counter[tuple[str, str, int]]:
    """Every call as every role, so many times; how often each was answered how, by call, role and status."""
    told: Counter[tuple[str, str, int]] = Counter()
    with ExitStack() as open_ones:
        clients = {role: open_ones.enter_context(client_of(stage, actor_of(stage, role))) for role in ROLES}
        for call, most in calls.items():
            chance = random.Random(f"{call} {again}")
            drawn = cases_of(call, cases, again)
            chance.shuffle(drawn)
            for who, status in try_call(stage, call, clients, drawn, most, chance):
                told[str(call), who, status] += 1
    return told


def test_no_request_that_the_description_allows_or_forbids_is_answered_otherwise_than_it_says(
    stage: Stage,
) -> None:
    calls = random.Random(7).sample(calls_of(stage.app), CALLS)
    told = try_calls(stage, dict.fromkeys(calls, EACH), CASES)
    assert told.total() == CALLS * EACH * len(ROLES)
    statuses = {status for _, _, status in told}
    assert statuses & {200, 201} and {403, 404, 422} <= statuses, "past the door, and not"


def one_call(stage: Stage, method: str, path: str) -> Call:
    return next(call for call in calls_of(stage.app) if (call.row.method, call.row.path) == (method, path))


def test_a_call_that_breaks_on_a_text_that_was_drawn_is_found(stage: Stage) -> None:
    call = one_call(stage, "POST", "/api/v1/zones/{zone_id}/walks")

    def break_on_any_note(text: str, *rest: object, **more: object) -> str:
        if text:  # the right body of the row has none
            raise KeyError("planted")
        return text

    with (
        mock.patch("service.actions.sketches.zones.words", break_on_any_note),
        pytest.raises(AssertionError, match="breaks: 500"),
    ):
        try_calls(stage, {call: 40}, 12)


def test_an_answer_that_is_not_as_described_is_found(stage: Stage) -> None:
    call = one_call(stage, "GET", "/api/v1/zones/{zone_id}")
    client = client_of(stage, actor_of(stage, CREW_LEAD))
    true = client.get(call.row.address(stage.ids))
    hold(call, true)
    wrongs: list[dict[str, object]] = [{"state": None}, {"area": "301"}, {"defects": [{}]}]
    for wrong in wrongs:
        with pytest.raises(ValidationError):
            hold(call, httpx.Response(200, json=true.json() | wrong))
    with pytest.raises(AssertionError, match="may not answer 202"):
        hold(call, httpx.Response(202, json=true.json()))
    with pytest.raises(AssertionError, match="with text/html"):
        hold(call, httpx.Response(200, html="<p>B</p>"))
    client.close()
