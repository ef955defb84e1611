"""Have a checkpoint timestamped by an authority outside (RFC 3161), and list the timestamps received."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import httpx
from rfc3161_client import HashAlgorithm, TimestampRequestBuilder
from sqlmodel import Session

from service.actions.evidence import signing
from service.actions.frame.desk import Authority, Desk
from service.actions.frame.doing import allow, project_to_change, record
from service.domain.nouns.site import Site
from service.domain.words.refusals import Conflict, NotFound
from service.history.facts.evidence import TimestampReceived
from service.history.proofs.timestamps import MOST_BYTES, BadStamp, check_stamp
from service.history.sentences.evidence import OPERATOR
from service.storage.history import books, ledger, slices, trees
from service.storage.history.seen import project_seen_by

WAIT_S = 20


@dataclass(frozen=True, slots=True)
class Stamp:
    """One timestamp: of the checkpoint of `size`, told at `at` by the authority, received as entry `seq`."""

    size: int
    at: datetime
    token_sha256: str
    chain_sha256: str
    seq: int


@dataclass(frozen=True, slots=True)
class Answer:
    """What an authority answered about the checkpoint of `size`, and verified: token, chain and moment."""

    size: int
    token: bytes
    chain: bytes
    at: datetime


def stamp_checkpoint(desk: Desk, by: str, project_id: str) -> Stamp:
    """Give the authority a checkpoint of the history as it stands, and keep its answer once it verifies."""
    return keep_answer(desk, by, project_id, ask_authority(desk, by, project_id))


def ask_authority(desk: Desk, by: str, project_id: str) -> Answer:
    """The slow part, in no transaction: send a checkpoint of the history as it stands, and read the answer.

    Conflict: no authority is named, nothing happened since the last stamp, or the authority gave no good
    answer; what was sent to it stands in the history all the same.
    """
    authority = _authority(desk)
    with desk.writing() as session:
        seen, site = project_to_change(session, by, project_id, "have a checkpoint timestamped")
        size, note = _to_stamp(desk, session, site, by, seen.role)
    return _ask(authority, size, note.encode())


def keep_answer(desk: Desk, by: str, project_id: str, answer: Answer) -> Stamp:
    """Keep an authority's answer with its chain, and say so in the history."""
    with desk.writing() as session:
        seen, site = project_to_change(session, by, project_id, "have a checkpoint timestamped")
        return _keep(desk, session, site, by, seen.role, answer)


def stamp_all(desk: Desk) -> int:
    """Have every history that has moved on stamped, for whoever runs the service; how many were."""
    authority, stamped = _authority(desk), 0
    with desk.reading() as session:
        ids = ledger.project_ids(session)
    for project_id in ids:
        with desk.writing() as session:
            books.lock_head(session, project_id)
            site = slices.project_site(session, project_id)
            try:
                size, note = _to_stamp(desk, session, site, OPERATOR, OPERATOR)
            except Conflict:
                continue
        answer = _ask(authority, size, note.encode())
        with desk.writing() as session:
            books.lock_head(session, project_id)
            site = slices.project_site(session, project_id)
            _keep(desk, session, site, OPERATOR, OPERATOR, answer)
        stamped += 1
    return stamped


def _authority(desk: Desk) -> Authority:
    if desk.authority is None:
        raise Conflict("This service is not told of any timestamp authority.", code="no-authority")
    return desk.authority


def _to_stamp(desk: Desk, session: Session, site: Site, by: str, role: str) -> tuple[int, str]:
    """The head's checkpoint: the one the newest entry gave, or a new one."""
    assert site.project is not None, "a history has its project"
    project_id = site.project.id
    newest, head = trees.newest_kept(session, project_id), books.head(session, project_id)
    last = books.entries(session, project_id, after=head - 1)[-1]
    if isinstance(last.fact, TimestampReceived) and last.fact.size == head - 1:
        raise Conflict("Nothing happened since the last timestamp.", code="stamped-already")
    if newest is None or newest[0] != head:
        signing.give(desk, session, site, by, role, signing.TIMESTAMP)
        newest = trees.newest_kept(session, project_id)
    assert newest is not None, "one was given above"
    return newest


def _ask(authority: Authority, size: int, note: bytes) -> Answer:
    """The authority's answer over a note, checked."""
    request = TimestampRequestBuilder().data(note).hash_algorithm(HashAlgorithm.SHA256).build()
    try:
        token = _post(authority.url, request.as_bytes())
        moment = check_stamp(token, authority.chain, note, request.nonce)
        return Answer(size, token, authority.chain, moment)
    except (httpx.HTTPError, httpx.InvalidURL) as gone:
        raise Conflict("The timestamp authority did not answer. Try again later.", code="no-answer") from gone
    except BadStamp as bad:
        told = f"The timestamp authority's answer was not kept: {bad}."
        raise Conflict(told, code="bad-stamp") from bad


def _post(url: str, request: bytes) -> bytes:
    headers = {"Content-Type": "application/timestamp-query"}
    with (
        httpx.Client(timeout=WAIT_S, follow_redirects=False, trust_env=False) as client,
        client.stream("POST", url, content=request, headers=headers) as answer,
    ):
        answer.raise_for_status()
        found = b""
        for piece in answer.iter_bytes():
            found += piece
            if len(found) > MOST_BYTES:
                raise BadStamp("the answer is too long for a timestamp")
        return found


def _keep(desk: Desk, session: Session, site: Site, by: str, role: str, answer: Answer) -> Stamp:
    token, chain = desk.blobs.put(answer.token), desk.blobs.put(answer.chain)
    entry = record(desk, session, site, by, role, TimestampReceived(answer.size, token, chain, answer.at))
    return Stamp(answer.size, answer.at, token, chain, entry.seq)


def stamps(desk: Desk, by: str, project_id: str) -> list[Stamp]:
    """Every timestamp received, the newest first."""
    with desk.reading() as session:
        allow(project_seen_by(session, by, project_id), "read the history")
        found = books.search(session, project_id, type=TimestampReceived.type, limit=1000)
    return [
        Stamp(e.fact.size, e.fact.stamped_at, e.fact.token_sha256, e.fact.chain_sha256, e.seq)
        for e, _ in found
        if isinstance(e.fact, TimestampReceived)
    ]


def stamp_files(desk: Desk, by: str, project_id: str, size: int) -> tuple[bytes, bytes]:
    """The newest token over the checkpoint of this size, and its chain. NotFound when there is none."""
    stamp = next((stamp for stamp in stamps(desk, by, project_id) if stamp.size == size), None)
    if stamp is None:
        raise NotFound
    return desk.blobs.read(stamp.token_sha256), desk.blobs.read(stamp.chain_sha256)


def authority_named(desk: Desk) -> bool:
    """Whether this service is told of a timestamp authority."""
    return desk.authority is not None
