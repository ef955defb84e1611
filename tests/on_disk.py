"""What lies on the disk, byte for byte: for searches that trust no query."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from service.actions.frame.desk import Desk


def database_bytes(desk: Desk) -> bytes:
    """Every byte of the SQLite file and of the log beside it."""
    name = desk.database.engine.url.database
    assert name is not None
    files = sorted(Path(name).parent.glob(f"{Path(name).name}*"))
    return b"".join(file.read_bytes() for file in files)


@contextmanager
def folder_on_disk() -> Iterator[Path]:
    """On /var/tmp, which a restart keeps (Filesystem Hierarchy Standard 3.0, 5.15)."""
    kept = Path("/var/tmp")
    with tempfile.TemporaryDirectory(prefix="laptight-", dir=kept if kept.is_dir() else None) as folder:
        yield Path(folder)
