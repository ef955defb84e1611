"""The test command: makes sure of a browser, then runs the suite. `python -m tests [pytest arguments]`."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).parents[1]
NO_BROWSER = "LAPTIGHT_NO_BROWSER"
MEMORY = Path("/dev/shm")
ROOM = (
    3 * 1024**3
)  # bytes; a whole run holds some hundred megabytes at a time, and a browser shares the place


def browser() -> str | None:
    """Where Chromium is, or None."""
    return next((path for name in ("chromium", "chromium-browser") if (path := shutil.which(name))), None)


def install_browser() -> None:
    """Debian's Chromium, as root or through sudo; says so and goes on where neither works."""
    as_root = [] if os.geteuid() == 0 else ["sudo", "-n"]
    for words in (
        ["apt-get", "update", "-q"],
        ["apt-get", "install", "-y", "-q", "--no-install-recommends", "chromium"],
    ):
        try:
            subprocess.run([*as_root, *words], check=True, stdout=subprocess.DEVNULL)
        except (OSError, subprocess.CalledProcessError) as bad:
            print(f"Chromium is not here and could not be installed ({bad}).", file=sys.stderr)
            print(
                f"Install Debian's chromium, or set {NO_BROWSER}=1 to go without the browser tests.",
                file=sys.stderr,
            )
            sys.exit(1)


@contextmanager
def quick_room() -> Iterator[dict[str, str]]:
    """What to add to the environment for temporary files to lie in memory, where there is room for them.

    Every commit of a test waits for its disk (`synchronous=FULL`), fifty times as long as the commit itself
    takes. The tests that are about what is on the disk, `tests.on_disk.folder_on_disk`, go on waiting for it.
    """
    if "TMPDIR" in os.environ or not os.access(MEMORY, os.W_OK) or shutil.disk_usage(MEMORY).free < ROOM:
        yield {}
        return
    with tempfile.TemporaryDirectory(prefix="laptight-", dir=MEMORY, ignore_cleanup_errors=True) as room:
        yield {"TMPDIR": room}


def main(arguments: list[str]) -> int:
    if browser() is None and not os.environ.get(NO_BROWSER):
        install_browser()
    extra = ["--ignore=tests/browser"] if os.environ.get(NO_BROWSER) else []
    # A file stays with one process: its fixtures are built once, and what it measures is its own. They come
    # in the order in which tests/conftest.py puts them, the long ones first.
    spread = ["-n", "logical", "--dist", "loadfile", "--no-loadscope-reorder"]
    words = [sys.executable, "-m", "pytest", *spread, *extra, *arguments]
    with quick_room() as room:
        return subprocess.run(words, cwd=ROOT, env=os.environ | room, check=False).returncode


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
