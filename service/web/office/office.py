"""The office's pages together: projects, people, rule sheet, release and placing."""

from __future__ import annotations

from fastapi import APIRouter

from service.web.film import film, film_withdraw, sheet_layout
from service.web.office import (
    new,
    order,
    people,
    project,
    pull_back,
    ready_lists,
    release,
    sheet,
    zone_numbers,
)
from service.web.placing import calendar, placed

router = APIRouter(include_in_schema=False)
for part in (
    new, project, people, sheet, zone_numbers, film, film_withdraw,
    release, pull_back, placed, ready_lists, order,
    calendar, sheet_layout,
):  # fmt: skip
    router.include_router(part.router)
