"""The office's pages together: projects, people, rule sheet, release and placing."""

from __future__ import annotations

from fastapi import APIRouter

from service.web import (
    office_people,
    office_placed,
    office_project,
    office_pull_back,
    office_release,
    office_sheet,
)

router = APIRouter(include_in_schema=False)
for part in (office_project, office_people, office_sheet, office_release, office_pull_back, office_placed):
    router.include_router(part.router)
