"""The closeout in words, the same for its page and its paper: the whole project round its zones."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from service.history.closeout_sheet import (
    Part,
    Row,
    Sheet,
    Table,
    When,
    at,
    by,
    cell,
    many,
    said_rows,
    starting,
    taken_back,
    who,
)
from service.history.closeout_told import ZoneTold
from service.history.closeout_whole import Closeout, LotTold, MaterialTold, SlabTold
from service.history.closeout_zone_words import css, zone_part
from service.history.standing import PLACED, PLACED_WITHOUT_RELEASE

NO_LETTERS = "none logged"


def sheet_of(told: Closeout, when: When) -> Sheet:
    """The closeout as its sheet; `when` says a moment in the project's time zone."""
    head = told.head
    return Sheet(
        title=f"Closeout of {head.name}",
        block=(
            ("Project", head.name),
            ("Started", when(head.started)),
            ("Told from", f"entries 1 to {head.up_to:,} of the history"),
            ("The newest of them", when(head.at)),
            ("Time zone of the site", head.time_zone),
        ),
        stands=_stands(told),
        small=f"as of entry {head.up_to:,}, {when(head.at)}",
        before=(_zones(told, when), _floor(told), _cautions(told), _film(told, when)),
        zones=tuple(zone_part(zone, when) for zone in told.zones),
        after=(_releases(told, when), _numbers(told, when), _people(told, when), _proof(told)),
        running=f"Closeout of {head.name}, told from entry {head.up_to:,}, {when(head.at)}",
    )


def _standing(told: Closeout) -> list[ZoneTold]:
    return [zone for zone in told.zones if zone.undone is None]


def _stands(told: Closeout) -> str:
    zones = _standing(told)
    if not zones:
        return "No zone yet"
    states = Counter(zone.state for zone in zones)
    placed = states[PLACED] + states[PLACED_WITHOUT_RELEASE]
    words = f"{placed:,} of {many(len(zones), 'zone')} placed"
    against = states[PLACED_WITHOUT_RELEASE]
    return f"{words}, {against:,} without release" if against else words


def _zones(told: Closeout, when: When) -> Part:
    """Every zone in a line."""
    table = Table(
        "Zones and how they stand",
        ("Zone", "Area", "Stands", "Released", "Placed", "Marks"),
        (1.6, 1, 1.2, 1.8, 1.6, 1.4),
        tuple(_zone_row(zone, when) for zone in told.zones),
    )
    lines = () if told.zones else ("No zone was outlined yet.",)
    return Part("zones", "Zones", lines=lines, tables=(table,) if told.zones else ())


def _zone_row(zone: ZoneTold, when: When) -> Row:
    release = zone.releases[-1] if zone.releases else None
    released = (
        ("not released",) if release is None else (when(release.act.at), who(release.act), release.force)
    )
    placed = zone.placed
    put = (
        ("not placed",) if placed is None else (when(placed.at), placed.volume, f"marked by {placed.act.who}")
    )
    cells = (
        cell(zone.letter, zone.name),
        cell(zone.area.text if zone.area else "no scale"),
        cell(zone.state),
        cell(*released),
        cell(*put),
        cell(*_tally(zone)),
    )
    return Row(cells, kind=css(zone.state), thing=("zone", zone.id))


def _tally(zone: ZoneTold) -> tuple[str, ...]:
    """`6 marks`, and below it how many stand how."""
    states = Counter(mark.state for mark in zone.marks)
    told = [
        f"{states[state]:,} {state}"
        for state in ("open", "not sealed", "sealed", "withdrawn")
        if states[state]
    ]
    return (many(len(zone.marks), "mark") if zone.marks else "none", ", ".join(told))


# --- the floor -------------------------------------------------------------------------------------------


def _floor(told: Closeout) -> Part:
    floor = told.floor
    heads, shares = ("What", "Asked", "Where it comes from"), (1, 2.4, 1.8)
    return Part(
        "floor",
        "Floor tests",
        strong=floor.limits,
        lines=tuple(slab.words for slab in floor.slabs) or ("No zone is outlined, so no floor has an area.",),
        tables=(
            *(_slab(slab) for slab in floor.slabs),
            Table("In-slab relative humidity, ASTM F2170", heads, shares, tuple(said_rows(floor.in_slab))),
            Table("Emission from the slab, ASTM F1869", heads, shares, tuple(said_rows(floor.emission))),
        ),
    )


def _slab(slab: SlabTold) -> Table:
    counts = [(starting(f"the whole slab, {slab.whole.name}"), slab.whole)]
    counts += [(zone.name, zone) for zone in slab.zones]
    rows = [
        Row(
            (
                cell(name),
                cell(of.area.text if of.area else "no scale"),
                cell(str(of.count) if of.count else "cannot be counted"),
                cell(str(of.count) if of.count else "cannot be counted"),
            )
        )
        for name, of in counts
    ]
    return Table(
        f"Least number of tests by area, {slab.whole.name}",
        ("Floor", "Area", "In-slab (F2170)", "or emission (F1869)"),
        (2, 1, 1, 1),
        tuple(rows),
    )


def _cautions(told: Closeout) -> Part:
    heads, shares = ("What", "Caution", "Where it comes from"), (1.2, 2.6, 1.4)
    table = Table("Cautions that outlive the pour", heads, shares, tuple(said_rows(told.cautions)))
    return Part("cautions", "Cautions that outlive the pour", tables=(table,))


# --- film ------------------------------------------------------------------------------------------------


def _film(told: Closeout, when: When) -> Part:
    if not told.materials:
        return Part("film", "Film and lots", lines=("No film, tape or mastic was submitted.", *_strays(told)))
    materials = Table(
        "Materials as submitted",
        ("Material", "Class shown", "Permeance", "Thickness", "Also stated", "Stands"),
        (1.6, 0.8, 1, 0.9, 1.8, 1.6),
        tuple(_material(material, when) for material in told.materials),
    )
    lots = [(material, lot) for material in told.materials for lot in material.lots]
    received = Table(
        "Lots received, and where each lies",
        ("Lot", "Material", "Received", "Laid in zones", "Named by work in zones"),
        (1, 1.4, 1.8, 1, 1.1),
        tuple(_lot(material, lot, when) for material, lot in lots),
    )
    lines = () if lots else ("No lot was received.",)
    tables = (materials, received) if lots else (materials,)
    return Part("film", "Film and lots", lines=(*lines, *_strays(told)), tables=tables)


def _strays(told: Closeout) -> Iterator[str]:
    for stray in told.stray_lots:
        yield f"Lot {stray.number} was never received. It is named on {', '.join(stray.tags)}."


def _material(material: MaterialTold, when: When) -> Row:
    stated = [f"{what}: {words}" for what, words in material.stated]
    gone = taken_back(material.undone, when) if material.undone else ""
    cells = (
        cell(material.name, material.kind, material.note),
        cell(material.shown_class),
        cell(material.permeance),
        cell(material.thickness),
        cell(*stated) if stated else cell("nothing"),
        cell(gone or material.stands, f"submitted by {by(material.submitted, when)}"),
    )
    return Row(cells, kind="withdrawn" if gone else "")


def _lot(material: MaterialTold, lot: LotTold, when: When) -> Row:
    gone = taken_back(lot.undone, when) if lot.undone else ""
    cells = (
        cell(
            lot.number,
            many(lot.rolls, "roll") if material.kind != "mastic" else f"{lot.rolls:,} on site",
            gone,
        ),
        cell(material.name, material.kind),
        cell(who(lot.received), at(lot.received, when), lot.note),
        cell(", ".join(lot.laid_in) or NO_LETTERS),
        cell(", ".join(lot.worked_in) or NO_LETTERS),
    )
    return Row(cells, kind="withdrawn" if gone else "")


# --- releases, numbers, people, proof --------------------------------------------------------------------


def _releases(told: Closeout, when: When) -> Part:
    if not told.releases:
        return Part("releases", "Releases and pull-backs", lines=("No zone was ever released.",))
    rows = []
    for release in told.releases:
        back, unasked = release.pulled_back, ", ".join(release.not_asked)
        cells = (
            cell(release.letter),
            cell(who(release.act), at(release.act, when)),
            cell(
                release.statement,
                f"Not asked for: {unasked}" if unasked else "",
                f"Withdrawn before it: {'; '.join(release.withdrawn)}" if release.withdrawn else "",
            ),
            cell(starting(release.force), f"{back.why} ({by(back.act, when)})" if back else ""),
        )
        rows.append(Row(cells, thing=("release", release.id)))
    heads = ("Zone", "Released by", "Stating", "What became of it")
    table = Table("Every release, in the order of the history", heads, (0.6, 1.6, 2.2, 1.8), tuple(rows))
    return Part("releases", "Releases and pull-backs", tables=(table,))


def _numbers(told: Closeout, when: When) -> Part:
    """The rule sheet as it stands, how it changed, and what the gate was not asked for."""
    left_out = ", ".join(told.not_asked)
    strong = (
        f"Not asked for on this project, and so not checked by its gate: {left_out}."
        if left_out
        else "The gate of this project asks for everything it can check."
    )
    heads = ("Number", "Asked", "Where it comes from")
    tables = [Table("The rule sheet as it stands", heads, (1.2, 2, 2), tuple(said_rows(told.numbers)))]
    if told.numbers_changed:
        rows = tuple(
            Row((cell(f"{each.act.seq:,}"), cell(each.words, when(each.act.at))))
            for each in told.numbers_changed
        )
        tables.append(Table("Every change of the numbers since", ("Entry", "Change"), (0.6, 5), rows))
    return Part("numbers", "Numbers and their sources", strong=(strong,), tables=tuple(tables))


def _people(told: Closeout, when: When) -> Part:
    rows = tuple(
        Row(
            (
                cell(each.name),
                cell(each.role),
                cell(when(each.came)),
                cell(when(each.left) if each.left else "still on it"),
                cell(f"{each.entries:,}"),
            )
        )
        for each in told.people
    )
    heads = ("Person", "Role, the newest", "Came", "Left", "Entries by them")
    table = Table("Everybody who was on the project", heads, (1.6, 1.2, 1.6, 1.4, 0.8), rows)
    lines = (
        "People are named as they are today. Whose name was erased is told as a person no longer named.",
    )
    return Part("people", "People", lines=lines, tables=(table,))


def _proof(told: Closeout) -> Part:
    return Part("proof", "Where the proof is", lines=told.proof)
