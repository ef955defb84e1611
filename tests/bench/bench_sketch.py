"""Times a 64-megapixel plan from upload to its tiles, as a multiple of one bare decode, and its peak memory.

Run as `python -m tests.bench.bench_sketch`. The two are measured in turns in one run, so that a busy machine
slows both; the least of each counts, because load only ever adds. To hold: at most 4 times, at most 700 MB.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path

from service.media.picture import preview_path, read_picture
from service.media.sketches import prepare_sketch
from service.media.window import crop

PLANS = Path(__file__).resolve().parents[3] / "shared" / "data" / "plans"
TURNS = 9
MOST_TIMES = 4.0
MOST_BYTES = 700_000_000

# A bare decode is Pillow opening the file and loading its pixels, and nothing else, its import not counted.
_BARE = """
import sys, time
from PIL import Image
Image.MAX_IMAGE_PIXELS = None
start = time.perf_counter()
Image.open(sys.argv[1]).load()
print(time.perf_counter() - start)
"""


# A process of its own, which is small: a child begins with its parent's peak.
_PEAK = """
import resource, sys
from pathlib import Path
from service.media.sketches import prepare_sketch
prepare_sketch(Path(sys.argv[1]), Path(sys.argv[2]))
own, child = (resource.getrusage(who).ru_maxrss for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
print((own + child) * 1024)
"""


def main() -> int:
    """Print the figures of both plans. Gives 1 when one does not hold; 0 also when there is no plan."""
    if not PLANS.is_dir():
        print("no plans in ../shared/data/plans: nothing measured")
        return 0
    return 0 if all([measure(plan) for plan in sorted(PLANS.glob("*.png"))]) else 1


def measure(plan: Path) -> bool:
    """Measure one plan, print its lines, and say whether both figures hold."""
    bare, whole = [], []
    with tempfile.TemporaryDirectory() as room:
        for turn in range(TURNS):
            bare.append(float(_said(_BARE, str(plan))))
            start = time.perf_counter()
            prepare_sketch(plan, Path(room, str(turn)))
            whole.append(time.perf_counter() - start)
        peak = int(_said(_PEAK, str(plan), str(Path(room, "peak"))))
        _print_window(plan.name, Path(room, "peak"))
    times = min(whole) / min(bare)
    print(
        f"{plan.name}: bare decode {min(bare):.3f} s, upload to every tile "
        f"{min(whole):.3f} s: {times:.2f} times (at most {MOST_TIMES}); "
        f"peak memory with its decoder {peak / 1e6:.0f} MB (at most {MOST_BYTES / 1e6:.0f})"
    )
    return times <= MOST_TIMES and peak <= MOST_BYTES


def _said(script: str, *arguments: str) -> str:
    command = [sys.executable, "-c", script, *arguments]
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout


def _print_window(name: str, tiles: Path) -> None:
    picture = read_picture(tiles)
    spent = []
    for level in range(-3, picture.levels):
        start = time.perf_counter()
        crop(tiles, picture, (picture.width_px * 500, picture.height_px * 500), level, 640, 640)
        spent.append(time.perf_counter() - start)
    stored = sum(file.stat().st_size for file in tiles.rglob("*") if file.is_file())
    preview = preview_path(tiles).stat().st_size
    print(
        f"{name}: a still window of 640 px takes {max(spent) * 1000:.0f} ms at most; "
        f"stored {stored / 1e6:.2f} MB, preview {preview / 1e3:.0f} kB"
    )


if __name__ == "__main__":
    sys.exit(main())
