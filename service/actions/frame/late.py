"""What waited on a phone while others went on: whether what it rests on still stood when it came.

What was seen is always recorded. What was judged on something that has moved since is not: a walk of another
outline, a signature under a seal that was opened meanwhile. Both sides are told, and a person decides.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable

from sqlmodel import Session

from service.actions.frame.desk import Desk
from service.domain.nouns.rules import STEPS
from service.domain.nouns.site import Defect, Px, Site, Zone
from service.domain.words.refusals import MovedSince, Theirs
from service.domain.words.speech import tr
from service.history.facts import facts as f
from service.history.facts import film as h
from service.history.facts import installed as g
from service.history.facts.encoding import time_text
from service.history.facts.entries import Entry
from service.history.sentences.sentences import sentence
from service.storage.history import books
from service.storage.history.seen import names_in

# What opens a mark again: found anew, or what mended it taken back or refused.
_REOPENS = (f.DefectMarked, f.PatchWithdrawn, g.RepairWithdrawn, g.PatchLookedAt, g.RepairLookedAt)
# What somebody who signs a step looked at: the marks and all that mends them, and what is sealed.
_MARKS = (
    f.DefectMarked, f.DefectWithdrawn, f.PatchLogged, f.PatchWithdrawn, g.RepairLogged, g.RepairWithdrawn,
    g.PatchLookedAt, g.RepairLookedAt,
)  # fmt: skip
_SEAMS = (g.SeamDrawn, g.SeamWalked, g.SeamWithdrawn)
_PIPES = (g.PenetrationsPlaced, g.PenetrationWithdrawn, g.SealLogged, g.SealWithdrawn)
_EDGES = (g.TerminationDescribed, g.TerminationSealed, g.EdgeSealWithdrawn, g.TerminationWithdrawn)
_FILM = (h.LotLaid, h.LayingWithdrawn)
_ALL = (*_MARKS, *_SEAMS, *_PIPES, *_EDGES, *_FILM)
# What was recorded of a seal, or took one away.
SEALED_OR_OPENED = (g.SealLogged, g.SealWithdrawn)
EDGE_SEALED_OR_OPENED = (g.TerminationSealed, g.EdgeSealWithdrawn)
# By the step's place in time. The ground under the film is not changed by what happens to the film, and a
# step that the project wrote itself could be about anything.
_SEEN_AT = ((), _FILM, (*_FILM, *_SEAMS), _PIPES, _EDGES, _MARKS, _ALL, _ALL, _ALL)
SEEN_AT: dict[str, tuple[type, ...]] = dict(zip(STEPS, _SEEN_AT, strict=True))


def reopened(desk: Desk, session: Session, site: Site, by: str, mark_ids: Collection[str]) -> bool:
    """Whether others reported or opened one of these marks again after what a phone knew. False for what did
    not wait on one.

    What the same person sent from a phone since is no news to them: a mark made there and its patch wait in
    one outbox, and neither knows the other's number.
    """
    if desk.phone is None:
        return False
    assert site.project is not None
    wanted = set(mark_ids)
    over = [p for p in site.patches.values() if not wanted.isdisjoint((p.defect_id, *p.also))]
    patches = {patch.id for patch in over}
    tags = {site.defects[mark].tag for mark in wanted | {p.defect_id for p in over} if mark in site.defects}
    since = books.since(session, site.project.id, desk.phone.known, tags=tags)
    return any(_opens(entry, wanted, patches) for entry in others(since, by))


def _opens(entry: Entry, marks: set[str], patches: set[str]) -> bool:
    match entry.fact:
        case g.PatchLookedAt(accepted=True) | g.RepairLookedAt(accepted=True):
            return False
        case f.PatchWithdrawn(patch=patch) | g.PatchLookedAt(patch=patch):
            return patch in patches
        case fact if isinstance(fact, _REOPENS):
            return fact.defect in marks
    return False


def others(entries: Iterable[Entry], by: str) -> list[Entry]:
    """The entries without those that this person sent from a phone."""
    return [entry for entry in entries if entry.by != by or entry.phone is None]


def check_standing(desk: Desk, session: Session, site: Site, defect: Defect) -> None:
    """MovedSince where a mark was withdrawn while work on it waited on a phone: whoever did it sees why."""
    if desk.phone is None or defect.withdrawn is None:
        return
    assert site.project is not None
    since = books.since(session, site.project.id, 0, tags={defect.tag})
    gone = [entry for entry in since if isinstance(entry.fact, f.DefectWithdrawn)]
    raise _moved(session, site, gone[-1], tr("{tag} was withdrawn. Nothing was recorded.", tag=defect.tag))


# --- what is refused --------------------------------------------------------------------------------------


def check_walk(desk: Desk, session: Session, site: Site, zone: Zone) -> None:
    """MovedSince where the zone's outline or its sketch's scale was set after the walk was made."""
    if desk.phone is not None and (moved := _redrawn(desk, session, site, zone)):
        raise _moved(session, site, moved, tr("The zone was drawn or measured anew after this was made."))


def check_signature(desk: Desk, session: Session, site: Site, zone: Zone, by: str, step: str) -> None:
    """MovedSince where what a signature of this step is about changed after it was made."""
    if desk.phone is None:
        return
    check_walk(desk, session, site, zone)
    kinds = SEEN_AT.get(step, _ALL)
    assert site.project is not None
    since = books.since(session, site.project.id, desk.phone.known, zone_id=zone.id)
    moved = [entry for entry in others(since, by) if isinstance(entry.fact, kinds)]
    if moved:
        told = tr("What this step is about was changed after the phone last knew. Look again, then sign.")
        raise _moved(session, site, moved[-1], told)


def check_thing(
    desk: Desk, session: Session, site: Site, by: str, tags: Collection[str], kinds: tuple[type, ...]
) -> None:
    """MovedSince where others recorded something of these kinds about what has these tags, after the phone
    last knew: a seal made before one was opened must not close it again, nor an old walk of a seam count."""
    if desk.phone is None:
        return
    assert site.project is not None
    since = others(books.since(session, site.project.id, desk.phone.known, tags=tags), by)
    moved = [entry for entry in since if isinstance(entry.fact, kinds)]
    if moved:
        raise _moved(session, site, moved[-1], tr("Others recorded something about it after this was made."))


def _redrawn(desk: Desk, session: Session, site: Site, zone: Zone) -> Entry | None:
    """The newest entry after what the phone knew that drew the zone anew or set the scale under it."""
    assert site.project is not None and desk.phone is not None
    found: Entry | None = None
    outline: tuple[Px, ...] = ()
    drawn = (f.ZoneOutlined.type, f.ZoneChanged.type, f.ScaleSet.type)
    for entry in books.of_types(session, site.project.id, drawn):
        moved = False
        match entry.fact:
            case f.ZoneOutlined(zone=name, outline=ring) | f.ZoneChanged(zone=name, outline=ring):
                if name == zone.id:
                    moved, outline = ring != outline, ring
            case f.ScaleSet(sketch=name):
                moved = name == zone.sketch_id
        if moved and entry.seq > desk.phone.known:
            found = entry
    return found


def _moved(session: Session, site: Site, entry: Entry, told: str) -> MovedSince:
    return MovedSince(told, theirs(session, site, entry))


def theirs(session: Session, site: Site, entry: Entry) -> Theirs:
    """What somebody else recorded, to be shown beside what lies on the phone."""
    assert site.project is not None
    names = names_in(session, site.project.id)
    by = names.get(entry.by, tr("A person no longer named"))
    told = sentence(entry, names, site.project.units)
    return Theirs(told, by, time_text(entry.at), entry.seq, _page(entry))


_PAGES: tuple[tuple[str, Callable[[str], str]], ...] = (
    ("defect", lambda name: f"/defects/{name}"),
    ("penetration", lambda name: f"/penetrations/{name}"),
    ("seam", lambda name: f"/seams/{name}"),
    ("termination", lambda name: f"/edges/{name}"),
    ("zone", lambda name: f"/zones/{name}"),
    ("sketch", lambda name: f"/sketches/{name}"),
)


def _page(entry: Entry) -> str:
    named = ((page, getattr(entry.fact, kind, None)) for kind, page in _PAGES)
    return next((page(name) for page, name in named if isinstance(name, str)), "/")
