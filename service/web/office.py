"""The office's pages together: projects, people, rule sheet, release and placing."""

from __future__ import annotations

from fastapi import APIRouter

from service.web import (
    film,
    film_withdraw,
    office_calendar,
    office_new,
    office_order,
    office_people,
    office_placed,
    office_project,
    office_pull_back,
    office_ready_lists,
    office_release,
    office_sheet,
    sheet_layout,
    zone_numbers,
)

router = APIRouter(include_in_schema=False)
for part in (
    office_new, office_project, office_people, office_sheet, zone_numbers, film, film_withdraw,
    office_release, office_pull_back, office_placed, office_ready_lists, office_order,
    office_calendar, sheet_layout,
):  # fmt: skip
    router.include_router(part.router)
