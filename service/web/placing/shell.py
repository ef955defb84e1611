"""What the pages of a placing day share: their shell with its cautions, their key, and the way back."""

from __future__ import annotations

from starlette.responses import HTMLResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.placing.placing_day import PlacingDay
from service.domain.words.speech import later, tr
from service.web.forms.forms import Form
from service.web.placing.placed import WET_CAUTION
from service.web.serving.render import render
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import CAUTION_WEATHER

CAUTION_SCREENING = later(
    "What is worked out here is for guidance. The engineer of record, the specification, ACI 305 and the "
    "mix's maker say what is done, and whoever is in charge of the placing decides on site."
)
DEGREE = {"us": "F", "metric": "C"}


def rendered(
    template: str,
    page: object,
    day: PlacingDay,
    person: Person,
    form: Form | None = None,
    status: int = 200,
    *,
    said: str = "",
    cautions: tuple[str, ...] = (WET_CAUTION, CAUTION_WEATHER),
) -> Response:
    """A page of the zone's placing day. `status`: of a form that has to be put right."""
    seen = day.view.seen
    shell = shell_of(
        seen.project,
        seen.role,
        person,
        errors=form.errors if form else {},
        cautions=cautions,
        said=said,
        known=seen.head,
        zone_id=day.view.zone.id,
    )
    return HTMLResponse(render(template, page, **shell), status)


def root_of(day: PlacingDay) -> str:
    return f"/zones/{day.view.zone.id}/placing-day"


def back_words(day: PlacingDay) -> str:
    return tr("Back to the placing day of zone {letter}", letter=day.view.zone.letter)
