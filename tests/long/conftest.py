"""Long seeded campaigns: gathered only with `--long`, as `python -m tests tests/long --long`."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.whole.conftest import set_stage, stage

__all__ = ["set_stage", "stage"]


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--long", action="store_true", help="run the long campaigns too")


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """The option is unknown where the whole suite is gathered: then the campaigns are left out."""
    return None if config.getoption("--long", default=False) else True
