"""Each fact as one English sentence, for people who audit."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from service.domain.nouns.rules import STEPS
from service.domain.rule_sheet.rule_sets import set_of
from service.domain.rule_sheet.rule_texts import TITLES, say_rule
from service.domain.shapes.outline_texts import say_outline
from service.domain.words.measures import Units, say_distance, say_length
from service.domain.words.speech import later, tr, trn
from service.history.facts import facts as f
from service.history.facts.entries import Entry
from service.history.sentences.evidence import OPERATOR, OPERATOR_NAME
from service.history.sentences.evidence import TELL as TELL_EVIDENCE
from service.history.sentences.installed import TELL
from service.history.sentences.parts import quoted
from service.history.sentences.placing import TELL as TELL_PLACING
from service.history.sentences.plain_numbers import PLAIN

Names = Mapping[str, str]


def sentence(entry: Entry, names: Names, units: Units) -> str:
    """`names`: person id to name; one that is not there is told as "a person no longer named"."""
    who = who_did(entry.by, names)
    told = _alone(entry) or _TELL[type(entry.fact)](entry.fact, names, units)
    return tr("{who} {did}.", who=who, did=told.removesuffix("."))


def who_did(by: str, names: Names) -> str:
    """The name of whoever an entry is by, at the start of a sentence."""
    return tr(OPERATOR_NAME) if by == OPERATOR else names.get(by, tr("A person no longer named"))


def _alone(entry: Entry) -> str:
    """What somebody did to themselves, which would name them twice."""
    match entry.fact:
        case f.PersonJoined(person, role) if person == entry.by:
            return tr("joined as {role}", role=tr(role))
        case f.PersonLeft(person) if person == entry.by:
            return tr("left the project")
    return ""


def _joined(fact: f.PersonJoined, names: Names, units: Units) -> str:
    who = names.get(fact.person, tr("a person no longer named"))
    return tr("let {who} in as {role}", who=who, role=tr(fact.role))


def _left(fact: f.PersonLeft, names: Names, units: Units) -> str:
    return tr("took {who} off the project", who=names.get(fact.person, tr("a person no longer named")))


def _sheet(fact: f.RuleSheetChanged, names: Names, units: Units) -> str:
    told = [_number(name, fact, units) for name in fact.changed]
    return tr("changed the rule sheet: {numbers}", numbers="; ".join(told))


def _number(name: str, fact: f.RuleSheetChanged, units: Units) -> str:
    value, plain = getattr(fact.sheet, name), tr(PLAIN[name])
    if name in TITLES:
        said, source = say_rule(fact.sheet, name, units), tr(value.source)
        return tr("{number} {value} ({source})", number=plain, value=said, source=source)
    if isinstance(value, bool):
        return tr("{what} asked", what=plain) if value else tr("{what} not asked", what=plain)
    if name == "sources":
        return plain
    if name == "sets":
        told = "; ".join(tr(set_of(key).name) for key in value)
    elif name == "hold_points":
        told = ", ".join(step for step in value if step not in STEPS)
    else:
        told = ", ".join(map(tr, value))
    return f"{plain}: {told or tr('none')}"


def _scale(fact: f.ScaleSet, names: Names, units: Units) -> str:
    far = say_distance(fact.scale.distance_nm, units)
    return tr("set the sketch's scale: {distance} between two points", distance=far)


def _marked(fact: f.DefectMarked, names: Names, units: Units) -> str:
    said = {"tag": fact.tag, "kind": tr(fact.kind), "size": say_outline(fact.outline, units)}
    if not fact.note:
        return tr("marked {tag}: {kind}, {size}", **said)
    return tr("marked {tag}: {kind}, {size}, noting {note}", **said, note=quoted(fact.note))


def _patched(fact: f.PatchLogged, names: Names, units: Units) -> str:
    asked = say_length(fact.minimum_nm, units)
    if fact.overlap_nm is None or fact.overlap_nm < 0:
        reach = tr("damage shows past it")
    else:
        overlap = say_length(fact.overlap_nm, units, "down")
        reach = tr("overlap {overlap} of {asked} asked", overlap=overlap, asked=asked)
    faults = [
        word
        for fine, word in (
            (fact.cleaned, tr("not cleaned")), (fact.dry, tr("not dry")),
            (fact.edges_taped, tr("edges not all taped")),
        )
        if not fine
    ]  # fmt: skip
    told = [reach, tr("{width} tape", width=say_length(fact.tape_width_nm, units)), *faults]
    if fact.lot:
        told.append(tr("lot {number}", number=fact.lot))
    how = ", ".join(told)
    if fact.late:
        how += "; " + tr("it waited on a phone while others opened the mark again")
    if not fact.also:
        return tr("logged a patch on {tag}: {how}", tag=fact.tag, how=how)
    return trn(
        "logged a patch on {tag}, also over {n} more: {how}",
        "logged a patch on {tag}, also over {n} more: {how}",
        len(fact.also),
        tag=fact.tag,
        how=how,
    )


def _placed(fact: f.ZonePlaced, names: Names, units: Units) -> str:
    letter, volume = fact.letter, f", {fact.volume}" if fact.volume else ""
    if not fact.without_release and not fact.blockers:
        return tr("marked zone {letter} placed{volume}", letter=letter, volume=volume)
    if not fact.without_release:
        return tr(
            "marked zone {letter} placed{volume}. Found during placing and not mended before the concrete "
            "covered it: {reasons}",
            letter=letter, volume=volume, reasons="; ".join(fact.blockers),
        )  # fmt: skip
    return tr(
        "marked zone {letter} placed without release{volume}. It was held: {reasons}",
        letter=letter, volume=volume, reasons="; ".join(fact.blockers),
    )  # fmt: skip


def _released(fact: f.ZoneReleased, names: Names, units: Units) -> str:
    stated = quoted(fact.statement)
    told = [tr("released zone {letter}, stating {statement}", letter=fact.letter, statement=stated)]
    if fact.not_asked_for:
        told.append(tr("Not asked for on this project: {what}", what=", ".join(map(tr, fact.not_asked_for))))
    if fact.withdrawn:
        told.append(tr("Withdrawn before it: {what}", what="; ".join(fact.withdrawn)))
    return ". ".join(told)


def _held(fact: f.ZoneHeld | f.HoldLifted, message: str) -> str:
    return tr(message, letter=fact.letter, cause=tr(fact.cause), reason=fact.reason)


def _back(fact: f.ReleasePulledBack) -> str:
    return tr("pulled back the release of zone {letter}: {reason}", letter=fact.letter, reason=fact.reason)


_TELL: dict[type, Callable[..., str]] = {
    f.ProjectStarted: lambda fact, n, u: tr('started the project "{name}"', name=fact.name),
    f.RuleSheetChanged: _sheet,
    f.PersonInvited: lambda fact, n, u: tr("invited somebody as {role}", role=tr(fact.role)),
    f.InvitationWithdrawn: lambda fact, n, u: tr(
        "withdrew an unused invitation as {role}", role=tr(fact.role)
    ),
    f.PersonJoined: _joined,
    f.PersonLeft: _left,
    f.SketchAdded: lambda fact, n, u: tr('added the sketch "{name}"', name=fact.name),
    f.SketchRevised: lambda fact, n, u: tr(
        "put a revised picture under the sketch, aligned by two common points"
    ),
    f.ScaleSet: _scale,
    f.GridLaid: lambda fact, n, u: (
        tr("laid the grid: {lines}", lines=", ".join(line.label for line in fact.lines))
        if fact.lines
        else tr("took the grid away")
    ),
    f.ZoneOutlined: lambda fact, n, u: tr(
        'outlined zone {letter}, "{name}"', letter=fact.letter, name=fact.name
    ),
    f.ZoneChanged: lambda fact, n, u: tr('changed the zone "{name}"', name=fact.name),
    f.ZoneWithdrawn: lambda fact, n, u: tr("took a zone off the sketch: {reason}", reason=fact.reason),
    f.WallDrawn: lambda fact, n, u: tr("drew a wall edge"),
    f.WallWithdrawn: lambda fact, n, u: tr("took a wall edge away: {reason}", reason=fact.reason),
    f.DefectMarked: _marked,
    f.DefectWithdrawn: lambda fact, n, u: tr("withdrew {tag}: {reason}", tag=fact.tag, reason=fact.reason),
    f.PatchLogged: _patched,
    f.PatchWithdrawn: lambda fact, n, u: tr(
        "withdrew a patch on {tag}: {reason}", tag=fact.tag, reason=fact.reason
    ),
    f.WalkFinished: lambda fact, n, u: (
        tr("finished a punch walk of zone {letter}: {note}", letter=fact.letter, note=quoted(fact.note))
        if fact.note
        else tr("finished a punch walk of zone {letter}", letter=fact.letter)
    ),
    f.ZoneHeld: lambda fact, n, u: _held(fact, later("put zone {letter} on hold for {cause}: {reason}")),
    f.HoldLifted: lambda fact, n, u: _held(
        fact, later("lifted the hold of zone {letter} for {cause}: {reason}")
    ),
    f.ZoneReleased: _released,
    f.ReleasePulledBack: lambda fact, n, u: _back(fact),
    f.ZonePlaced: _placed,
    f.PhotoAdded: lambda fact, n, u: tr("added a photo of {tag}", tag=fact.tag),
    **TELL,
    **TELL_EVIDENCE,
    **TELL_PLACING,
}
