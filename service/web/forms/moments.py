"""Which moment somebody asks for: a day and time of the site, the number of an entry, or now."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from starlette.datastructures import FormData, QueryParams

from service.actions.entrance.accounts import Person
from service.actions.evidence.audit import Moment, entry_numbered
from service.actions.frame.desk import Desk
from service.domain.nouns.site import Project
from service.domain.words.refusals import NotFound
from service.domain.words.speech import tr
from service.web.forms.forms import Form
from service.web.serving.render import moment as moment_words

MOST_DIGITS = 12


@dataclass(frozen=True, slots=True)
class Picked:
    """`at` is what the actions take; `query` says the same in an address, empty for now.

    words: `now, Thu 26 Nov 2026, 6:30 am`. typed: as a datetime-local field holds it. note: what to know.
    """

    at: Moment
    words: str
    typed: str
    query: str
    note: str = ""

    @property
    def is_now(self) -> bool:
        return not self.query


def asked(query: QueryParams) -> Form:
    """The fields of an address, read as those of a form are."""
    return Form(FormData(list(query.multi_items())))


def pick(
    desk: Desk, person: Person, project: Project, form: Form, at: str = "at", entry: str = "entry"
) -> Picked:
    """The moment in fields `at` and `entry`. What cannot be read is noted in the form's errors, and is now.

    NotFound for an entry that is not there.
    """
    now = desk.clock()
    number = form.value(entry).strip()
    if number:
        return _at_entry(desk, person, project, number, entry)
    asked_for = form.moment(at, project.time_zone)
    typed = form.value(at)
    told = tr("now, {moment}", moment=moment_words(now, project.time_zone))
    if asked_for is None:
        return Picked(now, told, typed, "")
    if asked_for > now:
        return Picked(now, told, typed, "", tr("That time is still to come, so this is how it stands now."))
    return Picked(asked_for, moment_words(asked_for, project.time_zone), typed, urlencode({at: typed}))


def _at_entry(desk: Desk, person: Person, project: Project, number: str, name: str) -> Picked:
    if not number.isdecimal() or not number.isascii() or len(number) > MOST_DIGITS or int(number) < 1:
        raise NotFound
    seq = int(number)
    at = entry_numbered(desk, person.id, project.id, seq).at
    words = tr("just after entry {seq}, {moment}", seq=f"{seq:,}", moment=moment_words(at, project.time_zone))
    return Picked(seq, words, local_text(at, project.time_zone), urlencode({name: seq}))


def stood_href(zone_id: str, picked: Picked) -> str:
    """The zone's page as it stood at a moment, whichever fields the moment was picked with."""
    if isinstance(picked.at, int):
        return f"/zones/{zone_id}/as-it-stood?{urlencode({'entry': picked.at})}"
    asked_for = {} if picked.is_now else {"at": picked.typed}
    return f"/zones/{zone_id}/as-it-stood" + (f"?{urlencode(asked_for)}" if asked_for else "")


def local_text(at: datetime, time_zone: str) -> str:
    """`2026-11-26T06:30`: a time of the site, as a datetime-local field takes it."""
    return f"{at.astimezone(ZoneInfo(time_zone)):%Y-%m-%dT%H:%M}"
