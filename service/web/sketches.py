"""The sketch's own pages: everything below /sketches/{id} that is no zone, and the way to a new one."""

from __future__ import annotations

from fastapi import APIRouter

from service.web import sketch_pictures

router = APIRouter(include_in_schema=False)
router.include_router(sketch_pictures.router)
