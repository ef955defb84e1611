"""The campaign behind tests/browser/test_faults.py: 1,000 fault schedules, and what was met and lost in them.

With `-s` the counts come every 50 schedules.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.browser.campaign import campaign
from tests.browser.conftest import chromium as chromium  # the browser of the browser tests

pytestmark = pytest.mark.browser
SCHEDULES, SEED = 1_000, 51


def test_every_tap_of_a_thousand_fault_schedules_lands_exactly_once(
    tmp_path: Path, migrated_file: Path, chromium: Browser
) -> None:
    shutil.copy(migrated_file, tmp_path / "laptight.sqlite3")
    with campaign(tmp_path, chromium) as run:
        for seed in range(SEED, SEED + SCHEDULES):
            run.schedule(seed)
            if run.run % 50 == 0:
                print(f"{run.run} schedules, {len(run.trouble)} troubles, {dict(sorted(run.met.items()))}")
        assert run.trouble == []
