"""One zone of the closeout in words and rows: who walked, released and placed it, and everything in it."""

from __future__ import annotations

from collections.abc import Iterator

from service.domain.nouns.rules import WALK_STEP
from service.domain.patches.repair import OPEN, WITHDRAWN
from service.domain.words.names import hold_cause, lot_state, state_of, step_state, zone_state
from service.domain.words.speech import later, tr, trc
from service.history.closeout.mark_words import css, mark_rows
from service.history.closeout.placing_words import depth_table, measured_facts
from service.history.closeout.sheet import (
    Cell,
    Row,
    Table,
    When,
    ZonePart,
    at,
    by,
    cell,
    starting,
    taken_back,
    who,
)
from service.history.closeout.told import ThingTold, ZoneTold
from service.history.replay.standing import READY

VERBS = {
    "penetration": later("placed by {by}"),
    "seam": later("drawn by {by}"),
    "termination": later("described by {by}"),
}


def stood_words(state: str) -> str:
    """How the zone stands, or that it was taken off the sketch."""
    said = zone_state(state)
    return tr(said) if said == state else said


def zone_part(zone: ZoneTold, when: When) -> ZonePart:
    lead, reasons = _reasons(zone)
    return ZonePart(
        id=zone.id,
        name=f"zone-{zone.letter}" if zone.undone is None else f"zone-{zone.id}",
        letter=zone.letter,
        block=(
            (tr("Zone"), zone.name),
            (tr("Area"), zone.area.text if zone.area else tr("no scale is set")),
            (tr("Sketch"), zone.sketch),
            (tr("Punch walk"), when(zone.walked.at) if zone.walked else trc("walk", "none that counts")),
            (
                trc("zone", "Placed"),
                when(zone.placed.at) if zone.placed else trc("zone", "not placed"),
            ),
        ),
        stands=starting(stood_words(zone.state)),
        small=_small(zone, when),
        kind=css(zone.state) if zone.undone is None else "clear",
        facts=tuple(_facts(zone, when)),
        reasons_lead=lead,
        reasons=reasons,
        tables=tuple(table for table in _tables(zone, when) if table.rows),
    )


def _small(zone: ZoneTold, when: When) -> str:
    if zone.undone is not None:
        return f"{zone.undone.why} ({by(zone.undone.act, when)})"
    release = zone.releases[-1] if zone.releases else None
    if release is None:
        return trc("zone", "never released")
    return tr(
        "released by {who}, {when}: {force}",
        who=release.act.who,
        when=when(release.act.at),
        force=tr(release.force),
    )


def _reasons(zone: ZoneTold) -> tuple[str, tuple[str, ...]]:
    """What stood against it when it was placed without release; else what the gate finds now."""
    if zone.placed is not None and zone.placed.without_release:
        return tr("It was placed without release. What stood against it then:"), zone.placed.against
    if zone.placed is not None:
        return tr("Found since it was placed, as the facts stand now:"), zone.against
    if zone.started is not None and zone.state == READY:
        return tr("Found since placing began, not mended yet:"), zone.against
    return tr("What the gate finds as the facts stand now:"), zone.against


def _facts(zone: ZoneTold, when: When) -> Iterator[tuple[str, str]]:
    yield trc("zone", "Outlined"), by(zone.outlined, when)
    if zone.walked is not None:
        yield tr("Punch walk"), by(zone.walked, when) + (f": {zone.walk_note}" if zone.walk_note else "")
    for release in zone.releases:
        told = tr("{by}, stating: {statement}", by=by(release.act, when), statement=release.statement)
        yield trc("zone", "Released"), told
        if release.pulled_back is not None:
            yield tr("Pulled back"), f"{by(release.pulled_back.act, when)}: {release.pulled_back.why}"
        else:
            yield tr("What became of it"), starting(tr(release.force))
    if zone.started is not None:
        told = tr("{when}. Told by {by}", when=when(zone.started.at), by=by(zone.started.act, when))
        yield tr("Placing began"), told
    if zone.placed is not None:
        volume = f", {zone.placed.volume}" if zone.placed.volume else ""
        when_placed = f"{when(zone.placed.at)}{volume}"
        told = tr("{when}. Marked so by {by}", when=when_placed, by=by(zone.placed.act, when))
        yield trc("zone", "Placed"), told
        if zone.placed.against and not zone.placed.without_release:
            yield tr("Found during placing, not mended before it was covered"), "; ".join(zone.placed.against)
    yield from measured_facts(zone, when)
    for said in zone.more_asked:
        yield tr("{number}, asked here", number=said.term), f"{said.words} ({said.source})"
    for what, act in zip(zone.none_here, zone.none_stated, strict=True):
        yield tr("Stated to have no {things}", things=tr(what)), by(act, when)
    if zone.bare:
        yield tr("Edge that nobody described"), "; ".join(zone.bare)
    if zone.reaching_in:
        yield tr("Marks of neighbours that reach in"), ", ".join(zone.reaching_in)


def _tables(zone: ZoneTold, when: When) -> Iterator[Table]:
    called = tr("zone {letter}", letter=zone.letter)
    yield Table(
        tr("Marks and every repair of them, {zone}", zone=called),
        (
            tr("Tag"),
            tr("Mark"),
            tr("Repair"),
            tr("Overlap or lap"),
            tr("Asked then"),
            tr("Second look"),
            tr("Stands"),
        ),
        (0.8, 1.7, 2.2, 0.9, 0.8, 1.3, 1.2),
        tuple(row for mark in zone.marks for row in mark_rows(mark, when)),
    )
    for caption, kind, things, made in (
        (
            tr("Penetrations and their seals, {zone}", zone=called),
            "penetration",
            zone.penetrations,
            tr("Seal"),
        ),
        (tr("Seams and their laps, {zone}", zone=called), "seam", zone.seams, trc("seam", "Walk")),
        (tr("Edges and how the film ends there, {zone}", zone=called), "termination", zone.edges, tr("Seal")),
    ):
        heads = (tr("Tag"), tr("What"), made, tr("Logged by"), tr("Stands"))
        rows = tuple(_thing_row(kind, thing, when) for thing in things)
        yield Table(caption, heads, (0.8, 1.6, 2.4, 1.6, 1.2), rows)
    yield _film(zone, called, when)
    yield depth_table(zone, called, when)
    yield from _signed(zone, called, when)


def _film(zone: ZoneTold, called: str, when: When) -> Table:
    rows = []
    for laid in zone.laid:
        shown = tr("class: {words}", words=laid.shown_class)
        if len(laid.shown_class) == 1:
            shown = tr("class {letter}", letter=laid.shown_class)
        gone = taken_back(laid.undone, when) if laid.undone else ""
        cells = (
            cell(laid.number),
            cell(laid.material, laid.note),
            cell(shown, laid.permeance, laid.thickness),
            cell(who(laid.act), at(laid.act, when)),
            cell(gone or lot_state(laid.state), "" if gone else laid.faults),
        )
        rows.append(Row(cells, kind="withdrawn" if gone else ""))
    heads = (tr("Lot"), tr("Material"), tr("What it shows"), tr("Laid, logged by"), tr("Stands"))
    return Table(tr("Film laid, {zone}", zone=called), heads, (0.8, 1.6, 1.4, 1.8, 1.4), tuple(rows))


def _signed(zone: ZoneTold, called: str, when: When) -> Iterator[Table]:
    rows = []
    for step in zone.steps:
        given = [signed for signed in zone.signed if signed.step == step.step]
        lines = [
            (
                tr("signed by {by}", by=by(s.act, when))
                if s.accepted
                else tr("refused by {by}", by=by(s.act, when))
            )
            + (f": {s.note}" if s.note else "")
            + ("" if s.counts else f" ({tr('for an outline or a scale that has changed since')})")
            for s in given
        ]
        if step.step == WALK_STEP and zone.walked is not None:
            lines.append(tr("by finishing the walk, {by}", by=by(zone.walked, when)))
        rows.append(
            Row(
                (
                    cell(starting(tr(step.step))),
                    cell(step_state(step.state)),
                    cell(*lines) if lines else cell(tr("nobody")),
                )
            )
        )
    yield Table(
        tr("Hold points, {zone}", zone=called),
        (tr("Hold point"), tr("Stands"), trc("hold point", "Signed")),
        (1.8, 0.8, 3),
        tuple(rows),
    )
    held = [
        Row(
            (
                cell(starting(hold_cause(hold.cause)), hold.reason),
                cell(who(hold.act), at(hold.act, when)),
                cell(hold.lifted.why, by(hold.lifted.act, when)) if hold.lifted else cell(tr("not lifted")),
            )
        )
        for hold in zone.holds
    ]
    heads = (tr("Held for"), tr("By"), trc("hold", "Lifted"))
    yield Table(tr("Holds of the whole zone, {zone}", zone=called), heads, (1.4, 1.6, 2), tuple(held))


# --- what is installed -----------------------------------------------------------------------------------


def _thing_row(kind: str, thing: ThingTold, when: When) -> Row:
    made = thing.made
    seal = cell(tr("nothing logged"))
    if made is not None:
        seal = cell(
            starting(made.words), made.how, tr("lot {lot}", lot=made.lot) if made.lot else "", made.note
        )
    logged = cell(who(made.act), at(made.act, when)) if made else cell(tr("nobody"))
    cells = (
        cell(thing.tag),
        cell(
            starting(f"{thing.kind}, {thing.size}"),
            thing.where,
            thing.note,
            tr(VERBS[kind], by=by(thing.act, when)),
        ),
        seal,
        logged,
        _thing_stands(kind, thing, when),
    )
    return Row(cells, kind=css(thing.state), thing=(kind, thing.id))


def _thing_stands(kind: str, thing: ThingTold, when: When) -> Cell:
    if thing.undone is not None:
        return cell(starting(state_of(kind, WITHDRAWN)), f"{thing.undone.why} ({by(thing.undone.act, when)})")
    return cell(starting(state_of(kind, thing.state)), "" if thing.state == OPEN else thing.why)
