"""What was marked here before, so that the next mark like it takes one press."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from service.actions.frame.reading import ZoneView
from service.domain.nouns.site import KINDS, Defect
from service.domain.words.speech import tr
from service.web.marks.shapes import offered
from service.web.shared.crew_words import what

FIRST_KINDS = ("hole", "tear", "burn")
MOST_OFTEN = 3


@dataclass(frozen=True, slots=True)
class Often:
    """A mark made here before, to be filled in at one press: its words, and the fields with their values."""

    words: str
    fields: Mapping[str, str]


def last_mark(view: ZoneView, person_id: str) -> Defect | None:
    """This person's last mark here that stands; None where they made none."""
    own = [d for d in view.site.defects.values() if d.by == person_id and d.withdrawn is None]
    return max(own, key=lambda d: (d.marked_at, d.tag), default=None)


def common_kinds(view: ZoneView) -> tuple[str, ...]:
    """The kinds that stand first: those marked here most, before the ones that are common everywhere."""
    counted = Counter(d.kind for d in view.site.defects.values() if d.withdrawn is None)
    most = sorted(counted, key=lambda kind: (-counted[kind], KINDS.index(kind)))
    first = tuple(dict.fromkeys((*most, *FIRST_KINDS)))[: len(FIRST_KINDS)]
    return tuple(sorted(first, key=KINDS.index))


def often_here(view: ZoneView, person_id: str) -> tuple[Often, ...]:
    """Kind and size at one press: as this person marked last, then what was marked here most."""
    units, found = view.seen.project.units, dict[str, Often]()
    told = [d for d in view.site.defects.values() if d.withdrawn is None and offered(d.outline, units)]
    counted = Counter(what(d, units) for d in told)
    last = last_mark(view, person_id)
    if last is not None and last in told:
        words = tr("Same as last: {what}", what=what(last, units))
        found[what(last, units)] = Often(words, {"kind": last.kind, **offered(last.outline, units)})
    for d in sorted(told, key=lambda d: (-counted[what(d, units)], d.tag)):
        if len(found) < MOST_OFTEN:
            like = {"kind": d.kind, **offered(d.outline, units)}
            found.setdefault(what(d, units), Often(what(d, units), like))
    return tuple(found.values())
