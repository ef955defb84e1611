"""Packages from outside: installed as pinned, and DEVELOPERS.md says how soon a known fault is to be gone."""

from __future__ import annotations

import re
from importlib.metadata import distributions
from pathlib import Path

from tests.whole.test_kept import between

PINS = Path(__file__).parents[2] / "deploy" / "constraints.txt"
# What comes with Python or is the project itself.
NOT_PINNED = {"pip", "setuptools", "wheel", "laptight"}


def plain(name: str) -> str:
    """A package's name as indexes compare it: PyPA's specification of names, "Name normalization"."""
    return re.sub(r"[-_.]+", "-", name).lower()


def pinned() -> dict[str, str]:
    found = re.findall(r"^([\w.-]+)==(\S+)$", PINS.read_text(), re.MULTILINE)
    return {plain(name): version for name, version in found}


def test_every_package_that_is_installed_has_the_version_that_is_pinned() -> None:
    pins = pinned()
    here = {plain(one.metadata["Name"]): one.version for one in distributions()}
    unlike = {
        name: (version, pins.get(name))
        for name, version in here.items()
        if name not in NOT_PINNED and pins.get(name) != version
    }
    assert len(here) > 50 and not unlike


def test_the_graver_a_fault_the_sooner_it_is_to_be_gone() -> None:
    """The bands are those of CVSS 3.1, section 5, and 4.0, section 6: from memory."""
    rows = between("times")
    days = [int(row[1].removesuffix(" days")) for row in rows]
    assert [row[0].partition(",")[0] for row in rows] == [
        "critical",
        "high",
        "medium",
        "low",
        "no known fault",
    ]
    assert days == sorted(days) and len(set(days)) == 5
