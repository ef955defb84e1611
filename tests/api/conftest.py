"""A scene on the real app, and a client for each person of the cast."""

from __future__ import annotations

from dataclasses import dataclass

import httpx
import pytest

from service.actions.desk import Desk
from tests.api.scene import EYE, LEAD, MANAGER, Scene, set_up
from tests.cast import Cast
from tests.conftest import ClientOf


@dataclass(frozen=True)
class Programs:
    """A program of each role on the project, and of somebody who is on no project."""

    by_role: dict[str, httpx.Client]
    outsider: httpx.Client

    @property
    def manager(self) -> httpx.Client:
        return self.by_role[MANAGER]

    @property
    def lead(self) -> httpx.Client:
        return self.by_role[LEAD]

    @property
    def inspector(self) -> httpx.Client:
        return self.by_role[EYE]


@pytest.fixture
def scene(desk: Desk, cast: Cast) -> Scene:
    return set_up(desk, cast)


@pytest.fixture
def programs(program_of: ClientOf, cast: Cast) -> Programs:
    by_role = {role: program_of(person) for role, person in cast.roles.items()}
    return Programs(by_role, program_of(cast.outsider))
