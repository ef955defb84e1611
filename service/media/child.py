"""The process a picture is decoded in: takes its own limits first, then one job on standard input, then ends.

Started as `python -m service.media.child` by `confine`; everything that trusts an upload's bytes runs here.
The answer is one JSON object on standard output: the job's facts, or the code and message of a refusal.
"""

from __future__ import annotations

import json
import os
import resource
import signal
import sys
from pathlib import Path
from threading import Thread
from time import sleep
from typing import Any

from service.media.headers import cut_short, damaged, truncated
from service.media.refusals import BadPicture

# No file this process writes may grow past this; the largest tile is far smaller.
_FILE_BYTES = 64 * 1024 * 1024
_LOOK_S = 0.02


def main() -> int:
    """Read one order, do it within its limits, write one answer. Gives the exit status."""
    order: dict[str, Any] = json.load(sys.stdin)
    _take_limits(order["address"], order["cpu_s"])
    Thread(target=_watch, args=(order["resident"],), daemon=True).start()
    try:
        answer = _do(order)
    except BadPicture as refused:
        answer = {"code": refused.code, "message": refused.message}
    sys.stdout.write(json.dumps(answer))
    sys.stdout.flush()
    # The decoders' own clean-up is skipped: after a hostile file it is the likeliest place to crash.
    os._exit(0)


def _take_limits(address: int, cpu_s: int) -> None:
    resource.setrlimit(resource.RLIMIT_AS, (address, address))
    resource.setrlimit(resource.RLIMIT_CPU, (cpu_s, cpu_s + 1))
    resource.setrlimit(resource.RLIMIT_FSIZE, (_FILE_BYTES, _FILE_BYTES))
    resource.setrlimit(resource.RLIMIT_NOFILE, (64, 64))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _watch(resident: int) -> None:
    """End this process as soon as it holds more memory than it may: no system limit counts that."""
    pages = resident // resource.getpagesize()
    with open("/proc/self/statm", "rb", buffering=0) as held:
        while int(held.read(64).split()[1]) <= pages:
            held.seek(0)
            sleep(_LOOK_S)
    os.kill(os.getpid(), signal.SIGKILL)


def _do(order: dict[str, Any]) -> dict[str, Any]:
    source = Path(order["source"])
    try:
        return _JOBS[order["job"]](source, order)
    except MemoryError:
        raise too_big_inside() from None


def _sketch(source: Path, order: dict[str, Any]) -> dict[str, Any]:
    from service.media import decode, passes

    kind = order["kind"]
    if kind == "jpeg":
        passes.check_passes(source)
    try:
        opened = decode.open_rows(source, kind)
        # Decoding is under way in another thread; loading what cuts the tiles costs no time beside it.
        from service.media import pyramid

        return pyramid.build(opened, kind, Path(order["into"]))
    except decode.DecoderFailed as failed:
        raise _why(source, kind, str(failed)) from None


def _turned(source: Path, order: dict[str, Any]) -> dict[str, Any]:
    from service.media import decode

    try:
        return {"turned": decode.write_turned(source, order["kind"], Path(order["into"]))}
    except decode.DecoderFailed as failed:
        raise _why(source, order["kind"], str(failed)) from None


def _photo(source: Path, order: dict[str, Any]) -> dict[str, Any]:
    from service.media import decode, passes
    from service.media.headers import what_is

    kind = what_is(source)
    if kind == "jpeg":
        passes.check_passes(source)
    try:
        if kind == "heic":  # loaded for such a photo alone: its libraries are large
            from service.media.heic import open_heic

            return decode.write_opened(open_heic(source), Path(order["into"]))
        return decode.write_photo(source, kind, Path(order["into"]))
    except decode.DecoderFailed as failed:
        raise _why(source, kind, str(failed)) from None


def _pdf(source: Path, order: dict[str, Any]) -> dict[str, Any]:
    from service.media import pages, pyramid

    drawn = pages.draw(source, order["page"])
    return pyramid.build(drawn, "pdf", Path(order["into"]))


def _pages(source: Path, order: dict[str, Any]) -> dict[str, Any]:
    from service.media import pages

    return {"pages": pages.sizes(source)}


def _glances(source: Path, order: dict[str, Any]) -> dict[str, Any]:
    from service.media import glances

    return {"glances": glances.draw(source, order["first"], order["count"])}


# Each job imports its own decoder: a photo need not wait for the PDF library.
_JOBS = {
    "sketch": _sketch,
    "turned": _turned,
    "photo": _photo,
    "pdf": _pdf,
    "pages": _pages,
    "glances": _glances,
}


def too_big_inside() -> BadPicture:
    """The refusal for a picture whose decoding asks for more memory than it may have."""
    return BadPicture(
        "picture-too-hard",
        "This picture could not be opened within the memory allowed. Save it again as a plain PNG or JPEG.",
    )


def _why(source: Path, kind: str, words: str) -> BadPicture:
    if "out of memory" in words:
        return too_big_inside()
    return truncated() if cut_short(source, kind) else damaged()


if __name__ == "__main__":
    sys.exit(main())
