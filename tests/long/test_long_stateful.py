"""The campaign behind tests/whole/test_stateful.py: five hundred stories of sixty steps on the same site.

They are told in twenty slices, each under a seed of its own, so that one which fails is found again by
`-k "[7]"`. With `-s` the counts come as they grow.
"""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, seed, settings
from hypothesis.stateful import run_state_machine_as_test

from tests.whole.test_stateful import Site

SLICES, EACH, STEPS = 20, 25, 60


@pytest.mark.parametrize("number", range(SLICES))
def test_five_hundred_stories_leave_no_zone_ready_with_an_unsealed_defect(number: int) -> None:
    told = 0

    @seed(number)
    def site() -> Site:
        nonlocal told
        told += 1
        return Site()

    run_state_machine_as_test(
        site,  # type: ignore[arg-type]  # whatever makes a machine when it is called
        settings=settings(
            max_examples=EACH,
            stateful_step_count=STEPS,
            deadline=None,
            database=None,
            print_blob=False,
            suppress_health_check=list(HealthCheck),
        ),
    )
    assert told >= EACH
    print(f"slice {number}: {told} stories of up to {STEPS} steps, 0 faults", flush=True)
