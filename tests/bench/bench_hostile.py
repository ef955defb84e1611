"""How long each hostile file holds the service, beside an honest photo of 12 million pixels in the same run.

    .venv/bin/python -m tests.bench.bench_hostile [--rounds 3]

The set of tests/media/hostile.py and loaded.py as photos, and as sketches what is none of a photo's business;
then what is heavy within the limits: 50 million pixels each. Medians, and the ratio to the honest photo read
after each; nothing passes or fails. Held against 2 seconds a file on a machine with nothing else to do.
"""

from __future__ import annotations

import argparse
import io
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import pillow_heif
from PIL import Image

from service.media.photos import prepare_photo
from service.media.refusals import BadPicture
from service.media.sketches import prepare_sketch
from tests.media.hostile import REFUSED, TRAPS
from tests.media.loaded import LOADED
from tests.media.making import encoded, exif_with_place, flat_png, jpeg_of_passes, scene

HELD_S = 2.0
WIDE, HIGH = 8160, 6120  # 49.9 million, as the largest sensors of phones have it


def _grey(form: str, **options: object) -> bytes:
    return encoded(Image.new("RGB", (WIDE, HIGH), "grey"), form, **options)


def _heic() -> bytes:
    out = io.BytesIO()
    picture = pillow_heif.from_pillow(scene(4000, 3000).resize((WIDE, HIGH)))
    picture.save(out, quality=60, enc_params={"preset": "ultrafast"})
    return out.getvalue()


HEAVY: dict[str, Callable[[], bytes]] = {
    "50 million pixels in 2,647 passes": lambda: jpeg_of_passes(WIDE, HIGH),
    "50 million pixels in ten passes": lambda: _grey("JPEG", progressive=True),
    "50 million pixels to be turned": lambda: _grey("JPEG", exif=exif_with_place(6)),
    "50 million pixels of one bit": lambda: flat_png(WIDE, HIGH),
    "50 million pixels of a PNG": lambda: _grey("PNG", compress_level=9),
    "50 million pixels of a WebP": lambda: _grey("WEBP", lossless=True, method=0),
    "50 million pixels of a HEIC photo": _heic,
    "an honest JPEG of 50 million pixels": lambda: encoded(
        scene(4000, 3000).resize((WIDE, HIGH)), "JPEG", quality=75
    ),
}


def took(source: Path, room: Path, sketch: bool) -> tuple[float, str]:
    """Seconds, and the answer."""
    began = time.perf_counter()
    try:
        if sketch:
            prepare_sketch(source, room / f"tiles-{time.monotonic_ns()}")
        else:
            prepare_photo(source)
        answer = "taken"
    except BadPicture as bad:
        answer = bad.code
    return time.perf_counter() - began, answer


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=3)
    rounds = parser.parse_args().rounds
    files = {name: make for name, (_, make) in REFUSED.items()} | TRAPS | LOADED | HEAVY
    slow = []
    with tempfile.TemporaryDirectory() as folder:
        honest = Path(folder, "honest")
        honest.write_bytes(encoded(scene(4000, 3000), "JPEG", quality=85))
        all_beside = list[float]()
        for name, make in files.items():
            source = Path(folder, "upload")
            source.write_bytes(make())
            times, beside = list[float](), list[float]()
            for _ in range(rounds):
                seconds, answer = took(source, Path(folder), sketch="PDF" in name)
                times.append(seconds)
                beside.append(took(honest, Path(folder), sketch=False)[0])
            all_beside += beside
            middle, size = statistics.median(times), source.stat().st_size
            ratio = middle / statistics.median(beside)
            print(f"{name:<52}{size:>11,} B {answer:<18}{middle:7.3f} s {ratio:6.2f}", flush=True)
            if middle > HELD_S:
                slow.append(name)
    print(
        f"an honest photo of 12 million pixels: {statistics.median(all_beside):.3f} s "
        f"({min(all_beside):.3f} to {max(all_beside):.3f}, {len(all_beside)} times); past {HELD_S:.0f} s: "
        f"{', '.join(slow) or 'none'}"
    )


if __name__ == "__main__":
    main()
