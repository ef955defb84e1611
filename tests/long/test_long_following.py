"""The campaign behind tests/history/test_following.py: the same random stories, many more and longer ones."""

from __future__ import annotations

from collections import Counter

from tests.history.test_following import campaign

SEEDS, ENTRIES = range(1_000, 1_120), 120


def test_a_hundred_and_twenty_stories_are_followed_as_if_asked_after_every_entry() -> None:
    seen = sum((campaign(seed, ENTRIES) for seed in SEEDS), Counter[str]())
    assert sum(seen.values()) == len(SEEDS) * ENTRIES
    assert {"laying", "held", "clear", "ready to place", "placed", "taken off"} <= seen.keys()
