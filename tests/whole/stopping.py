"""Rounds of the served service told to stop (SIGTERM) while clients write, and what must hold afterwards."""

from __future__ import annotations

import os
import random
import signal
import socket
import subprocess
import sys
import threading
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx

from service.__main__ import GRACE_S
from service.actions.frame.desk import Desk
from service.storage.history import books
from tests.whole.crash_rounds import ROOT, Told, faults_in

CLIENTS, AGAIN = 4, 3
SOON_S = 0.5  # how long after every client's first answer it is told to stop, at the most
# Bounds that end a test which hangs, far above what a slow machine takes; nothing is measured by them.
LONGEST_S, ENDS_S = 120.0, GRACE_S + 120.0
TEAR = {"shape": "rectangle", "length": "4 in", "width": "2 in"}


@dataclass(frozen=True, slots=True)
class Sending:
    """A mark as it is sent: its Idempotency-Key, its address, its body."""

    key: str
    path: str
    body: dict[str, Any]


@dataclass
class Written:
    """What was sent in all rounds: ids by key of what was answered, what no answer came to, other answers."""

    answered: dict[str, str] = field(default_factory=dict)
    unanswered: list[Sending] = field(default_factory=list)
    sent: dict[str, Sending] = field(default_factory=dict)
    broken: list[str] = field(default_factory=list)


def start(data: Path, url: str, workers: int, log: Path) -> tuple[subprocess.Popen[str], str]:
    """`laptight serve` in processes of its own, and its address, once it is ready. `log`: what it prints."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    words = ["serve", "--data", str(data), "--port", str(port), "--workers", str(workers)]
    environ = os.environ | {"LAPTIGHT_DATABASE_URL": url, "LAPTIGHT_MOST_REQUESTS": "0"}
    with log.open("a") as kept:
        child = subprocess.Popen(
            [sys.executable, "-m", "service", *words], cwd=ROOT, env=environ, text=True,
            stdout=kept, stderr=kept, start_new_session=True,
        )  # fmt: skip
    address = f"http://127.0.0.1:{port}"
    until = time.monotonic() + LONGEST_S
    while time.monotonic() < until and child.poll() is None:
        with suppress(httpx.TransportError):
            if httpx.get(f"{address}/health/ready", timeout=LONGEST_S).status_code == 200:
                return child, address
        time.sleep(0.1)
    end(child)
    raise AssertionError(f"the service did not come up: {log.read_text()}")


def end(child: subprocess.Popen[str]) -> None:
    """Whatever is left of it, when a test went wrong: these processes alone."""
    with suppress(ProcessLookupError):
        os.killpg(child.pid, signal.SIGKILL)
    child.wait(30)


@contextmanager
def client_at(address: str, token: str) -> Iterator[httpx.Client]:
    headers = {"Authorization": f"Bearer {token}"}
    with httpx.Client(base_url=address, headers=headers, timeout=LONGEST_S) as client:
        yield client


def send(client: httpx.Client, sending: Sending) -> httpx.Response:
    return client.post(sending.path, json=sending.body, headers={"Idempotency-Key": sending.key})


def write_until_nobody_answers(
    address: str, token: str, zone: str, name: str, written: Written, answered: threading.Event
) -> None:
    """Mark after mark, each under a key of its own; `answered` is set with the first answer."""
    with client_at(address, token) as client:
        for turn in range(1_000_000):
            at = [130 + turn * 37 % 700, 130 + turn * 53 % 500]
            body = {"kind": "tear", "at": at, "outline": TEAR}
            sending = Sending(f"{name}-{turn}", f"/api/v1/zones/{zone}/defects", body)
            written.sent[sending.key] = sending
            try:
                answer = send(client, sending)
            except httpx.TransportError as gone:
                written.unanswered.append(sending)
                if isinstance(gone, httpx.TimeoutException):
                    written.broken.append(f"{sending.key}: no answer within {LONGEST_S} s")
                return
            finally:
                answered.set()
            if answer.status_code != 201:
                written.broken.append(f"{sending.key}: {answer.status_code} {answer.text[:200]}")
                return
            written.answered[sending.key] = answer.json()["id"]


def send_again(address: str, token: str, written: Written) -> None:
    """After a start: what no answer came to, and some of what was answered, under the keys it had."""
    with client_at(address, token) as client:
        for sending in written.unanswered:
            answer = send(client, sending)
            if answer.status_code == 201:
                written.answered[sending.key] = answer.json()["id"]
            else:
                written.broken.append(f"{sending.key} again: {answer.status_code} {answer.text[:200]}")
        written.unanswered.clear()
        for key in list(written.answered)[-AGAIN:]:
            answer = send(client, written.sent[key])
            if answer.status_code != 201 or answer.json()["id"] != written.answered[key]:
                written.broken.append(f"{key} once more: {answer.status_code} {answer.text[:200]}")


def stop_while_writing(
    data: Path, url: str, workers: int, token: str, zone: str, seed: int, written: Written, log: Path
) -> int:
    """Start the service, send again what it owes an answer to, write, and tell it to stop at a drawn moment
    while every client waits for an answer. What it exited with.

    Every second time each of its processes is told, as systemd does, instead of the command alone.
    """
    draw = random.Random(seed)
    child, address = start(data, url, workers, log)
    try:
        send_again(address, token, written)
        events = [threading.Event() for _ in range(CLIENTS)]
        threads = [
            threading.Thread(
                target=write_until_nobody_answers,
                args=(address, token, zone, f"s{seed}-c{number}", written, event),
            )
            for number, event in enumerate(events)
        ]
        for thread in threads:
            thread.start()
        for event in events:
            event.wait(LONGEST_S)
        time.sleep(draw.uniform(0, SOON_S))
        (os.killpg if seed % 2 else os.kill)(child.pid, signal.SIGTERM)
        status = child.wait(ENDS_S)
        for thread in threads:
            thread.join(2 * LONGEST_S)
    finally:
        end(child)
    return status


def stop_idle(data: Path, url: str, workers: int, token: str, written: Written, log: Path) -> int:
    """Start it once more, send again what is owed, and stop it while nobody asks anything."""
    child, address = start(data, url, workers, log)
    try:
        send_again(address, token, written)
        child.send_signal(signal.SIGTERM)
        return child.wait(ENDS_S)
    finally:
        end(child)


def wrong_after(desk: Desk, project_id: str, written: Written) -> list[str]:
    """What does not hold of a stopped service whose every mark was sent by these rounds.

    A mark that was answered is there, whole, and once; a mark that was not answered left nothing behind: who
    is told to stop takes nothing on that it does not finish and answer.
    """
    found = list(written.broken) + faults_in(desk, Told(marks=list(written.answered.values())))
    with desk.reading() as session:
        ask = session.connection().exec_driver_sql
        under_way = [row[0] for row in ask("SELECT key FROM request WHERE status IS NULL")]
        entries = books.entries(session, project_id)
    marked = Counter(getattr(entry.fact, "defect", "") for entry in entries if entry.type == "defect-marked")
    found += [f"{key} is still under way" for key in under_way]
    found += [f"{mark} stands {times} times in the history" for mark, times in marked.items() if times > 1]
    if len(set(written.answered.values())) != len(written.answered):
        found.append("two keys were answered with one mark")
    told, there = len(written.answered), marked.total()
    return found if there == told else [*found, f"{told} marks were answered, {there} were recorded"]
