"""What happened to film as installed, each as the second half of an English sentence."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from service.domain.installed import Work
from service.domain.measures import Units, say_length
from service.domain.outline_texts import say_outline
from service.domain.rule_texts import say_number
from service.domain.temperatures import say_temperature
from service.domain.wording import say_faults
from service.history import facts_film as h
from service.history import facts_installed as g

Names = Mapping[str, str]


def _quoted(text: str) -> str:
    return f'"{text.removesuffix(".")}"'


def _note(text: str) -> str:
    return f", noting {_quoted(text)}" if text else ""


def _work(work: Work, units: Units) -> str:
    """How it was done, in few words: what is missing first."""
    told = [word for fine, word in ((work.cleaned, "not cleaned"), (work.dry, "not dry")) if not fine]
    if work.tape_width_nm:
        told.append(f"{say_length(work.tape_width_nm, units)} tape")
    if work.film_mf is not None:
        told.append(f"film at {say_temperature(work.film_mf, units)}")
    if work.lot:
        told.append(f"lot {work.lot}")
    return "".join(f", {word}" for word in told) + _note(work.note)


def _holds(faults: tuple[str, ...]) -> str:
    return f". It does not hold: {say_faults(faults)}" if faults else ""


def _repair(fact: g.RepairLogged, names: Names, units: Units) -> str:
    lap = f", lap {say_length(fact.lap_nm, units, 'down')}" if fact.lap_nm is not None else ""
    bare = "" if fact.meets else ". It does not mend it"
    return f"logged a repair of {fact.tag}: {fact.method}{lap}{_work(fact.work, units)}{bare}"


def _look(fact: g.PatchLookedAt | g.RepairLookedAt, names: Names, units: Units) -> str:
    what = "a patch on" if isinstance(fact, g.PatchLookedAt) else "a repair of"
    return (
        f"{'accepted' if fact.accepted else 'refused'} {what} {fact.tag} at a second look{_note(fact.note)}"
    )


def _pipes(fact: g.PenetrationsPlaced, names: Names, units: Units) -> str:
    first = fact.placed[0]
    size = first.size or say_outline(first.outline, units)
    count = f" ({len(fact.placed)} in a row)" if len(fact.placed) > 1 else ""
    return f"placed {fact.tag}: {first.kind}, {size}{count}{_note(fact.note)}"


def _sealed(fact: g.SealLogged, names: Names, units: Units) -> str:
    size = ""
    if fact.collar_width_nm and fact.collar_length_nm:
        wide, long = (say_length(nm, units, "down") for nm in (fact.collar_width_nm, fact.collar_length_nm))
        size = f" {wide} wide and {long} long"
    more = f" and {len(fact.also)} more" if fact.also else ""
    return f"sealed {fact.tag}{more}: {fact.method}{size}{_work(fact.work, units)}{_holds(fact.faults)}"


def _walked(fact: g.SeamWalked, names: Names, units: Units) -> str:
    laps = [station.lap_nm for station in fact.stations]
    least = f", least lap {say_length(min(laps), units, 'down')} of {len(laps)} measured" if laps else ""
    runs = f", {len(fact.runs)} run{'s' if len(fact.runs) > 1 else ''} at fault marked" if fact.runs else ""
    return f"walked seam {fact.tag}{least}{runs}{_work(fact.work, units)}"


def _edge(fact: g.TerminationDescribed, names: Names, units: Units) -> str:
    word = f", on the word of {_quoted(fact.authority)}" if fact.authority else ""
    what = f" ({fact.what})" if fact.what else ""
    return f"described the edge {fact.tag}: {fact.kind}{what}{word}{_note(fact.note)}"


def _edge_sealed(fact: g.TerminationSealed, names: Names, units: Units) -> str:
    past = f", film runs {say_length(fact.runs_past_nm, units, 'down')} past" if fact.runs_past_nm else ""
    kept = ", protected" if fact.protected else ""
    return f"logged the seal of the edge {fact.tag}{past}{kept}{_work(fact.work, units)}{_holds(fact.faults)}"


def _signed(fact: h.HoldPointSigned, names: Names, units: Units) -> str:
    did = "signed" if fact.accepted else "refused"
    return f"{did} the hold point of zone {fact.letter}, {fact.step}{_note(fact.note)}"


def _raised(fact: g.NumbersRaised, names: Names, units: Units) -> str:
    asked = {raised.name: raised for raised in fact.raised}
    told = [
        f"{name.replace('_', ' ')} {say_number(name, asked[name].value, units)} ({asked[name].source})"
        if name in asked
        else f"{name.replace('_', ' ')} as the rule sheet asks"
        for name in fact.changed
    ]
    return f"changed what zone {fact.letter} asks more of than the rule sheet: {'; '.join(told)}"


TELL: dict[type, Callable[..., str]] = {
    g.NumbersRaised: _raised,
    g.CauseTold: lambda fact, n, u: f"said what {fact.tag} likely came from: {fact.cause}",
    g.RepairLogged: _repair,
    g.RepairWithdrawn: lambda fact, n, u: f"withdrew a repair of {fact.tag}: {fact.reason}",
    g.PatchLookedAt: _look,
    g.RepairLookedAt: _look,
    g.PenetrationsPlaced: _pipes,
    g.PenetrationWithdrawn: lambda fact, n, u: f"withdrew {fact.tag}: {fact.reason}",
    g.SealLogged: _sealed,
    g.SealWithdrawn: lambda fact, n, u: f"withdrew the seal of {fact.tag}: {fact.reason}",
    g.SeamDrawn: lambda fact, n, u: f"drew the seam {fact.tag}, {fact.kind}{_note(fact.note)}",
    g.SeamWalked: _walked,
    g.SeamWithdrawn: lambda fact, n, u: f"withdrew the seam {fact.tag}: {fact.reason}",
    g.TerminationDescribed: _edge,
    g.TerminationSealed: _edge_sealed,
    g.EdgeSealWithdrawn: lambda fact, n, u: f"withdrew the seal of the edge {fact.tag}: {fact.reason}",
    g.TerminationWithdrawn: lambda fact, n, u: f"withdrew the edge {fact.tag}: {fact.reason}",
    g.NoneHereStated: lambda fact, n, u: f"stated that zone {fact.letter} has no {fact.what}",
    h.MaterialSubmitted: lambda fact, n, u: f"submitted a material, {fact.kind}: {_quoted(fact.name)}",
    h.MaterialWithdrawn: lambda fact, n, u: f"withdrew the material {_quoted(fact.name)}: {fact.reason}",
    h.LotReceived: lambda fact, n, u: f"received lot {fact.number}, {fact.rolls} on site{_note(fact.note)}",
    h.LotWithdrawn: lambda fact, n, u: f"withdrew lot {fact.number}: {fact.reason}",
    h.LotLaid: lambda fact, n, u: f"logged lot {fact.number} as laid in zone {fact.letter}{_note(fact.note)}",
    h.LayingWithdrawn: lambda fact, n, u: (
        f"withdrew that lot {fact.number} was laid in zone {fact.letter}: {fact.reason}"
    ),
    h.HoldPointSigned: _signed,
}
