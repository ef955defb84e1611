"""One patch over several marks: what it saves in words, and the patch form it leads to, filled in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from service.actions.frame.reading import ZoneView
from service.actions.marks import together
from service.domain.gate.zone_facts import nm_per_px
from service.domain.nouns import roles
from service.domain.nouns.site import Defect, Sketch
from service.domain.patches.patch_plan import Offer, PlanGroup
from service.domain.shapes.outlines import Point, Rectangle
from service.domain.words.measures import NM_PER_INCH, NM_PER_MM, Units, say_length, say_sides
from service.domain.words.speech import later, tr
from service.web.drawings.shown import Shown
from service.web.together.cutting import SHOWN_STEP, film_words, tape_words
from service.web.together.plan_meets import past_end

DEGREE, QUARTER_TURN, HALF_TURN = 1_000_000, 90_000_000, 180_000_000
UNIT_NM: dict[Units, int] = {"us": NM_PER_INCH, "metric": NM_PER_MM}
PLANNED = ("length", "width", "angle_deg", "offset_x", "offset_x_way", "offset_y", "offset_y_way")
LONGEST, MOST_ALSO = 40, 50
NUMBERS = {2: later("two"), 3: later("three"), 4: later("four"), 5: later("five"), 6: later("six")}
AS_PLANNED = later(
    "Size and place are filled in as planned. Where something else was laid, put that in: what is logged is "
    "what lies there."
)


@dataclass(frozen=True, slots=True)
class OfferLine:
    """One patch over this mark and its neighbours, as the mark's page offers it. `href`: for who may log."""

    title: str
    cut: str
    saves: str
    href: str


def offer_line(view: ZoneView, mark: Defect) -> OfferLine | None:
    """The offer for a mark whose required outline reaches other open ones."""
    found, around = together.offer_at(view, mark), view.around()
    if found is None or around is None:
        return None
    group, units = found.group, view.seen.project.units
    told = later("Cut {size}, {turn}.")
    if group.seamed:
        told = later("Cut {size}, {turn}. It is wider than the roll, so it is joined from strips.")
    cut = say_sides(group.length_nm, group.width_nm, units, "up")
    return OfferLine(
        tr("One patch over {tags}", tags=listed(group.tags)),
        tr(told, size=cut, turn=turn_words(view.seen.sketch, group)),
        saved_words(found, units),
        planned_href(view, group, not past_end([group], around))
        if roles.may(view.seen.role, "log a patch")
        else "",
    )


def listed(tags: Sequence[str]) -> str:
    """`B-01 and B-02`, `B-01, B-02 and B-05`."""
    if len(tags) < 2:
        return "".join(tags)
    return tr("{list} and {last}", list=", ".join(tags[:-1]), last=tags[-1])


def saved_words(found: Offer, units: Units) -> str:
    """Whether one patch takes less film and tape than one each, and by how much; never in its favour."""
    film = found.separate_film_nm2 - found.group.film_nm2
    tape = found.separate_tape_nm - found.group.tape_nm
    each = len(found.group.tags)
    return tr(
        "Uses {film} and {tape} than {count} patches.",
        film=_film_way(film, units),
        tape=_tape_way(tape, units),
        count=tr(NUMBERS[each]) if each in NUMBERS else str(each),
    )


def _film_way(saved: int, units: Units) -> str:
    if not saved:
        return tr("no more film")
    told = film_words(abs(saved), units, saved < 0)
    return tr("{area} less film", area=told) if saved > 0 else tr("{area} more film", area=told)


def _tape_way(saved: int, units: Units) -> str:
    if not saved:
        return tr("no more tape")
    told = tape_words(abs(saved), units, saved < 0)
    return tr("{length} less tape", length=told) if saved > 0 else tr("{length} more tape", length=told)


def turn_words(sketch: Sketch, group: PlanGroup) -> str:
    """How the patch lies on today's picture: `its length level`, `its length turned 39° clockwise`."""
    shape = as_shown(sketch, group)
    square = group.length_nm == group.width_nm
    angle = shape.angle_udeg + (QUARTER_TURN if group.length_nm < group.width_nm else 0)
    angle %= QUARTER_TURN if square else HALF_TURN
    degrees = round(angle / DEGREE)
    if square and degrees in (0, 90, 180):
        return tr("its sides level on the sketch")
    if degrees in (0, 180):
        return tr("its length level on the sketch")
    if degrees == 90:
        return tr("its length up and down on the sketch")
    if degrees > 90:
        told = later("its length turned {degrees}° counterclockwise from level")
        if square:
            told = later("its sides turned {degrees}° counterclockwise from level")
        return tr(told, degrees=180 - degrees)
    told = later("its length turned {degrees}° clockwise from level")
    if square:
        told = later("its sides turned {degrees}° clockwise from level")
    return tr(told, degrees=degrees)


def as_shown(sketch: Sketch, group: PlanGroup) -> Rectangle:
    """The patch as today's picture shows it."""
    shape = Shown(sketch).outline(Rectangle(group.length_nm, group.width_nm, group.angle_udeg))
    assert isinstance(shape, Rectangle), "a rectangle turned is one"
    return shape


def planned_href(view: ZoneView, group: PlanGroup, by_size: bool = True) -> str:
    """The patch form of one of its marks, the others ticked, size and place filled in.

    The form is that of a mark of this zone where there is one. Not `by_size`, and where strips are logged one
    by one, size and place are left to the tape.
    """
    first = logged_on(view, group)
    fields = [("by", "size"), *_fields(view, group, first)] if by_size and not group.seamed else []
    query = urlencode([*fields, *(("also", id) for id in group.marks if id != first.id)])
    return f"/defects/{first.id}/patch" + (f"?{query}" if query else "")


def logged_on(view: ZoneView, group: PlanGroup) -> Defect:
    """The mark whose form logs the patch: the first of this zone, where its neighbours are seen too."""
    marks = [view.site.defects[id] for id in group.marks]
    return next((mark for mark in marks if mark.zone_id == view.zone.id), marks[0])


def _fields(view: ZoneView, group: PlanGroup, first: Defect) -> list[tuple[str, str]]:
    units, shown, shape = view.seen.project.units, Shown(view.seen.sketch), as_shown(view.seen.sketch, group)
    # Rounding the place to a sixteenth is taken up by what is cut larger for placing, if that is asked.
    exact = view.seen.project.sheet.cut_allowance.nm < 2 * SHOWN_STEP[units]
    x, y = shown.offset(_middle_from(view, group, first))
    return [
        ("length", _bare(say_length(group.length_nm, units, "up"))),
        ("width", _bare(say_length(group.width_nm, units, "up"))),
        ("angle_deg", _decimal(shape.angle_udeg % HALF_TURN / DEGREE)),
        ("offset_x", _distance(abs(x), units, exact)),
        ("offset_x_way", "left" if x < 0 else "right"),
        ("offset_y", _distance(abs(y), units, exact)),
        ("offset_y_way", "up" if y < 0 else "down"),
    ]


def _middle_from(view: ZoneView, group: PlanGroup, mark: Defect) -> Point:
    """The patch's middle from this mark's centre, in the base frame; `offset_nm` is from the first mark's."""
    scale = view.seen.sketch.scale
    assert scale is not None, "there is no plan without a scale"
    (x0, y0), step = view.site.defects[group.marks[0]].at, nm_per_px(scale) / 1000
    dx, dy = group.offset_nm
    return dx + round((x0 - mark.at[0]) * step), dy + round((y0 - mark.at[1]) * step)


def _distance(nm: int, units: Units, exact: bool) -> str:
    return _decimal(nm / UNIT_NM[units]) if exact else _bare(say_length(nm, units))


def _bare(length: str) -> str:
    return length.rsplit(" ", 1)[0].replace(",", "")


def _decimal(value: float) -> str:
    return f"{value:.6f}".rstrip("0").rstrip(".")


# --- the form --------------------------------------------------------------------------------------------


def planned_fields(asked: Mapping[str, str]) -> dict[str, str]:
    """What a link of a plan fills the patch form in with; nothing where the address is no such link."""
    if asked.get("by") != "size":
        return {}
    given = {name: value for name in PLANNED if 0 < len(value := asked.get(name, "")) <= LONGEST}
    return {"by": "size", "shape": "rectangle", **given}


def ticked(ids: Iterable[str]) -> list[str]:
    """The other marks that a link of a plan ticks."""
    return [id for id in ids if len(id) <= LONGEST][:MOST_ALSO]
