"""A weather station's file for a placing day: sent or pasted, read back in words, and then taken."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import PurePath
from urllib.parse import urlencode

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.doing import LONGEST_NAME, allow, standing_zone
from service.actions.placing.placing_day import PlacingDay, placing_day
from service.actions.placing.weather_files import (
    PASTED,
    Days,
    Understood,
    keep_file,
    read_days,
    take_file,
    understand,
)
from service.domain.weather.columns import Question
from service.domain.words.refusals import BadInput, Conflict, TooLarge
from service.domain.words.speech import tr
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import form_key, send_once
from service.web.placing.file_words import Line, WeatherRow, lines_told, sample_rows, understood_rows
from service.web.placing.shell import back_words, rendered, root_of
from service.web.serving.guards import Signed, TheDesk

router = APIRouter(include_in_schema=False)

ANSWER = "q-"  # before the key of a question, so that no answer meets another field


@dataclass(frozen=True, slots=True)
class Asked:
    """One question of the file as a form control."""

    name: str
    text: str
    choices: tuple[tuple[str, str], ...]
    value: str


@dataclass(frozen=True, slots=True)
class SendPage:
    """`templates/crew/placing_day_file.html`: the file to choose, or its lines to paste."""

    letter: str
    text: str
    action: str
    back: str
    back_words: str


@dataclass(frozen=True, slots=True)
class FilePage:
    """`templates/crew/placing_day_file_read.html`. `kept`: the SHA-256 of the file that was read.
    `answered`: pairs of a field's name and its value, answered before. `days`: pairs of a day of the file and
    how many readings it holds, where there are several. `take`: the words of the button, or nothing."""

    letter: str
    kept: str
    name: str
    rows: tuple[tuple[str, ...], ...]
    sample: tuple[WeatherRow, ...]
    questions: tuple[Asked, ...]
    answered: tuple[tuple[str, str], ...]
    days: tuple[tuple[str, str], ...]
    first: str
    last: str
    left_out: tuple[Line, ...]
    notes: tuple[Line, ...]
    take: str
    action: str
    back: str
    back_words: str
    key: str


@router.get("/zones/{zone_id}/readings/file")
def file_page(desk: TheDesk, person: Signed, zone_id: str, kept: str = "", name: str = "") -> Response:
    if kept:
        return _read_back(desk, person, zone_id, kept, name[:LONGEST_NAME], {}, ("", ""))
    return _empty(desk, person, zone_id)


@router.post("/zones/{zone_id}/readings/file")
def send_file(request: Request, desk: TheDesk, person: Signed, form: Typed, zone_id: str) -> Response:
    if form.value("kept"):
        return _again_or_take(request, desk, person, form, zone_id)
    sent = form.file("file")
    data = sent.file.read() if sent else form.value("text").encode("utf-8", "replace")
    name = PurePath((sent.filename if sent else "") or "").name[:LONGEST_NAME]
    try:
        kept = keep_file(desk, person.id, zone_id, data)
    except (BadInput, TooLarge) as refusal:
        form.refused(refusal)
        return _empty(desk, person, zone_id, form, 413 if isinstance(refusal, TooLarge) else 422)
    where = urlencode({"kept": kept, "name": name or PASTED})
    return RedirectResponse(f"/zones/{zone_id}/readings/file?{where}", 303)


def _again_or_take(request: Request, desk: Desk, person: Person, form: Form, zone_id: str) -> Response:
    kept, name = form.value("kept"), form.value("name")[:LONGEST_NAME]
    answers = _answers(form)
    typed = (form.value("from"), form.value("to"))

    def act() -> str:
        taken = take_file(desk, person.id, zone_id, kept, name, answers, read_days(*typed))
        return f"/zones/{taken.zone_id}/placing-day?said=file"

    if form.value("step") == "take":
        try:
            return send_once(request, desk, person.id, form, act)
        except (BadInput, Conflict) as refusal:
            for field, told in (refusal.fields or {"": refusal.message}).items():
                form.wrong(f"{ANSWER}{field}" if refusal.code == "questions" else field, told)
    return _read_back(desk, person, zone_id, kept, name, answers, typed, form)


def _answers(form: Form) -> dict[str, str]:
    given = form.values.items()
    return {name.removeprefix(ANSWER): text for name, text in given if name.startswith(ANSWER) and text}


def _read_back(
    desk: Desk,
    person: Person,
    zone_id: str,
    kept: str,
    name: str,
    answers: Mapping[str, str],
    typed: tuple[str, str],
    form: Form | None = None,
) -> Response:
    """The second step: what was understood, with its questions and everything that is left out."""
    days: Days | None = None
    try:
        days = read_days(*typed)
    except BadInput:  # told when they are taken; until then the whole file is read
        days = None
    day, found = understand(desk, person.id, zone_id, kept, answers, days)
    standing_zone(day.view.seen)
    page = _page(day, found, kept, name, answers, typed, form)
    status = 422 if form is not None and form.errors else 200
    return rendered("crew/placing_day_file_read.html", page, day, person, form, status)


def _page(
    day: PlacingDay,
    found: Understood,
    kept: str,
    name: str,
    answers: Mapping[str, str],
    typed: tuple[str, str],
    form: Form | None,
) -> FilePage:
    questions, project = found.station.questions, day.view.seen.project
    asked = {question.key for question in questions}
    return FilePage(
        letter=day.view.zone.letter,
        kept=kept,
        name=name,
        rows=understood_rows(found, project.time_zone),
        sample=sample_rows(found.fresh, project.time_zone, project.units),
        questions=tuple(_asked(question, answers) for question in questions),
        answered=tuple((f"{ANSWER}{key}", text) for key, text in answers.items() if key not in asked),
        days=tuple((f"{when}", f"{count:,}") for when, count in found.days) if len(found.days) > 1 else (),
        first=typed[0],
        last=typed[1],
        left_out=lines_told(found.station.faults),
        notes=lines_told(found.station.notes),
        take="" if questions or not found.fresh or found.too_many else _take_words(len(found.fresh)),
        action=f"/zones/{day.view.zone.id}/readings/file",
        back=root_of(day),
        back_words=back_words(day),
        key=form_key(form),
    )


def _take_words(count: int) -> str:
    return tr("Take {n} of its readings", n=f"{count:,}") if count > 1 else tr("Take its one reading")


def _asked(question: Question, answers: Mapping[str, str]) -> Asked:
    choices = (("", tr("Choose")), *question.choices)
    return Asked(f"{ANSWER}{question.key}", question.text, choices, answers.get(question.key, ""))


def _empty(desk: Desk, person: Person, zone_id: str, form: Form | None = None, status: int = 200) -> Response:
    """The first step: choose the file, or paste its lines."""
    day = placing_day(desk, person.id, zone_id)
    allow(day.view.seen, "take readings")
    standing_zone(day.view.seen)
    page = SendPage(
        letter=day.view.zone.letter,
        text=form.value("text") if form else "",
        action=f"/zones/{zone_id}/readings/file",
        back=root_of(day),
        back_words=back_words(day),
    )
    return rendered("crew/placing_day_file.html", page, day, person, form, status)
