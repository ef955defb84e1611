"""The second wall: the history only grows, and no release without this transaction's clear verdict."""

from alembic import op

revision = "0002"
down_revision = "0001"

SQLITE = (
    """CREATE TRIGGER entry_is_never_updated BEFORE UPDATE ON entry
       BEGIN SELECT RAISE(ABORT, 'the history is append-only'); END""",
    """CREATE TRIGGER entry_is_never_deleted BEFORE DELETE ON entry
       BEGIN SELECT RAISE(ABORT, 'the history is append-only'); END""",
    """CREATE TRIGGER release_needs_a_clear_verdict BEFORE INSERT ON "release"
       WHEN NOT EXISTS (SELECT 1 FROM verdict v WHERE v.project_id = NEW.project_id
                        AND v.seq = NEW.seq AND v.zone_id = NEW.zone_id AND v.clear)
       BEGIN SELECT RAISE(ABORT, 'the gate has not said clear'); END""",
    """CREATE TRIGGER release_stays_what_it_was BEFORE UPDATE ON "release"
       WHEN NEW.zone_id <> OLD.zone_id OR NEW.seq <> OLD.seq OR NEW.project_id <> OLD.project_id
       BEGIN SELECT RAISE(ABORT, 'a release keeps its zone and its place in the history'); END""",
)

POSTGRES = (
    """CREATE FUNCTION entry_is_append_only() RETURNS trigger LANGUAGE plpgsql AS
       $$ BEGIN RAISE EXCEPTION 'the history is append-only'; END $$""",
    """CREATE TRIGGER entry_never_changes BEFORE UPDATE OR DELETE OR TRUNCATE ON entry
       FOR EACH STATEMENT EXECUTE FUNCTION entry_is_append_only()""",
    """CREATE FUNCTION release_needs_a_clear_verdict() RETURNS trigger LANGUAGE plpgsql AS
       $$ BEGIN
         IF NOT EXISTS (SELECT 1 FROM verdict v WHERE v.project_id = NEW.project_id
                        AND v.seq = NEW.seq AND v.zone_id = NEW.zone_id AND v.clear) THEN
           RAISE EXCEPTION 'the gate has not said clear';
         END IF;
         RETURN NEW;
       END $$""",
    """CREATE TRIGGER release_needs_a_clear_verdict BEFORE INSERT ON "release"
       FOR EACH ROW EXECUTE FUNCTION release_needs_a_clear_verdict()""",
    """CREATE FUNCTION release_stays_what_it_was() RETURNS trigger LANGUAGE plpgsql AS
       $$ BEGIN
         IF NEW.zone_id <> OLD.zone_id OR NEW.seq <> OLD.seq OR NEW.project_id <> OLD.project_id THEN
           RAISE EXCEPTION 'a release keeps its zone and its place in the history';
         END IF;
         RETURN NEW;
       END $$""",
    """CREATE TRIGGER release_stays_what_it_was BEFORE UPDATE ON "release"
       FOR EACH ROW EXECUTE FUNCTION release_stays_what_it_was()""",
)


def upgrade() -> None:
    sqlite = op.get_bind().dialect.name == "sqlite"
    for statement in SQLITE if sqlite else POSTGRES:
        op.execute(statement)
