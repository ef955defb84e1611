"""The form of a layout of sheets: what was sent into the contract's forms, and what it offers.

It is sent by GET, so that a look records nothing, can be gone back to, and is the address of its own cost.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from starlette.datastructures import FormData
from starlette.requests import Request

from service.actions.film.film import judged
from service.actions.film.layout_entry import EDGE_KINDS, MOST_OPENINGS, NOT_DESCRIBED, STARTS
from service.actions.film.layout_ground import Ground, LeastLap
from service.domain.installed.terminations import E1643_PERIMETER
from service.domain.nouns.installed import JOINT, Material
from service.domain.nouns.rules import PRACTICE
from service.domain.nouns.site import Px, Zone
from service.domain.rule_sheet.effective import films_laid
from service.domain.words.measures import Units, say_distance, say_length
from service.domain.words.speech import later, tr
from service.web.drawings.drawing import CheckBox, Choice, SketchDrawing
from service.web.drawings.shown import Shown
from service.web.forms.choosing import PAIR, RING, Chosen, choose, ground_of
from service.web.forms.forms import Form
from service.web.forms.placed import read_ring, ring_text
from service.web.shared.crew_words import FORM_UNIT, css, starting

WAY, ASK = "way", "ask"  # the prefix of the arrow's fields; the button that asks for the sheets
ROLL_UNIT: dict[Units, str] = {"us": "ft", "metric": "m"}
TYPED = "typed"  # instead of a film: its roll is typed
DRAWN, DEGREES = "drawn", "degrees"
# Eighths of a turn on the sketch from the right, clockwise.
WAYS = (
    Choice("0", later("→ To the right")),
    Choice("45", later("↘ Right and down")),
    Choice("90", later("↓ Down")),
    Choice("135", later("↙ Left and down")),
    Choice("180", later("← To the left")),
    Choice("225", later("↖ Left and up")),
    Choice("270", later("↑ Up")),
    Choice("315", later("↗ Right and up")),
    Choice(DRAWN, later("As the arrow I draw")),
    Choice(DEGREES, later("In degrees")),
)
BEGINS = (
    Choice("left", later("On the left"), later("looking the way the concrete goes")),
    Choice("right", later("On the right"), later("looking the way the concrete goes")),
)
LENGTHS = ("roll_width", "roll_length", "side_lap", "end_lap", "offset")
# Where the action's own names of fields stand in this form.
NAMES = {"direction": "way", "zones": "zones"}


@dataclass(frozen=True, slots=True)
class PastField:
    """How far film runs past one kind of edge: the field, its words, what is offered, where that is from."""

    name: str
    label: str
    value: str
    hint: str


@dataclass(frozen=True, slots=True)
class LayoutForm:
    """`templates/parts/layout_form.html`. `zones`: of a slab, to choose from; `opening_rows`: (value, words)
    of the openings drawn, to take out."""

    action: str
    zones: tuple[CheckBox, ...]
    films: tuple[Choice, ...]
    values: Mapping[str, str]
    roll_unit: str
    unit: str
    units: str
    lap_hint: str
    ways: tuple[Choice, ...]
    starts: tuple[Choice, ...]
    sketch: SketchDrawing
    chosen: Chosen
    past: tuple[PastField, ...]
    slab_words: str
    opening: SketchDrawing
    ring: Chosen
    opening_rows: tuple[tuple[str, str], ...]
    opening_open: bool


@dataclass(frozen=True, slots=True)
class Sent:
    """What was sent: `asked` where the sheets are asked for, `pressed` where a picture or an opening was."""

    form: Form
    asked: bool
    pressed: bool
    way: Chosen
    ring: Chosen
    openings: tuple[tuple[tuple[float, float], ...], ...]

    def zone_ids(self, zones: tuple[Zone, ...]) -> list[str]:
        """The zones that were ticked; all of them where the form was not sent yet."""
        ticked = [zone.id for zone in zones if self.form.flag(f"zone-{zone.id}")]
        return ticked if self.asked or self.pressed else [zone.id for zone in zones]


def sent_form(request: Request) -> Form:
    """A form that was sent by GET."""
    return Form(FormData([(name, text) for name, text in request.query_params.multi_items()]))


def read_sent(form: Form, ground: Ground, *, posted: bool = False) -> Sent:
    """The places and openings of a form. `posted`: the keeping, which asks whatever its button is called."""
    way, ring = choices_on(form.values, ground)
    openings, changed = _openings(form, ring)
    if len(ring.settled) >= 3 and not ring.pressed:
        ring = choose({}, _plan(ground), RING, units=ground.seen.project.units)
    pressed = way.pressed or ring.pressed or changed
    asked = (posted or form.has(ASK)) and not pressed
    return Sent(form, asked, pressed, way, ring, openings)


def choices_on(values: Mapping[str, str], ground: Ground) -> tuple[Chosen, Chosen]:
    """The arrow and the opening being drawn, each as far as it was pressed."""
    plan, units = _plan(ground), ground.seen.project.units
    ends = (tr("the start of the arrow"), tr("its end"))
    return choose(values, plan, PAIR, prefix=WAY, units=units, words=ends), choose(
        values, plan, RING, units=units
    )


def _plan(ground: Ground) -> Any:
    outlines = [zone.outline for zone in ground.zones]
    home = [corner for outline in outlines for corner in outline]
    names = [(zone.letter, zone.outline[0]) for zone in ground.zones]
    return ground_of(ground.seen.sketch, home=home, rings=outlines, words=names)


def _openings(form: Form, ring: Chosen) -> tuple[tuple[tuple[tuple[float, float], ...], ...], bool]:
    """The openings so far, the one just drawn among them, and whether a button about them was pressed."""
    try:
        listed = json.loads(form.value("openings") or "[]")
        rings = [read_ring(json.dumps(one)) for one in listed][:MOST_OPENINGS]
    except (ValueError, TypeError, RecursionError):
        rings = []
    do = form.value("do_opening")
    if do.startswith("drop-") and do[5:].isdecimal() and int(do[5:]) < len(rings):
        del rings[int(do[5:])]
    if len(ring.settled) >= 3 and not ring.pressed:
        rings.append(ring.settled)
    return tuple(rings), bool(do)


def given_of(sent: Sent, ground: Ground, *, slab: bool) -> dict[str, Any]:
    """The form in the contract's forms. What is missing is told by the action."""
    form, units = sent.form, ground.seen.project.units
    given: dict[str, Any] = {"openings": [list(map(list, ring)) for ring in sent.openings]}
    if slab:
        given["zones"] = sent.zone_ids(ground.zones)
    film = form.value("film")
    given["material"] = "" if film == TYPED else film
    for name in LENGTHS:
        unit = ROLL_UNIT[units] if name.startswith("roll") else FORM_UNIT[units]
        form.values.setdefault(f"{name}_unit", unit)
        if form.value(name).strip() and (film == TYPED or not film or not name.startswith("roll")):
            given[name] = form.with_unit(name)
    given["starts"] = form.value("starts")
    given["direction"] = _direction(sent)
    given["past"] = {}
    for number, kind in enumerate(EDGE_KINDS):
        name = f"past_{number}"
        form.values.setdefault(f"{name}_unit", FORM_UNIT[units])
        if form.value(name).strip():
            given["past"][kind] = form.with_unit(name)
    return given


def _direction(sent: Sent) -> Any:
    """Degrees, or the two ends of the arrow; an arrow that was drawn counts where nothing else was chosen."""
    chosen, ends = sent.form.value("way"), sent.way.settled
    if chosen == DRAWN or (not chosen and len(ends) == 2):
        return {"from": list(ends[0]), "to": list(ends[1])} if len(ends) == 2 else None
    typed = sent.form.value("degrees") if chosen == DEGREES else chosen
    try:
        return float(typed)
    except ValueError:
        return None


def names_of_fields() -> dict[str, str]:
    """Where the action's own names of fields stand in this form."""
    return NAMES | {"material": "film"} | {f"past.{kind}": f"past_{n}" for n, kind in enumerate(EDGE_KINDS)}


# --- what it offers --------------------------------------------------------------------------------------


def layout_form(ground: Ground, sent: Sent, action: str, *, slab: bool) -> LayoutForm:
    """The form as it is shown: what was sent, else what is offered."""
    units, shown = ground.seen.project.units, Shown(ground.seen.sketch)
    values = _values(ground, sent)
    film = next((one for one in ground.films() if one.id == values["film"]), None)
    least = ground.least_lap(film) if ground.zones else None
    zones = [(zone.letter, zone.outline, css("laying")) for zone in ground.zones]
    home: list[Px] = [corner for zone in ground.zones for corner in zone.outline]
    chosen = set(sent.zone_ids(ground.zones))
    boxes = (CheckBox(f"zone-{z.id}", tr("Zone {letter}", letter=z.letter), z.name, z.id in chosen)
             for z in ground.zones)  # fmt: skip
    return LayoutForm(
        action=action,
        zones=tuple(boxes) if slab else (),
        films=(*(_film(one, units) for one in ground.films()), _typed()),
        values=values,
        roll_unit=ROLL_UNIT[units],
        unit=FORM_UNIT[units],
        units=units,
        lap_hint=_lap_hint(least, units),
        ways=tuple(Choice(way.value, tr(way.words)) for way in WAYS),
        starts=tuple(Choice(of.value, tr(of.words), tr(of.small)) for of in BEGINS),
        sketch=shown.viewer("arrow", tr("Press where the placing starts and where it goes"), ring=home,
                            zones=zones),
        chosen=sent.way,
        past=tuple(_past(ground, kind, sent) for kind in ground.kinds_there()),
        slab_words=_slab_words(ground),
        opening=shown.viewer("opening", tr("Press the corners of an opening"), ring=home, zones=zones),
        ring=sent.ring,
        opening_rows=tuple(
            (f"drop-{n}", tr("Take out opening {n}", n=n + 1)) for n in range(len(sent.openings))
        ),
        opening_open=bool(sent.openings) or sent.ring.pressed,
    )  # fmt: skip


def _lap_hint(least: LeastLap | None, units: Units) -> str:
    if least is None:
        return ""
    lap = say_length(least.nm, units, "up")
    return tr("At least {lap}: {source}. More may be chosen.", lap=lap, source=tr(least.source))


def _values(ground: Ground, sent: Sent) -> dict[str, str]:
    names = ("film", "way", "degrees", "starts", *LENGTHS)
    values = {name: sent.form.value(name) for name in names}
    values["film"] = values["film"] or _offered(ground)
    values["starts"] = values["starts"] or STARTS[0]
    if not values["way"] and len(sent.way.settled) == 2:
        values["way"] = DRAWN
    values["openings"] = json.dumps([json.loads(ring_text(ring)) for ring in sent.openings])
    return values


def _offered(ground: Ground) -> str:
    """The film that lies here already, else the newest that the sheet takes; one whose roll is stated."""
    stated = [film for film in ground.films() if film.roll_width_nm and film.roll_length_nm]
    laid = [film for zone in ground.zones for film in films_laid(ground.site, zone) if film in stated]
    fit = [film for film in reversed(stated) if not judged(film, ground.seen.project.sheet).faults]
    return next((film.id for film in (*laid, *fit, *stated)), TYPED)


def _film(film: Material, units: Units) -> Choice:
    if film.roll_width_nm is None or film.roll_length_nm is None:
        return Choice(film.id, film.name, tr("nobody stated its roll: write it below"))
    wide, long = (say_distance(nm, units) for nm in (film.roll_width_nm, film.roll_length_nm))
    return Choice(film.id, film.name, tr("rolls of {width} by {length}", width=wide, length=long))


def _typed() -> Choice:
    return Choice(TYPED, tr("Another roll"), tr("its size is written below"))


def _past(ground: Ground, kind: str, sent: Sent) -> PastField:
    named = kind or NOT_DESCRIBED
    number, units = EDGE_KINDS.index(named), ground.seen.project.units
    lap_nm = ground.least_lap(None).nm
    nm = ground.past_default_nm(kind, lap_nm)
    name = f"past_{number}"
    value = sent.form.value(name) or (say_length(nm, units, "up") if nm else "0")
    return PastField(name, starting(tr(named)), value, _past_hint(kind, nm))


def _past_hint(kind: str, nm: int) -> str:
    """Where the length offered is from."""
    if not kind:
        return tr("Film ends at the line until the edge is described.")
    if kind == JOINT:
        return tr("The lap, for the next zone's film: {source}.", source=tr(PRACTICE))
    if nm:
        return tr("Turned up by the slab's thickness: {source}.", source=tr(E1643_PERIMETER))
    return tr("To the line: {source}.", source=tr(PRACTICE))


def _slab_words(ground: Ground) -> str:
    if not ground.zones:
        return ""
    nm, planned = ground.slab_nm()
    thick = say_length(nm, ground.seen.project.units)
    if planned:
        return tr("The slab is planned {thickness} thick.", thickness=thick)
    return tr("Nobody planned the slab's thickness: {thickness} is taken, {source}.", thickness=thick,
              source=tr(PRACTICE))  # fmt: skip
