"""What is installed in a zone besides marks, on its page: one row a kind with how it stands."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from service.actions.frame.reading import ZoneView
from service.domain.gate.gate import Blocker
from service.domain.rule_sheet.effective import films_laid
from service.domain.words.speech import tr, trc, trn
from service.history.replay.standing import Standing
from service.web.drawings.drawing import ScheduleRow

# In the order in which a crew works: the codes of blockers that a summary counts.
SHORT_CODES = (
    "second-look", "penetration-not-sealed", "seam-at-fault", "none-stated", "edge-not-sealed",
    "edge-not-described", "film-not-logged", "film-below-sheet", "hold-point-refused", "hold-point-open",
)  # fmt: skip


def installed_words(blockers: Sequence[Blocker]) -> list[str]:
    """What stands against the zone besides marks and holds, and marks nobody looked at, counted by kind."""
    counts = Counter(blocker.code for blocker in blockers)
    return [_counted(code, counts[code]) for code in SHORT_CODES if counts[code]]


def _counted(code: str, n: int) -> str:
    """So many blockers of a code, in the few words of a summary."""
    match code:
        case "second-look":
            return trn("{n} second look to take", "{n} second looks to take", n)
        case "penetration-not-sealed":
            return trn("{n} penetration not sealed", "{n} penetrations not sealed", n)
        case "seam-at-fault":
            return trn("{n} seam does not hold", "{n} seams do not hold", n)
        case "none-stated":
            return tr("nothing placed of what is asked for")
        case "edge-not-sealed":
            return trn("{n} edge does not hold", "{n} edges do not hold", n)
        case "edge-not-described":
            return trn("an edge is not described", "{n} parts of the edge not described", n)
        case "film-not-logged":
            return tr("no film logged")
        case "film-below-sheet":
            return trn("a film lot is below the sheet", "{n} film lots are below the sheet", n)
        case "hold-point-refused":
            return trn("a hold point is refused", "{n} hold points are refused", n)
        case _:
            return trn("{n} hold point to sign", "{n} hold points to sign", n)


def work_rows(view: ZoneView) -> tuple[ScheduleRow, ...]:
    """Penetrations, seams, edges, film and hold points of the zone."""
    root, standing, zone = f"/zones/{view.zone.id}", view.standing, view.zone
    pipes = sum(p.withdrawn is None for p in view.penetrations())
    seams = sum(s.withdrawn is None for s in view.seams())
    edges = sum(t.withdrawn is None for t in view.terminations())
    film = ", ".join(material.name for material in films_laid(view.site, zone))
    steps = standing.facts.steps
    signed = tr("Hold points: not asked for")
    if steps:
        met = sum(step.met for step in steps)
        signed = tr("Hold points: {signed} of {all} signed", signed=met, all=len(steps))
    stretches = trn("{n} stretch of edge", "{n} stretches of edge", edges)
    return (
        _row(
            "P",
            trn("{n} penetration", "{n} penetrations", pipes),
            f"{root}/penetrations",
            view,
            "penetrations",
        ),
        _row("S", trn("{n} seam", "{n} seams", seams), f"{root}/seams", view, "seams"),
        _row("E", stretches, f"{root}/edges", view, "terminations"),
        _row("F", film or tr("No film logged"), f"{root}/film", view, "film"),
        _row("H", signed, f"{root}/hold-points", view, "hold points"),
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
        return ScheduleRow(tag, main, tr("not asked for on this project"), "", href)
    told = _against(view.standing, demand)
    return ScheduleRow(tag, main, ", ".join(told), trc("work", "hold") if told else tr("in order"), href)


def _against(standing: Standing, demand: str) -> list[str]:
    mine = [
        blocker
        for blocker in standing.blockers
        if blocker.code in _CODES[demand] or (blocker.code == "none-stated" and blocker.detail == demand)
    ]
    return installed_words(mine)
