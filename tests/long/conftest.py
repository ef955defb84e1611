"""Long seeded campaigns: gathered only with `--long`, as `python -m tests tests/long --long`."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from service import settings
from tests.whole.conftest import set_stage, stage

__all__ = ["set_stage", "stage"]


@pytest.fixture(autouse=True, scope="session")
def uncounted() -> Iterator[None]:
    """A campaign asks for more than any person does: its requests are counted nowhere."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(settings, "MOST_OF_PERSON", 0)
        patch.setenv("LAPTIGHT_MOST_REQUESTS", "0")
        yield


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--long", action="store_true", help="run the long campaigns too")


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """The option is unknown where the whole suite is gathered: then the campaigns are left out."""
    return None if config.getoption("--long", default=False) else True
