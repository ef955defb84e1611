"""One penetration: drawn true to scale, how it stands, what seal it needs, and its seal as built."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter
from starlette.responses import HTMLResponse, Response

from service.actions.evidence.audit import history_of
from service.actions.frame.reading import ZoneView
from service.actions.installed.penetrations import penetration_view, why_no_collar
from service.domain.installed.penetrations import half_collar_nm
from service.domain.installed.trade_sizes import NoSuchSize, size_of
from service.domain.nouns import roles
from service.domain.nouns.installed import Penetration
from service.domain.patches.repair import SEALED
from service.domain.shapes.outline_texts import say_outline
from service.domain.sketch.places import turn_of
from service.domain.words.measures import NM_PER_INCH, say_length
from service.domain.words.speech import later, tr, trc
from service.web.drawings.penetration_drawing import PenetrationDrawing, draw_penetration
from service.web.drawings.shown import Shown, where_words
from service.web.installed.penetration_words import (
    CAUTION_PENETRATION,
    COLLAR_STEPS,
    OR_MASTIC,
    CloseGroup,
    Words,
    groups_of,
    need_of,
    need_words,
    numbers_of,
    seal_facts,
    stands_words,
    state_of,
    tags_words,
    what,
)
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import moment, render
from service.web.serving.ways import shell_of

router = APIRouter(include_in_schema=False)

SAID = {
    "placed": later("It is placed. Chalk its tag beside it."),
    "seal": later("The seal is kept. How it stands now is told below."),
    "seal-withdrawn": later("The seal is withdrawn. It stays on record and no longer counts."),
}
NOBODY = later("a person no longer named")


@dataclass(frozen=True, slots=True)
class PenetrationPage:
    """`templates/crew/penetration.html`. Addresses are empty where this person may not do it; `no_roll`: why
    no collar can be cut for it in one piece."""

    tag: str
    letter: str
    what: str
    stands: Words
    need: str
    or_mastic: str
    steps: str
    no_roll: str
    group: str
    drawing: PenetrationDrawing
    seal_href: str
    seal_words: str
    group_href: str
    seal: tuple[tuple[str, str], ...]
    sealed_by: str
    unseal_href: str
    facts: tuple[tuple[str, ...], ...]
    lines: tuple[tuple[str, str], ...]
    next_href: str
    withdraw_href: str
    list_href: str


@router.get("/penetrations/{penetration_id}")
def penetration(desk: TheDesk, person: Signed, penetration_id: str, said: str = "") -> Response:
    view, pipe = penetration_view(desk, person.id, penetration_id)
    project = view.seen.project
    lines = history_of(desk, view, pipe.tag)
    told = tuple((moment(line.entry.at, project.time_zone), line.sentence) for line in reversed(lines))
    page = penetration_page(view, pipe, person.id, told)
    shell = shell_of(
        project, view.seen.role, person, said=tr(SAID.get(said, "")), cautions=(tr(CAUTION_PENETRATION),)
    )
    return HTMLResponse(render("crew/penetration.html", page, **shell))


def penetration_page(
    view: ZoneView, pipe: Penetration, person_id: str, lines: tuple[tuple[str, str], ...]
) -> PenetrationPage:
    """Everything the page shows, decided."""
    units, role = view.seen.project.units, view.seen.role
    standing = pipe.withdrawn is None and view.zone.withdrawn is None
    sealed, need = state_of(view, pipe) == SEALED, need_of(view, pipe)
    group = next((g for g in groups_of(view) if pipe in g.pipes), None)
    wanted = standing and not sealed
    root = f"/penetrations/{pipe.id}"
    may_seal = standing and roles.may(role, "log a seal")
    seal = pipe.seal if pipe.withdrawn is None else None
    return PenetrationPage(
        tag=pipe.tag,
        letter=view.zone.letter,
        what=what(pipe, units),
        stands=stands_words(view, pipe),
        need=need_words(need, units) if wanted else "",
        or_mastic=tr(OR_MASTIC) if need.mastic_allowed else "",
        steps=tr(COLLAR_STEPS) if wanted else "",
        no_roll=(why_no_collar(view.site, view.zone, pipe, numbers_of(view)) or "") if wanted else "",
        group=f"{group.words}." if group and wanted else "",
        drawing=pipe_drawing(view, pipe, group),
        seal_href=f"{root}/seal" if may_seal else "",
        seal_words=tr("Log the seal anew") if seal else tr("Log the seal"),
        group_href=f"{root}/seal?together=yes" if may_seal and group and wanted else "",
        seal=seal_facts(view, seal) if seal else (),
        sealed_by=_signed(view, pipe),
        unseal_href=f"{root}/unseal" if seal and _may_unseal(view, pipe, person_id) else "",
        facts=_facts(view, pipe),
        lines=lines,
        next_href=f"/zones/{view.zone.id}/penetrations/place"
        if standing and roles.may(role, "place a penetration")
        else "",
        withdraw_href=f"{root}/withdraw" if standing and _may_withdraw(view, pipe, person_id) else "",
        list_href=f"/zones/{view.zone.id}/penetrations",
    )


def _may_unseal(view: ZoneView, pipe: Penetration, person_id: str) -> bool:
    signed = pipe.seal.signed if pipe.seal else None
    may = roles.may(view.seen.role, "withdraw a seal")
    return bool(may and signed and roles.may_withdraw(view.seen.role, person_id, signed.by, signed.role))


def _may_withdraw(view: ZoneView, pipe: Penetration, person_id: str) -> bool:
    may = roles.may(view.seen.role, "withdraw a penetration")
    return may and roles.may_withdraw(view.seen.role, person_id, pipe.signed.by, pipe.signed.role)


def _signed(view: ZoneView, pipe: Penetration) -> str:
    if pipe.seal is None:
        return ""
    signed = pipe.seal.signed
    when = moment(signed.at, view.seen.project.time_zone)
    return f"{view.names.get(signed.by, tr(NOBODY))}, {tr(signed.role)}, {when}"


def pipe_drawing(
    view: ZoneView, pipe: Penetration, group: CloseGroup | None, together: bool = False
) -> PenetrationDrawing:
    """Its outside with its collar's fingers on the film; with `together`, the sheet of its group."""
    units, numbers, shown = view.seen.project.units, numbers_of(view), Shown(view.seen.sketch)
    half = half_collar_nm(numbers)
    others = [
        one
        for one in view.site.penetrations.values()
        if one.sketch_id == pipe.sketch_id and one.withdrawn is None
    ]
    deep = say_length(half, units, "up")
    return draw_penetration(
        pipe,
        others,
        half,
        shown,
        label=tr(
            "{what}, true to scale",
            what=f"{pipe.tag}, {what(pipe, units)}, {say_outline(pipe.outline, units)}",
        ),
        told=tr("Dashed: the sheet of film under one dam.")
        if together
        else tr("Dashed: how far its collar's fingers lie on the film, {length}.", length=deep),
        group=(group.pipes, group.need) if together and group else None,
        turn_udeg=turn_of(view.seen.sketch),
    )


def _facts(view: ZoneView, pipe: Penetration) -> tuple[tuple[str, ...], ...]:
    project = view.seen.project
    who = view.names.get(pipe.signed.by, tr(NOBODY))
    rows: list[tuple[str, ...]] = [
        (tr("Outside"), *_outside(view, pipe)),
        (tr("Where"), where_words(view.seen.sketch, pipe.at, project.units) or tr("as placed on the sketch")),
        (
            trc("penetration", "Placed"),
            f"{who}, {tr(pipe.signed.role)}, {moment(pipe.signed.at, project.time_zone)}",
        ),
    ]
    row = [p.tag for p in view.penetrations() if p.signed.seq == pipe.signed.seq and p.id != pipe.id]
    if row:
        rows.append((tr("In a row with"), tags_words(row)))
    if pipe.note:
        rows.append((tr("Note"), pipe.note))
    return tuple(rows)


def _outside(view: ZoneView, pipe: Penetration) -> tuple[str, str]:
    """Its outside, and the standard it is taken from."""
    units = view.seen.project.units
    if not pipe.size:
        return say_outline(pipe.outline, units), tr("measured")
    try:
        size = size_of(pipe.kind, pipe.size)
    except NoSuchSize:  # a size of a table that this program does not have
        return say_outline(pipe.outline, units), pipe.size
    across = f"{size.od_nm / NM_PER_INCH:.3f} {trc('unit', 'in')}"
    if units == "metric":
        across = f"{size.od_nm / 1_000_000:.1f} mm"
    return tr("{diameter} across", diameter=across), tr(size.source)
