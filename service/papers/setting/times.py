"""Days and moments on paper, as the project's clock tells them."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo


def day(at: datetime, zone: str) -> str:
    """`Thu 26 Nov 2026`, in English whatever the machine's language."""
    local = at.astimezone(ZoneInfo(zone))
    week = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")[local.weekday()]
    months = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
    return f"{week} {local.day} {months[local.month - 1]} {local.year}"


def moment(at: datetime, zone: str) -> str:
    """`Thu 26 Nov 2026, 6:30 am`."""
    local = at.astimezone(ZoneInfo(zone))
    return f"{day(at, zone)}, {local.hour % 12 or 12}:{local:%M} {'am' if local.hour < 12 else 'pm'}"
