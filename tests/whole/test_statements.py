"""How often each page asks the database: as often with hundreds of rows as with a few, and no more than here.

Every GET of the app, asked as the project manager, is counted on the stage as it is set up and on the stage
grown. A page that asks once more for each thing it lists (N+1) asks more then, and fails. What each page asks
stands below to the statement, the sign-in and the glance at a kept page counted in, so that nothing creeps
up: six are to be enough, and whoever brings one of the others down writes its new number here.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from pysqlite3 import dbapi2
from sqlalchemy import event

from service.actions.entrance.counting import Counted
from tests.whole.asking import PROJECT_MANAGER, actor_of
from tests.whole.growing import TENS, grow
from tests.whole.routes import ROWS, Row
from tests.whole.stage import Stage

TILE = {"level": "0", "x": "0", "y": "0"}
PAGES = [row for row in ROWS if row.method == "GET" and not row.program]
CALLS = [row for row in ROWS if row.method == "GET" and row.program]
ASKS = {
    10: """
        /zones/{zone_id}/edit /zones/{zone_id}/walls
    """,
    9: """
        /projects/{project_id}/history/{seq} /projects/{project_id}/history/{seq}/proof
        /projects/{project_id}/plan-of-pours
    """,
    8: """
        /calendar/{token}.ics /layouts/{layout_id} /layouts/{layout_id}/laid
        /layouts/{layout_id}/laid/{laying_id}/withdraw /layouts/{layout_id}/sheets.pdf
        /layouts/{layout_id}/withdraw /lots/{lot_id}/withdraw /materials/{material_id}/withdraw
        /projects/{project_id}/checkpoints/{size} /projects/{project_id}/order
        /projects/{project_id}/order.csv /projects/{project_id}/order.pdf /readings/{readings_id}/withdraw
        /thickness/{thickness_id}/withdraw
    """,
    7: """
        /account/second-factor /defects/{defect_id} /edges/{termination_id} /penetrations/{penetration_id}
        /projects/{project_id}/checkpoints/{size}/since/{old}.txt /projects/{project_id}/people
        /projects/{project_id}/who-did-what/{person_id} /seams/{seam_id} /sketches/{sketch_id}/layout
        /sketches/{sketch_id}/layout/cost.json /zones/{zone_id}/compare /zones/{zone_id}/layout
        /zones/{zone_id}/layout/cost.json /zones/{zone_id}/placing-day /zones/{zone_id}/placing-plan
        /zones/{zone_id}/readings /zones/{zone_id}/readings/file /zones/{zone_id}/thickness
    """,
    6: """
        /defects/{defect_id}/marked /defects/{defect_id}/patch /defects/{defect_id}/repair
        /defects/{defect_id}/repairs/{repair_id}/look /defects/{defect_id}/repairs/{repair_id}/withdraw
        /defects/{defect_id}/withdraw /edges/{termination_id}/unseal /edges/{termination_id}/withdraw
        /holds/{hold_id}/lift /patches/{patch_id} /patches/{patch_id}/look /patches/{patch_id}/withdraw
        /penetrations/{penetration_id}/seal /penetrations/{penetration_id}/unseal
        /penetrations/{penetration_id}/withdraw /projects/{project_id}/checkpoints
        /projects/{project_id}/crew /projects/{project_id}/film /projects/{project_id}/film/submit
        /projects/{project_id}/history /projects/{project_id}/office /projects/{project_id}/rule-sheet
        /projects/{project_id}/told /ready/{token} /seams/{seam_id}/walk /seams/{seam_id}/withdraw
        /walls/{wall_id}/withdraw /zones/{zone_id} /zones/{zone_id}/along.json /zones/{zone_id}/cut-list
        /zones/{zone_id}/edges /zones/{zone_id}/film /zones/{zone_id}/film/{laying_id}/withdraw
        /zones/{zone_id}/hold /zones/{zone_id}/hold-points /zones/{zone_id}/mark
        /zones/{zone_id}/marks.json /zones/{zone_id}/move-day /zones/{zone_id}/none-here
        /zones/{zone_id}/numbers /zones/{zone_id}/penetrations /zones/{zone_id}/penetrations/place
        /zones/{zone_id}/placed /zones/{zone_id}/pull-back /zones/{zone_id}/punch-list
        /zones/{zone_id}/release /zones/{zone_id}/seams /zones/{zone_id}/seams/draw
        /zones/{zone_id}/start-placing /zones/{zone_id}/together /zones/{zone_id}/walk-order
        /zones/{zone_id}/withdraw
    """,
    5: """
        /join/{token} /projects/{project_id}/as-it-stood /projects/{project_id}/causes
        /projects/{project_id}/record /projects/{project_id}/who-did-what /releases/{release_id}
        /releases/{release_id}/certificate.pdf /releases/{release_id}/proof /sketches/{sketch_id}
        /sketches/{sketch_id}/grid /sketches/{sketch_id}/revise /sketches/{sketch_id}/scale
        /sketches/{sketch_id}/zones/new /zones/{zone_id}/as-it-stood
    """,
    4: """
        /account /code/{token} /projects/{project_id}/closeout /projects/{project_id}/closeout.pdf
        /projects/{project_id}/crew-codes /projects/{project_id}/ready-lists /told
        /zones/{zone_id}/timeline
    """,
    3: """
        /projects/{project_id}/checkpoints/{size}/checkpoint.txt
        /projects/{project_id}/checkpoints/{size}/timestamp-chain.pem
        /projects/{project_id}/checkpoints/{size}/timestamp.tsr
        /projects/{project_id}/history/{seq}/entry.json /ready-lists/{link_id}/withdraw
    """,
    2: """
        / /photos/{photo_id}.webp /projects/{project_id} /projects/{project_id}/checkpoints/check
        /projects/{project_id}/sketches/new /sketches/{sketch_id}/preview.webp
        /sketches/{sketch_id}/tiles/{level}/{x}_{y}.webp /sketches/{sketch_id}/window.webp
        /zones/{zone_id}/code-sheet /zones/{zone_id}/code-sheet.pdf
    """,
    1: """
        /health/ready /projects/new /reset/{token} /sign-in /sign-in/second-step
    """,
    0: """
        /forgot /health /manifest.webmanifest /outbox /phone/patch /sign-in/company /sign-in/company/back
        /worker.js
    """,
}
# Tables that stay small on the grown stage, each with its reason; every other one has tens of rows.
SMALL = {
    "alembic_version": "the one version",
    "verdict": "the newest answer of each zone's gate that was asked under lock",
    "placing_plan": "one a zone, and none here", "order_plan": "one a project, and none here",
    "request": "no page reads it", "try": "no page reads it", "challenge": "no page reads it",
    "upload": "no page reads it", "company_sign_in": "no page reads it",
    "push_phone": "counted in one statement; a phone is reached outside",
    "recovery_code": "counted in one statement; ten at the most",
}  # fmt: skip


@contextmanager
def statements(stage: Stage) -> Iterator[list[str]]:
    """Every statement that the app sends while this is open, BEGIN left out."""
    told: list[str] = []
    database = stage.desk.database
    quickly = database.ask_quickly

    def note(*given: Any) -> None:
        if not given[2].startswith("BEGIN"):
            told.append(given[2])

    def glance(sql: str, values: Sequence[Any]) -> list[Any]:
        told.append(sql)
        return quickly(sql, values)

    event.listen(database.engine, "before_cursor_execute", note)
    database.ask_quickly = glance  # type: ignore[method-assign]
    try:
        yield told
    finally:
        del database.ask_quickly
        event.remove(database.engine, "before_cursor_execute", note)


def asked(stage: Stage, rows: Sequence[Row]) -> dict[str, list[str]]:
    """The statements of each of these, asked by the project manager, by its row; nothing kept from before."""
    found = {}
    with (
        statements(stage) as told,
        stage.client(actor_of(stage, PROJECT_MANAGER), rows[0].program) as client,
    ):
        for row in rows:
            stage.app.state.shelf.clear()
            told.clear()
            answer = client.get(row.address(TILE | stage.ids))
            assert answer.status_code < 400, (row, answer.status_code)
            found[str(row)] = list(told)
    return found


def rows_of_tables(stage: Stage) -> dict[str, int]:
    connection = dbapi2.connect(str(stage.file))
    names = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
    counted = {name: connection.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0] for (name,) in names}
    connection.close()
    return counted


def test_no_page_and_no_call_asks_more_often_because_there_is_more(stage: Stage) -> None:
    stage.app.state.counted = Counted(
        0
    )  # what a person uses is written down now and then: not a page's doing
    few = asked(stage, PAGES) | asked(stage, CALLS)
    grow(stage)
    assert {name for name, rows in rows_of_tables(stage).items() if rows < TENS} == set(SMALL)
    many = asked(stage, PAGES) | asked(stage, CALLS)
    more = {row: (len(few[row]), len(many[row])) for row in few if len(many[row]) > len(few[row])}
    assert more == {}
    told = {path: times for times, paths in ASKS.items() for path in paths.split()}
    now = {row.path: len(few[str(row)]) for row in PAGES}
    assert now.keys() == told.keys()
    assert {path: (told[path], now[path]) for path in now if now[path] != told[path]} == {}
