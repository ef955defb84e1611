"""The inspector's pages together: the history, a project and a zone as they stood, two moments compared."""

from __future__ import annotations

from fastapi import APIRouter

from service.web import inspector_compare, inspector_history, inspector_stood

router = APIRouter(include_in_schema=False)
for part in (inspector_history, inspector_stood, inspector_compare):
    router.include_router(part.router)
