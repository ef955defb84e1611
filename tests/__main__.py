"""The test command: makes sure of a browser, then runs the suite. `python -m tests [pytest arguments]`."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
NO_BROWSER = "LAPTIGHT_NO_BROWSER"


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


def main(arguments: list[str]) -> int:
    if browser() is None and not os.environ.get(NO_BROWSER):
        install_browser()
    extra = ["--ignore=tests/browser"] if os.environ.get(NO_BROWSER) else []
    # A file stays with one process: its fixtures are built once, and what it measures is its own. They come
    # in the order of their folders, so that the long browser jobs, few to a file, are not last and alone.
    spread = ["-n", "logical", "--dist", "loadfile", "--no-loadscope-reorder"]
    words = [sys.executable, "-m", "pytest", *spread, *extra, *arguments]
    return subprocess.run(words, cwd=ROOT, check=False).returncode


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
