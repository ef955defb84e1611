"""A zone that is being placed, and what was found while it was: in words, for crew and office alike."""

from __future__ import annotations

from service.actions.frame.reading import ZoneView
from service.domain.gate.during import goes_on
from service.domain.nouns.placing import Placement
from service.domain.nouns.roles import may
from service.domain.nouns.site import Defect, Zone
from service.domain.words.speech import tr
from service.history.replay.standing import READY, Standing
from service.web.serving.render import moment


def since_words(zone: Zone, time_zone: str) -> str:
    """`placing since Thu 26 Nov 2026, 6:10 am`; empty where none goes on."""
    if zone.placing is None or not goes_on(zone):
        return ""
    return tr("placing since {when}", when=moment(zone.placing.started_at, time_zone))


def placing_note(standing: Standing, time_zone: str) -> str:
    """What whoever stands in a zone that is being placed must know; empty where none goes on."""
    zone = standing.zone
    if zone.placing is None or not goes_on(zone):
        return ""
    when = moment(zone.placing.started_at, time_zone)
    if standing.placing is None:
        return tr(
            "Placing began {when}, and the release it began under does not stand any more. Tell the project "
            "manager: placed as it is now, the zone is kept as placed without release.",
            when=when,
        )
    return tr(
        "Placing since {when}. Mark and mend damage before the concrete covers it: it is kept as found "
        "during placing, and does not stop the placing.",
        when=when,
    )


def start_href(view: ZoneView) -> str:
    """Where placing is started, for who may, in a zone that is ready to place; else nothing."""
    ready = view.zone.withdrawn is None and view.standing.state == READY and not goes_on(view.zone)
    return f"/zones/{view.zone.id}/start-placing" if ready and may(view.seen.role, "start placing") else ""


def against_rows(placement: Placement) -> list[tuple[str, str]]:
    """What is kept with a placed zone for ever, a row each."""
    if placement.without_release:
        return [(tr("Stood against it"), words) for words in placement.blockers]
    return [
        (tr("Found during placing, not mended before it was covered"), words) for words in placement.blockers
    ]


def found_words(mark: Defect) -> str:
    """That a mark came while concrete was being placed, or after; empty for one from before."""
    if mark.after_placing:
        return tr("received after placing")
    return tr("found during placing") if mark.during_placing else ""
