"""What is installed in a zone besides marks, on its page: one row a kind with how it stands."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from service.actions.reading import ZoneView
from service.domain.effective import films_laid
from service.domain.gate import Blocker
from service.history.standing import Standing
from service.web.drawing import ScheduleRow
from service.web.render import many

# In the order in which a crew works: code of the blocker, one of it in words, several of it in words.
SHORT_WORDS = {
    "second-look": ("1 second look to take", "{} second looks to take"),
    "penetration-not-sealed": ("1 penetration not sealed", "{} penetrations not sealed"),
    "seam-at-fault": ("1 seam does not hold", "{} seams do not hold"),
    "none-stated": ("nothing placed of what is asked for", "nothing placed of what is asked for"),
    "edge-not-sealed": ("1 edge does not hold", "{} edges do not hold"),
    "edge-not-described": ("an edge is not described", "{} parts of the edge not described"),
    "film-not-logged": ("no film logged", "no film logged"),
    "film-below-sheet": ("a film lot is below the sheet", "{} film lots are below the sheet"),
    "hold-point-refused": ("a hold point is refused", "{} hold points are refused"),
    "hold-point-open": ("1 hold point to sign", "{} hold points to sign"),
}


def installed_words(blockers: Sequence[Blocker]) -> list[str]:
    """What stands against the zone besides marks and holds, and marks nobody looked at, counted by kind."""
    counts = Counter(blocker.code for blocker in blockers)
    return [
        one if counts[code] == 1 else more.format(counts[code])
        for code, (one, more) in SHORT_WORDS.items()
        if counts[code]
    ]


def work_rows(view: ZoneView) -> tuple[ScheduleRow, ...]:
    """Penetrations, seams, edges, film and hold points of the zone."""
    root, standing, zone = f"/zones/{view.zone.id}", view.standing, view.zone
    pipes = sum(p.withdrawn is None for p in view.penetrations())
    seams = sum(s.withdrawn is None for s in view.seams())
    edges = sum(t.withdrawn is None for t in view.terminations())
    film = ", ".join(material.name for material in films_laid(view.site, zone))
    steps = standing.facts.steps
    signed = f"{sum(step.met for step in steps)} of {len(steps)} signed" if steps else "not asked for"
    return (
        _row("P", many(pipes, "penetration"), f"{root}/penetrations", view, "penetrations"),
        _row("S", many(seams, "seam"), f"{root}/seams", view, "seams"),
        _row("E", many(edges, "stretch", "stretches") + " of edge", f"{root}/edges", view, "terminations"),
        _row("F", film or "No film logged", f"{root}/film", view, "film"),
        _row("H", f"Hold points: {signed}", f"{root}/hold-points", view, "hold points"),
    )


_CODES = {
    "penetrations": ("penetration-not-sealed",),
    "seams": ("seam-at-fault",),
    "terminations": ("edge-not-sealed", "edge-not-described"),
    "film": ("film-not-logged", "film-below-sheet"),
    "hold points": ("hold-point-refused", "hold-point-open"),
}


def _row(tag: str, main: str, href: str, view: ZoneView, demand: str) -> ScheduleRow:
    if demand not in view.standing.facts.numbers.gate_demands:
        return ScheduleRow(tag, main, "not asked for on this project", "", href)
    told = _against(view.standing, demand)
    return ScheduleRow(tag, main, ", ".join(told), "hold" if told else "in order", href)


def _against(standing: Standing, demand: str) -> list[str]:
    mine = [
        blocker
        for blocker in standing.blockers
        if blocker.code in _CODES[demand] or (blocker.code == "none-stated" and blocker.detail == demand)
    ]
    return installed_words(mine)
