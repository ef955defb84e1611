"""A certificate in words and rows, the same for its page and its paper: nothing is decided after this."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from service.domain.nouns.rules import WALK_STEP
from service.domain.patches.repair import NOT_SEALED, OPEN, SEALED
from service.domain.words.names import hold_cause, lot_state, mark_state, step_state
from service.domain.words.speech import later, tr, trc, trn
from service.history.certificate.told import FELL_AWAY, PLACED_UNDER, PULLED_BACK, STANDS, Certificate, Since
from service.history.closeout.told import (
    Act,
    HoldTold,
    MarkTold,
    PatchTold,
    RepairTold,
    ThingTold,
    Undone,
    ZoneTold,
)
from service.history.replay.standing import release_mark

When = Callable[[datetime], str]  # a moment as the project's clock tells it
Row = tuple[str, ...]

STATES = {
    PULLED_BACK: later("Pulled back"),
    FELL_AWAY: later("Fell away"),
    PLACED_UNDER: later("Placed under this release"),
    STANDS: later("Stands"),
}
INSTALLED = (later("penetrations"), later("seams"), later("terminations"))  # as the gate demands them
LIMITS = later(
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
    asked then), `found` (tag, mark, state: of those made during placing), `film` (lot, material, what it
    shows, state), `installed` (what, how judged), `steps` (hold point, state, who). `left`: what was found
    then and not mended before it was covered.
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
    found: tuple[Row, ...]
    left: tuple[str, ...]
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
        title=tr("Release certificate of zone {letter}", letter=zone.letter),
        struck=_struck(since, when),
        state=tr(STATES[since.word]),
        small=tr("as of entry {seq}, {when}", seq=f"{since.up_to:,}", when=when(since.at)),
        block=_block(told, when),
        signed=tuple(_signed(told, when)),
        not_asked=not_asked_words(told.not_asked),
        numbers=tuple((said.term, said.words, said.source) for said in told.numbers),
        marks=tuple(row for mark in marks for row in _mark_rows(mark, when)),
        found=tuple((mark.tag, _mark_words(mark), mark_state(mark.state)) for mark in since.found),
        left=since.placed.against if since.placed is not None and since.under else (),
        installed=tuple(_installed(told)),
        film=tuple(_film(zone)),
        steps=tuple(_steps(zone, when)),
        holds=tuple(_lifted(hold, hold.lifted, when) for hold in zone.holds if hold.lifted is not None),
        withdrawn=told.withdrawn,
        limits=tr(LIMITS),
    )


def _struck(since: Since, when: When) -> Struck | None:
    if since.word not in (PULLED_BACK, FELL_AWAY):
        return None
    lines = []
    if (back := since.pulled_back) is not None:
        lines.append(
            tr("By {who}, {when}: {why}", who=_who(back.act), when=_at(back.act, when), why=back.why)
        )
    if (fell := since.fell) is not None:
        lines.append(
            tr(
                "What it released changed, {when}, entry {seq}: {what}",
                when=when(fell.at),
                seq=f"{fell.seq:,}",
                what=fell.words,
            )
        )
    lines.append(tr("This release does not stand any more."))
    if (newer := since.later) is not None:
        lines.append(
            tr("A later release of the zone was made by {who}, {when}.", who=newer.who, when=_at(newer, when))
        )
    return Struck(tr(STATES[since.word]).upper(), tuple(lines))


def _block(told: Certificate, when: When) -> tuple[Row, ...]:
    zone = told.zone
    return (
        (tr("Zone"), f"{zone.name}, {zone.area.text if zone.area else tr('no scale set')}"),
        (tr("Project"), told.project_name),
        (tr("Sketch"), zone.sketch),
        (trc("zone", "Released"), when(told.act.at)),
        (tr("Entry of the history"), f"{told.seq:,}"),
    )


def _signed(told: Certificate, when: When) -> Iterator[Row]:
    zone, since = told.zone, told.since
    yield trc("zone", "Released by"), f"{_who(told.act)}, {when(told.act.at)}"
    mark = release_mark(told.seq, told.digest)
    yield (
        tr("Release mark"),
        tr("{mark}: a ready list shows the same while this release stands", mark=mark),
    )
    yield tr("Stating"), told.statement
    if zone.walked is not None:
        yield (
            tr("Punch walk"),
            tr("finished by {who}, {when}", who=_who(zone.walked), when=when(zone.walked.at)),
        )
    if (began := since.started) is not None:
        by = tr("told by {who}, entry {seq}", who=_who(began.act), seq=f"{began.act.seq:,}")
        yield tr("Placing began"), f"{when(began.at)}; {by}"
    if (placed := since.placed) is not None:
        how = tr("under this release") if since.under else tr("after this release had lost its force")
        poured = ", ".join(filter(None, (when(placed.at), placed.volume, how)))
        by = tr("marked by {who}, entry {seq}", who=_who(placed.act), seq=f"{placed.act.seq:,}")
        yield trc("zone", "Placed"), f"{poured}; {by}"


def _who(act: Act) -> str:
    return f"{act.who}, {tr(act.role)}"


def _at(act: Act, when: When) -> str:
    return tr("{when}, entry {seq}", when=when(act.at), seq=f"{act.seq:,}")


def not_asked_words(left_out: Sequence[str]) -> str:
    """What the gate did not ask for, in a sentence."""
    if not left_out:
        return tr("Nothing: the gate asked for all that it can check.")
    words = [tr(one) for one in left_out]
    if len(words) == 1:
        return tr(
            "The gate was not asked for {what}. That was not checked by it, and this release does not speak "
            "of it.",
            what=words[0],
        )
    return tr(
        "The gate was not asked for {list} and {last}. Those were not checked by it, and this release does "
        "not speak of it.",
        list=", ".join(words[:-1]),
        last=words[-1],
    )


# --- marks and their repairs -----------------------------------------------------------------------------


def _mark_words(mark: MarkTold) -> str:
    place = f", {mark.where}" if mark.where else ""
    return f"{tr(mark.kind)}, {mark.size}{place}"


def _mark_rows(mark: MarkTold, when: When) -> Iterator[Row]:
    """A row for every standing repair of a mark that stands; one row where nothing was logged on it."""
    if mark.undone is not None:
        return
    state = mark_state(mark.state)
    if mark.overlap and mark.state == SEALED:
        state = tr("{state}, overlap {overlap}", state=state, overlap=mark.overlap.text)
    why = f" ({mark.why})" if mark.why else ""
    what = f"{_mark_words(mark)}: {state}{why}"
    rows = [_patch_row(patch, when) for patch in mark.patches if patch.undone is None]
    rows += [_repair_row(repair, when) for repair in mark.repairs if repair.undone is None]
    if mark.under:
        rows.append((tr("under the patch logged on {tags}", tags=", ".join(mark.under)), "", ""))
    for row in rows or [(tr("no repair of its own"), "", "")]:
        yield (mark.tag, what, *row)


def _patch_row(patch: PatchTold, when: When) -> Row:
    what = f"{tr(patch.method)} ({patch.size})"
    if patch.over:
        what = tr("{patch}, also over {tags}", patch=what, tags=", ".join(patch.over))
    words = f"{what}; {patch.how}{_lot(patch.lot)}; {_done(patch.act, when)}"
    return words, patch.overlap.text if patch.overlap else tr("none told"), patch.minimum.text


def _repair_row(repair: RepairTold, when: When) -> Row:
    words = f"{tr(repair.method)}; {repair.how}{_lot(repair.lot)}; {_done(repair.act, when)}"
    lap = tr("lap {length}", length=repair.lap.text) if repair.lap else ""
    return words, lap, tr("lap {length}", length=repair.minimum.text) if repair.minimum else ""


def _lot(lot: str) -> str:
    return ", " + tr("lot {lot}", lot=lot) if lot else ""


def _done(act: Act, when: When) -> str:
    return f"{act.who}, {when(act.at)}"


# --- what is installed, film, hold points ----------------------------------------------------------------


def _installed(told: Certificate) -> Iterator[Row]:
    """How many of each kind there were and how each was judged, told too where the gate did not ask."""
    zone = told.zone
    kinds = (zone.penetrations, zone.seams, zone.edges)
    for demand, things in zip(INSTALLED, kinds, strict=True):
        none = tr("none, and so stated") if demand in zone.none_here else tr("none logged")
        said = _counted(demand, things) or none
        if demand in told.not_asked:
            said = tr("{what}; the gate did not ask", what=said)
        yield tr(demand).capitalize(), said
    if zone.bare:
        yield tr("Edge nobody described"), "; ".join(zone.bare)


def _counted(demand: str, things: Sequence[ThingTold]) -> str:
    """`3 seams: 2 walked and in order, 1 not walked`, or nothing."""
    tally = Counter(thing.state for thing in things if thing.undone is None)
    count = sum(tally.values())
    states = (_walk_words if demand == "seams" else _seal_words)(tally)
    told = ", ".join(words for state, words in states.items() if tally[state])
    called = {
        "penetrations": trn("{n} penetration: {told}", "{n} penetrations: {told}", count, told=told),
        "seams": trn("{n} seam: {told}", "{n} seams: {told}", count, told=told),
        "terminations": trn("{n} stretch of edge: {told}", "{n} stretches of edge: {told}", count, told=told),
    }
    return called[demand] if count else ""


def _seal_words(tally: Counter[str]) -> dict[str, str]:
    return {
        SEALED: trn("{n} sealed", "{n} sealed", tally[SEALED]),
        NOT_SEALED: trn("{n} not sealed", "{n} not sealed", tally[NOT_SEALED]),
        OPEN: trn("{n} with no seal logged", "{n} with no seal logged", tally[OPEN]),
    }


def _walk_words(tally: Counter[str]) -> dict[str, str]:
    return {
        SEALED: trn("{n} walked and in order", "{n} walked and in order", tally[SEALED]),
        NOT_SEALED: trn("{n} at fault", "{n} at fault", tally[NOT_SEALED]),
        OPEN: trn("{n} not walked", "{n} not walked", tally[OPEN]),
    }


def _film(zone: ZoneTold) -> Iterator[Row]:
    for laid in zone.laid:
        if laid.undone is None:
            shown = (
                tr("class {letter}", letter=laid.shown_class)
                if len(laid.shown_class) == 1
                else laid.shown_class
            )
            shows = ", ".join(words for words in (shown, laid.permeance, laid.thickness) if words)
            yield laid.number, laid.material, shows, lot_state(laid.state)


def _steps(zone: ZoneTold, when: When) -> Iterator[Row]:
    """Every hold point with how it stood, and who signed it last for the outline that held."""
    last = {signed.step: signed.act for signed in zone.signed if signed.counts}
    if zone.walked is not None:
        last.setdefault(WALK_STEP, zone.walked)  # it is signed by finishing the walk
    for step in zone.steps:
        act = last.get(step.step)
        yield tr(step.step), step_state(step.state), f"{_who(act)}, {when(act.at)}" if act else ""


def _lifted(hold: HoldTold, lifted: Undone, when: When) -> str:
    return tr(
        "{cause}: {reason}. Lifted by {who}, {when}: {why}",
        cause=hold_cause(hold.cause),
        reason=hold.reason.removesuffix("."),
        who=lifted.act.who,
        when=when(lifted.act.at),
        why=lifted.why,
    )
