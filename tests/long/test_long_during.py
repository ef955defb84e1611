"""The campaign behind tests/history/test_during.py: many more stories of a zone while it is being placed."""

from __future__ import annotations

from collections import Counter

from tests.history.test_during import campaign

SEEDS = range(1_000, 1_060)


def test_three_hundred_placings_stand_as_if_damage_had_never_been_told() -> None:
    seen = sum((campaign(seed, 5, 30) for seed in SEEDS), Counter[str]())
    assert min(seen["placing"], seen["fallen"], seen["found"]) > 300, "too little of something happened"
