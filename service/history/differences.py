"""What differs between two moments of one zone: marks, patches and reasons that came, went or turned."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from service.domain.gate import Blocker
from service.domain.site import Defect, Patch, Site
from service.history.standing import Standing


@dataclass(frozen=True, slots=True)
class Turned:
    """A mark that stood at both moments and stands otherwise now: its state before and after."""

    mark: Defect
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Difference:
    """Marks and patches by tag and time. `gone` and `come` are the gate's blockers."""

    marked: tuple[Defect, ...]
    withdrawn: tuple[Defect, ...]
    turned: tuple[Turned, ...]
    patched: tuple[Patch, ...]
    unpatched: tuple[Patch, ...]
    come: tuple[Blocker, ...]
    gone: tuple[Blocker, ...]

    @property
    def nothing(self) -> bool:
        return not any(
            (self.marked, self.withdrawn, self.turned, self.patched, self.unpatched, self.come, self.gone)
        )


def difference(before: tuple[Site, Standing] | None, after: tuple[Site, Standing]) -> Difference:
    """From one moment to a later one; `before` is None where the zone was not outlined yet.

    A mark counts here when it is the zone's own, or reaches into it at either moment.
    """
    site, standing = after
    old_site, old = before if before else (Site(), None)
    reach = {d.id for d in standing.facts.defects} | ({d.id for d in old.facts.defects} if old else set())
    marks = _sorted(d for d in site.defects.values() if d.zone_id == standing.zone.id or d.id in reach)
    then = old.verdicts if old else {}
    ids = {mark.id for mark in marks}
    patches = [p for p in site.patches.values() if ids & {p.defect_id, *p.also}]
    blockers, had = standing.blockers, old.blockers if old else ()
    return Difference(
        marked=tuple(m for m in marks if m.id not in old_site.defects),
        withdrawn=tuple(m for m in marks if m.withdrawn and _stood(m, old_site)),
        turned=tuple(
            Turned(m, then[m.id].state, standing.verdicts[m.id].state)
            for m in marks
            if m.id in then
            and m.id in standing.verdicts
            and then[m.id].state != standing.verdicts[m.id].state
        ),
        patched=tuple(sorted((p for p in patches if p.id not in old_site.patches), key=_when)),
        unpatched=tuple(sorted((p for p in patches if p.withdrawn and _lay(p, old_site)), key=_when)),
        come=tuple(b for b in blockers if _name(b) not in map(_name, had)),
        gone=tuple(b for b in had if _name(b) not in map(_name, blockers)),
    )


def _sorted(marks: Iterable[Defect]) -> list[Defect]:
    return sorted(marks, key=lambda mark: (len(mark.tag), mark.tag))


def _when(patch: Patch) -> tuple[object, str]:
    return patch.logged_at, patch.id


def _stood(mark: Defect, before: Site) -> bool:
    """Not withdrawn at the first moment: one marked and withdrawn in between counts as well."""
    old = before.defects.get(mark.id)
    return old is None or old.withdrawn is None


def _lay(patch: Patch, before: Site) -> bool:
    old = before.patches.get(patch.id)
    return old is None or old.withdrawn is None


def _name(blocker: Blocker) -> tuple[str, tuple[str, str], str]:
    """What makes two blockers the same one: how far short a patch is may change under it."""
    return blocker.code, blocker.subject, blocker.detail
