"""Replaying the history rebuilds the facts exactly, and every fact survives its bytes."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import get_args

import pytest
import sqlalchemy.exc
from sqlalchemy import text

from service.actions.frame.desk import Desk
from service.actions.marks import defects, patches
from service.actions.office import release
from service.actions.sketches import zones
from service.domain.nouns.rules import ready_made
from service.history.facts import facts as f
from service.history.facts.encoding import canonical, from_json, to_json
from service.history.facts.entries import Entry, leaf_hash, read_entry
from service.history.facts.every_fact import FACTS, Fact
from service.history.replay.replay import replay
from service.history.sentences.sentences import sentence
from service.storage.history import books, slices
from tests.builders import a_mark, a_patch, a_release, a_walk, a_zone, sides
from tests.cast import Cast


def a_busy_project(desk: Desk, cast: Cast) -> None:
    """One of everything that can happen to a zone."""
    zone = a_zone(desk, cast)
    first, second = a_mark(desk, cast, zone), a_mark(desk, cast, zone, at=(500, 300), kind="hole")
    a_patch(desk, cast, first, sides(right="5 in"))
    short = a_patch(desk, cast, first)
    patches.withdraw_patch(desk, cast.lead.id, short.id, "logged on the wrong mark")
    a_patch(desk, cast, first)
    defects.withdraw_defect(desk, cast.lead.id, second.id, "a shadow")
    zones.draw_wall(desk, cast.lead.id, zone.id, (100, 100), (100, 700))
    hold = zones.hold_zone(desk, cast.inspector.id, zone.id, "frost", "rime on the film")
    zones.lift_hold(desk, cast.inspector.id, hold.id, "thawed and wiped")
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    release.pull_back(desk, cast.manager.id, zone.id, "rain coming")
    a_release(desk, cast, zone)
    release.mark_placed(desk, cast.manager.id, zone.id, volume="60 cu yd")
    a_mark(desk, cast, zone, at=(600, 300))


def test_a_replay_equals_the_tables(desk: Desk, cast: Cast) -> None:
    a_busy_project(desk, cast)
    with desk.reading() as session:
        kept = slices.whole_site(session, cast.project_id)
        entries = books.entries(session, cast.project_id)
    assert replay(entries) == kept
    assert [entry.seq for entry in entries] == list(range(1, len(entries) + 1))


def test_a_replay_that_lost_an_entry_does_not(desk: Desk, cast: Cast) -> None:
    """The control: the comparison can fail."""
    a_busy_project(desk, cast)
    with desk.reading() as session:
        kept = slices.whole_site(session, cast.project_id)
        entries = books.entries(session, cast.project_id)
    assert replay(entries[:-1]) != kept


def test_every_entry_survives_its_bytes_and_reads_as_a_sentence(desk: Desk, cast: Cast) -> None:
    a_busy_project(desk, cast)
    with desk.reading() as session:
        entries = books.entries(session, cast.project_id)
    for entry in entries:
        content = entry.content()
        assert read_entry(content) == entry
        assert content == canonical(json.loads(content)), "RFC 8785: one byte form"
        assert sentence(entry, {}, "us").endswith(".")


def test_no_entry_holds_a_float() -> None:
    """RFC 8785 writes numbers as IEEE doubles; every measure is an integer, so none is ever rounded."""

    def numbers(value: object) -> list[float]:
        if isinstance(value, dict):
            return [n for item in value.values() for n in numbers(item)]
        if isinstance(value, list):
            return [n for item in value for n in numbers(item)]
        return [value] if isinstance(value, float) else []

    sheet = to_json(ready_made("us"))
    assert numbers(sheet) == []
    with pytest.raises(TypeError):
        to_json(1.5)


def test_every_fact_has_its_own_type_and_is_known_to_replay() -> None:
    kinds = get_args(Fact)
    assert len({kind.type for kind in kinds}) == len(kinds) == len(FACTS)


def test_a_rule_sheet_survives_its_json() -> None:
    for units in ("us", "metric"):
        assert from_json(type(ready_made(units)), to_json(ready_made(units))) == ready_made(units)


def test_the_leaf_hash_is_rfc_6962s() -> None:
    """Published leaf hash of "L123456": transparency-dev/merkle, rfc6962/rfc6962_test.go, commit 417fb0c3."""
    published = "395aa064aa4c29f7010acfe3f25db9485bbd4b91897b6ad7ad547639252b4d56"
    assert leaf_hash(b"L123456").hex() == published


def test_the_history_can_neither_be_changed_nor_cut(desk: Desk, cast: Cast) -> None:
    a_zone(desk, cast)
    for statement in ("UPDATE entry SET by = 'somebody'", "DELETE FROM entry WHERE seq = 1"):
        with pytest.raises(sqlalchemy.exc.DatabaseError, match="append-only"), desk.writing() as session:
            session.execute(text(statement))


def test_a_release_row_without_a_clear_verdict_is_refused_by_the_database(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    row = {"id": "r", "project": cast.project_id, "zone": zone.id}
    with (
        pytest.raises(sqlalchemy.exc.DatabaseError, match="gate has not said clear"),
        desk.writing() as session,
    ):
        session.execute(
            text(
                'INSERT INTO "release" (id, project_id, zone_id, seq, body) '
                "VALUES (:id, :project, :zone, 99, '{}')"
            ),
            row,
        )


def test_a_clock_set_back_never_runs_the_history_back(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    before = desk.clock()
    backwards = desk.fresh()
    backwards.clock = lambda: datetime(2020, 1, 1, tzinfo=UTC)
    zones.finish_walk(backwards, cast.lead.id, zone.id)
    with desk.reading() as session:
        entries = books.entries(session, cast.project_id)
    times = [entry.at for entry in entries]
    assert times == sorted(times) and times[-1] == before


def test_an_entry_of_another_version_is_refused_not_guessed() -> None:
    entry = Entry("p", 1, datetime(2026, 1, 1, tzinfo=UTC), "x", "crew lead", f.PersonLeft("x"))
    with pytest.raises(ValueError, match="version 2"):
        read_entry(entry.content().replace(b'"v":1', b'"v":2'))
