"""One whole record for every test of a worker that only reads it: the demo's site, made by the service."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from service.actions.evidence import timestamping
from service.actions.frame.desk import Authority, Desk
from service.actions.people import erasing
from tests import authority
from tests.record.making import Files, made_desk, taken, unzipped

# The demo's crew lead, whose name is erased; every part of it and of the address.
ERASED = ("Rosa", "Amaya", "rosa@example.com")


@dataclass(frozen=True)
class Sample:
    """`zip`: the record as it was handed out; `folder`: where it is unpacked; `files`: the same in memory."""

    desk: Desk
    by: str
    project: str
    zip: Path
    folder: Path
    files: Files


@pytest.fixture(scope="session")
def sample(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Sample]:
    """With a timestamp where there is an openssl to give one, and one person's name erased."""
    data = tmp_path_factory.mktemp("sample")
    with ExitStack() as stack:
        desk, by, project = stack.enter_context(made_desk(data))
        if shutil.which("openssl") is not None:
            running = stack.enter_context(authority.running(data / "authority"))
            stamping = replace(desk.fresh(), authority=Authority(running.url, running.chain))
            timestamping.stamp_checkpoint(stamping, by, project)
        erasing.erase_person(desk.fresh(), ERASED[2])
        path = taken(desk, by, project, data)
        folder = data / "unpacked"
        shutil.unpack_archive(path, folder)
        yield Sample(desk, by, project, path, folder, unzipped(path.read_bytes()))
