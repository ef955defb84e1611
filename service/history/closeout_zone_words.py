"""One zone of the closeout in words and rows: who walked, released and placed it, and everything in it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from service.domain.installed import CLEAN
from service.domain.repair import OPEN, SEALED, WITHDRAWN
from service.domain.rules import WALK_STEP
from service.history.closeout_sheet import (
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
from service.history.closeout_told import Look, MarkTold, PatchTold, RepairTold, Size, ThingTold, ZoneTold
from service.history.standing import READY

NOT_SAID = "nobody logged any"
VERBS = {"penetration": "placed", "seam": "drawn", "termination": "described"}


def css(state: str) -> str:
    """A state as the style sheet and the drawings name it."""
    return "ready" if state == READY else state.replace(" ", "-")


def zone_part(zone: ZoneTold, when: When) -> ZonePart:
    lead, reasons = _reasons(zone)
    return ZonePart(
        id=zone.id,
        name=f"zone-{zone.letter}" if zone.undone is None else f"zone-{zone.id}",
        letter=zone.letter,
        block=(
            ("Zone", zone.name),
            ("Area", zone.area.text if zone.area else "no scale is set"),
            ("Sketch", zone.sketch),
            ("Punch walk", when(zone.walked.at) if zone.walked else "none that counts"),
            ("Placed", when(zone.placed.at) if zone.placed else "not placed"),
        ),
        stands=starting(zone.state),
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
        return "never released"
    return f"released by {release.act.who}, {when(release.act.at)}: {release.force}"


def _reasons(zone: ZoneTold) -> tuple[str, tuple[str, ...]]:
    """What stood against it when it was placed without release; else what the gate finds now."""
    if zone.placed is not None and zone.placed.without_release:
        return "It was placed without release. What stood against it then:", zone.placed.against
    if zone.placed is not None:
        return "Found since it was placed, as the facts stand now:", zone.against
    return "What the gate finds as the facts stand now:", zone.against


def _facts(zone: ZoneTold, when: When) -> Iterator[tuple[str, str]]:
    yield "Outlined", by(zone.outlined, when)
    if zone.walked is not None:
        yield "Punch walk", by(zone.walked, when) + (f": {zone.walk_note}" if zone.walk_note else "")
    for release in zone.releases:
        yield "Released", f"{by(release.act, when)}, stating: {release.statement}"
        if release.pulled_back is not None:
            yield "Pulled back", f"{by(release.pulled_back.act, when)}: {release.pulled_back.why}"
        else:
            yield "What became of it", starting(release.force)
    if zone.placed is not None:
        volume = f", {zone.placed.volume}" if zone.placed.volume else ""
        yield "Placed", f"{when(zone.placed.at)}{volume}. Marked so by {by(zone.placed.act, when)}"
    for said in zone.more_asked:
        yield f"{said.term}, asked here", f"{said.words} ({said.source})"
    for what, act in zip(zone.none_here, zone.none_stated, strict=True):
        yield f"Stated to have no {what}", by(act, when)
    if zone.bare:
        yield "Edge that nobody described", "; ".join(zone.bare)
    if zone.reaching_in:
        yield "Marks of neighbours that reach in", ", ".join(zone.reaching_in)


def _tables(zone: ZoneTold, when: When) -> Iterator[Table]:
    called = f"zone {zone.letter}"
    yield Table(
        f"Marks and every repair of them, {called}",
        ("Tag", "Mark", "Repair", "Overlap or lap", "Asked then", "Second look", "Stands"),
        (0.8, 1.7, 2.2, 0.9, 0.8, 1.3, 1.2),
        tuple(row for mark in zone.marks for row in _mark_rows(mark, when)),
    )
    for caption, kind, things, made in (
        (f"Penetrations and their seals, {called}", "penetration", zone.penetrations, "Seal"),
        (f"Seams and their laps, {called}", "seam", zone.seams, "Walk"),
        (f"Edges and how the film ends there, {called}", "termination", zone.edges, "Seal"),
    ):
        heads = ("Tag", "What", made, "Logged by", "Stands")
        rows = tuple(_thing_row(kind, thing, when) for thing in things)
        yield Table(caption, heads, (0.8, 1.6, 2.4, 1.6, 1.2), rows)
    yield _film(zone, called, when)
    yield from _signed(zone, called, when)


def _film(zone: ZoneTold, called: str, when: When) -> Table:
    rows = []
    for laid in zone.laid:
        shown = f"class {laid.shown_class}" if len(laid.shown_class) == 1 else f"class: {laid.shown_class}"
        gone = taken_back(laid.undone, when) if laid.undone else ""
        cells = (
            cell(laid.number),
            cell(laid.material, laid.note),
            cell(shown, laid.permeance, laid.thickness),
            cell(who(laid.act), at(laid.act, when)),
            cell(gone or laid.state, "" if gone else laid.faults),
        )
        rows.append(Row(cells, kind="withdrawn" if gone else ""))
    heads = ("Lot", "Material", "What it shows", "Laid, logged by", "Stands")
    return Table(f"Film laid, {called}", heads, (0.8, 1.6, 1.4, 1.8, 1.4), tuple(rows))


def _signed(zone: ZoneTold, called: str, when: When) -> Iterator[Table]:
    rows = []
    for step in zone.steps:
        given = [signed for signed in zone.signed if signed.step == step.step]
        lines = [
            ("signed" if s.accepted else "refused")
            + f" by {by(s.act, when)}"
            + (f": {s.note}" if s.note else "")
            + ("" if s.counts else " (for an outline or a scale that has changed since)")
            for s in given
        ]
        if step.step == WALK_STEP and zone.walked is not None:
            lines.append(f"by finishing the walk, {by(zone.walked, when)}")
        rows.append(
            Row((cell(starting(step.step)), cell(step.state), cell(*lines) if lines else cell("nobody")))
        )
    yield Table(f"Hold points, {called}", ("Hold point", "Stands", "Signed"), (1.8, 0.8, 3), tuple(rows))
    held = [
        Row(
            (
                cell(starting(hold.cause), hold.reason),
                cell(who(hold.act), at(hold.act, when)),
                cell(hold.lifted.why, by(hold.lifted.act, when)) if hold.lifted else cell("not lifted"),
            )
        )
        for hold in zone.holds
    ]
    heads = ("Held for", "By", "Lifted")
    yield Table(f"Holds of the whole zone, {called}", heads, (1.4, 1.6, 2), tuple(held))


# --- marks -----------------------------------------------------------------------------------------------


def _mark_rows(mark: MarkTold, when: When) -> Iterator[Row]:
    """A row for each repair, the mark told in the first of them; one row where nothing was logged."""
    repairs: Sequence[PatchTold | RepairTold] = sorted(
        (*mark.patches, *mark.repairs), key=lambda repair: repair.act.seq
    )
    told = [_repair_cells(repair, when) for repair in repairs]
    if mark.under:
        told.append((cell(f"under the patch on {', '.join(mark.under)}"), cell(""), cell(""), cell("")))
    told = told or [(cell(NOT_SAID if mark.undone is None else ""), cell(""), cell(""), cell(""))]
    kind = css(mark.state)
    for number, cells in enumerate(told):
        first = number == 0
        what = _mark_cell(mark, when) if first else cell(f"{mark.kind}, as above")
        stands = _mark_stands(mark, when) if first else cell("")
        yield Row((cell(mark.tag), what, *cells, stands), kind=kind, thing=("defect", mark.id))


def _mark_cell(mark: MarkTold, when: When) -> Cell:
    photos = f"{len(mark.photos):,} photo{'' if len(mark.photos) == 1 else 's'}" if mark.photos else ""
    return cell(
        starting(f"{mark.kind}, {mark.size}"),
        mark.where,
        mark.note,
        f"likely from: {mark.cause}" if mark.cause else "",
        "received after placing" if mark.after_placing else "",
        f"marked by {by(mark.act, when)}",
        photos,
    )


def _mark_stands(mark: MarkTold, when: When) -> Cell:
    if mark.undone is not None:
        return cell(starting(WITHDRAWN), f"{mark.undone.why} ({by(mark.undone.act, when)})")
    reached = f"overlap {mark.overlap.text}" if mark.overlap and mark.state == SEALED else ""
    return cell(starting(mark.state), reached, mark.why)


def _repair_cells(repair: PatchTold | RepairTold, when: When) -> tuple[Cell, ...]:
    if isinstance(repair, PatchTold):
        size = starting(repair.size) if repair.size else ""
        more = (size, f"also over {', '.join(repair.over)}" if repair.over else "")
        reached, asked = repair.overlap, repair.minimum.text
    else:
        more, reached = ("", ""), repair.lap
        asked = repair.minimum.text if repair.minimum else ""
    words = cell(
        starting(repair.method),
        *more,
        repair.how,
        f"lot {repair.lot}" if repair.lot else "",
        repair.note,
        f"logged by {by(repair.act, when)}",
        starting(taken_back(repair.undone, when)) if repair.undone else "",
    )
    lapped = isinstance(repair, RepairTold) and repair.method != CLEAN
    met = "" if repair.met else "did not meet it"
    return words, cell(_reach(reached, lapped), met), cell(asked), _looks(repair.looks, when)


def _reach(reached: Size | None, lapped: bool) -> str:
    if reached is None:
        return "no lap told" if lapped else ""
    if reached.nm < 0:
        return "damage shows past it"
    return f"lap {reached.text}" if lapped else reached.text


def _looks(looks: Iterable[Look], when: When) -> Cell:
    """The newest answer, then those before it."""
    told = list(looks)[::-1]
    if not told:
        return cell("none")
    lines = [
        f"{'' if number == 0 else _looked(look) + ' by '}{by(look.act, when)}"
        + (f": {look.note}" if look.note else "")
        for number, look in enumerate(told)
    ]
    return cell(_looked(told[0]), *lines)


def _looked(look: Look) -> str:
    return "accepted" if look.accepted else "refused"


# --- what is installed -----------------------------------------------------------------------------------


def _thing_row(kind: str, thing: ThingTold, when: When) -> Row:
    made = thing.made
    seal = cell("nothing logged")
    if made is not None:
        seal = cell(starting(made.words), made.how, f"lot {made.lot}" if made.lot else "", made.note)
    logged = cell(who(made.act), at(made.act, when)) if made else cell("nobody")
    cells = (
        cell(thing.tag),
        cell(
            starting(f"{thing.kind}, {thing.size}"),
            thing.where,
            thing.note,
            f"{VERBS[kind]} by {by(thing.act, when)}",
        ),
        seal,
        logged,
        _thing_stands(thing, when),
    )
    return Row(cells, kind=css(thing.state), thing=(kind, thing.id))


def _thing_stands(thing: ThingTold, when: When) -> Cell:
    if thing.undone is not None:
        return cell(starting(WITHDRAWN), f"{thing.undone.why} ({by(thing.undone.act, when)})")
    return cell(starting(thing.state), "" if thing.state == OPEN else thing.why)
