"""Releases and their certificates, for programs: what was released, its proof, and what became of it."""

from __future__ import annotations

import base64
from datetime import datetime
from typing import Any

from fastapi import APIRouter
from pydantic import Field

from service.actions.closeout import certificates
from service.api.answers.sites import Answer, Time
from service.api.shared.calls import SIGNED_IN, Id, Reads, SignedRoute
from service.api.shared.errors import READS, told
from service.history.certificate.proof import code_text
from service.history.certificate.told import Certificate, Proven
from service.history.certificate.words import Words, words_of
from service.history.closeout.told import Act
from service.history.facts.encoding import time_text
from service.history.proofs.checkpoints import fingerprint

router = APIRouter(route_class=SignedRoute, dependencies=SIGNED_IN, tags=["gate"])


class Done(Answer):
    """Who did something, in which role, when, and at which entry of the history."""

    by: str
    role: str
    at: Time
    entry: int


class PulledBack(Done):
    reason: str


class Fell(Answer):
    """The first entry by which the facts released were no longer those."""

    sentence: str
    at: Time
    entry: int


class ReleaseTold(Answer):
    """`state`: stands, pulled back, fell away, or placed under it. `leaf`: the entry's hash, hex."""

    id: str
    zone: str
    letter: str
    state: str
    released: Done
    statement: str
    digest: str
    gate_version: int
    not_asked_for: list[str]
    leaf: str
    pulled_back: PulledBack | None
    fell: Fell | None
    later_release: Done | None


class NumberInForce(Answer):
    name: str
    text: str
    source: str


class Mended(Answer):
    """A repair that stood at the release, with the mark it is on; texts as the certificate has them."""

    tag: str
    mark: str
    repair: str
    overlap: str
    asked_then: str


class Proof(Answer):
    """`index` counts from 0; `hashes` and `root` are base64, the leaf's sibling first. `checkpoint`: the
    signed note word for word. `with_release`: it left with the release itself. `file`: all as one file."""

    index: int
    size: int
    root: str
    hashes: list[str]
    checkpoint: str
    with_release: bool
    key: str = Field(description="The Ed25519 public key, 32 bytes in base64.")
    fingerprint: str
    file: str


class FoundWhile(Answer):
    """A mark made while concrete was placed, as it stood when that ended, or stands now."""

    tag: str
    mark: str
    state: str


class PlacedUnder(Answer):
    """Placing that began under the release. `not_mended`: what was found and not mended by then."""

    began: Time
    told: Done
    found: list[FoundWhile]
    not_mended: list[str]


class ReleaseCertificate(ReleaseTold):
    """`entry_text`: the release's entry exactly as it was hashed. `code`: what its QR code holds."""

    project: str
    withdrawn: list[str]
    numbers: list[NumberInForce]
    marks: list[Mended]
    placing: PlacedUnder | None
    installed: dict[str, str]
    entry_text: str
    proof: Proof | None
    code: str


@router.get("/zones/{zone_id}/releases", responses=told(READS))
def releases_of_a_zone(zone_id: Id, call: Reads) -> list[ReleaseTold]:
    """Every release of the zone, the newest first, each with what became of it."""
    _, found = certificates.zone_certificates(call.desk, call.by, zone_id)
    return [ReleaseTold(**_release(one.told)) for one in found]


@router.get("/releases/{release_id}", responses=told(READS))
def one_release(release_id: Id, call: Reads) -> ReleaseCertificate:
    """One release as it stood, with the proof of its entry and the checkpoint that left with it."""
    certificate = certificates.certificate(call.desk, call.by, release_id).found.told
    words = words_of(certificate, time_text)
    return ReleaseCertificate(
        **_release(certificate),
        project=certificate.project,
        withdrawn=list(certificate.withdrawn),
        numbers=[NumberInForce(name=n, text=text, source=source) for n, text, source in words.numbers],
        marks=_marks(words),
        placing=_placing(certificate, words),
        installed={row[0]: row[1] for row in words.installed},
        entry_text=certificate.entry,
        proof=_proof(certificate.proof) if certificate.proof else None,
        code=code_text(certificate),
    )


def _release(told: Certificate) -> dict[str, Any]:
    since = told.since
    back, fell, later = since.pulled_back, since.fell, since.later
    return {
        "id": told.release,
        "zone": told.zone.id,
        "letter": told.zone.letter,
        "state": since.word,
        "released": _done(told.act),
        "statement": told.statement,
        "digest": told.digest,
        "gate_version": told.version,
        "not_asked_for": list(told.not_asked),
        "leaf": told.leaf,
        "pulled_back": PulledBack(**_done(back.act).model_dump(), reason=back.why) if back else None,
        "fell": Fell(sentence=fell.words, at=_time(fell.at), entry=fell.seq) if fell else None,
        "later_release": _done(later) if later else None,
    }


def _done(act: Act) -> Done:
    return Done(by=act.who, role=act.role, at=_time(act.at), entry=act.seq)


def _time(at: datetime) -> str:
    return time_text(at)


def _marks(words: Words) -> list[Mended]:
    return [
        Mended(tag=tag, mark=mark, repair=repair, overlap=overlap, asked_then=asked)
        for tag, mark, repair, overlap, asked in words.marks
    ]


def _placing(told: Certificate, words: Words) -> PlacedUnder | None:
    began = told.since.started
    if began is None:
        return None
    found = [FoundWhile(tag=tag, mark=mark, state=state) for tag, mark, state in words.found]
    return PlacedUnder(began=_time(began.at), told=_done(began.act), found=found, not_mended=list(words.left))


def _proof(proven: Proven) -> Proof:
    return Proof(
        index=proven.proof.index,
        size=proven.checkpoint.size,
        root=_base64(proven.checkpoint.root),
        hashes=[_base64(one) for one in proven.proof.hashes],
        checkpoint=proven.proof.note,
        with_release=proven.with_release,
        key=_base64(proven.key),
        fingerprint=fingerprint(proven.key),
        file=proven.proof.text,
    )


def _base64(raw: bytes) -> str:
    return base64.b64encode(raw).decode()
