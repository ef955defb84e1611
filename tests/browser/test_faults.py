"""A sample of the fault schedules of tests/long/test_long_faults.py, and proof that they would see a loss."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.browser.campaign import Campaign, campaign
from tests.faults import FAULTS

pytestmark = pytest.mark.browser
SAMPLE, SEED = 8, 7


@pytest.fixture(scope="module")
def run(
    tmp_path_factory: pytest.TempPathFactory, migrated_file: Path, chromium: Browser
) -> Iterator[Campaign]:
    data = tmp_path_factory.mktemp("faults")
    shutil.copy(migrated_file, data / "laptight.sqlite3")
    with campaign(data, chromium) as made:
        yield made


def test_whatever_a_bad_network_does_every_tap_lands_exactly_once(run: Campaign) -> None:
    for seed in range(SEED, SEED + SAMPLE):
        run.schedule(seed)
    assert run.trouble == []
    assert set(run.met) <= set(FAULTS) and len(run.met) > len(FAULTS) // 2


def test_the_schedules_see_a_service_that_records_what_it_was_sent_twice(
    run: Campaign, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The control: with keys that are never recognised, a doubled hold is recorded twice."""
    monkeypatch.setattr("service.actions.frame.once._look", lambda *_: None)
    monkeypatch.setattr("service.storage.accounts.requests.find", lambda *_: None)
    monkeypatch.setattr("service.storage.accounts.requests.answer", lambda *_: None)
    before = len(run.trouble)
    run.proxy.coming.clear()
    for seed in range(1, 30):
        run.schedule(seed)
        if len(run.trouble) > before:
            break
    assert len(run.trouble) > before
    del run.trouble[before:]
