"""The campaign behind tests/record/test_tamper.py: 10,000 flips each way and 1,000 of each attack.

Prints what it counted. With `-s` each line comes as it is known.
"""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from tests.record.tampering import (
    ATTACKS,
    Verifier,
    by_the_script,
    by_the_script_alone,
    by_us,
    campaign,
    missed,
)

FLIPS, EACH, SEED = 10_000, 1_000, 41


def told(name: str, verifier: Verifier, flipped: int, each: int) -> None:
    start = time.perf_counter()
    found = campaign(verifier, flipped, each, SEED)
    print(f"\n{name}, {time.perf_counter() - start:,.0f} s")
    for what, counts in found.items():
        print(f"  {what:<30} {counts}")
    assert not missed(found), {what: counts.missed[:5] for what, counts in found.items() if counts.missed}


@pytest.mark.parametrize("name", ["laptight verify", "verify.py"])
def test_nothing_is_missed_of_ten_thousand_flips_and_a_thousand_of_each_attack(
    name: str, tmp_path: Path
) -> None:
    told(name, by_us if name == "laptight verify" else by_the_script(tmp_path), FLIPS, EACH)


def test_the_script_in_a_process_of_its_own_misses_none_of_a_sample(tmp_path: Path) -> None:
    told("verify.py alone, with openssl", by_the_script_alone(tmp_path), 100, 200 // len(ATTACKS))
