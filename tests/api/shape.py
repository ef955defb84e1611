"""The one shape of every refusal, asserted on every call."""

from __future__ import annotations

from typing import Any

import httpx


def assert_refused(
    answer: httpx.Response, status: int, code: str | None = None, *fields: str
) -> dict[str, Any]:
    """The answer has this status and the contract's shape; its `error`. `fields`: names that must be told."""
    assert answer.status_code == status, f"{answer.status_code} {answer.text[:400]}"
    assert answer.headers["content-type"] == "application/json"
    body = answer.json()
    assert set(body) == {"error"}
    error: dict[str, Any] = body["error"]
    assert set(error) - {"blockers"} == {"code", "message", "fields"}
    assert ("blockers" in error) == (error["code"] == "zone-held")
    assert isinstance(error["code"], str) and error["code"]
    assert isinstance(error["message"], str) and error["message"]
    assert all(isinstance(words, str) and words for words in error["fields"].values())
    if code is not None:
        assert error["code"] == code, error
    assert set(fields) <= set(error["fields"]), error
    return error
