"""Histories of one zone as clients were told it, and the plainest model of the zone to hold them against.

The model knows the trade's rule and what the contract says, and nothing of how the service goes about it: a
zone with an open mark is held; a release is taken only for the facts it names, of a clear zone, once; marks
are numbered as they come.
"""

from __future__ import annotations

import random
import threading
import time
from collections.abc import Sequence
from typing import NamedTuple

import httpx

from tests.whole.linearizing import Op

TEAR = {"shape": "rectangle", "length": "4 in", "width": "2 in"}
WORK = {"cleaned": True, "dry": True, "edges_taped": True, "tape_width": "4 in"}
MENDED = {"sides": dict.fromkeys(("left", "right", "near", "far"), "6 in"), **WORK}
OUTLINE = ((100, 100), (2900, 100), (2900, 1900), (100, 1900))
ACROSS = 46  # places for marks, 6 ft apart: no tape of a patch reaches other damage


class Zone(NamedTuple):
    """`facts`: the digest of the facts as they are, once anybody was told it."""

    open: frozenset[str] = frozenset()
    marks: int = 0
    given: bool = False
    stands: bool = False
    facts: str = ""


def step(zone: Zone, op: Op) -> Zone | None:
    """The zone after the operation; None where it would not have been answered so."""
    what, about = op.asked
    told: tuple[str, ...] = op.gave
    if what == "mark":
        tag, mark = told
        moved = Zone(zone.open | {mark}, zone.marks + 1, zone.given, False)
        return moved if int(tag.partition("-")[2]) == moved.marks else None
    if what == "mend":
        return Zone(zone.open - {about}, zone.marks, zone.given, False) if about in zone.open else None
    if what == "read":
        state, facts = told
        right = state == state_of(zone) and zone.facts in ("", facts)
        return zone._replace(facts=facts) if right else None
    if what == "release":
        if told[0] != release_answer(zone, about):
            return None
        return zone._replace(given=True, stands=True) if told[0] == "done" else zone
    if told[0] != ("done" if zone.given else "not-released"):
        return None
    return zone._replace(given=False, stands=False)


def state_of(zone: Zone) -> str:
    return "held" if zone.open else "ready to place" if zone.stands else "clear"


def release_answer(zone: Zone, facts: str) -> str:
    """Facts never come back: those somebody read before the last change are no longer the zone's."""
    if facts != zone.facts:
        return "facts-moved"
    return {"held": "zone-held", "clear": "done", "ready to place": "released-already"}[state_of(zone)]


class Client:
    """One client at work, and what it asked and was told. An answer of 500 and more is kept aside."""

    def __init__(self, program: httpx.Client, zone: str, number: int, seed: int) -> None:
        self.program, self.zone, self.draw = program, zone, random.Random(f"{seed} {number}")
        self.ops: list[Op] = []
        self.broken: list[str] = []
        self.mine: list[str] = []
        self.facts = ""
        self.place = number * 1_000 // 8

    def work(self, count: int) -> None:
        for _ in range(count):
            if self.mine and self.draw.random() < 0.8:
                self._mend(self.mine.pop())
                continue
            self.draw.choices((self._read, self._release, self._pull_back, self._mark), (40, 40, 15, 5))[0]()

    def _ask(self, asked: tuple[str, str], method: str, path: str, body: object = None) -> httpx.Response:
        called = time.perf_counter()
        answer = self.program.request(method, f"/api/v1{path}", json=body)
        returned = time.perf_counter()
        if answer.status_code >= 500:
            self.broken.append(f"{answer.status_code} {method} {path} {answer.text[:200]}")
        else:
            self.ops.append(Op(called, returned, asked, told(asked[0], answer)))
        return answer

    def _mark(self) -> None:
        self.place += 1
        at = [130 + self.place % ACROSS * 60, 130 + self.place // ACROSS * 60]
        body = {"kind": "tear", "at": at, "outline": TEAR}
        answer = self._ask(("mark", ""), "POST", f"/zones/{self.zone}/defects", body)
        if answer.status_code == 201:
            self.mine.append(answer.json()["id"])

    def _mend(self, mark: str) -> None:
        if self._ask(("mend", mark), "POST", f"/defects/{mark}/patches", MENDED).status_code >= 500:
            self.mine.append(mark)

    def _read(self) -> None:
        answer = self._ask(("read", ""), "GET", f"/zones/{self.zone}/gate")
        if answer.status_code == 200:
            self.facts = answer.json()["digest"]

    def _release(self) -> None:
        if not self.facts:
            return self._read()
        body = {"digest": self.facts, "statement": "I have seen this zone."}
        self._ask(("release", self.facts), "POST", f"/zones/{self.zone}/release", body)
        return None

    def _pull_back(self) -> None:
        self._ask(("pull back", ""), "POST", f"/zones/{self.zone}/pull-back", {"reason": "rain"})


TELLS = {"mark": ("tag", "id"), "read": ("state", "digest")}


def told(what: str, answer: httpx.Response) -> tuple[str, ...]:
    """What the answer says, in the model's words."""
    body = answer.json()
    if "error" in body:
        return (body["error"]["code"],)
    return tuple(body[name] for name in TELLS[what]) if what in TELLS else ("done",)


def record(programs: Sequence[httpx.Client], zone: str, count: int, seed: int) -> list[Client]:
    """So many operations of each program on the zone, all at the same time."""
    clients = [Client(program, zone, number, seed) for number, program in enumerate(programs)]
    start = threading.Barrier(len(clients))

    def run(client: Client) -> None:
        start.wait()
        client.work(count)

    threads = [threading.Thread(target=run, args=(client,)) for client in clients]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return clients


def all_ops(clients: Sequence[Client]) -> list[Op]:
    return [op for client in clients for op in client.ops]


def all_broken(clients: Sequence[Client]) -> list[str]:
    return [each for client in clients for each in client.broken]
