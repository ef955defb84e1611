"""The inspector's pages together: history, proofs, checkpoints, zones as they stood, comparing, lists."""

from __future__ import annotations

from fastapi import APIRouter

from service.web.inspector import (
    checkpoints,
    closeout,
    compare,
    doers,
    entry,
    history,
    old_checkpoint,
    record,
    release_certificate,
    stood,
    timeline,
    timestamps,
)
from service.web.together import lists

router = APIRouter(include_in_schema=False)
PARTS = (
    history, entry, old_checkpoint, checkpoints, timestamps,
    stood,
    compare, timeline, doers, release_certificate, closeout, record, lists,
)  # fmt: skip
for part in PARTS:
    router.include_router(part.router)
