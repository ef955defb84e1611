"""The demo's placing days: a bay as it was planned and measured, and the next one as it is planned."""

from __future__ import annotations

import math
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from service.actions.demo.story import Story
from service.actions.placing import placing_day, weather_files
from service.domain.nouns.site import Zone

PLAN = {
    "thickness": "5 in", "allowance": "5", "truck": "9 cu yd", "rate": "40 cu yd",
    "limit": "directly on film", "mix": "4,000 psi, 3/4 in stone",
}  # fmt: skip
DEPTHS = (
    ("5 1/4 in", "by column A1"), ("5 in", "middle of the bay"), ("4 3/4 in", "by the east joint"),
    ("5 1/8 in", "by column B2"), ("4 7/8 in", "south edge"),
)  # fmt: skip
SITE = "America/Chicago"


def planned(story: Story, zone: Zone) -> None:
    """The project manager plans the placing, and the crew lead reads the weather before taping."""
    placing_day.plan_placing(story.desk, story.manager.id, zone.id, PLAN)
    read = {"air": "61 F", "film": "58 F", "humidity": "72", "wind": "6 mph"}
    placing_day.take_reading(
        story.desk, story.lead.id, zone.id, {**read, "note": "before taping the last seam"}
    )


def measured(story: Story, zone: Zone) -> None:
    """The day the concrete came: planned, read by hand as it came, and the slab's thickness."""
    desk, lead = story.desk, story.lead.id
    placing_day.plan_placing(desk, story.manager.id, zone.id, PLAN)
    for hours, air, concrete, humidity, wind in (
        (1.6, "71 F", "78 F", "51", "7 mph"), (2.8, "75 F", "79 F", "43", "8 mph"),
    ):  # fmt: skip
        at = story.day(4, hours)
        read = {"air": air, "concrete": concrete, "humidity": humidity, "wind": wind, "at": at}
        placing_day.take_reading(desk, lead, zone.id, read)
    story.day(4, 3.5)
    read_depths = [{"depth": depth, "where": where} for depth, where in DEPTHS]
    placing_day.measure_thickness(desk, lead, zone.id, {"readings": read_depths})


def station(story: Story, zone: Zone) -> None:
    """Days later the project manager adds what a mast beside the site wrote down that day."""
    kept = weather_files.keep_file(story.desk, story.manager.id, zone.id, _station(story.at(4)).encode())
    weather_files.take_file(story.desk, story.manager.id, zone.id, kept, "mast-2.csv")


def _station(seven: datetime) -> str:
    """A day of an invented mast beside the site, every half hour from six to four."""
    rows = ["Time,Air F,RH %,Wind mph,Rain"]
    for half in range(21):
        at = seven + timedelta(minutes=30 * half - 60)
        warm = math.sin(math.pi * half / 24)  # warmest and driest in the afternoon
        local = at.astimezone(ZoneInfo(SITE)).strftime("%Y-%m-%d %H:%M")
        rows.append(f"{local},{58 + 22 * warm:.1f},{76 - 42 * warm:.0f},{3 + 8 * warm:.1f},0")
    return "\n".join(rows) + "\n"
