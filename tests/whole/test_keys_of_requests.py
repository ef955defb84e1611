"""A key on every request that changes anything: the same again gets the first reply and does nothing more.

The four answers are those of the IETF draft on the Idempotency-Key header: the stored reply; 422 for the same
key with another request (to a person 409, with what the form says kept and a new key to send it with); 409
while the first is under way. A key is needed where a phone sends what waited (400); programs may leave it
out. Every route of the app stands here: with a key, or with the reason why sending it twice is harmless.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator

import httpx

from service.actions.frame.desk import Desk
from service.storage.history import books
from service.web.serving.receipts import _QUEUED, RECEIPT
from tests.builders import a_zone
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.whole.asking import INSPECTOR, PROJECT_MANAGER, actor_of
from tests.whole.routes import OPEN, ROWS, Row, routes_of
from tests.whole.stage import Stage

UNSAFE = [row for row in ROWS if row.method not in ("GET", "HEAD")]
KEY = "one-key"
# Sent twice these do no harm, each for its reason; that nothing moves is held below.
WITHOUT_KEY = {
    "/sign-in": "another sign-in is no other effect", "/api/v1/sign-in": "another sign-in is no other effect",
    "/sign-out": "signed out is signed out",
    "/language": "sets what is set", "/type-size": "sets what is set",
    "/join/{token}": "the link works once", "/reset/{token}": "the link works once",
    "/code/{token}": "the code works once", "/account": "the old password is no longer the password",
    "/account/sign-ins/end": "ended is ended", "/account/sign-ins/{sign_in_id}/end": "ended is ended",
    "/sign-in/second-step": "another sign-in is no other effect",
    "/sign-in/second-step/passkey": "what a passkey signs is good once",
    "/account/second-factor/codes": "shows a new secret, and keeps it only once a code of it is given",
    "/account/second-factor/codes/confirm": "the secret that was shown is kept once",
    "/account/second-factor/passkey": "what a passkey signs is good once",
    "/account/second-factor/passkey/options": "asks for a new signature, and ends the asking before",
    "/account/second-factor/recovery-codes": "new codes end the old ones, and are shown once",
    "/account/second-factor/{factor_id}/remove": "removed is removed",
    "/defects/{defect_id}/patch/preview": "records nothing", "/blobs/{sha256}": "named by its own hash",
    "/projects/{project_id}/checkpoints/check": "records nothing",
    "/projects/{project_id}/record": "with nothing done since it is the same record",
    "/projects/{project_id}/rule-sheet": "shows what it would do and asks first",
    "/zones/{zone_id}/numbers": "shows what it would do and asks first",
    "/zones/{zone_id}/readings/file": "a reading that is known is not taken again",
    "/projects/{project_id}/crew-codes/sheet.pdf": "records nothing",
    "/told/read": "sets what is set", "/told/phones": "sets what is set",
    "/told/phones/forget": "sets what is set", "/projects/{project_id}/told": "sets what is set",
}  # fmt: skip
# Each makes a secret that takes the place of the one before: to keep the reply would be to keep the secret.
ANEW = {"/projects/{project_id}/people/{person_id}/reset", "/projects/{project_id}/crew-codes"}
# A secret is told once: the reply told again is without it.
TOLD_ONCE = ("/ready-lists", "/calendar-links")
KEYED = [row for row in UNSAFE if row.path not in WITHOUT_KEY and row.path not in ANEW]


def queued(address: str) -> bool:
    return _QUEUED.fullmatch(address) is not None and not address.startswith("/blobs/")


def client_for(stage: Stage, row: Row) -> httpx.Client:
    """Of somebody who may do it: the project manager, or the inspector whose mark is withdrawn."""
    role = INSPECTOR if row.made == INSPECTOR else PROJECT_MANAGER
    return stage.client(actor_of(stage, role), row.program)


def sent(client: httpx.Client, row: Row, stage: Stage, *, other: bool = False) -> httpx.Response:
    """The request under the one key; `other`: another request under it."""
    if row.program:
        client.headers["Idempotency-Key"] = KEY
        return row.send(client, stage.ids, row.address(stage.ids) + ("?other=1" if other else ""))
    return row.send(client, stage.ids, request_key=KEY, **({"other": "1"} if other else {}))


def same(first: httpx.Response, again: httpx.Response) -> bool:
    """The same reply: the same page to go to, the same bytes, or the receipt that says it came again."""
    if first.headers.get("content-type", "") == RECEIPT:
        told = first.json() | {"again": True}
        return (again.status_code, again.json()) == (first.status_code, told)
    one, other = ((each.status_code, each.headers.get("location", each.text)) for each in (first, again))
    return one == other


def put_under_way(stage: Stage) -> None:
    """As if what was sent first were not done yet."""
    with stage.desk.database.engine.begin() as connection:
        connection.exec_driver_sql("UPDATE request SET status = NULL, reply = NULL")


def faults(stage: Stage, row: Row, reused: set[int], under_way: set[int], **headers: str) -> Iterator[str]:
    """What is wrong with the answers to one request: sent, sent again, another under its key, under way."""
    with client_for(stage, row) as client:
        client.headers.update(headers)
        first = sent(client, row, stage)
        if first.status_code >= 400:
            yield f"{first.status_code}: {first.text[:200]}"
        before = stage.digest()
        again, other = sent(client, row, stage), sent(client, row, stage, other=True)
        put_under_way(stage)
        under = sent(client, row, stage)
    if not row.path.endswith(TOLD_ONCE) and not same(first, again):
        yield f"again it gets another reply: {again.status_code}"
    if other.status_code not in reused:
        yield f"another request under the key is answered {other.status_code}"
    if under.status_code not in under_way:
        yield f"while it is under way it is answered {under.status_code}"
    if stage.digest() != before:
        yield "something moved after the first"


def all_faults(
    stage: Stage, rows: Iterable[Row], reused: set[int], under_way: set[int], **headers: str
) -> list[str]:
    found = []
    for row in rows:
        found += [f"{row}: {fault}" for fault in faults(stage, row, reused, under_way, **headers)]
        stage.put_back()
    return found


def test_every_route_that_changes_anything_stands_here(stage: Stage) -> None:
    def plain(path: str) -> str:
        return re.sub(r"{[^}]*}", "{}", path)

    routes = {plain(path) for method, path in routes_of(stage.app) if method not in ("GET", "HEAD")}
    assert routes == {plain(row.path) for row in UNSAFE}
    assert {plain(path) for path in {*WITHOUT_KEY, *ANEW}} <= routes


def test_every_call_lands_once_for_its_key(stage: Stage) -> None:
    assert all_faults(stage, [row for row in KEYED if row.program], {422}, {409}) == []


def test_every_form_lands_once_for_its_key(stage: Stage) -> None:
    """A page that shows its form again with what is amiss answers 422 for both."""
    rows = [row for row in KEYED if not row.program]
    assert all_faults(stage, rows, {409, 422}, {409, 422}) == []


def test_every_form_that_waited_on_a_phone_gets_its_receipt_once(stage: Stage) -> None:
    rows = [row for row in KEYED if not row.program and queued(row.address(stage.ids))]
    assert len(rows) > 20
    assert all_faults(stage, rows, {422}, {409}, accept=RECEIPT) == []


def test_a_form_that_waited_on_a_phone_needs_a_key(stage: Stage) -> None:
    for row in [row for row in KEYED if not row.program and queued(row.address(stage.ids))]:
        before = stage.digest()
        with client_for(stage, row) as client:
            client.headers["accept"] = RECEIPT
            answer = row.send(client, stage.ids)
        assert (answer.status_code, answer.json()["error"]["code"]) == (400, "key-missing"), row
        assert stage.digest() == before, row


def test_what_has_no_key_does_no_harm_when_it_is_sent_twice(stage: Stage) -> None:
    for row in [row for row in UNSAFE if row.path in WITHOUT_KEY and row.action != OPEN]:
        with client_for(stage, row) as client:
            sent(client, row, stage)
            before, entries = stage.digest(("upload",)), stage.entries()
            sent(client, row, stage)
        assert stage.entries() == entries, row
        assert stage.digest(("upload",)) == before, row
        stage.put_back()


def test_the_four_answers_on_both_databases(
    cast: Cast, desk: Desk, program_of: ClientOf, page_of: ClientOf, database_url: str
) -> None:
    zone = a_zone(desk, cast)
    program, page = program_of(cast.lead), page_of(cast.lead)
    ways: dict[str, Callable[[str], httpx.Response]] = {
        "call": lambda note: program.post(
            f"/api/v1/zones/{zone.id}/walks", json={"note": note}, headers={"Idempotency-Key": "c"}
        ),
        "phone": lambda reason: page.post(
            f"/zones/{zone.id}/hold",
            data={"cause": "storm", "reason": reason},
            headers={"Accept": RECEIPT, "Idempotency-Key": "p"},
        ),
    }
    for send in ways.values():
        first, again, other = send("one"), send("one"), send("another")
        assert first.status_code == again.status_code == 201
        assert {**again.json(), "again": None} == {**first.json(), "again": None}
        assert other.status_code == 422
        with desk.database.engine.begin() as connection:
            connection.exec_driver_sql("UPDATE request SET status = NULL, reply = NULL")
        assert send("one").status_code == 409
    with desk.reading() as session:
        entries = books.entries(session, cast.project_id)
    assert Counter(entry.type for entry in entries)["walk-finished"] == 1
    assert Counter(entry.type for entry in entries)["zone-held"] == 1
