"""A zone's life and who did what, worked out from the history, for programs."""

from __future__ import annotations

from fastapi import APIRouter

from service.actions.evidence.timeline import ZoneLife, zone_life
from service.actions.evidence.who_did_what import Doer, did_by_day, who_did_what
from service.api.answers import life as out
from service.api.shared.calls import SIGNED_IN, Id, Reads, SignedRoute
from service.api.shared.errors import READS, told
from service.history.facts.encoding import time_text
from service.history.facts.entries import Entry
from service.history.replay.spans import Span

router = APIRouter(route_class=SignedRoute, dependencies=SIGNED_IN, tags=["history"])


@router.get("/zones/{zone_id}/timeline", responses=told(READS))
def timeline(zone_id: Id, call: Reads) -> out.Timeline:
    """The zone's states one after another, how many marks held it from when on, and what was done when.

    Order is that of the entries; entries of one second may have the same time."""
    life = zone_life(call.desk, call.by, zone_id)
    return out.Timeline(
        zone=zone_id,
        letter=life.seen.zone.letter,
        time_zone=life.seen.project.time_zone,
        entries=life.life.head,
        as_of=time_text(life.as_of),
        states=[_state(life, span) for span in life.life.spans],
        marks=[
            out.MarksFrom(entry=c.entry.seq, at=time_text(c.entry.at), open=c.open, not_sealed=c.not_sealed)
            for c in life.life.counts
        ],
        done=[
            out.Done(
                kind=tick.kind,
                type=tick.entry.type,
                entry=tick.entry.seq,
                at=time_text(tick.entry.at),
                tag=tick.entry.tag,
                fell=tick.fell,
            )
            for tick in life.life.ticks
        ],
    )


def _state(life: ZoneLife, span: Span) -> out.StateFrom:
    end = span.ended.at if span.ended else life.as_of
    return out.StateFrom(
        state=span.state,
        began=_turn(life, span.began),
        ended=_turn(life, span.ended) if span.ended else None,
        seconds=int((end - span.began.at).total_seconds()),
        open=span.open,
        not_sealed=span.not_sealed,
    )


def _turn(life: ZoneLife, entry: Entry) -> out.Turn:
    return out.Turn(entry=entry.seq, at=time_text(entry.at), sentence=life.told(entry))


@router.get("/projects/{project_id}/who-did-what", responses=told(READS))
def everybody(project_id: Id, call: Reads) -> out.WhoDidWhat:
    """Everybody who did anything or was let in: roles, first and last action, and counts by kind of entry."""
    found = who_did_what(call.desk, call.by, project_id)
    return out.WhoDidWhat(entries=found.seen.head, people=[_doer(doer) for doer in found.doers])


@router.get("/projects/{project_id}/who-did-what/{person_id}", responses=told(READS))
def one_person(project_id: Id, person_id: Id, call: Reads) -> out.DoerByDay:
    """One person's actions counted by day of the project's time zone, newest first."""
    found = did_by_day(call.desk, call.by, project_id, person_id, limit=1)
    return out.DoerByDay(
        person=_doer(found.doer),
        days=[
            out.DayOf(
                day=f"{each.day:%Y-%m-%d}",
                count=each.count,
                first_at=time_text(each.first_at),
                last_at=time_text(each.last_at),
            )
            for each in found.days
        ],
    )


def _doer(doer: Doer) -> out.Doer:
    first, last = doer.first, doer.last
    return out.Doer(
        id=doer.id,
        name=doer.name,
        roles=[
            out.RoleFrom(role=stint.role or None, entry=stint.seq, at=time_text(stint.at))
            for stint in doer.stints
        ],
        first=out.Action(type=first.type, entry=first.first_seq, at=time_text(first.first_at))
        if first
        else None,
        last=out.Action(type=last.type, entry=last.last_seq, at=time_text(last.last_at)) if last else None,
        count=doer.count,
        by_type={deed.type: deed.count for deed in doer.deeds},
    )
