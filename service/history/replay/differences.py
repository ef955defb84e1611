"""What differs between two moments of one zone: marks, patches, what is installed, and reasons."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields

from service.domain.gate.gate import Blocker
from service.domain.gate.installed_states import NOT_SIGNED, Thing, things_in
from service.domain.gate.zone_facts import nm_per_px
from service.domain.nouns.installed import Repair
from service.domain.nouns.site import Defect, Patch, Site
from service.history.replay.standing import Standing


@dataclass(frozen=True, slots=True)
class Turned:
    """A mark that stood at both moments and stands otherwise now: its state before and after."""

    mark: Defect
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Moved:
    """A penetration, seam, stretch, film lot or hold point of the zone that stands otherwise now.

    `before`: its state then, empty where it was not there yet.
    """

    thing: Thing
    before: str


@dataclass(frozen=True, slots=True)
class Repaired:
    """A repair that is no patch, logged in between or withdrawn in between, and its mark."""

    mark: Defect
    repair: Repair


@dataclass(frozen=True, slots=True)
class Difference:
    """Marks and patches by tag and time. `gone` and `come` are the gate's blockers."""

    marked: tuple[Defect, ...]
    withdrawn: tuple[Defect, ...]
    turned: tuple[Turned, ...]
    patched: tuple[Patch, ...]
    unpatched: tuple[Patch, ...]
    repaired: tuple[Repaired, ...]
    unrepaired: tuple[Repaired, ...]
    moved: tuple[Moved, ...]
    come: tuple[Blocker, ...]
    gone: tuple[Blocker, ...]

    @property
    def nothing(self) -> bool:
        return not any(getattr(self, part.name) for part in fields(self))


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
    repairs = [Repaired(mark, repair) for mark in marks for repair in mark.repairs]
    logged = {r.id: r.withdrawn for mark in old_site.defects.values() for r in mark.repairs}
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
        repaired=tuple(r for r in repairs if r.repair.id not in logged),
        unrepaired=tuple(r for r in repairs if r.repair.withdrawn and not logged.get(r.repair.id)),
        moved=_moved(old_site, old, site, standing),
        come=_without(blockers, had),
        gone=_without(had, blockers),
    )


def _without(these: Iterable[Blocker], those: Iterable[Blocker]) -> tuple[Blocker, ...]:
    known = set(map(_name, those))
    return tuple(blocker for blocker in these if _name(blocker) not in known)


def _moved(old_site: Site, old: Standing | None, site: Site, standing: Standing) -> tuple[Moved, ...]:
    """What stands otherwise. A hold point that nobody signed is no news where the zone is new."""
    then = _things(old_site, old) if old else {}
    return tuple(
        Moved(thing, then[key].state if key in then else "")
        for key, thing in _things(site, standing).items()
        if (then[key].state if key in then else NOT_SIGNED) != thing.state
    )


def _things(site: Site, standing: Standing) -> dict[tuple[str, str], Thing]:
    scale = standing.facts.scale
    if scale is None:
        return {}
    found = things_in(site, standing.zone, nm_per_px(scale), standing.facts.numbers)
    return {(thing.kind, thing.id): thing for thing in found}


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
