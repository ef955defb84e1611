"""The description that programs read is whole: every route, every answer, every body with an example."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import httpx
import pytest
from fastapi import FastAPI
from fastapi.routing import iter_route_contexts
from pydantic import BaseModel

from service.api.shared import bodies, calls
from service.web.serving import guards
from tests.api.conftest import Programs
from tests.api.rows import OPEN, ROWS
from tests.api.shape import assert_refused

METHODS = ("get", "put", "post", "delete", "patch")


@pytest.fixture
def described(programs: Programs) -> dict[str, Any]:
    found: dict[str, Any] = programs.lead.get("/api/v1/openapi.json").json()
    return found


def operations(described: dict[str, Any]) -> list[tuple[str, str, dict[str, Any]]]:
    return [
        (method.upper(), path, operation)
        for path, item in described["paths"].items()
        for method, operation in item.items()
        if method in METHODS
    ]


def test_it_is_for_people_signed_in_and_the_frameworks_own_pages_are_off(
    client: httpx.Client, programs: Programs
) -> None:
    assert_refused(client.get("/api/v1/openapi.json"), 401)
    for path in ("/docs", "/redoc", "/openapi.json", "/api/v1/docs", "/api/v1/redoc"):
        assert programs.lead.get(path).status_code == 404


def test_every_route_under_the_prefix_is_described_and_nothing_else(
    app: FastAPI, described: dict[str, Any]
) -> None:
    routed = set()
    for context in iter_route_contexts(app.routes):
        path = str(getattr(context, "path", None) or "")
        if path.startswith("/api/"):
            routed |= {(method, path) for method in getattr(context, "methods", None) or ()}
    assert {(method, path) for method, path, _ in operations(described)} == routed
    plain = {(method, re.sub(r"\{\w+\}", "{}", path)) for method, path in routed}
    named = {(row.method, "/api/v1" + re.sub(r"\{\w+\}", "{}", row.path)) for row in ROWS}
    entrance = {(method, re.sub(r"\{\w+\}", "{}", path)) for method, path in OPEN}
    assert plain == named | entrance | {("GET", "/api/v1/openapi.json")}


def test_every_call_tells_what_it_does_and_what_it_may_answer(described: dict[str, Any]) -> None:
    for method, path, operation in operations(described):
        where = (method, path)
        answers = operation["responses"]
        assert operation["description"], where
        assert {"503"} | ({"401"} if where not in OPEN or method != "GET" else set()) <= set(answers), where
        assert ("404" in answers) == ("{" in path), where
        if method != "GET":
            assert {"403", "408", "413", "422"} <= set(answers), where
        assert ("security" in operation) == (where not in OPEN), where
        if where not in OPEN:
            given = {each["name"] for each in operation.get("parameters", [])}
            assert ("Idempotency-Key" in given) == (method != "GET"), where
        for status, answer in answers.items():
            if int(status) >= 400:
                shape = answer["content"]["application/json"]["schema"]["$ref"].rpartition("/")[2]
                assert shape == (
                    "Held"
                    if where[1].endswith(("/release", "/start-placing")) and status == "409"
                    else "Error"
                ), where


def bodies_under(kind: type[BaseModel]) -> Iterator[type[BaseModel]]:
    """Every body there is, in whichever module of the contract it is written."""
    for body in kind.__subclasses__():
        yield body
        yield from bodies_under(body)


def test_every_body_is_typed_refuses_what_it_does_not_name_and_has_an_example_that_fits(
    described: dict[str, Any],
) -> None:
    schemas = described["components"]["schemas"]
    known = {body.__name__: body for body in bodies_under(bodies.Sent)}
    seen = 0
    for method, path, operation in operations(described):
        content = operation.get("requestBody", {}).get("content", {})
        if "application/json" not in content:
            continue
        schema = content["application/json"]["schema"]
        name = next(option["$ref"] for option in schema.get("anyOf", [schema]) if "$ref" in option)
        body = known[name.rpartition("/")[2]]
        assert schemas[body.__name__]["additionalProperties"] is False, (method, path)
        for example in schemas[body.__name__]["examples"]:
            body.model_validate(example)
            seen += 1
    assert seen >= 17


def test_the_description_names_no_half_made_schema(described: dict[str, Any]) -> None:
    names = set(described["components"]["schemas"])
    assert not {name for name in names if name.endswith(("-Input", "-Output"))}
    assert "HTTPValidationError" not in names


def test_the_cookies_are_those_of_the_pages() -> None:
    assert (calls.PLAIN_COOKIE, calls.HOST_COOKIE) == (guards.PLAIN_COOKIE, guards.HOST_COOKIE)
