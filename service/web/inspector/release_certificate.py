"""A release's certificate: the page, the paper, and the proof as a file. What took its force stands first."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter
from markupsafe import Markup
from starlette.responses import HTMLResponse, Response

from service.actions.closeout.certificates import CertificateView, certificate
from service.domain.words.refusals import NotFound
from service.domain.words.speech import later, tr
from service.history.certificate.proof import ProofWords, proof_words
from service.history.certificate.told import PLACED_UNDER, STANDS
from service.history.certificate.words import Words, words_of
from service.history.proofs.by_hand import proof_file
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import moment, render
from service.web.serving.ways import shell_of

router = APIRouter(include_in_schema=False)

NO_DRAWING = later("The sketch had no scale at this release, so the zone cannot be drawn true to it.")


@dataclass(frozen=True, slots=True)
class OtherRelease:
    """Another release of the same zone."""

    words: str
    href: str


@dataclass(frozen=True, slots=True)
class CertificatePage:
    """`templates/inspector/certificate.html`. `drawing` is the same SVG that is set on paper; `code` the QR
    code: its path in modules and their number a side; `kind` as in title_block."""

    letter: str
    kind: str
    words: Words
    proof: ProofWords
    drawing: Markup
    drawn: str
    code: tuple[str, int]
    pdf_href: str
    proof_href: str
    entry_href: str
    stood_href: str
    zone_href: str
    others: tuple[OtherRelease, ...]


@router.get("/releases/{release_id}")
def certificate_page(desk: TheDesk, person: Signed, release_id: str) -> Response:
    view = certificate(desk, person.id, release_id)
    shell = shell_of(view.seen.project, view.seen.role, person)
    return HTMLResponse(render("inspector/certificate.html", _page(view), **shell))


@router.get("/releases/{release_id}/certificate.pdf")
def certificate_paper(desk: TheDesk, person: Signed, release_id: str) -> Response:
    found = certificate(desk, person.id, release_id).found
    headers = {"Content-Disposition": f'inline; filename="certificate-{found.told.name}.pdf"'}
    return Response(found.pdf(), media_type="application/pdf", headers=headers)


@router.get("/releases/{release_id}/proof")
def proof(desk: TheDesk, person: Signed, release_id: str) -> Response:
    """The proof of the release's entry (c2sp.org/tlog-proof@v1). Not found where no checkpoint covers it."""
    found = certificate(desk, person.id, release_id).found
    proven = found.told.proof
    if proven is None:
        raise NotFound
    headers = {"Content-Disposition": f'attachment; filename="{proof_file(found.told.seq)}"'}
    return Response(proven.proof.text.encode(), media_type="text/plain; charset=utf-8", headers=headers)


def _page(view: CertificateView) -> CertificatePage:
    found, told = view.found, view.found.told
    root, zone = f"/releases/{told.release}", f"/zones/{told.zone.id}"
    drawing = found.drawing
    return CertificatePage(
        letter=told.zone.letter,
        kind={STANDS: "ready", PLACED_UNDER: "placed"}.get(told.since.word, "held"),
        words=words_of(told, lambda at: moment(at, told.time_zone)),
        proof=proof_words(told),
        # Every text in it was escaped where it was drawn (service/papers/drawing/scale_drawing.py).
        drawing=Markup(drawing.svg.decode()) if drawing else Markup(),  # noqa: S704
        drawn=f"{drawing.key_words} {drawing.bar.words}" if drawing else tr(NO_DRAWING),
        code=found.code,
        pdf_href=f"{root}/certificate.pdf",
        proof_href=f"{root}/proof" if told.proof else "",
        entry_href=f"/projects/{told.project}/history?before={told.seq + 1}#entry-{told.seq}",
        stood_href=f"{zone}/as-it-stood?entry={told.seq}",
        zone_href=zone,
        others=tuple(
            OtherRelease(
                tr("{when}, entry {seq}", when=moment(other.at, told.time_zone), seq=f"{other.seq:,}"),
                f"/releases/{other.id}",
            )
            for other in view.others
        ),
    )
