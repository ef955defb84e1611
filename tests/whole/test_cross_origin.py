"""What another site's page may not have a browser do: the twelve rows on every route that changes something.

Rows and their source: tests/web/serving/test_middleware.py, which asks them of an address that is not there.
Here each is asked of every unsafe route of the app, with a body that is right and the sign-in of somebody who
may.
"""

from __future__ import annotations

import httpx
import pytest

from service.actions.entrance.accounts import PAGE
from service.domain.nouns import roles
from service.web.serving.guards import PLAIN_COOKIE
from service.web.serving.middleware import SAFE_METHODS
from tests.in_process import ADDRESS, InProcess
from tests.web.serving.test_middleware import ROWS as ORIGINS
from tests.whole.cells import ALLOWED, expected
from tests.whole.routes import ROWS, Row
from tests.whole.stage import Stage

UNSAFE = [row for row in ROWS if row.method not in SAFE_METHODS]
REFUSED = [(name, headers) for name, headers, passes in ORIGINS if not passes]
PASSED = [(name, headers) for name, headers, passes in ORIGINS if passes]


def sender(stage: Stage, headers: dict[str, str]) -> httpx.Client:
    kept = {name: value for name, value in headers.items() if name != "Cookie"}
    return httpx.Client(transport=InProcess(stage.app, raises=False), base_url=ADDRESS, headers=kept)


def cookie_of(stage: Stage, row: Row) -> str:
    """The page's sign-in of somebody to whom the route would answer."""
    known = [actor for actor in stage.actors if actor.here in roles.ROLES or actor.name == row.own]
    able = next(actor for actor in known if expected(row, actor) == ALLOWED)
    return stage.tokens[able.name, PAGE]


def test_there_are_twelve_rows_and_none_of_them_is_about_a_safe_method() -> None:
    assert (len(REFUSED), len(PASSED)) == (8, 4)
    assert {row.method for row in UNSAFE} == {"POST", "PUT"}


@pytest.mark.parametrize(("name", "headers"), REFUSED, ids=[name for name, _ in REFUSED])
def test_what_another_site_asks_for_is_refused_on_every_route_and_changes_nothing(
    stage: Stage, name: str, headers: dict[str, str]
) -> None:
    before, wrong = stage.digest(()), []
    with sender(stage, headers) as client:
        for row in UNSAFE:
            client.cookies.set(PLAIN_COOKIE, cookie_of(stage, row))
            answer = row.send(client, stage.ids)
            if answer.status_code != 403 or "Sec-Fetch-Site" not in answer.headers.get("vary", ""):
                wrong.append(f"{row}: {answer.status_code}")
    assert not wrong, "\n".join(wrong)
    assert stage.digest(()) == before


@pytest.mark.parametrize(("name", "headers"), PASSED, ids=[name for name, _ in PASSED])
def test_what_the_services_own_pages_and_programs_ask_for_is_heard_on_every_route(
    stage: Stage, name: str, headers: dict[str, str]
) -> None:
    """Nobody is signed in: other guards speak, and never the one that asks where a request came from."""
    wrong = []
    with sender(stage, headers) as client:
        for row in UNSAFE:
            if "Cookie" in headers:
                client.cookies.set(PLAIN_COOKIE, "anything")
            answer = row.send(client, stage.ids)
            if answer.status_code == 403 and "Sec-Fetch-Site" in answer.headers.get("vary", ""):
                wrong.append(str(row))
    stage.put_back()
    assert not wrong, "\n".join(wrong)
