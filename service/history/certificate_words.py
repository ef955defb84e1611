"""A certificate in words and rows, the same for its page and its paper: nothing is decided after this."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from service.domain.repair import NOT_SEALED, OPEN, SEALED
from service.domain.rules import WALK_STEP
from service.history.certificate_told import FELL_AWAY, PLACED_UNDER, PULLED_BACK, STANDS, Certificate, Since
from service.history.closeout_told import (
    Act,
    HoldTold,
    MarkTold,
    PatchTold,
    RepairTold,
    ThingTold,
    Undone,
    ZoneTold,
)
from service.history.standing import release_mark

When = Callable[[datetime], str]  # a moment as the project's clock tells it
Row = tuple[str, ...]

STATES = {
    PULLED_BACK: "Pulled back",
    FELL_AWAY: "Fell away",
    PLACED_UNDER: "Placed under this release",
    STANDS: "Stands",
}
SEALS = {SEALED: "sealed", NOT_SEALED: "not sealed", OPEN: "with no seal logged"}
WALKS = {SEALED: "walked and in order", NOT_SEALED: "at fault", OPEN: "not walked"}
# By the gate's demand for them: one, more, and how each state of one is told.
INSTALLED = (
    ("penetrations", ("penetration", "penetrations"), SEALS),
    ("seams", ("seam", "seams"), WALKS),
    ("terminations", ("stretch of edge", "stretches of edge"), SEALS),
)
LIMITS = (
    "A release is a quality record. It does not replace the engineer of record, the local code or the film "
    "maker's instructions."
)


@dataclass(frozen=True, slots=True)
class Struck:
    """What took the force of a release away: its word in capitals, then lines."""

    word: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Words:
    """`struck`: first thing on page and paper, None while nothing took its force.

    Rows in the order of their columns: `numbers` (what, number, source), `marks` (tag, mark, repair, overlap,
    asked then), `film` (lot, material, what it shows, state), `installed` (what, how judged), `steps` (hold
    point, state, who).
    """

    title: str
    struck: Struck | None
    state: str
    small: str
    block: tuple[Row, ...]
    signed: tuple[Row, ...]
    not_asked: str
    numbers: tuple[Row, ...]
    marks: tuple[Row, ...]
    installed: tuple[Row, ...]
    film: tuple[Row, ...]
    steps: tuple[Row, ...]
    holds: tuple[str, ...]
    withdrawn: tuple[str, ...]
    limits: str


def words_of(told: Certificate, when: When) -> Words:
    """The certificate's words; `when` says a moment in the project's time zone."""
    zone, since = told.zone, told.since
    marks = (*zone.marks, *told.reaching_in)
    return Words(
        title=f"Release certificate of zone {zone.letter}",
        struck=_struck(since, when),
        state=STATES[since.word],
        small=f"as of entry {since.up_to:,}, {when(since.at)}",
        block=_block(told, when),
        signed=tuple(_signed(told, when)),
        not_asked=not_asked_words(told.not_asked),
        numbers=tuple((said.term, said.words, said.source) for said in told.numbers),
        marks=tuple(row for mark in marks for row in _mark_rows(mark, when)),
        installed=tuple(_installed(told)),
        film=tuple(_film(zone)),
        steps=tuple(_steps(zone, when)),
        holds=tuple(_lifted(hold, hold.lifted, when) for hold in zone.holds if hold.lifted is not None),
        withdrawn=told.withdrawn,
        limits=LIMITS,
    )


def _struck(since: Since, when: When) -> Struck | None:
    if since.word not in (PULLED_BACK, FELL_AWAY):
        return None
    lines = []
    if (back := since.pulled_back) is not None:
        lines.append(f"By {_who(back.act)}, {_at(back.act, when)}: {back.why}")
    if (fell := since.fell) is not None:
        lines.append(f"What it released changed, {when(fell.at)}, entry {fell.seq:,}: {fell.words}")
    lines.append("This release does not stand any more.")
    if (later := since.later) is not None:
        lines.append(f"A later release of the zone was made by {later.who}, {_at(later, when)}.")
    return Struck(since.word.upper(), tuple(lines))


def _block(told: Certificate, when: When) -> tuple[Row, ...]:
    zone = told.zone
    return (
        ("Zone", f"{zone.name}, {zone.area.text if zone.area else 'no scale set'}"),
        ("Project", told.project_name),
        ("Sketch", zone.sketch),
        ("Released", when(told.act.at)),
        ("Entry of the history", f"{told.seq:,}"),
    )


def _signed(told: Certificate, when: When) -> Iterator[Row]:
    zone, since = told.zone, told.since
    yield "Released by", f"{_who(told.act)}, {when(told.act.at)}"
    mark = release_mark(told.seq, told.digest)
    yield "Release mark", f"{mark}: a ready list shows the same while this release stands"
    yield "Stating", told.statement
    if zone.walked is not None:
        yield "Punch walk", f"finished by {_who(zone.walked)}, {when(zone.walked.at)}"
    if (placed := since.placed) is not None:
        how = "under this release" if since.under else "after this release had lost its force"
        volume = f", {placed.volume}" if placed.volume else ""
        by = f"marked by {_who(placed.act)}, entry {placed.act.seq:,}"
        yield "Placed", f"{when(placed.at)}{volume}, {how}; {by}"


def _who(act: Act) -> str:
    return f"{act.who}, {act.role}"


def _at(act: Act, when: When) -> str:
    return f"{when(act.at)}, entry {act.seq:,}"


def not_asked_words(left_out: Sequence[str]) -> str:
    """What the gate did not ask for, in a sentence."""
    if not left_out:
        return "Nothing: the gate asked for all that it can check."
    told = ", ".join(left_out[:-1]) + (" and " if left_out[1:] else "") + left_out[-1]
    was = "That was" if len(left_out) == 1 else "Those were"
    return (
        f"The gate was not asked for {told}. {was} not checked by it, and this release does not speak of it."
    )


# --- marks and their repairs -----------------------------------------------------------------------------


def _mark_rows(mark: MarkTold, when: When) -> Iterator[Row]:
    """A row for every standing repair of a mark that stands; one row where nothing was logged on it."""
    if mark.undone is not None:
        return
    place = f", {mark.where}" if mark.where else ""
    reached = f", overlap {mark.overlap.text}" if mark.overlap and mark.state == SEALED else ""
    why = f" ({mark.why})" if mark.why else ""
    what = f"{mark.kind}, {mark.size}{place}: {mark.state}{reached}{why}"
    rows = [_patch_row(patch, when) for patch in mark.patches if patch.undone is None]
    rows += [_repair_row(repair, when) for repair in mark.repairs if repair.undone is None]
    if mark.under:
        rows.append((f"under the patch logged on {', '.join(mark.under)}", "", ""))
    for row in rows or [("no repair of its own", "", "")]:
        yield (mark.tag, what, *row)


def _patch_row(patch: PatchTold, when: When) -> Row:
    also = f", also over {', '.join(patch.over)}" if patch.over else ""
    words = f"{patch.method} ({patch.size}){also}; {patch.how}{_lot(patch.lot)}; {_done(patch.act, when)}"
    return words, patch.overlap.text if patch.overlap else "none told", patch.minimum.text


def _repair_row(repair: RepairTold, when: When) -> Row:
    words = f"{repair.method}; {repair.how}{_lot(repair.lot)}; {_done(repair.act, when)}"
    lap = f"lap {repair.lap.text}" if repair.lap else ""
    return words, lap, f"lap {repair.minimum.text}" if repair.minimum else ""


def _lot(lot: str) -> str:
    return f", lot {lot}" if lot else ""


def _done(act: Act, when: When) -> str:
    return f"{act.who}, {when(act.at)}"


# --- what is installed, film, hold points ----------------------------------------------------------------


def _installed(told: Certificate) -> Iterator[Row]:
    """How many of each kind there were and how each was judged, told too where the gate did not ask."""
    zone = told.zone
    kinds = (zone.penetrations, zone.seams, zone.edges)
    for (demand, called, states), things in zip(INSTALLED, kinds, strict=True):
        none = "none, and so stated" if demand in zone.none_here else "none logged"
        asked = "; the gate did not ask" if demand in told.not_asked else ""
        yield demand.capitalize(), (_counted(things, called, states) or none) + asked
    if zone.bare:
        yield "Edge nobody described", "; ".join(zone.bare)


def _counted(things: Sequence[ThingTold], called: tuple[str, str], states: dict[str, str]) -> str:
    tally = Counter(thing.state for thing in things if thing.undone is None)
    count = sum(tally.values())
    told = ", ".join(f"{tally[state]:,} {words}" for state, words in states.items() if tally[state])
    return f"{count:,} {called[count > 1]}: {told}" if count else ""


def _film(zone: ZoneTold) -> Iterator[Row]:
    for laid in zone.laid:
        if laid.undone is None:
            shown = f"class {laid.shown_class}" if len(laid.shown_class) == 1 else laid.shown_class
            shows = ", ".join(words for words in (shown, laid.permeance, laid.thickness) if words)
            yield laid.number, laid.material, shows, laid.state


def _steps(zone: ZoneTold, when: When) -> Iterator[Row]:
    """Every hold point with how it stood, and who signed it last for the outline that held."""
    last = {signed.step: signed.act for signed in zone.signed if signed.counts}
    if zone.walked is not None:
        last.setdefault(WALK_STEP, zone.walked)  # it is signed by finishing the walk
    for step in zone.steps:
        act = last.get(step.step)
        yield step.step, step.state, f"{_who(act)}, {when(act.at)}" if act else ""


def _lifted(hold: HoldTold, lifted: Undone, when: When) -> str:
    by = f"Lifted by {lifted.act.who}, {when(lifted.act.at)}"
    return f"{hold.cause}: {hold.reason.removesuffix('.')}. {by}: {lifted.why}"
