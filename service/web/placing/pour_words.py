"""The plan of pours in words: what a zone needs, by when that is closed, and what does not fit together."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from fractions import Fraction

from service.actions.placing.pour_plan import PlannedZone
from service.domain.placing.pace import EDGES, MARKS, PENETRATIONS, SEAMS, SHEETS
from service.domain.placing.pour_plan import (
    IN_TIME,
    LATE,
    NO_PACE,
    NO_WALK,
    NOTHING_LEFT,
    ON_THE_DAY,
    OVERDUE,
    SAME_DAY,
    Left,
)
from service.domain.words.speech import tr, trn
from service.history.replay.standing import CLEAR, READY
from service.web.serving.render import months, weekdays

# Blockers told as one need; the others stand alone.
_TOLD_AS = {
    "defect-not-sealed": "defect-open",
    "needs-other-repair": "defect-open",
}
_NEEDS: Mapping[str, Callable[[int], str]] = {
    "sheets": lambda n: trn("{n} sheet to lay", "{n} sheets to lay", n),
    "no-scale": lambda _: tr("the sketch's scale"),
    "zone-hold": lambda n: trn("{n} hold to lift", "{n} holds to lift", n),
    "defect-open": lambda n: trn("{n} mark to mend", "{n} marks to mend", n),
    "second-look": lambda n: trn("{n} second look", "{n} second looks", n),
    "seam-at-fault": lambda n: trn("{n} seam to walk or mend", "{n} seams to walk or mend", n),
    "penetration-not-sealed": lambda n: trn("{n} penetration to seal", "{n} penetrations to seal", n),
    "edge-not-sealed": lambda n: trn("{n} stretch of edge to seal", "{n} stretches of edge to seal", n),
    "edge-not-described": lambda n: trn(
        "{n} bare stretch of edge to describe and seal", "{n} bare stretches of edge to describe and seal", n
    ),
    "none-stated": lambda _: tr("to place penetrations or seams, or state that there are none"),
    "film-not-logged": lambda _: tr("its film lot to be logged"),
    "film-below-sheet": lambda n: trn(
        "{n} film lot below the rule sheet", "{n} film lots below the rule sheet", n
    ),
    "not-walked": lambda _: tr("its punch walk"),
    "hold-point-open": lambda n: trn("{n} hold point to sign", "{n} hold points to sign", n),
    "hold-point-refused": lambda n: trn("{n} hold point refused", "{n} hold points refused", n),
    "cannot-be-checked": lambda n: trn(
        "{n} demand that cannot be checked here", "{n} demands that cannot be checked here", n
    ),
}


def day_words(of: date) -> str:
    """`Thu 3 Dec`."""
    return tr(
        "{weekday} {day} {month}", weekday=weekdays()[of.weekday()], day=of.day, month=months()[of.month - 1]
    )


def need_words(zone: PlannedZone) -> tuple[str, ...]:
    """What the zone still needs, counted, in the order of the work."""
    counts: dict[str, int] = {"sheets": zone.sheets_left} if zone.sheets_left else {}
    for code, count in zone.needs.items():
        told_as = _TOLD_AS.get(code, code)
        counts[told_as] = counts.get(told_as, 0) + count
    return tuple(say(counts[code]) for code, say in _NEEDS.items() if code in counts)


def kind_words(kind: str) -> str:
    """A kind of work that has a pace."""
    told = {
        SHEETS: tr("Sheets"),
        MARKS: tr("Marks"),
        SEAMS: tr("Seams"),
        PENETRATIONS: tr("Penetrations"),
        EDGES: tr("Edges"),
    }
    return told[kind]


def left_words(left: Left) -> tuple[str, str, str]:
    """A kind of work, how much of it is left and by when it is closed, and how sure that is."""
    before = (
        trn("{n} more in the zones before it", "{n} more in the zones before it", left.before)
        if left.before
        else ""
    )
    if left.span is None or left.pace is None:
        small = tr("too little of it was closed lately to tell a pace")
        return kind_words(left.kind), tr("{here} left", here=left.here), _joined(before, small)
    told = tr("{here} left, about {day}", here=left.here, day=day_words(left.span.about))
    pace = trn(
        "{rate} a working day, over {n} working day",
        "{rate} a working day, over {n} working days",
        left.pace.days,
        rate=rate_words(left.pace.usual),
    )
    return kind_words(left.kind), told, _joined(before, pace, _range_words(left))


def _range_words(left: Left) -> str:
    assert left.span is not None, "asked only where there is a pace"
    soonest = day_words(left.span.soonest)
    if left.span.latest is None:
        told = tr(
            "soonest {soonest}, latest not known: on its slower days nothing was closed", soonest=soonest
        )
        return told
    return tr("soonest {soonest}, latest {latest}", soonest=soonest, latest=day_words(left.span.latest))


def rate_words(rate: Fraction) -> str:
    """Things a day, down to a tenth: `6`, `2.3`."""
    tenths = math.floor(rate * 10)
    return f"{tenths // 10}" if tenths % 10 == 0 else f"{tenths // 10}.{tenths % 10}"


def verdict_words(zone: PlannedZone) -> tuple[str, str]:
    """Whether it will be clear in time at the pace so far, in a sentence, and how that is drawn."""
    told, span, day = zone.planned, zone.planned.span, zone.day
    if zone.standing.state == READY:
        return "", ""  # the title block says it
    if told.verdict == NOTHING_LEFT:
        return _nothing_left(zone), "holds" if zone.standing.state == CLEAR else ""
    if span is None:
        return tr("When it will be clear cannot be told: too little was closed lately."), ""
    about = day_words(span.about)
    if day is None:
        return tr("At the pace so far about {about}, after the zones that have a day.", about=about), ""
    if told.verdict == LATE:
        late = trn(
            "Late: about {about}; placing is {day}, {n} day before.",
            "Late: about {about}; placing is {day}, {n} days before.",
            told.days_late,
            about=about,
            day=day_words(day),
        )
        return late, "short"
    if told.verdict == ON_THE_DAY:
        return tr("Not before the placing day itself: about {about}.", about=about), "short"
    if told.verdict == IN_TIME and span.latest is not None:
        sure = tr(
            "In time: about {about}, {latest} at the slow pace.", about=about, latest=day_words(span.latest)
        )
        return sure, "holds"
    return tr("Likely in time: about {about}, and later on slow days.", about=about), ""


def _nothing_left(zone: PlannedZone) -> str:
    if zone.standing.state == CLEAR:
        return tr("Clear: it only needs its release.")
    return tr("No work is left that takes days: what is left is signed, stated or lifted.")


def conflict_words(zone: PlannedZone, letters: Mapping[str, str]) -> tuple[str, ...]:
    """What does not fit together. `letters`: of zones, by id."""
    told = {
        OVERDUE: lambda: tr("Its planned day is over, and nobody logged that it was placed."),
        NO_WALK: lambda: tr("It is planned before its punch walk: none that counts is finished."),
        SAME_DAY: lambda: trn(
            "Zone {letters} is planned for the same day.",
            "Zones {letters} are planned for the same day.",
            len(zone.planned.same_day),
            letters=", ".join(letters[one] for one in zone.planned.same_day),
        ),
    }
    return tuple(told[code]() for code in zone.planned.conflicts)


def late_word(zone: PlannedZone) -> str:
    """Why a day on the calendar should be looked at, in a word or two."""
    if OVERDUE in zone.planned.conflicts:
        return tr("day gone by")
    return tr("late") if zone.planned.verdict in (LATE, ON_THE_DAY) else ""


def more_words(zone: PlannedZone) -> str:
    """What the counts leave out."""
    told = []
    if "zone-hold" in zone.needs:
        told.append(tr("No pace tells when a hold is lifted."))
    if zone.standing.zone.walked_at is None:
        told.append(tr("The punch walk is still to come and may find more."))
    return " ".join(told)


def _joined(*parts: str) -> str:
    return "; ".join(part for part in parts if part)


def counts_words(zones: Sequence[PlannedZone]) -> str:
    """How many zones have a day, are not expected in time, and have no pace, for the head of the page."""
    told = [zone.planned.verdict for zone in zones]
    late = sum(verdict in (LATE, ON_THE_DAY) for verdict in told)
    unknown = told.count(NO_PACE)
    parts = [
        trn("{n} zone has a day.", "{n} zones have a day.", len(zones)),
        trn("{n} is not expected in time.", "{n} are not expected in time.", late) if late else "",
        trn("Of {n} it cannot be told.", "Of {n} it cannot be told.", unknown) if unknown else "",
    ]
    return " ".join(part for part in parts if part)
