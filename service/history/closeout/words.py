"""The closeout in words, the same for its page and its paper: the whole project round its zones."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from service.domain.words.speech import later, tr, trc, trn
from service.history.closeout.mark_words import css
from service.history.closeout.sheet import (
    Part,
    Row,
    Sheet,
    Table,
    When,
    at,
    by,
    cell,
    said_rows,
    starting,
    taken_back,
    who,
)
from service.history.closeout.told import ZoneTold
from service.history.closeout.whole import Closeout, LotTold, MaterialTold, SlabTold
from service.history.closeout.zone_words import stood_words, zone_part
from service.history.replay.standing import PLACED, PLACED_WITHOUT_RELEASE

NO_LETTERS = later("none logged")


def sheet_of(told: Closeout, when: When) -> Sheet:
    """The closeout as its sheet; `when` says a moment in the project's time zone."""
    head = told.head
    return Sheet(
        title=tr("Closeout of {project}", project=head.name),
        block=(
            (tr("Project"), head.name),
            (trc("project", "Started"), when(head.started)),
            (tr("Told from"), tr("entries 1 to {last} of the history", last=f"{head.up_to:,}")),
            (tr("The newest of them"), when(head.at)),
            (tr("Time zone of the site"), head.time_zone),
        ),
        stands=_stands(told),
        small=tr("as of entry {seq}, {when}", seq=f"{head.up_to:,}", when=when(head.at)),
        before=(_zones(told, when), _floor(told), _cautions(told), _film(told, when)),
        zones=tuple(zone_part(zone, when) for zone in told.zones),
        after=(_releases(told, when), _numbers(told, when), _people(told, when), _proof(told)),
        running=tr(
            "Closeout of {project}, told from entry {seq}, {when}",
            project=head.name,
            seq=f"{head.up_to:,}",
            when=when(head.at),
        ),
    )


def _standing(told: Closeout) -> list[ZoneTold]:
    return [zone for zone in told.zones if zone.undone is None]


def _stands(told: Closeout) -> str:
    zones = _standing(told)
    if not zones:
        return tr("No zone yet")
    states = Counter(zone.state for zone in zones)
    placed = states[PLACED] + states[PLACED_WITHOUT_RELEASE]
    words = trn(
        "{placed} of {n} zone placed", "{placed} of {n} zones placed", len(zones), placed=f"{placed:,}"
    )
    against = states[PLACED_WITHOUT_RELEASE]
    return f"{words}, {tr('{n} without release', n=f'{against:,}')}" if against else words


def _zones(told: Closeout, when: When) -> Part:
    """Every zone in a line."""
    table = Table(
        tr("Zones and how they stand"),
        (tr("Zone"), tr("Area"), tr("Stands"), trc("zone", "Released"), trc("zone", "Placed"), tr("Marks")),
        (1.6, 1, 1.2, 1.8, 1.6, 1.4),
        tuple(_zone_row(zone, when) for zone in told.zones),
    )
    lines = () if told.zones else (tr("No zone was outlined yet."),)
    return Part("zones", tr("Zones"), lines=lines, tables=(table,) if told.zones else ())


def _zone_row(zone: ZoneTold, when: When) -> Row:
    release = zone.releases[-1] if zone.releases else None
    released = (
        (trc("zone", "not released"),)
        if release is None
        else (when(release.act.at), who(release.act), tr(release.force))
    )
    placed = zone.placed
    put = (
        (trc("zone", "not placed"),)
        if placed is None
        else (when(placed.at), placed.volume, tr("marked by {who}", who=placed.act.who))
    )
    cells = (
        cell(zone.letter, zone.name),
        cell(zone.area.text if zone.area else tr("no scale")),
        cell(stood_words(zone.state)),
        cell(*released),
        cell(*put),
        cell(*_tally(zone)),
    )
    return Row(cells, kind=css(zone.state), thing=("zone", zone.id))


def _tally(zone: ZoneTold) -> tuple[str, ...]:
    """`6 marks`, and below it how many stand how."""
    states = Counter(mark.state for mark in zone.marks)
    told = {
        "open": trn("{n} open", "{n} open", states["open"]),
        "not sealed": trn("{n} not sealed", "{n} not sealed", states["not sealed"]),
        "sealed": trn("{n} sealed", "{n} sealed", states["sealed"]),
        "withdrawn": trn("{n} withdrawn", "{n} withdrawn", states["withdrawn"]),
    }
    return (
        trn("{n} mark", "{n} marks", len(zone.marks)) if zone.marks else trc("marks", "none"),
        ", ".join(words for state, words in told.items() if states[state]),
    )


# --- the floor -------------------------------------------------------------------------------------------


def _floor(told: Closeout) -> Part:
    floor = told.floor
    heads, shares = (tr("What"), tr("Asked"), tr("Where it comes from")), (1, 2.4, 1.8)
    return Part(
        "floor",
        tr("Floor tests"),
        strong=floor.limits,
        lines=tuple(slab.words for slab in floor.slabs)
        or (tr("No zone is outlined, so no floor has an area."),),
        tables=(
            *(_slab(slab) for slab in floor.slabs),
            Table(
                tr("In-slab relative humidity, ASTM F2170"), heads, shares, tuple(said_rows(floor.in_slab))
            ),
            Table(tr("Emission from the slab, ASTM F1869"), heads, shares, tuple(said_rows(floor.emission))),
        ),
    )


def _slab(slab: SlabTold) -> Table:
    counts = [(starting(tr("the whole slab, {sketch}", sketch=slab.whole.name)), slab.whole)]
    counts += [(zone.name, zone) for zone in slab.zones]
    rows = [
        Row(
            (
                cell(name),
                cell(of.area.text if of.area else tr("no scale")),
                cell(str(of.count) if of.count else tr("cannot be counted")),
                cell(str(of.count) if of.count else tr("cannot be counted")),
            )
        )
        for name, of in counts
    ]
    return Table(
        tr("Least number of tests by area, {sketch}", sketch=slab.whole.name),
        (tr("Floor"), tr("Area"), tr("In-slab (F2170)"), tr("or emission (F1869)")),
        (2, 1, 1, 1),
        tuple(rows),
    )


def _cautions(told: Closeout) -> Part:
    heads, shares = (tr("What"), tr("Caution"), tr("Where it comes from")), (1.2, 2.6, 1.4)
    table = Table(tr("Cautions that outlive the pour"), heads, shares, tuple(said_rows(told.cautions)))
    return Part("cautions", tr("Cautions that outlive the pour"), tables=(table,))


# --- film ------------------------------------------------------------------------------------------------


def _film(told: Closeout, when: When) -> Part:
    if not told.materials:
        return Part(
            "film", tr("Film and lots"), lines=(tr("No film, tape or mastic was submitted."), *_strays(told))
        )
    materials = Table(
        tr("Materials as submitted"),
        (
            tr("Material"),
            tr("Class shown"),
            tr("Permeance"),
            tr("Thickness"),
            tr("Also stated"),
            tr("Stands"),
        ),
        (1.6, 0.8, 1, 0.9, 1.8, 1.6),
        tuple(_material(material, when) for material in told.materials),
    )
    lots = [(material, lot) for material in told.materials for lot in material.lots]
    received = Table(
        tr("Lots received, and where each lies"),
        (
            tr("Lot"),
            tr("Material"),
            trc("lot", "Received"),
            tr("Laid in zones"),
            tr("Named by work in zones"),
        ),
        (1, 1.4, 1.8, 1, 1.1),
        tuple(_lot(material, lot, when) for material, lot in lots),
    )
    lines = () if lots else (tr("No lot was received."),)
    tables = (materials, received) if lots else (materials,)
    return Part("film", tr("Film and lots"), lines=(*lines, *_strays(told)), tables=tables)


def _strays(told: Closeout) -> Iterator[str]:
    for stray in told.stray_lots:
        yield tr(
            "Lot {number} was never received. It is named on {tags}.",
            number=stray.number,
            tags=", ".join(stray.tags),
        )


def _material(material: MaterialTold, when: When) -> Row:
    stated = [f"{what}: {words}" for what, words in material.stated]
    gone = taken_back(material.undone, when) if material.undone else ""
    cells = (
        cell(material.name, tr(material.kind), material.note),
        cell(material.shown_class),
        cell(material.permeance),
        cell(material.thickness),
        cell(*stated) if stated else cell(trc("stated", "nothing")),
        cell(gone or material.stands, tr("submitted by {by}", by=by(material.submitted, when))),
    )
    return Row(cells, kind="withdrawn" if gone else "")


def _lot(material: MaterialTold, lot: LotTold, when: When) -> Row:
    gone = taken_back(lot.undone, when) if lot.undone else ""
    cells = (
        cell(
            lot.number,
            trn("{n} roll", "{n} rolls", lot.rolls)
            if material.kind != "mastic"
            else tr("{n} on site", n=f"{lot.rolls:,}"),
            gone,
        ),
        cell(material.name, tr(material.kind)),
        cell(who(lot.received), at(lot.received, when), lot.note),
        cell(", ".join(lot.laid_in) or tr(NO_LETTERS)),
        cell(", ".join(lot.worked_in) or tr(NO_LETTERS)),
    )
    return Row(cells, kind="withdrawn" if gone else "")


# --- releases, numbers, people, proof --------------------------------------------------------------------


def _releases(told: Closeout, when: When) -> Part:
    if not told.releases:
        return Part("releases", tr("Releases and pull-backs"), lines=(tr("No zone was ever released."),))
    rows = []
    for release in told.releases:
        back, unasked = release.pulled_back, ", ".join(map(tr, release.not_asked))
        cells = (
            cell(release.letter),
            cell(who(release.act), at(release.act, when)),
            cell(
                release.statement,
                tr("Not asked for: {what}", what=unasked) if unasked else "",
                tr("Withdrawn before it: {what}", what="; ".join(release.withdrawn))
                if release.withdrawn
                else "",
            ),
            cell(starting(tr(release.force)), f"{back.why} ({by(back.act, when)})" if back else ""),
        )
        rows.append(Row(cells, thing=("release", release.id)))
    heads = (tr("Zone"), trc("zone", "Released by"), tr("Stating"), tr("What became of it"))
    table = Table(tr("Every release, in the order of the history"), heads, (0.6, 1.6, 2.2, 1.8), tuple(rows))
    return Part("releases", tr("Releases and pull-backs"), tables=(table,))


def _numbers(told: Closeout, when: When) -> Part:
    """The rule sheet as it stands, how it changed, and what the gate was not asked for."""
    left_out = ", ".join(map(tr, told.not_asked))
    strong = (
        tr("Not asked for on this project, and so not checked by its gate: {what}.", what=left_out)
        if left_out
        else tr("The gate of this project asks for everything it can check.")
    )
    heads = (tr("Number"), tr("Asked"), tr("Where it comes from"))
    tables = [Table(tr("The rule sheet as it stands"), heads, (1.2, 2, 2), tuple(said_rows(told.numbers)))]
    if told.numbers_changed:
        rows = tuple(
            Row((cell(f"{each.act.seq:,}"), cell(each.words, when(each.act.at))))
            for each in told.numbers_changed
        )
        tables.append(
            Table(tr("Every change of the numbers since"), (tr("Entry"), tr("Change")), (0.6, 5), rows)
        )
    return Part("numbers", tr("Numbers and their sources"), strong=(strong,), tables=tuple(tables))


def _people(told: Closeout, when: When) -> Part:
    rows = tuple(
        Row(
            (
                cell(each.name),
                cell(tr(each.role)),
                cell(when(each.came)),
                cell(when(each.left) if each.left else tr("still on it")),
                cell(f"{each.entries:,}"),
            )
        )
        for each in told.people
    )
    heads = (tr("Person"), tr("Role, the newest"), tr("Came"), trc("person", "Left"), tr("Entries by them"))
    table = Table(tr("Everybody who was on the project"), heads, (1.6, 1.2, 1.6, 1.4, 0.8), rows)
    lines = (
        tr("People are named as they are today. Whose name was erased is told as a person no longer named."),
    )
    return Part("people", tr("People"), lines=lines, tables=(table,))


def _proof(told: Closeout) -> Part:
    return Part("proof", tr("Where the proof is"), lines=told.proof)
