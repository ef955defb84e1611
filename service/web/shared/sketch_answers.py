"""What the sketch's pages share: the answer in the project's head, the drawing, and told refusals."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from starlette.responses import HTMLResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.frame.reading import SketchView
from service.domain.nouns.site import Project, Px
from service.domain.words.refusals import BadInput, Conflict, Refusal, TooLarge
from service.domain.words.speech import tr
from service.web.drawings.drawing import SketchDrawing
from service.web.drawings.shown import Shown
from service.web.forms.choosing import ground_of
from service.web.forms.forms import Form
from service.web.forms.stills import Ground
from service.web.serving.errors import status_of
from service.web.serving.render import render
from service.web.serving.ways import shell_of
from service.web.shared.reasons import kind_of

PLAN = "plan"  # the name of the one sketch on a page: a fault of a place leads there

# What a form can be put right after; anything else is a page of its own.
TOLD = (BadInput, Conflict, TooLarge)


def answer(
    template: str,
    page: object,
    project: Project,
    role: str,
    person: Person,
    form: Form | None = None,
    *,
    status: int = 0,
    said: str = "",
) -> Response:
    """The page in its project's head; 422 when the form has errors, unless another status is told."""
    errors = form.errors if form else {}
    shell = shell_of(project, role, person, errors=errors, said=said)
    return HTMLResponse(render(template, page, **shell), status or (422 if errors else 200))


def refused(form: Form, refusal: Refusal, names: Mapping[str, str] | None = None) -> int:
    """Note a refusal beside the fields of this form, where its own names are others; the status to answer."""
    for field, words in (refusal.fields or {"": refusal.message}).items():
        form.wrong((names or {}).get(field, field), words)
    return status_of(refusal)


def plan_drawing(
    view: SketchView, *, label: str = "", home: Sequence[Px] = (), leave_out: str = ""
) -> SketchDrawing:
    """The sketch with its zones, walls and grid, to look at or choose places on.

    home: the ring it opens on, in the base frame. leave_out: the id of a zone that is not drawn.
    """
    sketch = view.seen.sketch
    zones = [
        (standing.zone.letter, standing.zone.outline, kind_of(standing.state))
        for standing in view.standings
        if standing.zone.id != leave_out
    ]
    label = label or tr(
        "{name}. Arrow keys move it, plus and minus bring it closer and further out.", name=sketch.name
    )
    return Shown(sketch).viewer(PLAN, label, ring=home, zones=zones, walls=view.site.walls.values())


def plan_ground(view: SketchView, *, home: Iterable[Px] = (), leave_out: str = "") -> Ground:
    """The same for choosing without scripts."""
    sketch = view.seen.sketch
    zones = [s.zone for s in view.standings if s.zone.id != leave_out]
    walls = [w for w in view.site.walls.values() if w.sketch_id == sketch.id and w.withdrawn is None]
    return ground_of(
        sketch,
        home=home,
        rings=[zone.outline for zone in zones],
        walls=[(wall.a, wall.b) for wall in walls],
        words=[(zone.letter, _middle(zone.outline)) for zone in zones],
    )


def _middle(ring: Iterable[Px]) -> Px:
    points = list(ring)
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return (min(xs) + max(xs)) // 2, (min(ys) + max(ys)) // 2
