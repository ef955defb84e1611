"""What every answer must be, whatever was asked: held by its headers, of the kind it says, and no change.

Rows are the app's own routes. The requirements are named by their numbers in OWASP ASVS 5.0.0.
"""

from __future__ import annotations

import re

import httpx
import pytest

from service.domain.nouns.roles import PROJECT_MANAGER
from tests.whole.asking import actor_of
from tests.whole.cells import ALLOWED, PICTURED, expected
from tests.whole.routes import OPEN, ROWS, Row
from tests.whole.stage import Stage

LOOKS = [row for row in ROWS if row.method == "GET" and not row.path.startswith("/health")]
# The contract's one GET that may append: a record names itself in the history before it leaves (D-26).
APPENDS = ("/record",)
TEXT = ("text/", "application/javascript", "image/svg+xml")


def ask(stage: Stage, row: Row) -> httpx.Response:
    """The answer to a project manager, or to whoever the row is of."""
    actor = next((actor for actor in stage.actors if row.own and actor.name == row.own), None)
    with stage.client(actor or actor_of(stage, PROJECT_MANAGER), row.program) as client:
        return row.send(client, stage.ids | PICTURED)


def unsafe(answer: httpx.Response) -> list[str]:
    """What 3.4.2 to 3.4.6, 3.2.1 and 4.1.1 ask of one answer and it has not."""
    headers, policy = answer.headers, answer.headers.get("content-security-policy", "")
    kind = headers.get("content-type", "")
    wrong = {
        "3.4.2": any(name.startswith("access-control-") for name in headers),
        "3.4.3": not {"default-src 'none'", "object-src 'none'", "base-uri 'none'"} <= set(policy.split("; "))
        or "unsafe" in policy,
        "3.4.4": headers.get("x-content-type-options") != "nosniff",
        "3.4.5": headers.get("referrer-policy") not in ("same-origin", "no-referrer"),
        "3.4.6": "frame-ancestors 'none'" not in policy,
        "4.1.1": bool(answer.content)
        and (not kind or (kind.startswith(TEXT) and "charset=utf-8" not in kind.lower())),
    }
    return [number for number, is_wrong in wrong.items() if is_wrong]


def test_every_answer_to_a_look_carries_the_headers_and_says_its_kind(stage: Stage) -> None:
    wrong = []
    for row in LOOKS:
        answer = ask(stage, row)
        assert answer.status_code < 500, row
        wrong += [f"{row}: {number} {dict(answer.headers)}" for number in unsafe(answer)]
    assert not wrong, "\n".join(wrong)


def test_every_refusal_carries_them_too(stage: Stage) -> None:
    """To nobody signed in: led to sign in, told so as JSON, or answered as anybody is."""
    wrong = []
    for row in ROWS:
        with stage.client(stage.actors[0], row.program) as client:
            answer = row.send(client, stage.ids | PICTURED)
        wrong += [f"{row}: {number} {dict(answer.headers)}" for number in unsafe(answer)]
    stage.put_back()
    assert not wrong, "\n".join(wrong)


NAMED = re.compile(r'(inline|attachment); filename="[A-Za-z0-9][A-Za-z0-9._-]{0,99}"')
SHOWN = ("text/html", "application/json", "image/", "text/javascript", "application/javascript",
         "application/manifest+json", "text/calendar")  # fmt: skip


def test_every_file_is_named_by_the_service_in_plain_letters(stage: Stage) -> None:
    """3.2.1, 5.4.1, 5.4.2: what is no page, picture or data of a page has its name from here."""
    files, wrong = 0, []
    for row in LOOKS:
        answer = ask(stage, row)
        told = answer.headers.get("content-disposition")
        kind = answer.headers.get("content-type", "")
        to_keep = bool(answer.content) and answer.status_code == 200 and not kind.startswith(SHOWN)
        files += told is not None
        if (told is None and to_keep) or (told is not None and not NAMED.fullmatch(told)):
            wrong.append(f"{row}: {kind} {told}")
    stage.put_back()
    assert files > 10 and not wrong, "\n".join(wrong)


def test_no_answer_may_be_kept_by_what_lies_between(stage: Stage) -> None:
    """14.2.2: `private` or `no-store` on everything; RFC 9111 section 5.2.2. The phone's own program holds
    nobody's data."""
    wrong, programs = [], {"/worker.js", "/manifest.webmanifest"}
    for row in LOOKS:
        told = ask(stage, row).headers.get("cache-control", "")
        if row.path not in programs and not {"private", "no-store"} & set(told.split(", ")):
            wrong.append(f"{row}: {told}")
    stage.put_back()
    assert not wrong, "\n".join(wrong)


def test_looking_changes_nothing(stage: Stage) -> None:
    """3.5.3: a safe method is safe; only what the contract names may append, and says so."""
    before, changed = stage.digest(), []
    for row in LOOKS:
        if expected(row, actor_of(stage, PROJECT_MANAGER)) == ALLOWED:
            ask(stage, row)
        if stage.digest() != before:
            changed.append(row.path)
            stage.put_back()
    assert [path for path in changed if not path.endswith(APPENDS)] == []


@pytest.mark.parametrize("method", ["TRACE", "TRACK", "CONNECT", "PROPFIND"])
def test_no_route_answers_to_a_method_that_no_page_needs(stage: Stage, method: str) -> None:
    """13.4.4: what came is not sent back."""
    with stage.client(actor_of(stage, PROJECT_MANAGER), program=False) as client:
        for path in ("/", f"/zones/{stage.ids['zone_id']}", "/api/v1/projects", "/static/look.css"):
            answer = client.request(method, path, headers={"X-Canary": "canary-5512"})
            assert answer.status_code in (404, 405) and "canary-5512" not in answer.text


def test_every_page_for_people_signed_in_has_the_way_out_in_its_head(stage: Stage) -> None:
    """7.4.4. Rows of pages that anybody may open are left out."""
    pages, without = 0, []
    for row in LOOKS:
        answer = ask(stage, row)
        is_page = answer.headers.get("content-type", "").startswith("text/html") and answer.status_code == 200
        if is_page and row.action != OPEN:
            pages += 1
            without += [row.path] if '<form method="post" action="/sign-out">' not in answer.text else []
    assert pages > 60 and without == []
