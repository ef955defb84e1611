"""Coverage-guided fuzzing of one door: `python -m tests.long.guided length|outline|sides|station|picture`.

`[--seconds 600] [--kept FOLDER]`. It ends by itself after its time, or at the first fault, which it prints
and whose input it keeps. Told: executions, branches reached, and the fault if there is one. What it found its
way by is kept in the folder's `corpus`, faults in its `found`, and the next run goes on from there.
`--again FILE...` knocks with files alone, and needs nothing installed.

It needs `atheris` (`pip install atheris`), which has wheels for Linux alone and is no part of the tests' own
dependencies; without it this says so and ends with 0.
"""

from __future__ import annotations

import argparse
import importlib.util
import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

NEEDED = "atheris is not installed: nothing was fuzzed. `pip install atheris` where there is a wheel for it."
# A decoder in this process takes its own, and the service's limits are held by tests/media.
MOST_MIB, SLOW_S = 2_000, 20
MEMORY = Path("/dev/shm")
_DONE = re.compile(r"Done (\d+) runs in (\d+) second")
_REACHED = re.compile(r"cov: (\d+) ft: (\d+) corp: (\d+)")


def main(arguments: list[str]) -> int:
    asked = argparse.ArgumentParser(prog="python -m tests.long.guided", description=__doc__)
    asked.add_argument("door", choices=("length", "outline", "sides", "station", "picture"))
    asked.add_argument("--seconds", type=int, default=600)
    asked.add_argument("--kept", type=Path)
    asked.add_argument("--again", type=Path, nargs="*")
    asked.add_argument("--inside", nargs="*", help=argparse.SUPPRESS)
    told = asked.parse_args(arguments)
    if told.again is not None:
        return again(told.door, told.again)
    if importlib.util.find_spec("atheris") is None:
        print(NEEDED)
        return 0
    if told.inside is not None:
        return fuzz(told.door, told.inside)
    with tempfile.TemporaryDirectory(
        prefix="laptight-guided-", dir=MEMORY if MEMORY.is_dir() else None
    ) as room:
        kept = told.kept or Path(tempfile.gettempdir(), "laptight-guided", told.door)
        return guide(told.door, told.seconds, kept, room)


def again(door: str, files: list[Path]) -> int:
    """Knock with each file once; the first fault is raised as it is."""
    from tests.long.guided_doors import DOORS

    for file in files:
        DOORS[door].knock(file.read_bytes())
    print(f"{door}: {len(files)} files, no fault")
    return 0


def fuzz(door: str, words: list[str]) -> int:
    """In the process that is watched: it never comes back."""
    import atheris

    atheris.enabled_hooks.add("str")  # comparisons of texts guide too; its hook of patterns fails on bytes
    with atheris.instrument_imports(include=["service.domain", "service.media", "service.api.shared.calls"]):
        from tests.long.guided_doors import DOORS

    atheris.Setup([sys.argv[0], *(f"-{word}" if "=" in word else word for word in words)], DOORS[door].knock)
    atheris.Fuzz()
    return 0


def guide(door: str, seconds: int, kept: Path, room: str) -> int:
    """Start the watched process on a corpus that begins with the project's own examples. 1 at a fault."""
    from tests.long.guided_doors import DOORS

    asked = DOORS[door]
    corpus, found, words = kept / "corpus", kept / "found", kept / "words"
    for folder in (corpus, found):
        folder.mkdir(parents=True, exist_ok=True)
    for number, seed in enumerate(asked.seeds()):
        (corpus / f"seed-{number:02}").write_bytes(seed)
    words.write_text("".join(f"{_quoted(word)}\n" for word in asked.words))
    options = [
        f"max_total_time={seconds}",
        f"max_len={asked.longest}",
        f"rss_limit_mb={MOST_MIB}",
        f"timeout={SLOW_S}",
        f"dict={words}",
        f"artifact_prefix={found}/",
        "print_final_stats=1",
    ]
    ran = subprocess.run(
        [sys.executable, "-m", "tests.long.guided", door, "--inside", *options, str(corpus)],
        capture_output=True,
        text=True,
        errors="replace",
        check=False,
        env=os.environ | {"TMPDIR": room},
    )
    return tell(door, ran)


def tell(door: str, ran: subprocess.CompletedProcess[str]) -> int:
    """What the run came to, in a line; at a fault its last words too."""
    runs = _DONE.search(ran.stderr)
    counted = re.search(r"stat::number_of_executed_units: *(\d+)", ran.stderr)
    reached = _REACHED.findall(ran.stderr)
    first, last = (reached[0], reached[-1]) if reached else (("?",) * 3, ("?",) * 3)
    number = runs[1] if runs else counted[1] if counted else "?"
    took = f" in {runs[2]} s" if runs else ""
    print(
        f"{door}: {number} executions{took}; branches reached {first[0]} at the seeds, {last[0]} at the end; "
        f"{last[2]} inputs kept"
    )
    if ran.returncode:
        print("\n".join([*ran.stdout.splitlines()[-40:], *ran.stderr.splitlines()[-30:]]))
        return 1
    print(f"{door}: no fault")
    return 0


def _quoted(word: str) -> str:
    """A word as libFuzzer's dictionaries write it: in quotes, anything odd as a hexadecimal byte."""
    spelled = (chr(b) if 0x20 <= b < 0x7F and b not in b'"\\' else f"\\x{b:02X}" for b in word.encode())
    return f'"{"".join(spelled)}"'


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
