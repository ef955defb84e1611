"""A short seeded sample of what can be done to a record on its way: neither verifier misses any of it.

The whole campaign is tests/long/test_long_tamper.py.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.record.spoiling import true_files
from tests.record.tampering import (
    ATTACKS,
    Verifier,
    attacked,
    by_the_script,
    by_the_script_alone,
    by_us,
    campaign,
    flips,
    flips_in_the_zip,
    handed_out,
    missed,
)

FLIPS, EACH, SEED = 60, 4, 2026


@pytest.fixture(params=["laptight verify", "verify.py"])
def verifier(request: pytest.FixtureRequest, tmp_path: Path) -> Verifier:
    return by_us if request.param == "laptight verify" else by_the_script(tmp_path)


def test_a_true_record_is_not_told_of(verifier: Verifier) -> None:
    assert not verifier(handed_out(true_files()))


def test_no_flipped_bit_and_no_attack_is_missed(verifier: Verifier) -> None:
    found = campaign(verifier, FLIPS, EACH, SEED)
    assert not missed(found), {name: counts.missed for name, counts in found.items() if counts.missed}
    assert sum(counts.tried for counts in found.values()) == 2 * FLIPS + EACH * len(ATTACKS)


def test_the_script_as_a_stranger_runs_it_misses_none_either(tmp_path: Path) -> None:
    alone = by_the_script_alone(tmp_path)
    assert not alone(handed_out(true_files()))
    assert not flips(alone, 2, SEED).missed
    assert not attacked(alone, "signed with another key", 2, SEED).missed


def test_the_counting_tells_what_a_verifier_misses() -> None:
    """The control: one that sees nothing misses every flip in a content, in the ZIP all but the harmless."""
    blind = flips(lambda content: False, 20, SEED)
    assert (len(blind.missed), blind.harmless) == (20, 0)
    raw = flips_in_the_zip(lambda content: False, 60, SEED)
    assert raw.missed and raw.harmless and len(raw.missed) + raw.harmless == 60
