"""Replays a history and works out again everything that its entries tell as judged."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from service.domain.nouns.site import Site
from service.history.facts import facts as f
from service.history.facts.entries import Entry
from service.history.facts.placing import PlacingStarted
from service.history.verifying import judged_work, judged_zones
from service.history.verifying.before import Before
from service.history.verifying.findings import Finding, count, fails, holds

_JUDGES = judged_work.JUDGES | judged_zones.JUDGES
# The code of a disagreement.
_CODES: dict[type, str] = {
    f.ZoneReleased: "release-otherwise",
    f.ZonePlaced: "placing-otherwise",
    PlacingStarted: "placing-otherwise",
}


@dataclass(slots=True)
class Judged:
    """`site` and each zone's state after entry `up_to`; None where the history cannot be followed so far."""

    findings: list[Finding] = field(default_factory=list)
    site: Site | None = None
    states: dict[str, str] = field(default_factory=dict)


def judge_all(entries: Iterable[Entry], up_to: int) -> Judged:
    """Every judgement against the facts before it. `up_to`: after which entry the site is kept."""
    before, judged, done, earlier = Before(), Judged(), Counter[tuple[str, str]](), 0
    for entry in entries:
        asked = _JUDGES.get(type(entry.fact))
        # Whatever a foreign history makes go wrong here is a fault of that history and never of this record's
        # reader: nothing it holds may end the check without a word.
        try:
            if asked is not None:
                one, many, judge = asked
                answers = list(judge(before, entry, entry.fact))
                judged.findings += _otherwise(entry, answers)
                earlier += any(answer.earlier for answer in answers)
                done[one, many] += 1
            before.take(entry)
            if entry.seq == up_to:
                judged.site, judged.states = _kept(before.site), before.states()
        except Exception as bad:
            judged.findings.append(_lost(entry, bad))
            return judged
    if not judged.findings:
        judged.findings += _said(done, earlier)
    return judged


def _kept(site: Site) -> Site:
    """A copy that does not move on: nouns are frozen, the shelves are not."""
    shelves = {name: dict(getattr(site, name)) for name in Site.__slots__ if name != "project"}
    return Site(project=site.project, **shelves)


def _otherwise(entry: Entry, answers: Iterable[judged_work.Answer]) -> Iterator[Finding]:
    what = f"Entry {entry.seq:,}" + (f" ({_name(entry)})" if _name(entry) else "")
    code = _CODES.get(type(entry.fact), "judged-otherwise")
    for answer in answers:
        if not answer.right:
            words = (
                f"{what} tells {answer.told}. Worked out again from the entries before it: {answer.found}."
            )
            yield fails(code, words)


def _name(entry: Entry) -> str:
    letter = getattr(entry.fact, "letter", "")
    return entry.tag or (f"zone {letter}" if letter else "")


def _lost(entry: Entry, bad: Exception) -> Finding:
    told = f"Entry {entry.seq:,} does not follow from the entries before it ({type(bad).__name__})"
    return fails("cannot-follow", f"{told}: nothing after it was worked out again.")


def _said(done: Counter[tuple[str, str]], earlier: int) -> Iterator[Finding]:
    if not done:
        yield holds("judged", "The entries tell nothing that is judged.")
        return
    kinds = ", ".join(count(number, one, many) for (one, many), number in sorted(done.items()))
    told = f"Worked out again from the entries before each, and the same as told: {kinds}."
    if earlier:
        told += f" Of these, {earlier:,} were judged by the first program and come out so under its rules."
    yield holds("judged", told)
