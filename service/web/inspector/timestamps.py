"""Timestamps: have a checkpoint stamped by the authority outside, and download what it answered."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from service.actions.evidence import timestamping
from service.actions.frame.once import once_prepared
from service.web.forms.forms import Typed
from service.web.forms.sending import sent_before
from service.web.serving.guards import Signed, TheDesk

router = APIRouter(include_in_schema=False)
Size = Annotated[int, Path(ge=0, le=10**15)]


@router.post("/projects/{project_id}/timestamps")
def stamp_one(request: Request, desk: TheDesk, person: Signed, form: Typed, project_id: str) -> Response:
    """Asking takes the authority's time, so it is done before the transaction that keeps the answer."""

    def keep(answer: timestamping.Answer) -> tuple[int, str]:
        stamp = timestamping.keep_answer(desk, person.id, project_id, answer)
        return 303, f"/projects/{project_id}/checkpoints/{stamp.size}"

    def ask() -> timestamping.Answer:
        return timestamping.ask_authority(desk, person.id, project_id)

    key = form.value("request_key")
    if not key:
        return RedirectResponse(keep(ask())[1], 303)
    sent = f"{request.method} {request.url.path}\n".encode() + form.sent()
    with sent_before(form):
        status, address, _ = once_prepared(desk, person.id, key, sent, ask, keep)
    return RedirectResponse(address, status)


@router.get("/projects/{project_id}/checkpoints/{size}/timestamp.tsr")
def token_file(desk: TheDesk, person: Signed, project_id: str, size: Size) -> Response:
    """The authority's answer, byte for byte."""
    token, _ = timestamping.stamp_files(desk, person.id, project_id, size)
    return _file(token, "application/timestamp-reply", f"checkpoint-{size}.tsr")


@router.get("/projects/{project_id}/checkpoints/{size}/timestamp-chain.pem")
def chain_file(desk: TheDesk, person: Signed, project_id: str, size: Size) -> Response:
    """The authority's certificates as they were kept with its answer."""
    _, chain = timestamping.stamp_files(desk, person.id, project_id, size)
    return _file(chain, "application/x-pem-file", f"checkpoint-{size}-chain.pem")


def _file(content: bytes, kind: str, name: str) -> Response:
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(content, media_type=kind, headers=headers)
