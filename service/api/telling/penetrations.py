"""From penetrations, their seals and groups to the contract's answers."""

from __future__ import annotations

from collections.abc import Iterable

from service.actions.frame.reading import ZoneView
from service.actions.installed.penetrations import close_groups
from service.api.answers import penetrations as out
from service.api.answers.marks import Reason
from service.api.answers.sites import Length
from service.api.telling.marks import sized
from service.api.telling.telling import NOBODY, length, place
from service.domain.gate.near_marks import NOT_SEALED_YET, faults_of_seal
from service.domain.gate.wording import FAULTS
from service.domain.gate.zone_facts import nm_per_px, penetrations_in_zone
from service.domain.installed.penetration_groups import group_need
from service.domain.installed.penetrations import collar_need
from service.domain.installed.trade_sizes import KINDS, TradeSize, sizes
from service.domain.nouns.installed import Penetration, Seal
from service.domain.patches.repair import NOT_SEALED, OPEN, SEALED, WITHDRAWN, Numbers
from service.domain.shapes.outline_texts import say_outline_json
from service.domain.shapes.outlines import into_half_turn
from service.domain.sketch.places import turn_of, turned
from service.domain.words.measures import NM_PER_INCH, Units, metres
from service.domain.words.temperatures import say_temperature
from service.history.facts.encoding import time_text


def trade_sizes() -> list[out.TradeSizes]:
    return [
        out.TradeSizes(
            kind=kind,
            sizes=[_size(size) for size in sizes(kind)],
        )
        for kind in KINDS
    ]


def _size(of: TradeSize) -> out.TradeSize:
    """Standards give diameters in thousandths of an inch: told so, not to the sixteenth."""
    across = Length(text=f"{of.od_nm / NM_PER_INCH:.3f} in", m=metres(of.od_nm))
    return out.TradeSize(name=of.name, outside_diameter=across, source=of.source)


def penetration(view: ZoneView, of: Penetration) -> out.Penetration:
    units, numbers = view.seen.project.units, Numbers.of(view.seen.project.sheet)
    faults = faults_of_seal(of, view.site.penetrations, numbers)
    return out.Penetration(
        id=of.id, zone=of.zone_id, tag=of.tag, kind=of.kind, size=of.size,
        outline=say_outline_json(turned(of.outline, turn_of(view.seen.sketch)), units),
        at=place(view.seen.sketch, of.at), note=of.note,
        state=_state(of, faults), reasons=_reasons(of, faults),
        needs=needs(of, numbers, units), seal=None if of.seal is None else _seal(view, of.seal),
        by=view.names.get(of.signed.by, NOBODY), placed_at=time_text(of.signed.at), withdrawn=of.withdrawn,
    )  # fmt: skip


def _state(of: Penetration, faults: tuple[str, ...]) -> str:
    if of.withdrawn is not None:
        return WITHDRAWN
    if of.seal is None:
        return OPEN
    return NOT_SEALED if faults else SEALED


def _reasons(of: Penetration, faults: Iterable[str]) -> list[Reason]:
    if of.withdrawn is not None:
        return []
    return [Reason(code=code, text=FAULTS[code]) for code in faults if code != NOT_SEALED_YET]


def needs(of: Penetration, numbers: Numbers, units: Units) -> out.CollarNeeds:
    need = collar_need(of.outline, numbers)
    return out.CollarNeeds(
        collar_width=length(need.width_nm, units, "up"),
        collar_length=length(need.length_nm, units, "up"),
        finger=length(need.finger_nm, units, "up"),
        mastic=need.mastic_allowed,
    )


def _seal(view: ZoneView, of: Seal) -> out.Seal:
    units, work = view.seen.project.units, of.work
    wide, long, tape = (
        length(nm, units, "down") if nm else None
        for nm in (of.collar_width_nm, of.collar_length_nm, work.tape_width_nm)
    )
    return out.Seal(
        id=of.id, method=of.method, together=list(of.together), collar_width=wide, collar_length=long,
        fingers=of.fingers, taped_to_pipe=of.taped_to_pipe, taped_to_film=of.taped_to_film,
        close_cut=of.close_cut, cleaned=work.cleaned, dry=work.dry, tape_width=tape,
        film_temperature="" if work.film_mf is None else say_temperature(work.film_mf, units),
        lot=work.lot, note=work.note, by=view.names.get(of.signed.by, NOBODY), at=time_text(of.signed.at),
    )  # fmt: skip


def penetrations(view: ZoneView) -> out.Penetrations:
    scale, reaching = view.seen.sketch.scale, []
    if scale is not None:
        near = penetrations_in_zone(view.site, view.zone, nm_per_px(scale))
        reaching = [pipe for pipe in near if pipe.zone_id != view.zone.id and pipe.withdrawn is None]
    return out.Penetrations(
        penetrations=[penetration(view, pipe) for pipe in view.penetrations()],
        reaching_in=[penetration(view, pipe) for pipe in reaching],
        groups=groups(view),
        none_here="penetrations" in view.zone.none_here,
    )


def groups(view: ZoneView) -> list[out.CloseGroup]:
    """The groups too close for a collar each; the sheet's angle as the present picture shows it."""
    sketch, numbers = view.seen.sketch, Numbers.of(view.seen.project.sheet)
    if sketch.scale is None:
        return []
    found = []
    for group in close_groups(view.site, view.zone, numbers):
        places = [(pipe.id, pipe.outline, pipe.at) for pipe in group]
        need = group_need(places, nm_per_px(sketch.scale), numbers)
        angle = into_half_turn(need.angle_udeg + turn_of(sketch))
        sheet = sized((need.length_nm, need.width_nm, angle), view.seen.project.units)
        ids, tags = [pipe.id for pipe in group], [pipe.tag for pipe in group]
        found.append(out.CloseGroup(penetrations=ids, tags=tags, sheet=sheet))
    return found


def sealed(view: ZoneView, ids: Iterable[str]) -> out.SealsLogged:
    told = [penetration(view, view.site.penetrations[id]) for id in ids]
    first = told[0]
    assert first.seal is not None, "just sealed"
    return out.SealsLogged(id=first.seal.id, state=first.state, reasons=first.reasons, penetrations=told)
