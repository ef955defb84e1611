"""Releases and placings worked out again: the facts under the release's gate, its answer, its lists."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from service.domain import gate
from service.domain.earlier.told_1 import say_blocker_1
from service.domain.rules import not_asked_for
from service.domain.told import NOBODY_RELEASED, why_not_released, withdrawn_in
from service.domain.wording import say_blocker
from service.history import facts as f
from service.history.entries import Entry
from service.history.standing import GATES, READY, digest_of, latest_release, standing_of
from service.history.verifying.before import Before
from service.history.verifying.judged_work import EARLIER, Answer, Judge


def zone_released(before: Before, entry: Entry, fact: f.ZoneReleased) -> Iterator[Answer]:
    """The exact facts are the ones released, their gate finds nothing against them, the lists are whole."""
    site, asked = before.site, GATES.get(fact.version)
    assert site.project is not None, "a zone without its project"
    if asked is None:
        yield Answer(f"a release under gate version {fact.version}", "a version this program does not know")
        return
    if fact.version < gate.VERSION and before.later:
        told = f"a release under gate version {fact.version}"
        yield Answer(told, "a history in which a program with a newer gate had written already")
    facts = asked.gather(site, fact.zone)
    blockers = asked.decide(facts)[0]
    against = "; ".join(say_blocker(blocker, before.units) for blocker in blockers)
    yield Answer("a release with nothing against it", against or "a release with nothing against it")
    yield Answer(f"the facts {fact.digest}", f"the facts {digest_of(facts, fact.version)}")
    yield Answer(
        _listed("not asked for", fact.not_asked_for),
        _listed("not asked for", not_asked_for(site.project.sheet)),
    )
    yield Answer(_listed("withdrawn", fact.withdrawn), _listed("withdrawn", withdrawn_in(site, fact.zone)))


def zone_placed(before: Before, entry: Entry, fact: f.ZonePlaced) -> Iterator[Answer]:
    """Whether the zone was ready, and if not, every reason why."""
    standing = standing_of(before.site, fact.zone)
    ready = standing.state == READY
    found = _placed(not ready, () if ready else why_not_released(standing.blockers, before.units))
    told = _placed(fact.without_release, fact.blockers)
    if found != told and not before.later and _as_the_first(before, fact) == told:
        yield EARLIER
    else:
        yield Answer(told, found)


def _as_the_first(before: Before, fact: f.ZonePlaced) -> str:
    facts = GATES[1].gather(before.site, fact.zone)
    blockers, _ = GATES[1].decide(facts)
    release = latest_release(before.site, fact.zone)
    if release is not None and release.digest == digest_of(facts, 1) and not blockers:
        return _placed(False, ())
    why = tuple(say_blocker_1(blocker, before.units) for blocker in blockers)
    return _placed(True, why or (NOBODY_RELEASED,))


def _placed(without_release: bool, blockers: Sequence[str]) -> str:
    return f"placed without release: {'; '.join(blockers)}" if without_release else "placed while ready"


def _listed(what: str, items: Sequence[str]) -> str:
    return f"{what}: {'; '.join(items) or 'nothing'}"


JUDGES: dict[type, tuple[str, str, Judge]] = {
    f.ZoneReleased: ("release", "releases", zone_released),
    f.ZonePlaced: ("placing", "placings", zone_placed),
}
