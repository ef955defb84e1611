"""The turns of a zone that people are told of: clear, its release lost, held the evening before placing."""

from __future__ import annotations

from service.history.replay.standing import CLEAR, HELD, LAYING, READY

TURNED_CLEAR, LOST_RELEASE, HELD_EVENING = "clear", "lost", "evening"
EVENTS = (TURNED_CLEAR, LOST_RELEASE, HELD_EVENING)
ON_PAGE, BY_MAIL, BY_PUSH = "page", "mail", "push"
WAYS = (ON_PAGE, BY_MAIL, BY_PUSH)

OFF_SKETCH = "off the sketch"  # beside the states of a zone: it was withdrawn
NOT_READY = (LAYING, HELD)


def turn(before: str | None, now: str) -> str | None:
    """What there is to tell of a zone that stood so and stands so now; None for nothing.

    `before` is None where nobody looked yet: a first look tells nothing, however the zone stands.
    """
    if before == READY and now in (*NOT_READY, CLEAR, OFF_SKETCH):
        return LOST_RELEASE
    if before in NOT_READY and now == CLEAR:
        return TURNED_CLEAR
    return None
