"""Requests drawn from the API's own description, and what every answer is held to.

The description alone says which calls there are, what they take and what they may answer: `schemathesis`
makes requests that fit it and requests that do not. What no description tells stands in `routes.ROWS`: which
thing of the stage a path is about, and a body that is right, to get past the first door.
"""

from __future__ import annotations

import asyncio
import copy
import json
import random
import zlib
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any

import httpx
import jsonschema_rs
import schemathesis
from fastapi import FastAPI
from hypothesis import HealthCheck, Phase, Verbosity, given, seed, settings
from hypothesis.errors import Unsatisfiable
from schemathesis import GenerationMode
from schemathesis.core import NOT_SET

from service.api.v1 import describe
from tests.api.shape import assert_refused
from tests.in_process import ADDRESS, InProcess
from tests.whole.routes import ROWS, Row, _filled
from tests.whole.stage import Actor, Stage

KEY = "Idempotency-Key"
QUIET = settings(
    deadline=None,
    database=None,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
    verbosity=Verbosity.quiet,
)


@dataclass(frozen=True, eq=False)
class Call:
    """One call of the description, and the row that says what it is about."""

    operation: Any
    row: Row
    described: dict[str, Any]
    shapes: dict[str, Any] = field(default_factory=dict)

    def __str__(self) -> str:
        return f"{self.row.method} {self.row.path}"

    @property
    def answers(self) -> dict[str, Any]:
        """What is told of each status that it may answer with."""
        told: dict[str, Any] = self.described["paths"][self.row.path][self.row.method.lower()]["responses"]
        return told

    @property
    def may_record(self) -> bool:
        """Whether it may append an entry; one call that is looked at may, as the contract says."""
        return self.row.method != "GET" or self.row.path.endswith("/record")

    def shape(self, status: str) -> Any:
        """What holds a JSON answer of this status to its schema."""
        if status not in self.shapes:
            schema = self.answers[status]["content"]["application/json"]["schema"]
            whole = {**schema, "components": self.described["components"]}
            self.shapes[status] = jsonschema_rs.Draft202012Validator(whole)
        return self.shapes[status]


def calls_of(app: FastAPI) -> list[Call]:
    """Every call that is described, in the order of the description; each has its row."""
    described = copy.deepcopy(describe(app))
    schema: Any = schemathesis.openapi.from_dict(described)
    rows = {(row.method, row.path): row for row in ROWS}
    found = [result.ok() for result in schema.get_all_operations()]
    return [Call(each, rows[each.method.upper(), each.path], described) for each in found]


def cases_of(call: Call, count: int, again: int = 0) -> list[Any]:
    """At most so many different cases that fit the description, and as many that do not. `again`: a seed."""
    made: list[Any] = []
    for mode in (GenerationMode.POSITIVE, GenerationMode.NEGATIVE):
        # A call that takes nothing cannot be asked wrongly.
        if mode is GenerationMode.NEGATIVE and not (
            call.row.names or call.operation.body or call.operation.query
        ):
            continue

        @seed(zlib.crc32(f"{call} {mode} {again}".encode()))
        @settings(QUIET, max_examples=count)
        @given(case=call.operation.as_strategy(generation_mode=mode))
        def draw(case: Any) -> None:
            made.append(case)

        with suppress(Unsatisfiable):  # nothing that does not fit can be made of some calls
            draw()
    return made


# --- what is sent ----------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Sent:
    """A request as bytes. `told` is what it was made of, for whoever reads a failure."""

    method: str
    path: str
    query: Any
    headers: dict[str, str]
    content: bytes
    told: str

    def to(self, client: httpx.Client) -> httpx.Response:
        return client.request(
            self.method, self.path, params=self.query, headers=self.headers, content=self.content
        )


def sent(call: Call, case: Any, ids: dict[str, str], other: dict[str, str], chance: random.Random) -> Sent:
    """A case about a thing of the stage, or of the other project, or about nothing there is; some are the
    right body with a part of the case's put in."""
    row, body = call.row, case.body
    if chance.random() < 0.5:
        body = _mixed(row, body, ids, chance)
    where = row.path.format(**_ids(row, case, ids, other, chance))
    kind, content = _as_bytes(row, case, body)
    headers = {"Content-Type": kind} if kind else {}
    if KEY in case.headers and row.method != "GET" and chance.random() < 0.3:
        headers[KEY] = str(case.headers[KEY])
    told = f"{row.method} {where}?{case.query} {headers} {content[:1500]!r}"
    return Sent(row.method, where, case.query, headers, content, told)


def _ids(
    row: Row, case: Any, ids: dict[str, str], other: dict[str, str], chance: random.Random
) -> dict[str, str]:
    """Mostly the stage's own things; what schemathesis makes for a path is quoted already."""
    named, drawn = {}, chance.random()
    for name in row.names:
        mine = ids[row.ids.get(name, name)]
        if drawn < 0.1:
            named[name] = str((case.path_parameters or {}).get(name, mine)) or mine
        else:
            named[name] = other.get(row.ids.get(name, name), mine) if drawn < 0.2 else mine
    return named


def _mixed(row: Row, body: Any, ids: dict[str, str], chance: random.Random) -> Any:
    """The row's right body with one to three of the case's fields in place of its own."""
    right: dict[str, Any] = _filled(row.form if row.files else row.json or {}, ids)
    right |= {name: make() for name, make in row.files.items()}
    if not isinstance(body, dict) or not right:
        return body
    names = list(body)
    return right | {name: body[name] for name in chance.sample(names, min(len(names), chance.randint(0, 3)))}


def _as_bytes(row: Row, case: Any, body: Any) -> tuple[str, bytes]:
    """The kind of a body and its bytes: JSON, or in parts where the call takes a file."""
    if body is NOT_SET:
        return "", b""
    if not row.files:
        return "application/json", json.dumps(body, default=_as_text).encode()
    parts = case.as_transport_kwargs(base_url=ADDRESS)
    if body is not case.body:
        files = [(name, _part(value)) for name, value in body.items()]
    elif parts.get("files"):
        files = [(name, _part(value[1], value[0])) for name, value in parts["files"]]
    else:
        return parts["headers"].get("Content-Type", ""), parts.get("data") or b""
    ready = httpx.Request("POST", ADDRESS, files=files)
    return ready.headers["Content-Type"], ready.read()


def _as_text(value: Any) -> str:
    """Bytes that stand where JSON has none."""
    return bytes(value).decode("latin-1")


def _part(value: Any, name: str | None = "a file") -> tuple[str | None, bytes]:
    """A part of a form. Bytes come as a file; anything else does where it is named as one."""
    if isinstance(value, bytes):
        return name, value
    return (None if name == "a file" else name), str(value).encode(errors="surrogatepass")


class OneLoop(InProcess):
    """As its parent, in one event loop from first to last: a loop a request takes as long as the request."""

    def __init__(self, app: Any) -> None:
        super().__init__(app, raises=False)
        self.runner = asyncio.Runner()

    def handle_request(self, request: httpx.Request) -> httpx.Response:
        request.read()
        return self.runner.run(self._answer(request))

    def close(self) -> None:
        self.runner.close()


def client_of(stage: Stage, actor: Actor) -> httpx.Client:
    """A program of this actor, as `Stage.client` makes it."""
    with stage.client(actor, program=True) as made:
        return httpx.Client(
            transport=OneLoop(stage.app), base_url=ADDRESS, headers=made.headers, trust_env=False
        )


# --- what comes back -------------------------------------------------------------------------------------


def hold(call: Call, answer: httpx.Response) -> None:
    """Never a 500; a status, a kind of content and a shape that the description names."""
    status = str(answer.status_code)
    assert answer.status_code < 500, f"{call} breaks: {status}"
    assert status in call.answers, f"{call} may not answer {status}: {sorted(call.answers)}"
    kinds = call.answers[status].get("content", {})
    kind = answer.headers.get("content-type", "").partition(";")[0]
    assert kind in kinds or "*/*" in kinds, f"{call} answers {status} with {kind}, and tells {sorted(kinds)}"
    if kind == "application/json":
        call.shape(status).validate(answer.json())
    if answer.status_code >= 400:
        assert_refused(answer, answer.status_code)


def try_call(
    stage: Stage,
    call: Call,
    clients: dict[str, httpx.Client],
    cases: list[Any],
    most: int,
    chance: random.Random,
) -> Iterator[tuple[str, int]]:
    """Send so many requests by each client in turn and hold every answer: who asked, and what came back.
    The stage is put back after whatever may have landed."""
    for number in range(most if cases else 0):
        case = cases[number % len(cases)]
        for who, client in clients.items():
            request = sent(call, case, stage.ids, stage.other, chance)
            answer = request.to(client)
            try:
                hold(call, answer)
            except Exception as fault:
                fault.add_note(f"asked by {who}: {request.told}\nanswered: {answer.text[:1500]}")
                raise
            finally:
                if not 400 <= answer.status_code < 500 and call.may_record:
                    stage.put_back()
            yield who, answer.status_code
