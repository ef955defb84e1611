"""The inspector's pages together: the history, zones as they stood, two moments compared, printed lists."""

from __future__ import annotations

from fastapi import APIRouter

from service.web import inspector_compare, inspector_history, inspector_stood, lists

router = APIRouter(include_in_schema=False)
for part in (inspector_history, inspector_stood, inspector_compare, lists):
    router.include_router(part.router)
