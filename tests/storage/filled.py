"""A filled database as the present program writes it, kept for the programs to come: run it before a
migration is added, as `python -m tests.storage.filled`.

It is the demo's site, with a little of what the demo leaves empty, dumped as SQL; beside it stands what the
program said of it: the state and the digest of every zone, and of what was released.
"""

from __future__ import annotations

import gzip
import json
import sqlite3
import tempfile
from contextlib import closing, suppress
from pathlib import Path

import sqlalchemy as sa

from service.actions.demo import demo
from service.actions.entrance import accounts, resets
from service.actions.frame.desk import Desk, random_id, utc_now
from service.actions.frame.reading import project_view
from service.actions.people import crew_codes, people
from service.actions.placing import calendars
from service.actions.telling import telling
from service.actions.upkeep.checking import check_histories
from service.domain.gate import gate
from service.domain.nouns.roles import INSPECTOR
from service.domain.words.refusals import NotSignedIn
from service.history.replay.turns import EVENTS, WAYS
from service.storage.blobs.blobs import Blobs
from service.storage.doors.database import Database
from service.storage.upkeep.migrate import migrate

EARLIER = Path(__file__).parent / "earlier"


def fill(desk: Desk) -> dict[str, object]:
    """The site, and what is said of it."""
    demo.fill(desk.fresh())
    with desk.reading() as session:
        [project] = session.connection().execute(sa.text("SELECT id FROM project")).scalars()
        found = session.connection().execute(sa.text("SELECT email, id FROM person"))
        who = {row.email: str(row.id) for row in found}
    lead, manager, _ = (who[email] for email, _, _ in demo.PEOPLE)
    _beside(desk, project, lead, manager)
    view = project_view(desk.fresh(), manager, project)
    assert check_histories(desk.fresh()).faults == ()
    return {
        "gate": gate.VERSION,
        "zones": {one.zone.letter: [one.state, one.digest] for one in view.standings},
        "released": {
            one.zone.letter: [one.release.version, one.release.digest]
            for one in view.standings
            if one.release
        },
    }


def _beside(desk: Desk, project: str, lead: str, manager: str) -> None:
    """Sign-ins and tries, an invitation, a reset, a code, a wish, a calendar."""
    email = demo.PEOPLE[0][0]
    with suppress(NotSignedIn):
        accounts.sign_in(desk.fresh(), email, "not her password", "192.0.2.7")
    accounts.sign_in(desk.fresh(), email, demo.PASSWORD, "192.0.2.7")
    people.invite(desk.fresh(), manager, project, "ines@example.com", INSPECTOR)
    resets.make_reset_for_email(desk.fresh(), email)
    crew_codes.make_code(desk.fresh(), manager, project, lead)
    telling.ask_to_be_told(desk.fresh(), manager, project, (), EVENTS[:1], WAYS[:1])
    calendars.make_link(desk.fresh(), manager, project)


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "laptight.sqlite3"
        database = Database.at(file)
        migrate(database)
        said = fill(Desk(database, Blobs(Path(folder)), utc_now, random_id))
        database.close()
        with closing(sqlite3.connect(file)) as connection:
            [version] = connection.execute("SELECT version_num FROM alembic_version").fetchone()
            [said["entries"]] = connection.execute("SELECT count(*) FROM entry").fetchone()
            dump = "\n".join(connection.iterdump()).encode()
    (EARLIER / f"{version}.sql.gz").write_bytes(gzip.compress(dump, 9, mtime=0))
    (EARLIER / f"{version}.json").write_text(json.dumps(said, indent=1, sort_keys=True) + "\n")


if __name__ == "__main__":
    main()
