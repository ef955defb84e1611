"""Each fact as one English sentence, for people who audit."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from service.domain.measures import Units, say_distance, say_length
from service.domain.outline_texts import say_outline
from service.domain.rule_sets import set_of
from service.domain.rule_texts import TITLES, say_rule
from service.domain.rules import STEPS
from service.history import facts as f
from service.history.entries import Entry
from service.history.sentences_evidence import OPERATOR, OPERATOR_NAME
from service.history.sentences_evidence import TELL as TELL_EVIDENCE
from service.history.sentences_installed import TELL

Names = Mapping[str, str]


def sentence(entry: Entry, names: Names, units: Units) -> str:
    """`names`: person id to name; one that is not there is told as "a person no longer named"."""
    who = who_did(entry.by, names)
    told = _alone(entry) or _TELL[type(entry.fact)](entry.fact, names, units)
    return f"{who} {told.removesuffix('.')}."


def who_did(by: str, names: Names) -> str:
    """The name of whoever an entry is by, at the start of a sentence."""
    return OPERATOR_NAME if by == OPERATOR else names.get(by, "A person no longer named")


def _alone(entry: Entry) -> str:
    """What somebody did to themselves, which would name them twice."""
    match entry.fact:
        case f.PersonJoined(person, role) if person == entry.by:
            return f"joined as {role}"
        case f.PersonLeft(person) if person == entry.by:
            return "left the project"
    return ""


def _quoted(text: str) -> str:
    """Somebody's own words; their last full stop goes, for the sentence brings its own."""
    return f'"{text.removesuffix(".")}"'


def _joined(fact: f.PersonJoined, names: Names, units: Units) -> str:
    who = names.get(fact.person, "a person no longer named")
    return f"let {who} in as {fact.role}"


def _left(fact: f.PersonLeft, names: Names, units: Units) -> str:
    return f"took {names.get(fact.person, 'a person no longer named')} off the project"


def _sheet(fact: f.RuleSheetChanged, names: Names, units: Units) -> str:
    told = [_number(name, fact, units) for name in fact.changed]
    return "changed the rule sheet: " + "; ".join(told)


def _number(name: str, fact: f.RuleSheetChanged, units: Units) -> str:
    value, plain = getattr(fact.sheet, name), name.replace("_", " ")
    if name in TITLES:
        return f"{plain} {say_rule(fact.sheet, name, units)} ({value.source})"
    if isinstance(value, bool):
        return f"{plain} {'asked' if value else 'not asked'}"
    if name == "sources":
        return "where its choices come from"
    if name == "sets":
        return f"ready-made sets: {'; '.join(set_of(key).name for key in value) or 'none'}"
    if name == "hold_points":
        own = ", ".join(step for step in value if step not in STEPS)
        return f"hold points of its own: {own or 'none'}"
    return f"{plain}: {', '.join(value) or 'none'}"


def _scale(fact: f.ScaleSet, names: Names, units: Units) -> str:
    return f"set the sketch's scale: {say_distance(fact.scale.distance_nm, units)} between two points"


def _marked(fact: f.DefectMarked, names: Names, units: Units) -> str:
    note = f", noting {_quoted(fact.note)}" if fact.note else ""
    return f"marked {fact.tag}: {fact.kind}, {say_outline(fact.outline, units)}{note}"


def _patched(fact: f.PatchLogged, names: Names, units: Units) -> str:
    asked = say_length(fact.minimum_nm, units)
    if fact.overlap_nm is None or fact.overlap_nm < 0:
        reach = "damage shows past it"
    else:
        reach = f"overlap {say_length(fact.overlap_nm, units, 'down')} of {asked} asked"
    faults = [
        word
        for fine, word in (
            (fact.cleaned, "not cleaned"), (fact.dry, "not dry"), (fact.edges_taped, "edges not all taped"),
        )
        if not fine
    ]  # fmt: skip
    lot = f", lot {fact.lot}" if fact.lot else ""
    more = f", also over {len(fact.also)} more" if fact.also else ""
    tape = say_length(fact.tape_width_nm, units)
    return f"logged a patch on {fact.tag}{more}: {', '.join([reach, f'{tape} tape', *faults])}{lot}"


def _placed(fact: f.ZonePlaced, names: Names, units: Units) -> str:
    volume = f", {fact.volume}" if fact.volume else ""
    if not fact.without_release:
        return f"marked zone {fact.letter} placed{volume}"
    return (
        f"marked zone {fact.letter} placed without release{volume}. It was held: {'; '.join(fact.blockers)}"
    )


def _released(fact: f.ZoneReleased, names: Names, units: Units) -> str:
    unasked = (
        f". Not asked for on this project: {', '.join(fact.not_asked_for)}" if fact.not_asked_for else ""
    )
    gone = f". Withdrawn before it: {'; '.join(fact.withdrawn)}" if fact.withdrawn else ""
    return f"released zone {fact.letter}, stating {_quoted(fact.statement)}{unasked}{gone}"


_TELL: dict[type, Callable[..., str]] = {
    f.ProjectStarted: lambda fact, n, u: f'started the project "{fact.name}"',
    f.RuleSheetChanged: _sheet,
    f.PersonInvited: lambda fact, n, u: f"invited somebody as {fact.role}",
    f.InvitationWithdrawn: lambda fact, n, u: f"withdrew an unused invitation as {fact.role}",
    f.PersonJoined: _joined,
    f.PersonLeft: _left,
    f.SketchAdded: lambda fact, n, u: f'added the sketch "{fact.name}"',
    f.SketchRevised: lambda fact, n, u: (
        "put a revised picture under the sketch, aligned by two common points"
    ),
    f.ScaleSet: _scale,
    f.GridLaid: lambda fact, n, u: (
        f"laid the grid: {', '.join(line.label for line in fact.lines)}"
        if fact.lines
        else "took the grid away"
    ),
    f.ZoneOutlined: lambda fact, n, u: f'outlined zone {fact.letter}, "{fact.name}"',
    f.ZoneChanged: lambda fact, n, u: f'changed the zone "{fact.name}"',
    f.ZoneWithdrawn: lambda fact, n, u: f"took a zone off the sketch: {fact.reason}",
    f.WallDrawn: lambda fact, n, u: "drew a wall edge",
    f.WallWithdrawn: lambda fact, n, u: f"took a wall edge away: {fact.reason}",
    f.DefectMarked: _marked,
    f.DefectWithdrawn: lambda fact, n, u: f"withdrew {fact.tag}: {fact.reason}",
    f.PatchLogged: _patched,
    f.PatchWithdrawn: lambda fact, n, u: f"withdrew a patch on {fact.tag}: {fact.reason}",
    f.WalkFinished: lambda fact, n, u: (
        f"finished a punch walk of zone {fact.letter}" + (f": {_quoted(fact.note)}" if fact.note else "")
    ),
    f.ZoneHeld: lambda fact, n, u: f"put zone {fact.letter} on hold for {fact.cause}: {fact.reason}",
    f.HoldLifted: lambda fact, n, u: f"lifted the hold of zone {fact.letter} for {fact.cause}: {fact.reason}",
    f.ZoneReleased: _released,
    f.ReleasePulledBack: lambda fact, n, u: f"pulled back the release of zone {fact.letter}: {fact.reason}",
    f.ZonePlaced: _placed,
    f.PhotoAdded: lambda fact, n, u: f"added a photo of {fact.tag}",
    **TELL,
    **TELL_EVIDENCE,
}
