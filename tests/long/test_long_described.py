"""The campaign behind tests/whole/test_described.py: 50,000 requests drawn from the description, seeded."""

from __future__ import annotations

from tests.whole.described import calls_of
from tests.whole.stage import Stage
from tests.whole.test_described import ROLES, try_calls

REQUESTS = 50_000
# What is looked at alike takes fewer: most of it takes nothing but an id.
LOOKS, WRITES, CASES = 60, 240, 25


def test_fifty_thousand_requests_are_answered_as_described_and_never_with_500(stage: Stage) -> None:
    calls = {call: LOOKS if call.row.method == "GET" else WRITES for call in calls_of(stage.app)}
    told = try_calls(stage, calls, CASES)
    assert told.total() >= REQUESTS
    asked = {(call, who) for call, who, _ in told}
    assert asked == {(str(call), role) for call in calls for role in ROLES}
