"""How a zone's edge stands, in the crew's words: stretches, what nobody described, what each asks for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from service.actions.frame.reading import ZoneView
from service.actions.installed.edge_entry import CLEANED, DRY, PROTECTED, SEALED_ALL_ALONG, SEALED_QUESTION
from service.domain.gate.zone_facts import nm_per_px
from service.domain.installed.edges import edges_of, undescribed
from service.domain.installed.stretches import neighbours_along, path_nm, sides_of, state_of, whole_sides
from service.domain.installed.terminations import ENDS_AT, FAULT_WORDS, NEEDS, termination_faults
from service.domain.nouns.installed import IMPEDIMENT, JOINT, OVER_FOOTING, SHORT_OF_FOOTING, Termination
from service.domain.patches.repair import OPEN, SEALED, WITHDRAWN, Numbers
from service.domain.words.measures import Units, say_distance, say_length
from service.domain.words.names import edge_state
from service.domain.words.speech import later, tr, trn
from service.domain.words.temperatures import say_temperature
from service.web.drawings.drawing import ScheduleRow
from service.web.drawings.edge_drawing import EdgeDrawing, StretchToDraw, draw_edges
from service.web.drawings.shown import Shown
from service.web.shared.crew_words import css, starting

CAUTION_EDGE = later(
    "Along an open footing or trench keep rolls and spoil at least 2 ft (0.6 m) back from its edge. "
    "(Excavation by the numbers, a contractors' association.)"
)
SMALL = {
    OVER_FOOTING: later("asks whose word it is"),
    SHORT_OF_FOOTING: later("asks whose word it is"),
    JOINT: later("film runs on into the next zone"),
    IMPEDIMENT: later("a waterstop, dowels: sealed to"),
}


@dataclass(frozen=True, slots=True)
class Stand:
    """A stretch as it stands. `sides`: those it lies along; none where the outline was changed since."""

    stretch: Termination
    state: str
    faults: tuple[str, ...]
    sides: tuple[int, ...]
    long_nm: int
    whole: bool


@dataclass(frozen=True, slots=True)
class Bare:
    """A part of a side that nobody described."""

    side: int
    long_nm: int


def per_px(view: ZoneView) -> float:
    """Nanometres under a pixel of the base frame."""
    assert view.seen.sketch.scale is not None, "asked for where there is a scale"
    return nm_per_px(view.seen.sketch.scale)


def stand(view: ZoneView, stretch: Termination) -> Stand:
    outline, scale = view.zone.outline, per_px(view)
    faults = termination_faults(stretch, Numbers.of(view.seen.project.sheet))
    return Stand(
        stretch,
        state_of(stretch, faults),
        faults,
        sides_of(outline, stretch.path, scale),
        path_nm(stretch.path, scale),
        whole_sides(outline, stretch.path, scale),
    )


def stands(view: ZoneView) -> list[Stand]:
    """Every stretch of the zone, withdrawn ones too, in tag order."""
    return [stand(view, stretch) for stretch in view.terminations()]


def bare_parts(view: ZoneView) -> list[Bare]:
    """What nobody described, a row a side, in the order of the sides."""
    paths = [t.path for t in view.terminations() if t.withdrawn is None]
    long: dict[int, int] = {}
    for side, _, _, nm in undescribed(view.zone.outline, paths, per_px(view)):
        long[side] = long.get(side, 0) + nm
    return [Bare(side, nm) for side, nm in sorted(long.items())]


def side_lengths(view: ZoneView) -> list[int]:
    """Nanometres of each side, in the order of their numbers."""
    return [edge.length_nm for edge in edges_of(view.zone.outline, per_px(view))]


# --- words -----------------------------------------------------------------------------------------------


def where(of: Stand, units: Units) -> str:
    """`Side 3, 60 ft` or `part of side 3, 12 ft`."""
    if not of.sides:
        return tr("Not on the zone's outline as it is now")
    long, count = say_distance(of.long_nm, units), len(of.sides)
    numbers = ", ".join(map(str, of.sides))
    if count > 4:
        numbers = tr("{first} round to {last}", first=of.sides[0], last=of.sides[-1])
    if of.whole:
        return trn("Side {sides}, {length}", "Sides {sides}, {length}", count, sides=numbers, length=long)
    return trn(
        "Part of side {sides}, {length}",
        "Part of sides {sides}, {length}",
        count,
        sides=numbers,
        length=long,
    )


def why(of: Stand, numbers: Numbers, units: Units) -> str:
    """What is wrong with its seal, the short run-past with how much it lacks."""
    past = of.stretch.seal.runs_past_nm if of.stretch.seal else None
    told = [tr(FAULT_WORDS[code]) for code in of.faults]
    if "runs-past-short" in of.faults and past is not None:
        told.append(tr("short by {short}", short=say_length(numbers.lap_nm - past, units, "up")))
    return "; ".join(told)


def rows(view: ZoneView, told: Sequence[Stand], bare: Sequence[Bare], may: bool) -> tuple[ScheduleRow, ...]:
    """Round the edge in the order of its sides: what is described, then what is not, side by side."""
    found = [(of.sides[0] if of.sides else 0, 0, _row(view, of)) for of in told if of.state != WITHDRAWN]
    units, root = view.seen.project.units, f"/zones/{view.zone.id}/edges"
    for part in bare:
        row = ScheduleRow(
            tr("Side {number}", number=part.side),
            tr("Not described"),
            say_distance(part.long_nm, units),
            way=edge_state(OPEN),
            href=f"{root}?side={part.side}#describe" if may else "",
            kind="open",
        )
        found.append((part.side, 1, row))
    return tuple(row for *_, row in sorted(found, key=lambda each: each[:2]))


def withdrawn_rows(view: ZoneView, told: Sequence[Stand]) -> tuple[ScheduleRow, ...]:
    return tuple(_row(view, of) for of in told if of.state == WITHDRAWN)


def _row(view: ZoneView, of: Stand) -> ScheduleRow:
    units, numbers = view.seen.project.units, Numbers.of(view.seen.project.sheet)
    sub = [where(of, units)]
    if of.state == WITHDRAWN:
        sub = [tr("Withdrawn: {reason}", reason=of.stretch.withdrawn)]
    else:
        if of.stretch.kind == JOINT:
            sub.append(beyond_words(neighbours(view, of.stretch)))
        if of.faults and of.state != OPEN:
            sub.append(why(of, numbers, units))
    return ScheduleRow(
        of.stretch.tag,
        starting(tr(of.stretch.kind)),
        " · ".join(sub),
        way="" if of.state == WITHDRAWN else edge_state(of.state),
        href=f"/edges/{of.stretch.id}",
        kind=css(of.state),
    )


def summary(told: Sequence[Stand], bare: Sequence[Bare], units: Units) -> tuple[str, str, str]:
    """How the whole edge stands: the sentence, the quieter line, and the kind of verdict."""
    unsealed = sum(of.state not in (SEALED, WITHDRAWN) for of in told)
    against = []
    if bare:
        long = say_distance(sum(part.long_nm for part in bare), units)
        against.append(tr("{length} not described", length=long))
    if unsealed:
        against.append(trn("{n} stretch not sealed", "{n} stretches not sealed", unsealed))
    if against:
        quieter = tr("Film with no end described is film that goes on.")
        return starting(", ".join(against)), quieter, "short"
    return tr("All of the edge is described and sealed"), "", "holds"


def not_asked(view: ZoneView) -> str:
    """What is said where this project's gate does not ask for its edges."""
    if "terminations" in view.seen.project.sheet.gate_demands:
        return ""
    return tr(
        "Not asked for on this project: its zones may be released with edges not described or not sealed."
    )


def neighbours(view: ZoneView, stretch: Termination) -> tuple[str, ...]:
    """Letters of the zones of this sketch whose outline runs along the stretch."""
    rings = {
        zone.letter: zone.outline
        for zone in view.site.zones.values()
        if zone.sketch_id == stretch.sketch_id and zone.withdrawn is None and zone.id != stretch.zone_id
    }
    return neighbours_along(stretch.path, rings, per_px(view))


def beyond_words(letters: Sequence[str]) -> str:
    if not letters:
        return tr("no zone is outlined along it yet")
    named = letters[0]
    for letter in letters[1:]:
        named = tr("{list} and {last}", list=named, last=letter)
    return trn(
        "film runs on into zone {letters}", "film runs on into zones {letters}", len(letters), letters=named
    )


def needs(view: ZoneView, stretch: Termination) -> tuple[str, str]:
    """What must be done at a stretch of its kind, and with which numbers of the sheet."""
    sheet, units = view.seen.project.sheet, view.seen.project.units
    if stretch.kind == JOINT:
        lap = say_length(sheet.lap.nm, units, "up")
        return tr(NEEDS[JOINT]), tr("Run past the joint by at least {lap}.", lap=lap)
    if stretch.kind not in ENDS_AT:
        return tr(NEEDS[stretch.kind]), ""
    tape, warm = sheet.tape_width.nm, sheet.tape_temperature.mf
    return tr(NEEDS[stretch.kind]), tr(
        "Tape at least {tape} wide, or mastic, on clean dry film of {warm} or more.",
        tape=say_length(tape, units, "up"),
        warm=say_temperature(warm, units, down=False),
    )


def questions(kind: str) -> tuple[tuple[str, str], ...]:
    """(name, question) of the yes-or-no answers a seal of this kind is asked."""
    asked = [("sealed", SEALED_QUESTION.get(kind, SEALED_ALL_ALONG))]
    asked += [("protected", PROTECTED)] if kind == JOINT else []
    return tuple((name, tr(told)) for name, told in (*asked, ("cleaned", CLEANED), ("dry", DRY)))


def verdict_words(of: Stand, numbers: Numbers, units: Units) -> tuple[str, str, str]:
    """One stretch's verdict: the sentence, why, and its kind."""
    tag = of.stretch.tag
    if of.state == WITHDRAWN:
        return tr("{tag} is withdrawn", tag=tag), of.stretch.withdrawn or "", "stop"
    if of.state == SEALED:
        return tr("{tag} is sealed", tag=tag), "", "holds"
    told = f"{starting(why(of, numbers, units))}."
    stands = tr("{tag} is open", tag=tag) if of.state == OPEN else tr("{tag} is not sealed", tag=tag)
    return stands, told, "short"


def drawing(view: ZoneView, told: Sequence[Stand], label: str, only: str = "") -> EdgeDrawing:
    """The zone's edge as today's picture shows it. `only`: the id of the one stretch that is drawn."""
    shown = Shown(view.seen.sketch)
    drawn = [
        StretchToDraw(of.stretch.tag, of.state, shown.ring(of.stretch.path))
        for of in told
        if of.state != WITHDRAWN and of.stretch.id == (only or of.stretch.id)
    ]
    return draw_edges(shown.ring(view.zone.outline), shown.nm_per_px, drawn, label)
