"""What happened to film as installed, each as the second half of an English sentence."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from service.domain.gate.wording import say_faults
from service.domain.nouns.installed import Work
from service.domain.rule_sheet.rule_texts import say_number
from service.domain.shapes.outline_texts import say_outline
from service.domain.words.measures import Units, say_length
from service.domain.words.speech import later, tr, trn
from service.domain.words.temperatures import say_temperature
from service.history.facts import film as h
from service.history.facts import installed as g
from service.history.sentences.parts import noting, quoted
from service.history.sentences.plain_numbers import PLAIN

Names = Mapping[str, str]


def _work(work: Work, units: Units) -> str:
    """How it was done, in few words: what is missing first."""
    told = [word for fine, word in ((work.cleaned, tr("not cleaned")), (work.dry, tr("not dry"))) if not fine]
    if work.tape_width_nm:
        told.append(tr("{width} tape", width=say_length(work.tape_width_nm, units)))
    if work.film_mf is not None:
        told.append(tr("film at {temperature}", temperature=say_temperature(work.film_mf, units)))
    if work.lot:
        told.append(tr("lot {number}", number=work.lot))
    return "".join(f", {word}" for word in told) + noting(work.note)


def _holds(faults: tuple[str, ...]) -> str:
    return ". " + tr("It does not hold: {faults}", faults=say_faults(faults)) if faults else ""


def _repair(fact: g.RepairLogged, names: Names, units: Units) -> str:
    how = tr(fact.method)
    if fact.lap_nm is not None:
        how += ", " + tr("lap {length}", length=say_length(fact.lap_nm, units, "down"))
    how += _work(fact.work, units)
    if not fact.meets:
        how += ". " + tr("It does not mend it")
    return tr("logged a repair of {tag}: {how}", tag=fact.tag, how=how)


def _look(fact: g.PatchLookedAt | g.RepairLookedAt, names: Names, units: Units) -> str:
    of_patch = isinstance(fact, g.PatchLookedAt)
    if fact.accepted:
        patch, repair = (
            later("accepted a patch on {tag} at a second look"),
            later("accepted a repair of {tag} at a second look"),
        )
    else:
        patch, repair = (
            later("refused a patch on {tag} at a second look"),
            later("refused a repair of {tag} at a second look"),
        )
    return tr(patch if of_patch else repair, tag=fact.tag) + noting(fact.note)


def _pipes(fact: g.PenetrationsPlaced, names: Names, units: Units) -> str:
    first = fact.placed[0]
    size = first.size or say_outline(first.outline, units)
    said = {"tag": fact.tag, "kind": tr(first.kind), "size": size}
    if len(fact.placed) > 1:
        row = tr("placed {tag}: {kind}, {size} ({n} in a row)", **said, n=len(fact.placed))
        return row + noting(fact.note)
    return tr("placed {tag}: {kind}, {size}", **said) + noting(fact.note)


def _sealed(fact: g.SealLogged, names: Names, units: Units) -> str:
    how = tr(fact.method)
    if fact.collar_width_nm and fact.collar_length_nm:
        wide, long = (say_length(nm, units, "down") for nm in (fact.collar_width_nm, fact.collar_length_nm))
        how = tr("{method} {wide} wide and {long} long", method=how, wide=wide, long=long)
    how += _work(fact.work, units) + _holds(fact.faults)
    if fact.also:
        return tr("sealed {tag} and {n} more: {how}", tag=fact.tag, n=len(fact.also), how=how)
    return tr("sealed {tag}: {how}", tag=fact.tag, how=how)


def _walked(fact: g.SeamWalked, names: Names, units: Units) -> str:
    laps = [station.lap_nm for station in fact.stations]
    told = [tr("walked seam {tag}", tag=fact.tag)]
    if laps:
        least = say_length(min(laps), units, "down")
        told.append(tr("least lap {least} of {n} measured", least=least, n=len(laps)))
    if fact.runs:
        told.append(trn("{n} run at fault marked", "{n} runs at fault marked", len(fact.runs)))
    return ", ".join(told) + _work(fact.work, units)


def _edge(fact: g.TerminationDescribed, names: Names, units: Units) -> str:
    what = tr(fact.kind) + (f" ({fact.what})" if fact.what else "")
    if fact.authority:
        what += ", " + tr("on the word of {authority}", authority=quoted(fact.authority))
    return tr("described the edge {tag}: {what}", tag=fact.tag, what=what) + noting(fact.note)


def _edge_sealed(fact: g.TerminationSealed, names: Names, units: Units) -> str:
    told = [tr("logged the seal of the edge {tag}", tag=fact.tag)]
    if fact.runs_past_nm:
        told.append(tr("film runs {length} past", length=say_length(fact.runs_past_nm, units, "down")))
    if fact.protected:
        told.append(tr("protected"))
    return ", ".join(told) + _work(fact.work, units) + _holds(fact.faults)


def _signed(fact: h.HoldPointSigned, names: Names, units: Units) -> str:
    said = {"letter": fact.letter, "step": tr(fact.step)}
    if fact.accepted:
        return tr("signed the hold point of zone {letter}, {step}", **said) + noting(fact.note)
    return tr("refused the hold point of zone {letter}, {step}", **said) + noting(fact.note)


def _raised(fact: g.NumbersRaised, names: Names, units: Units) -> str:
    asked = {raised.name: raised for raised in fact.raised}
    told = [
        tr(
            "{number} {value} ({source})",
            number=tr(PLAIN[name]),
            value=say_number(name, asked[name].value, units),
            source=tr(asked[name].source),
        )
        if name in asked
        else tr("{number} as the rule sheet asks", number=tr(PLAIN[name]))
        for name in fact.changed
    ]
    what = "; ".join(told)
    return tr(
        "changed what zone {letter} asks more of than the rule sheet: {what}", letter=fact.letter, what=what
    )


def _gone(fact: Any, message: str) -> str:
    return tr(message, tag=fact.tag, reason=fact.reason)


def _none(fact: g.NoneHereStated) -> str:
    if fact.what == "seams":
        return tr("stated that zone {letter} has no seams", letter=fact.letter)
    return tr("stated that zone {letter} has no penetrations", letter=fact.letter)


TELL: dict[type, Callable[..., str]] = {
    g.NumbersRaised: _raised,
    g.CauseTold: lambda fact, n, u: tr(
        "said what {tag} likely came from: {cause}", tag=fact.tag, cause=tr(fact.cause)
    ),
    g.RepairLogged: _repair,
    g.RepairWithdrawn: lambda fact, n, u: _gone(fact, later("withdrew a repair of {tag}: {reason}")),
    g.PatchLookedAt: _look,
    g.RepairLookedAt: _look,
    g.PenetrationsPlaced: _pipes,
    g.PenetrationWithdrawn: lambda fact, n, u: _gone(fact, later("withdrew {tag}: {reason}")),
    g.SealLogged: _sealed,
    g.SealWithdrawn: lambda fact, n, u: _gone(fact, later("withdrew the seal of {tag}: {reason}")),
    g.SeamDrawn: lambda fact, n, u: (
        tr("drew the seam {tag}, {kind}", tag=fact.tag, kind=tr(fact.kind)) + noting(fact.note)
    ),
    g.SeamWalked: _walked,
    g.SeamWithdrawn: lambda fact, n, u: _gone(fact, later("withdrew the seam {tag}: {reason}")),
    g.TerminationDescribed: _edge,
    g.TerminationSealed: _edge_sealed,
    g.EdgeSealWithdrawn: lambda fact, n, u: _gone(
        fact, later("withdrew the seal of the edge {tag}: {reason}")
    ),
    g.TerminationWithdrawn: lambda fact, n, u: _gone(fact, later("withdrew the edge {tag}: {reason}")),
    g.NoneHereStated: lambda fact, n, u: _none(fact),
    h.MaterialSubmitted: lambda fact, n, u: tr(
        "submitted a material, {kind}: {name}", kind=tr(fact.kind), name=quoted(fact.name)
    ),
    h.MaterialWithdrawn: lambda fact, n, u: tr(
        "withdrew the material {name}: {reason}", name=quoted(fact.name), reason=fact.reason
    ),
    h.LotReceived: lambda fact, n, u: (
        tr("received lot {number}, {rolls} on site", number=fact.number, rolls=fact.rolls) + noting(fact.note)
    ),
    h.LotWithdrawn: lambda fact, n, u: tr(
        "withdrew lot {number}: {reason}", number=fact.number, reason=fact.reason
    ),
    h.LotLaid: lambda fact, n, u: (
        tr("logged lot {number} as laid in zone {letter}", number=fact.number, letter=fact.letter)
        + noting(fact.note)
    ),
    h.LayingWithdrawn: lambda fact, n, u: tr(
        "withdrew that lot {number} was laid in zone {letter}: {reason}",
        number=fact.number,
        letter=fact.letter,
        reason=fact.reason,
    ),
    h.HoldPointSigned: _signed,
}
