"""Releases and placings worked out again: the facts under the release's gate, its answer, its lists."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from service.domain.earlier.told_1 import say_blocker_1
from service.domain.gate import gate
from service.domain.gate.during import goes_on
from service.domain.gate.gate import Blocker
from service.domain.gate.told import NOBODY_RELEASED, found_in_placing, why_not_released, withdrawn_in
from service.domain.gate.wording import say_blocker
from service.domain.nouns.rules import not_asked_for
from service.domain.nouns.site import Site
from service.history.facts import facts as f
from service.history.facts import placing as p
from service.history.facts.encoding import time_text
from service.history.facts.entries import Entry
from service.history.replay.standing import GATES, READY, digest_of, latest_release
from service.history.verifying.before import Before
from service.history.verifying.judged_work import EARLIER, Answer, Judge


def zone_released(before: Before, entry: Entry, fact: f.ZoneReleased) -> Iterator[Answer]:
    """The exact facts are the ones released, their gate finds nothing against them, the lists are whole."""
    asked = GATES.get(fact.version)
    if asked is None:
        yield Answer(f"a release under gate version {fact.version}", "a version this program does not know")
        return
    if fact.version < gate.VERSION and before.later:
        told = f"a release under gate version {fact.version}"
        yield Answer(told, "a history in which a program with a newer gate had written already")
    site, digest, blockers = _asked(before, fact.zone, fact.version)
    assert site.project is not None, "a zone without its project"
    against = "; ".join(say_blocker(blocker, before.units) for blocker in blockers)
    yield Answer("a release with nothing against it", against or "a release with nothing against it")
    yield Answer(f"the facts {fact.digest}", f"the facts {digest}")
    yield Answer(
        _listed("not asked for", fact.not_asked_for),
        _listed("not asked for", not_asked_for(site.project.sheet)),
    )
    yield Answer(_listed("withdrawn", fact.withdrawn), _listed("withdrawn", withdrawn_in(site, fact.zone)))


def _asked(before: Before, zone_id: str, version: int) -> tuple[Site, str, tuple[Blocker, ...]]:
    """The digest of a zone's facts under one gate, and what that gate finds against it."""
    if version == gate.VERSION:
        site, standing = before.standing(zone_id)
        return site, standing.digest, standing.blockers
    site = before.round(zone_id)
    facts = GATES[version].gather(site, zone_id)
    return site, digest_of(facts, version), GATES[version].decide(facts)[0]


def zone_placed(before: Before, entry: Entry, fact: f.ZonePlaced) -> Iterator[Answer]:
    """Whether the zone was ready, and if not, every reason why; what was found during placing, if it was."""
    _, standing = before.standing(fact.zone)
    if standing.state == READY:
        found = _placed(False, found_in_placing(standing.found, before.units))
    else:
        found = _placed(True, why_not_released(standing.blockers, before.units))
    told = _placed(fact.without_release, fact.blockers)
    if found != told and not before.later and _as_the_first(before, fact) == told:
        yield EARLIER
    else:
        yield Answer(told, found)


def _as_the_first(before: Before, fact: f.ZonePlaced) -> str:
    site, digest, blockers = _asked(before, fact.zone, 1)
    release = latest_release(site, fact.zone)
    if release is not None and release.digest == digest and not blockers:
        return _placed(False, ())
    why = tuple(say_blocker_1(blocker, before.units) for blocker in blockers)
    return _placed(True, why or (NOBODY_RELEASED,))


def _placed(without_release: bool, blockers: Sequence[str]) -> str:
    told = "; ".join(blockers)
    if without_release:
        return f"placed without release: {told}"
    return (
        f"placed while ready, found during placing and not mended: {told}" if told else "placed while ready"
    )


def placing_started(before: Before, entry: Entry, fact: p.PlacingStarted) -> Iterator[Answer]:
    """The zone was ready to place, by the release named, and that was made before the placing began."""
    _, standing = before.standing(fact.zone)
    zone, release = standing.zone, standing.release
    ready = standing.state == READY and not goes_on(zone) and release is not None
    told = f"placing begun under the release {fact.release}"
    yield Answer(
        told, f"placing begun under the release {release.id}" if release and ready else standing.state
    )
    if release is not None and not release.at <= fact.started_at <= entry.at:
        yield Answer(f"placing begun {time_text(fact.started_at)}", f"a release made {time_text(release.at)}")


def _listed(what: str, items: Sequence[str]) -> str:
    return f"{what}: {'; '.join(items) or 'nothing'}"


JUDGES: dict[type, tuple[str, str, Judge]] = {
    f.ZoneReleased: ("release", "releases", zone_released),
    f.ZonePlaced: ("placing", "placings", zone_placed),
    p.PlacingStarted: ("start of placing", "starts of placing", placing_started),
}
