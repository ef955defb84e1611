"""A photo by its own address, sent before the form that shows it: the same bytes twice are one."""

from __future__ import annotations

import errno
import hashlib
from pathlib import Path

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from service.actions.marks import uploads
from service.domain.words.refusals import BadInput
from service.domain.words.speech import tr
from service.web.serving import receipts
from service.web.serving.guards import Signed, TheDesk

router = APIRouter(include_in_schema=False)


@router.head("/blobs/{sha256}")
def there(desk: TheDesk, person: Signed, sha256: str) -> Response:
    return Response(status_code=200 if uploads.is_here(desk, person.id, sha256) else 404)


@router.put("/blobs/{sha256}")
async def take(request: Request, desk: TheDesk, person: Signed, sha256: str) -> Response:
    """The body is the photo itself. How large it may be is counted as it comes (`bodies.BodyLimit`)."""
    try:
        with desk.blobs.coming() as folder:
            source = Path(folder, "upload")
            if await _received(request, source) != sha256:
                told = tr("What came is not what its address says. Send it again.")
                raise BadInput(told, fields={"photo": told}, code="other-bytes")
            await run_in_threadpool(uploads.take_in, desk, person.id, sha256, source)
    except uploads.NoRoom as full:
        return receipts.error(507, full.code, full.message)
    except OSError as failed:
        if failed.errno not in (errno.ENOSPC, errno.EDQUOT):
            raise
        return receipts.trouble(507)
    return Response(status_code=204)


async def _received(request: Request, source: Path) -> str:
    """The body as a file; its SHA-256."""
    told = hashlib.sha256()
    with source.open("wb") as file:
        async for chunk in request.stream():
            told.update(chunk)
            file.write(chunk)
    return told.hexdigest()
