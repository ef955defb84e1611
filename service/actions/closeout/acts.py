"""Who did what and when, looked up in the entries of a history: for what is told of the nouns they made."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime

from service.domain.nouns.installed import Look as LookMade
from service.domain.nouns.installed import Signed, Work
from service.domain.nouns.site import Site
from service.domain.rule_sheet.effective import sheet_in
from service.domain.words.measures import Units, say_length
from service.domain.words.speech import later, tr
from service.domain.words.temperatures import say_temperature
from service.history.closeout.told import Act, Look, Size, Undone
from service.history.facts import facts as f
from service.history.facts import film as h
from service.history.facts import installed as g
from service.history.facts import placing as p
from service.history.facts.entries import Entry
from service.history.replay.replay import apply
from service.history.sentences.sentences import who_did

# What each of these facts begins and ends, by the name of the field that holds its id. A zone is walked and
# placed beside being outlined, so those stand under names of their own.
BEGINS: dict[type, tuple[str, str]] = {
    f.DefectMarked: ("defect", "defect"),
    f.PatchLogged: ("patch", "patch"),
    f.ZoneOutlined: ("zone", "zone"),
    f.ZoneHeld: ("hold", "hold"),
    f.ZoneReleased: ("release", "release"),
    f.WalkFinished: ("walk", "zone"),
    f.ZonePlaced: ("placing", "zone"),
    p.PlacingStarted: ("start of placing", "zone"),
    g.RepairLogged: ("repair", "repair"),
}
ENDS: dict[type, str] = {
    f.DefectWithdrawn: "defect",
    f.PatchWithdrawn: "patch",
    f.ZoneWithdrawn: "zone",
    f.HoldLifted: "hold",
    f.ReleasePulledBack: "release",
    g.RepairWithdrawn: "repair",
    g.PenetrationWithdrawn: "penetration",
    g.SeamWithdrawn: "seam",
    g.TerminationWithdrawn: "termination",
    h.MaterialWithdrawn: "material",
    h.LotWithdrawn: "lot",
    h.LayingWithdrawn: "laying",
}


class Acts:
    """A history's entries by what they begin and what they end. `units`: the project's."""

    def __init__(self, entries: Iterable[Entry], names: Mapping[str, str], units: Units) -> None:
        self.names, self.units = names, units
        self.begun: dict[tuple[str, str], Entry] = {}
        self.ended: dict[tuple[str, str], Entry] = {}
        for entry in entries:
            fact = entry.fact
            if begins := BEGINS.get(type(fact)):
                self.begun[begins[0], getattr(fact, begins[1])] = entry
            elif isinstance(fact, g.NoneHereStated):
                self.begun[f"none of {fact.what}", fact.zone] = entry
            elif ends := ENDS.get(type(fact)):
                self.ended[ends, getattr(fact, ends)] = entry

    def act(self, by: str, role: str, at: datetime, seq: int) -> Act:
        return Act(who_did(by, self.names), role, at, seq)

    def of(self, entry: Entry) -> Act:
        return self.act(entry.by, entry.role, entry.at, entry.seq)

    def signed(self, signed: Signed) -> Act:
        return self.act(signed.by, signed.role, signed.at, signed.seq)

    def beginning(self, kind: str, id: str) -> Act:
        """Who made it. KeyError when no entry did."""
        return self.of(self.begun[kind, id])

    def fact(self, kind: str, id: str) -> object:
        """The fact that began it. KeyError when none did."""
        return self.begun[kind, id].fact

    def undone(self, kind: str, id: str, why: str | None) -> Undone | None:
        """Who took it back, and the reason that the noun carries; None where it stands."""
        if why is None:
            return None
        return Undone(self.of(self.ended[kind, id]), why)

    def looks(self, looks: Iterable[LookMade]) -> tuple[Look, ...]:
        return tuple(
            Look(look.accepted, look.note, self.act(look.by, look.role, look.at, look.seq)) for look in looks
        )

    # --- words that more than one part uses

    def down(self, nm: int) -> Size:
        """A length that was reached, rounded down."""
        return Size(nm, say_length(nm, self.units, "down"))

    def asked(self, nm: int) -> Size:
        """A length that was asked for, rounded up."""
        return Size(nm, say_length(nm, self.units, "up"))

    def how(self, work: Work, *answers: tuple[Answer, bool]) -> str:
        """How a piece of work was done, what is missing in it first."""
        told = yes_and_no((*answers, (CLEANED, work.cleaned), (DRY, work.dry)))
        if work.tape_width_nm:
            told.append(tr("{length} tape", length=say_length(work.tape_width_nm, self.units, "down")))
        if work.film_mf is not None:
            told.append(tr("film at {temperature}", temperature=say_temperature(work.film_mf, self.units)))
        return ", ".join(told)


Answer = tuple[str, str]  # how a thing is told that was done, and that was not
CLEANED, DRY = (later("cleaned"), later("not cleaned")), (later("dry"), later("not dry"))
TAPED, BONDED = (later("taped"), later("not taped")), (later("bonded"), later("not bonded"))
EDGES_TAPED = (later("all edges taped"), later("not all edges taped"))


def yes_and_no(answers: Iterable[tuple[Answer, bool]]) -> list[str]:
    """What was not done, each as `not ...`, and then what was."""
    found = list(answers)
    return [tr(no) for (_, no), done in found if not done] + [tr(yes) for (yes, _), done in found if done]


def laps_asked(entries: Iterable[Entry]) -> dict[tuple[str, str], int]:
    """The least lap asked, in nanometres, in its zone when each repair was logged and each seam walked."""
    found: dict[tuple[str, str], int] = {}
    site = Site()
    for entry in entries:
        apply(site, entry)
        found |= lap_asked(site, entry)
    return found


def lap_asked(site: Site, entry: Entry) -> dict[tuple[str, str], int]:
    """The least lap asked by what this entry logged, read off the site as the entry left it."""
    match entry.fact:
        case g.RepairLogged(repair=made, zone=zone):
            return {("repair", made): sheet_in(site, site.zones[zone]).lap.nm}
        case g.SeamWalked(walk=made, zone=zone):
            return {("walk", made): sheet_in(site, site.zones[zone]).lap.nm}
    return {}
