"""The walk form of a seam: its rows of readings and of runs, what it offers, and what it sends on."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise

from service.actions.frame.reading import ZoneView
from service.domain.gate.zone_facts import nm_per_px
from service.domain.installed.seams import FAULTS, distance_along, suggested_stations
from service.domain.nouns.installed import Seam
from service.domain.words.measures import NM_PER_INCH, NM_PER_MM, Units, say_length
from service.domain.words.speech import later, tr
from service.web.forms.forms import Form
from service.web.installed.seam_words import RUN_UNIT, say_way
from service.web.shared.crew_words import FORM_UNIT, starting
from service.web.shared.last_used import last_used

# Two fields a reading and four a run: together fewer than a form may send (`forms.MOST_FIELDS`).
MOST_ROWS, MOST_RUN_ROWS = 150, 30
ANSWERS = (
    ("taped", later("Is it taped from end to end, but for the runs you tell of?")),
    ("bonded", later("Is the tape bonded from end to end, but for the runs you tell of?")),
    ("cleaned", later("Was the film cleaned?")),
    ("dry", later("Was it dry?")),
)
PLAIN = (*(name for name, _ in ANSWERS), "tape_width", "film_temperature", "lot", "note")
RUN_FIELDS = ("fault", "from", "to", "opening")
ROW = re.compile(r"^(at|lap|fault|from|to|opening)_(\d{1,3})$")
ROUGHLY: dict[Units, int] = {"us": NM_PER_INCH, "metric": 10 * NM_PER_MM}


def fault_options() -> tuple[tuple[str, str], ...]:
    """What may be wrong on a run, pairs (value, words); nothing first."""
    return ("", tr("nothing")), *((fault, starting(tr(fault))) for fault in FAULTS)


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """One reading as typed. `number` counts from 0 and names its fields, `at_3` and `lap_3`."""

    number: int
    name: str
    at: str
    lap: str


@dataclass(frozen=True, slots=True)
class RunRow:
    """One run at fault as typed; all empty: none."""

    number: int
    name: str
    fault: str
    start: str
    end: str
    opening: str


def offered(view: ZoneView, seam: Seam, person_id: str) -> dict[str, str]:
    """Where to measure, and the tape and lot used last; a reading or an answer is never offered."""
    return {
        **{f"at_{number}": at for number, at in enumerate(_places(view, seam))},
        **_tape_and_lot(view, person_id),
    }


def _places(view: ZoneView, seam: Seam) -> list[str]:
    """The suggested places to the whole inch or centimetre; closer together where that would spread them."""
    assert view.seen.sketch.scale is not None, "a seam lies on a sketch with a scale"
    units, every = view.seen.project.units, view.seen.project.sheet.station_every.nm
    per_px, step = nm_per_px(view.seen.sketch.scale), ROUGHLY[units]

    def rounded(apart_nm: int) -> list[int]:
        found = suggested_stations(seam.path, per_px, apart_nm)
        # A seam shorter than one step is measured where it was suggested.
        return [round(nm / step) * step or nm for nm in found]

    places = rounded(every)
    if every > 2 * step and any(b - a > every for a, b in pairwise(places)):
        places = rounded(every - 2 * step)
    end = distance_along(seam.path, seam.path[-1], per_px)
    return [say_way(min(nm, end), units) for nm in places[:MOST_ROWS]]


def _tape_and_lot(view: ZoneView, person_id: str) -> dict[str, str]:
    walks = [s.walk for s in view.seams() if s.walk is not None and s.walk.signed.by == person_id]
    last = max(walks, key=lambda walk: walk.signed.seq, default=None)
    if last is None or not last.work.tape_width_nm:
        # The lot of a patch is its film's: never offered as the tape's.
        return {"tape_width": last_used(view, person_id)["tape_width"]}
    tape = say_length(last.work.tape_width_nm, view.seen.project.units, "down").rsplit(" ", 1)[0]
    return {"tape_width": tape.replace(",", ""), "lot": last.work.lot}


# --- rows ------------------------------------------------------------------------------------------------


def _numbers(values: Mapping[str, str], kinds: Iterable[str], most: int) -> list[int]:
    """The numbers of the rows sent, in order, at most so many."""
    found = (match for match in map(ROW.match, values) if match and match[1] in kinds)
    return sorted({int(match[2]) for match in found})[:most]


def reading_rows(values: Mapping[str, str]) -> tuple[ReadingRow, ...]:
    """The readings' rows as typed; one empty row where none was sent."""
    return tuple(
        ReadingRow(
            n, tr("Reading {number}", number=place), values.get(f"at_{n}", ""), values.get(f"lap_{n}", "")
        )
        for place, n in enumerate(_numbers(values, ("at", "lap"), MOST_ROWS) or [0], 1)
    )


def run_rows(values: Mapping[str, str]) -> tuple[RunRow, ...]:
    """The runs' rows as typed; one empty row where none was sent."""
    return tuple(
        RunRow(n, tr("Run {number}", number=place), *(values.get(f"{field}_{n}", "") for field in RUN_FIELDS))
        for place, n in enumerate(_numbers(values, RUN_FIELDS, MOST_RUN_ROWS) or [0], 1)
    )


def run_rows_open(rows: Iterable[RunRow]) -> bool:
    return any(row.fault or row.start or row.end or row.opening for row in rows)


def work_through(form: Form) -> bool:
    """Whether a button of the rows was pressed, worked through on the form; nothing is recorded then."""
    pressed = form.value("rows")
    if pressed == "fill":
        _fill(form)
    elif pressed == "reading":
        _one_more(form, ("at", "lap"), MOST_ROWS)
    elif pressed == "run":
        _one_more(form, RUN_FIELDS, MOST_RUN_ROWS)
    return pressed in ("fill", "reading", "run")


def _fill(form: Form) -> None:
    """Every empty reading gets the one above it."""
    above = ""
    for row in reading_rows(form.values):
        above = row.lap.strip() or above
        form.values[f"lap_{row.number}"] = above


def _one_more(form: Form, kinds: tuple[str, ...], most: int) -> None:
    there = _numbers(form.values, kinds, most)
    number = there[-1] + 1 if there else 1
    if len(there) < most and number < 1000:
        form.values[f"{kinds[0]}_{number}"] = ""


# --- sending on ------------------------------------------------------------------------------------------


def given_walk(form: Form, units: Units) -> tuple[dict[str, object], dict[str, str]]:
    """The form in the contract's forms, and which of its fields each of the action's names stands for.

    A row with no reading is a place that was not measured: it is left out, and judged so.
    """
    names: dict[str, str] = {"stations": "lap_0", "runs": "fault_0"}
    stations: list[dict[str, object]] = []
    runs: list[dict[str, object]] = []
    for row in reading_rows(form.values):
        if row.lap.strip():
            for field in ("at", "lap"):
                names[f"stations.{len(stations)}.{field}"] = f"{field}_{row.number}"
            stations.append(
                {"at": _way(form, f"at_{row.number}", units), "lap": _read(form, f"lap_{row.number}", units)}
            )
    for run in run_rows(form.values):
        if run_rows_open([run]):
            names |= {f"runs.{len(runs)}.{field}": f"{field}_{run.number}" for field in RUN_FIELDS}
            ends = {field: _way(form, f"{field}_{run.number}", units) for field in ("from", "to")}
            runs.append({"fault": run.fault, **ends, "opening": _read(form, f"opening_{run.number}", units)})
    given: dict[str, object] = {name: {"yes": True, "no": False}.get(form.value(name)) for name, _ in ANSWERS}
    given |= {name: form.value(name) for name in ("film_temperature", "lot", "note")}
    return {**given, "tape_width": form.with_unit("tape_width"), "stations": stations, "runs": runs}, names


def _way(form: Form, name: str, units: Units) -> str:
    """A way along the seam; a bare number is feet or metres."""
    form.values[f"{name}_unit"] = RUN_UNIT[units]
    return form.with_unit(name)


def _read(form: Form, name: str, units: Units) -> str:
    """A tape reading; a bare number is inches or millimetres."""
    form.values[f"{name}_unit"] = FORM_UNIT[units]
    return form.with_unit(name)
