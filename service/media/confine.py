"""Runs one decoding in a process of its own, within memory, processor and clock limits."""

from __future__ import annotations

import json
import logging
import os
import subprocess
import sys
from pathlib import Path
from threading import BoundedSemaphore
from typing import Any

from service.media.limits import Limits
from service.media.refusals import BadPicture

# Two cores decode two pictures; a third would only make all three late and add its memory.
_SEATS = BoundedSemaphore(2)
_WAIT_S = 120
_ROOT = Path(__file__).resolve().parents[2]
_log = logging.getLogger(__name__)


def run_apart(job: dict[str, Any], limits: Limits) -> dict[str, Any]:
    """Do one job of `service.media.child` in a fresh process and give its answer.

    A fresh process and never a fork: a server with threads must not be forked. Raises BadPicture with the
    child's own code, `picture-too-hard` when it was ended or crashed, `too-busy` when no seat came free; and
    RuntimeError when the child itself is broken, which is no fault of the picture.
    """
    if not _SEATS.acquire(timeout=_WAIT_S):
        raise BadPicture("too-busy", "Other pictures are being read just now. Try again in a minute.")
    try:
        return _answer(*_converse(job, limits), limits)
    finally:
        _SEATS.release()


def _converse(job: dict[str, Any], limits: Limits) -> tuple[int, str, str]:
    order = {**job, "address": limits.address, "resident": limits.resident, "cpu_s": limits.cpu_s}
    # Our own interpreter and module; the upload is named only inside the order.
    with subprocess.Popen(
        [sys.executable, "-m", "service.media.child"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
        errors="replace",
        env=_environment(),
    ) as child:
        try:
            out, err = child.communicate(json.dumps(order), timeout=limits.wall_s)
        except subprocess.TimeoutExpired:
            child.kill()
            raise _too_hard(limits) from None
        except BaseException:
            child.kill()
            raise
        return child.returncode, out, err


def _answer(status: int, out: str, err: str, limits: Limits) -> dict[str, Any]:
    if status < 0:
        _log.warning("decoding a %s ended by signal %d", limits.thing, -status)
        raise _too_hard(limits)
    if status > 0:
        raise RuntimeError(f"the decoding process failed with status {status}: {err[-2000:]}")
    answer: dict[str, Any] = json.loads(out)
    if "code" in answer:
        raise BadPicture(answer["code"], answer["message"])
    return answer


def _too_hard(limits: Limits) -> BadPicture:
    return BadPicture(
        "picture-too-hard",
        f"This {limits.thing} could not be opened within the time and memory allowed. "
        "Save it again as a plain PNG or JPEG and upload that.",
    )


def _environment() -> dict[str, str]:
    """Only what the child needs: nothing of the server's own settings or secrets reaches it."""
    kept = {name: os.environ[name] for name in ("PATH", "LD_LIBRARY_PATH", "TMPDIR") if name in os.environ}
    return kept | {
        "PYTHONPATH": str(_ROOT),
        "LANG": "C.UTF-8",
        # Address space is what is limited: arenas and number-crunching threads would reserve it for nothing.
        "MALLOC_ARENA_MAX": "2",
        "OPENBLAS_NUM_THREADS": "1",
        "VIPS_CONCURRENCY": "2",
        # A picture that must be held whole stays in memory, where the limit sees it, never in a file.
        "VIPS_DISC_THRESHOLD": "8g",
    }
