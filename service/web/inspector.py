"""The inspector's pages together: history, proofs, checkpoints, zones as they stood, comparing, lists."""

from __future__ import annotations

from fastapi import APIRouter

from service.web import (
    closeout,
    inspector_checkpoints,
    inspector_compare,
    inspector_doers,
    inspector_entry,
    inspector_history,
    inspector_old_checkpoint,
    inspector_stood,
    inspector_timeline,
    inspector_timestamps,
    lists,
    record,
    release_certificate,
)

router = APIRouter(include_in_schema=False)
PARTS = (
    inspector_history, inspector_entry, inspector_old_checkpoint, inspector_checkpoints, inspector_timestamps,
    inspector_stood,
    inspector_compare, inspector_timeline, inspector_doers, release_certificate, closeout, record, lists,
)  # fmt: skip
for part in PARTS:
    router.include_router(part.router)
