"""Random work on one site, against an oracle recomputed from the history.

No zone is ever ready with an unsealed defect, whatever was marked, patched, withdrawn, changed, released or
pulled back, in whatever order. The oracle reads the bytes of the history and knows the trade's rule only: it
imports nothing of the gate, the repair rule or the overlap. Every patch here is a rectangle at its mark's own
angle, so that its reach on a side is plain arithmetic. One patch that holds alone seals for certain; patches
that together do not reach the minimum on some side cannot seal by any rule. Between the two lie unions, which
tests/outside judges.
"""

from __future__ import annotations

import json
import shutil
import tempfile
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.actions.marks import defects, patches
from service.actions.office import placing_start, projects, release
from service.actions.sketches import zones
from service.domain.nouns.site import Zone
from service.domain.words.refusals import Refusal
from service.history.replay.replay import replay
from service.history.verifying.judging import judge_all
from service.storage.blobs.blobs import Blobs
from service.storage.doors.database import Database
from service.storage.history import books, slices
from service.storage.upkeep.migrate import migrate
from tests.builders import NEXT_DOOR, SQUARE, WELL_MADE, a_sketch, a_zone
from tests.cast import Cast, Clock, assemble

SIXTEENTH_NM = 1_587_500
# What film laid over it mends: damage by a patch, an open seam by a cover strip.
PATCHABLE = {"hole", "tear", "burn", "other", "open seam"}


class Oracle:
    """What the history says of one zone, in the plainest form: every standing mark and its best patch."""

    def __init__(self, contents: list[bytes]) -> None:
        self.minimum = self.tape = 0
        self.marks: dict[str, dict[str, Any]] = {}
        self.patches: dict[str, dict[str, Any]] = {}
        self.walked: dict[str, bool] = {}
        self.holds: dict[str, str] = {}
        # Zones being placed, each with what was there when it began; and those whose release fell since.
        self.begun: dict[str, set[str]] = {}
        self.fell: set[str] = set()
        for content in contents:
            entry = json.loads(content)
            getattr(self, entry["type"].replace("-", "_"), self._other)(entry["fact"])

    def _other(self, fact: dict[str, Any]) -> None: ...

    def project_started(self, fact: dict[str, Any]) -> None:
        self.rule_sheet_changed(fact)

    def rule_sheet_changed(self, fact: dict[str, Any]) -> None:
        if fact["sheet"]["patch_overlap"]["nm"] != self.minimum:
            self.fell |= set(self.begun)
        self.minimum = fact["sheet"]["patch_overlap"]["nm"]
        self.tape = fact["sheet"]["tape_width"]["nm"]

    def defect_marked(self, fact: dict[str, Any]) -> None:
        self.marks[fact["defect"]] = fact

    def defect_withdrawn(self, fact: dict[str, Any]) -> None:
        del self.marks[fact["defect"]]
        self._taken_back(fact["defect"])

    def _taken_back(self, what: str) -> None:
        """Of what was there when placing began: damage found since, and work on it, may go."""
        self.fell |= {zone for zone, there in self.begun.items() if what in there}

    def placing_started(self, fact: dict[str, Any]) -> None:
        there = {**self.marks, **self.patches}
        self.begun[fact["zone"]] = {name for name, of in there.items() if of["zone"] == fact["zone"]}
        self.fell.discard(fact["zone"])

    def zone_released(self, fact: dict[str, Any]) -> None:
        self.begun.pop(fact["zone"], None)

    def release_pulled_back(self, fact: dict[str, Any]) -> None:
        self.begun.pop(fact["zone"], None)

    def patch_logged(self, fact: dict[str, Any]) -> None:
        self.patches[fact["patch"]] = fact

    def patch_withdrawn(self, fact: dict[str, Any]) -> None:
        del self.patches[fact["patch"]]
        self._taken_back(fact["patch"])

    def walk_finished(self, fact: dict[str, Any]) -> None:
        self.walked[fact["zone"]] = True

    def zone_held(self, fact: dict[str, Any]) -> None:
        self.holds[fact["hold"]] = fact["zone"]
        self.fell.add(fact["zone"])

    def hold_lifted(self, fact: dict[str, Any]) -> None:
        del self.holds[fact["hold"]]

    def good(self, mark: dict[str, Any]) -> list[dict[str, Any]]:
        return [
            patch
            for patch in self.patches.values()
            if mark["kind"] in PATCHABLE
            and patch["defect"] == mark["defect"]
            and all(patch[answer] for answer in ("cleaned", "dry", "edges_taped"))
            and patch["tape_width_nm"] >= self.tape
        ]

    def reach(self, mark: dict[str, Any], patch: dict[str, Any]) -> list[int]:
        """How far the patch reaches past the damage: left, right, near, far."""
        if patch["sides"]:
            return [patch["sides"][f"{side}_nm"] for side in ("left", "right", "near", "far")]
        damage, film = mark["outline"], patch["outline"]
        x, y = patch["offset"]
        along, across = ((film[name] - damage[name]) // 2 for name in ("length_nm", "width_nm"))
        return [along - x, along + x, across + y, across - y]

    def alone(self, mark: dict[str, Any]) -> bool:
        """Nothing else lies within 5 ft (50 px), so that no tape of any patch here runs over other damage."""
        others = (other for other in self.marks.values() if other is not mark)
        return all(abs(other["at"][0] - mark["at"][0]) > 50_000 for other in others)

    def surely_sealed(self, mark: dict[str, Any]) -> bool:
        return self.alone(mark) and any(
            min(self.reach(mark, patch)) >= self.minimum for patch in self.good(mark)
        )

    def surely_not(self, mark: dict[str, Any]) -> bool:
        reaches = [self.reach(mark, patch) for patch in self.good(mark)]
        return not reaches or min(max(side) for side in zip(*reaches, strict=True)) < self.minimum

    def open_for_other_causes(self, zone_id: str) -> bool:
        return not self.walked.get(zone_id, False) or zone_id in self.holds.values()

    def of_zone(self, zone_id: str) -> list[dict[str, Any]]:
        return [mark for mark in self.marks.values() if mark["zone"] == zone_id]

    def surely_clear(self, zone_id: str) -> bool:
        marks = self.of_zone(zone_id)
        return not self.open_for_other_causes(zone_id) and all(self.surely_sealed(mark) for mark in marks)

    def surely_held(self, zone_id: str) -> bool:
        marks = self.of_zone(zone_id)
        return self.open_for_other_causes(zone_id) or any(self.surely_not(mark) for mark in marks)


lengths = st.sampled_from(["6 in", "6 in", "6 1/16 in", "7 in", "12 in", "5 15/16 in"])


@cache
def migrated() -> bytes:
    """A SQLite file with every migration run and nothing in it."""
    with tempfile.TemporaryDirectory(prefix="laptight-") as folder:
        database = Database.at(Path(folder) / "site.sqlite3")
        migrate(database)
        database.close()
        return (Path(folder) / "site.sqlite3").read_bytes()


class Site(RuleBasedStateMachine):
    """A project manager, a crew lead and an inspector at work on two neighbouring zones."""

    folder: Path
    desk: Desk
    cast: Cast
    zones: list[Zone]
    seen: dict[str, str]

    @initialize()
    def open_the_site(self) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="laptight-"))
        (self.folder / "site.sqlite3").write_bytes(migrated())
        self.database = Database.at(self.folder / "site.sqlite3")
        self.clock = Clock()
        self.desk = Desk(self.database, Blobs(self.folder), self.clock)
        self.cast = assemble(self.desk)
        sketch = a_sketch(self.desk, self.cast)
        self.zones = [
            a_zone(self.desk, self.cast, sketch, "B", SQUARE),
            a_zone(self.desk, self.cast, sketch, "C", NEXT_DOOR),
        ]
        self.seen = {}

    def teardown(self) -> None:
        if not hasattr(self, "folder"):
            return
        try:
            if hasattr(self, "zones"):
                self.every_judgement_comes_out_again()
        finally:
            self.database.close()
            shutil.rmtree(self.folder)

    def every_judgement_comes_out_again(self) -> None:
        """Overlaps, releases and placings, worked out from the entries alone as for a record."""
        with self.desk.reading() as session:
            entries = books.entries(session, self.cast.project_id)
        judged = judge_all(entries, len(entries))
        assert all(finding.holds for finding in judged.findings), judged.findings

    def oracle(self) -> Oracle:
        with self.desk.reading() as session:
            return Oracle([entry.content() for entry in books.entries(session, self.cast.project_id)])

    def _pick(self, things: dict[str, Any], number: int) -> str | None:
        return sorted(things)[number % len(things)] if things else None

    @rule(
        which=st.integers(0, 1),
        kind=st.sampled_from(["hole", "tear", "burn", "open seam"]),
        x=st.integers(0, 99),
    )
    def mark(self, which: int, kind: str, x: int) -> None:
        zone = self.zones[which]
        at = (200 + which * 800 + x, 300)
        outline = {"shape": "rectangle", "length": "4 in", "width": "2 in"}
        defects.mark_defect(self.desk, self.cast.lead.id, zone.id, defects.read_mark(kind, at, outline))

    @rule(
        number=st.integers(0, 50),
        sides=st.tuples(lengths, lengths, lengths, lengths),
        flaw=st.sampled_from(
            [{}, {}, {}, {"cleaned": False}, {"dry": False}, {"edges_taped": False}, {"tape_width": "3 in"}]
        ),
    )
    def patch_by_sides(self, number: int, sides: tuple[str, ...], flaw: dict[str, Any]) -> None:
        mark = self._pick(self.oracle().marks, number)
        if mark:
            read = dict(zip(("left", "right", "near", "far"), sides, strict=True))
            patches.log_patch(self.desk, self.cast.lead.id, mark, {"sides": read, **WELL_MADE, **flaw})

    @rule(
        number=st.integers(0, 50), long=st.integers(14, 20), wide=st.integers(12, 18), off=st.integers(-1, 1)
    )
    def patch_by_size(self, number: int, long: int, wide: int, off: int) -> None:
        mark = self._pick(self.oracle().marks, number)
        if mark:
            outline = {"shape": "rectangle", "length": f"{long} in", "width": f"{wide} in"}
            given = {"outline": outline, "offset": [f"{off} in", "0 in"], **WELL_MADE}
            patches.log_patch(self.desk, self.cast.lead.id, mark, given)

    @rule(number=st.integers(0, 50))
    def withdraw_a_mark(self, number: int) -> None:
        mark = self._pick(self.oracle().marks, number)
        if mark:
            defects.withdraw_defect(self.desk, self.cast.manager.id, mark, "entered twice")

    @rule(number=st.integers(0, 50))
    def withdraw_a_patch(self, number: int) -> None:
        patch = self._pick(self.oracle().patches, number)
        if patch:
            patches.withdraw_patch(self.desk, self.cast.manager.id, patch, "came off")

    @rule(which=st.integers(0, 1))
    def walk(self, which: int) -> None:
        zones.finish_walk(self.desk, self.cast.lead.id, self.zones[which].id)

    @rule(which=st.integers(0, 1))
    def hold(self, which: int) -> None:
        zones.hold_zone(self.desk, self.cast.inspector.id, self.zones[which].id, "storm", "hail")

    @rule(number=st.integers(0, 5))
    def lift(self, number: int) -> None:
        hold = self._pick(self.oracle().holds, number)
        if hold:
            zones.lift_hold(self.desk, self.cast.lead.id, hold, "dry again")

    @rule(inches=st.sampled_from(["6 in", "6 in", "6 1/16 in", "12 in"]))
    def change_the_minimum(self, inches: str) -> None:
        projects.change_rule_sheet(
            self.desk, self.cast.manager.id, self.cast.project_id, {"patch_overlap": inches}
        )

    @rule(which=st.integers(0, 1))
    def look(self, which: int) -> None:
        """A project manager opens the release page and keeps it open."""
        zone = self.zones[which]
        self.seen[zone.id] = zone_view(self.desk, self.cast.manager.id, zone.id).standing.digest

    @precondition(lambda self: self.seen)
    @rule(which=st.integers(0, 1), fresh=st.booleans())
    def release(self, which: int, fresh: bool) -> None:
        zone = self.zones[which]
        if fresh or zone.id not in self.seen:
            self.look(which)
        try:
            release.release_zone(self.desk, self.cast.manager.id, zone.id, self.seen[zone.id], "seen")
        except Refusal:
            return
        assert not self.oracle().surely_held(zone.id), "released against the oracle"

    @rule(which=st.integers(0, 1))
    def pull_back(self, which: int) -> None:
        with suppress(Refusal):  # there may be nothing to pull back
            release.pull_back(self.desk, self.cast.manager.id, self.zones[which].id, "second thoughts")

    @rule(which=st.integers(0, 1))
    def start_placing(self, which: int) -> None:
        """Of a zone that is walked and released first, where the gate lets it."""
        zone = self.zones[which]
        self.walk(which)
        self.release(which, fresh=True)
        try:
            placing_start.start_placing(self.desk, self.cast.lead.id, zone.id)
        except Refusal:
            return
        assert not self.oracle().surely_held(zone.id), "begun against the oracle"

    @invariant()
    def no_zone_is_ready_with_an_unsealed_defect(self) -> None:
        if not hasattr(self, "zones"):
            return
        oracle = self.oracle()
        for zone in self.zones:
            standing = zone_view(self.desk, self.cast.manager.id, zone.id).standing
            for mark in oracle.of_zone(zone.id):
                sealed = standing.verdicts[mark["defect"]].state == "sealed"
                assert not (sealed and oracle.surely_not(mark)), f"{mark['tag']} sealed against the oracle"
                assert sealed or not oracle.surely_sealed(mark), f"{mark['tag']} held against the oracle"
            if oracle.surely_held(zone.id):
                assert standing.blockers, "held by the oracle, clear by the gate"
                assert standing.state != "ready to place" or zone.id in oracle.begun
            if zone.id in oracle.begun:
                assert (standing.state == "ready to place") == (zone.id not in oracle.fell)
            if oracle.surely_clear(zone.id):
                assert not standing.blockers, f"clear by the oracle, held by the gate: {standing.blockers}"

    @invariant()
    def a_replay_equals_the_tables(self) -> None:
        if not hasattr(self, "zones"):
            return
        with self.desk.reading() as session:
            entries = books.entries(session, self.cast.project_id)
            assert replay(entries) == slices.whole_site(session, self.cast.project_id)
        assert [entry.seq for entry in entries] == list(range(1, len(entries) + 1))


Site.TestCase.settings = settings(
    max_examples=25,
    stateful_step_count=30,
    deadline=None,
    derandomize=True,
    suppress_health_check=list(HealthCheck),
)
TestSite = Site.TestCase
