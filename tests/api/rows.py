"""The contract as a table: every call, a body that is right, who may, and what must come back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import httpx

from tests.api.scene import EYE, LEAD, MANAGER, RING, WORK, Scene, jpeg, png
from tests.builders import COLLAR, LAPPED

ALL, FIELD, OFFICE = (LEAD, MANAGER, EYE), (LEAD, MANAGER), (MANAGER,)
THE_SCENES = "the scene's"
OTHERS = (MANAGER, EYE)  # than the crew lead, whose work is looked at
ROLLS = {"roll_width": "15 ft", "roll_length": "200 ft", "direction": 0}
CIRCLE = {"shape": "circle", "diameter": "1/2 in"}
TEAR = {"shape": "rectangle", "length": "4 in", "width": "2 in", "angle_deg": 20}
SIDES = {"left": "6 in", "right": "6 1/2 in", "near": "6 in", "far": "7 in"}


@dataclass(frozen=True)
class Row:
    """`path` names what it is about as the scene does. `gives`: keys that the contract names in the answer,
    dots for those inside. `may`: the roles that may. `later`: not in the table of the first contract.
    `once`: keys of secrets that are told this once, and null when the same is asked again. `others`: what
    the other roles are told."""

    method: str
    path: str
    status: int
    gives: tuple[str, ...] = ()
    body: dict[str, Any] | None = None
    may: tuple[str, ...] = ALL
    file: Callable[[], bytes] | None = None
    form: dict[str, str] = field(default_factory=dict)
    later: bool = False
    once: tuple[str, ...] = ()
    others: tuple[int, str] = (403, "role-too-low")

    def __str__(self) -> str:
        return f"{self.method} {self.path}"

    @property
    def about(self) -> str | None:
        """The thing the path names, as the scene calls it."""
        return self.path.partition("{")[2].partition("}")[0] or None

    def send(
        self,
        client: httpx.Client,
        scene: Scene,
        *,
        body: dict[str, Any] | None = None,
        key: str | None = None,
        path: str | None = None,
    ) -> httpx.Response:
        """The call; `body` in place of the right one, `path` in place of the scene's."""
        headers = {} if key is None else {"Idempotency-Key": key}
        where = path or scene.path(self.path)
        if self.file is not None:
            files = {"file": ("a file", self.file(), "application/octet-stream")}
            return client.request(self.method, where, files=files, data=self.form, headers=headers)
        given = body if body is not None else self.right_body(scene)
        if given is None:
            return client.request(self.method, where, headers=headers)
        return client.request(self.method, where, json=given, headers=headers)

    def right_body(self, scene: Scene) -> dict[str, Any] | None:
        body = self.body
        if body is not None and "digest" in body:
            body = {**body, "digest": scene.clear_digest}
        if body is not None and "material" in body:
            body = {**body, "material": scene.ids["material"]}
        if body is not None and body.get("project") == THE_SCENES:
            body = {**body, "project": scene.ids["project"]}
        if body is not None and body.get("lot") == THE_SCENES:
            body = {**body, "lot": scene.ids["lot"]}
        return body


PROJECT = ("id", "name", "units", "time_zone", "role", "rule_sheet.patch_overlap.text")
SHEET = (
    "patch_overlap.text", "patch_overlap.m", "patch_overlap.source", "lap.m", "tape_width.m",
    "collar_width.m", "collar_length_factor.value", "mastic_up_to.m", "cut_allowance.m",
    "repair_methods", "second_look", "gate_demands", "station_every.m", "tape_temperature.f",
    "film_class.class", "film_thickness.m", "most_permeance.perm", "hold_points", "sets",
    "sources.second_look",
)  # fmt: skip
DEFECT = (
    "id", "tag", "state", "needs.overlap.m", "needs.cut_size.length.m", "needs.cut_size.width.text",
    "needs.tape_length.m", "cause", "patches", "repairs",
)  # fmt: skip
HOLD_POINTS = ("zone", "asked_for", "next", "steps")

EDGE = ("id", "tag", "kind", "state", "reasons", "length.m", "edges", "needs.text", "seal")
PIPE = ("id", "tag", "kind", "size", "state", "reasons", "needs.collar_length.m", "needs.mastic", "seal")
SEAM = ("id", "tag", "kind", "state", "reasons", "length.m", "path", "suggested_stations", "walk")
MATERIAL = ("id", "kind", "name", "reached_class", "meets", "faults", "missing", "withdrawn")
LOT = ("id", "material", "number", "rolls", "zones", "withdrawn")
LAYING = ("id", "zone", "lot", "number", "material", "faults", "withdrawn")
LAYOUT = ("id", "zones", "letters", "film.m2", "sheets", "seams", "laid", "left.sheets", "withdrawn")
CALENDAR = ("id", "project", "made_at", "link")
READY_LIST = ("id", "label", "opened_at", "by", "withdrawn", "link")
NUMBERS = ("zone", "state", "raised", "numbers.patch_overlap.asked", "sheet.lap.m")
RELEASE = (
    "id", "state", "released.by", "statement", "digest", "not_asked_for", "numbers", "marks", "entry_text",
    "leaf", "proof.hashes", "proof.checkpoint", "proof.file", "code", "pulled_back", "fell", "withdrawn",
    "installed",
)  # fmt: skip
ORDER = {
    "material": "", "film_allowance": "5", "tape_allowance": "10", "repairs": "1", "stock": [],
    "deliveries": [],
}  # fmt: skip
ORDER_TOLD = ("choices.material", "choices.deliveries", "saved", "order", "trouble", "without_layout")
KEPT = ("size", "note", "root", "key_fingerprint", "holds")

TAKEN = ("id", "zone", "source", "count", "first", "last", "withdrawn")


def station() -> bytes:
    """Two readings of a weather station, with every unit told."""
    return b"Time,Air F,RH %,Wind mph\n2026-11-20 06:00,60,50,8\n2026-11-20 07:00,62,48,9\n"


ROWS = [
    Row("POST", "/projects", 201, PROJECT, {"name": "Depot", "units": "us", "time_zone": "America/Chicago"}),
    Row("GET", "/projects", 200),
    Row("GET", "/projects/{project}", 200, PROJECT),
    Row("GET", "/projects/{project}/rule-sheet", 200, SHEET),
    Row("PUT", "/projects/{project}/rule-sheet", 200, SHEET, {"patch_overlap": "8 in"}, OFFICE),
    Row(
        "POST", "/projects/{project}/people", 201, ("id", "email", "role", "state"),
        {"email": "otto.outsider@example.com", "role": "crew lead"}, OFFICE,
    ),
    Row("GET", "/projects/{project}/order", 200, ORDER_TOLD, later=True),
    Row("PUT", "/projects/{project}/order", 200, ORDER_TOLD, ORDER, OFFICE, later=True),
    Row("GET", "/projects/{project}/people", 200, ("people", "invitations"), later=True),
    Row(
        "POST", "/projects/{project}/sketches", 201, ("id", "width_px", "height_px"), may=OFFICE, file=png,
        form={"name": "Level 1"},
    ),
    Row("GET", "/sketches/{sketch}", 200, ("id", "px_per_m", "zones"), later=True),
    Row(
        "PUT", "/sketches/{sketch}/scale", 200, ("px_per_m",),
        {"from": [100, 100], "to": [1100, 100], "distance": "50 ft"}, OFFICE,
    ),
    Row(
        "POST", "/sketches/{sketch}/zones", 201,
        ("id", "area.m2", "area.text", "perimeter.m", "perimeter.text", "state"),
        {"letter": "E", "name": "East bay", "outline": RING}, OFFICE,
    ),
    Row("GET", "/projects/{project}/zones", 200, later=True),
    Row("GET", "/zones/{zone}", 200, ("id", "state", "defects")),
    Row("POST", "/zones/{zone}/walks", 201, ("state",), {"note": "All of it"}, FIELD),
    Row("POST", "/zones/{zone}/defects", 201, DEFECT, {"kind": "tear", "at": [400, 400], "outline": TEAR}),
    Row("POST", "/zones/{zone}/walls", 201, ("id",), {"from": [100, 100], "to": [100, 700]}, FIELD),
    Row("POST", "/walls/{wall}/withdraw", 200, ("withdrawn",), {"reason": "Moved"}, FIELD, later=True),
    Row(
        "POST", "/zones/{zone}/holds", 201, ("id", "cause"), {"cause": "storm", "reason": "Wind"}, later=True
    ),
    Row("POST", "/holds/{hold}/lift", 200, ("lifted",), {"reason": "Thawed"}, later=True),
    Row("GET", "/defects/{defect}", 200, DEFECT, later=True),
    Row(
        "POST", "/defects/{defect}/patches", 201,
        ("id", "overlap.m", "overlap.text", "meets", "short_by.m", "defect_state", "reasons"),
        {"sides": SIDES, **WORK}, FIELD,
    ),
    Row("POST", "/defects/{defect}/withdraw", 200, ("withdrawn",), {"reason": "Entered twice"}, FIELD),
    Row("POST", "/patches/{patch}/withdraw", 200, ("withdrawn",), {"reason": "Entered twice"}, FIELD),
    Row(
        "POST", "/defects/{mended}/repairs", 201,
        ("id", "tag", "meets", "repair_reasons", "defect_state", "reasons"),
        LAPPED, FIELD, later=True,
    ),
    Row("POST", "/defects/{mended}/repairs/{repair}/withdraw", 200, ("withdrawn", "state"),
        {"reason": "Came undone"}, FIELD, later=True),
    Row("POST", "/defects/{mended}/repairs/{repair}/looks", 201, ("state", "repairs"),
        {"accepted": True, "note": "Seen"}, OTHERS, later=True),
    Row("POST", "/patches/{patch}/looks", 201, ("state", "patches"), {"accepted": True, "note": "Seen"},
        OTHERS, later=True),
    Row("POST", "/defects/{defect}/cause", 200, ("cause",), {"cause": "steel"}, later=True),
    Row("GET", "/projects/{project}/causes", 200, ("causes", "by_zone_and_week"), later=True),
    Row("GET", "/zones/{zone}/placing-day", 200,
        ("zone", "state", "may_be_placed", "plan", "limit.value", "concrete", "now.reading.rate", "days",
         "weather", "taken", "thickness.meets", "guidance"), later=True),
    Row("PUT", "/zones/{zone}/placing-plan", 200,
        ("zone", "thickness.m", "allowance_percent", "truck", "rate", "limit.source", "mix"),
        {"thickness": "5 in", "limit": "directly on film"}, OFFICE, later=True),
    Row("POST", "/zones/{zone}/readings", 201, TAKEN,
        {"air": "85 F", "humidity": "45", "wind": "12 mph"}, later=True),
    Row("POST", "/readings/{readings}/withdraw", 200, TAKEN, {"reason": "Wrong zone"}, FIELD, later=True),
    Row("POST", "/zones/{zone}/readings/file", 201, (*TAKEN, "left_out", "notes", "known", "differ", "early"),
        file=station, form={"name": "mast.csv"}, later=True),
    Row("POST", "/zones/{zone}/thickness", 201, ("id", "zone", "readings", "withdrawn"),
        {"readings": [{"depth": "4 in", "where": "by column B2"}], "note": "by probe"}, later=True),
    Row("POST", "/thickness/{thickness}/withdraw", 200, ("id", "withdrawn"), {"reason": "Wrong zone"}, FIELD,
        later=True),
    Row("POST", "/zones/{zone}/layouts/preview", 200, ("film", "bound", "sheets", "seams", "seen_as"), ROLLS,
        later=True),
    Row("POST", "/zones/{clear}/layouts", 201, ("layout", "seams", "replaced", "stayed"), ROLLS, FIELD,
        later=True),
    Row("GET", "/zones/{zone}/layouts", 200, (), later=True),
    Row("POST", "/sketches/{sketch}/layouts/preview", 200, ("film", "floor", "to_cover", "offset"), ROLLS,
        later=True),
    Row("POST", "/sketches/{sketch}/layouts", 201, ("layout",), {**ROLLS, "reason": "wider rolls"}, FIELD,
        later=True),
    Row("GET", "/sketches/{sketch}/layouts", 200, (), later=True),
    Row("GET", "/layouts/{layout}", 200, LAYOUT, later=True),
    Row("POST", "/layouts/{layout}/withdraw", 200, LAYOUT, {"reason": "Drawn anew"}, FIELD, later=True),
    Row("POST", "/layouts/{layout}/sheets-laid", 201, (), {"sheets": [2], "lot": THE_SCENES}, FIELD,
        later=True),
    Row("POST", "/layouts/{layout}/sheets-laid/{sheets}/withdraw", 200, ("id", "withdrawn"),
        {"reason": "Wrong sheet"}, FIELD, later=True),
    Row("GET", "/zones/{zone}/hold-points", 200, HOLD_POINTS, later=True),
    Row("POST", "/zones/{zone}/hold-points", 201, HOLD_POINTS,
        {"step": "subgrade compacted, level and free of sharp stone", "accepted": True}, later=True),
    Row("POST", "/zones/{zone}/terminations", 201, (),
        {"kind": "over the footing and against the wall", "edges": [2, 3], "authority": "Engineer, S-101"},
        FIELD, later=True),
    Row("GET", "/zones/{zone}/terminations", 200, ("described", "bare", "withdrawn"), later=True),
    Row("GET", "/zones/{zone}/together", 200, ("groups", "saved", "exact", "cut_list"), later=True),
    Row("GET", "/zones/{zone}/walk-order", 200,
        ("start", "order", "closed_off", "length", "exact", "bound"), later=True),
    Row("GET", "/defects/{defect}/offers", 200, ("offer",), later=True),
    Row("GET", "/terminations/{termination}", 200, EDGE, later=True),
    Row("POST", "/terminations/{termination}/seals", 201,
        ("id", "termination", "tag", "meets", "state", "reasons", "also"),
        {"sealed": True, "cleaned": True, "dry": True, "tape_width": "4 in"}, FIELD, later=True),
    Row("POST", "/terminations/{termination}/unseal", 200, EDGE, {"reason": "Came loose"}, FIELD, later=True),
    Row("POST", "/terminations/{termination}/withdraw", 200, ("withdrawn",), {"reason": "Wrong side"}, FIELD,
        later=True),
    Row("GET", "/trade-sizes", 200, later=True),
    Row("POST", "/zones/{zone}/penetrations", 201, ("penetrations",),
        {"kind": "PVC pipe", "from": [200, 500], "to": [600, 500], "count": 5, "size": "4"}, FIELD,
        later=True),
    Row("GET", "/zones/{zone}/penetrations", 200, ("penetrations", "reaching_in", "groups", "none_here"),
        later=True),
    Row("GET", "/penetrations/{penetration}", 200, PIPE, later=True),
    Row("POST", "/penetrations/{penetration}/seals", 201, ("id", "state", "reasons", "penetrations"),
        COLLAR, FIELD, later=True),
    Row("POST", "/penetrations/{penetration}/unseal", 200, PIPE, {"reason": "Came loose"}, FIELD, later=True),
    Row("POST", "/penetrations/{penetration}/withdraw", 200, PIPE, {"reason": "Placed twice"}, FIELD,
        later=True),
    Row("POST", "/zones/{clear}/none-here", 201, ("zone", "none_here", "state"), {"what": "penetrations"},
        FIELD, later=True),
    Row("POST", "/zones/{zone}/seams", 201, (),
        {"kind": "side lap", "path": [[200, 620], [600, 620]]}, FIELD, later=True),
    Row("GET", "/zones/{zone}/seams", 200, ("seams", "none_here"), later=True),
    Row("GET", "/seams/{seam}", 200, SEAM, later=True),
    Row("POST", "/seams/{seam}/walks", 201, ("id", "seam", "tag", "meets", "state", "reasons", "marks"),
        {"stations": [{"at": "5 ft", "lap": "6 in"}, {"at": "15 ft", "lap": "5 in"}], "taped": True,
         "bonded": True, "cleaned": True, "dry": True, "tape_width": "4 in"}, FIELD, later=True),
    Row("POST", "/seams/{seam}/withdraw", 200, SEAM, {"reason": "Drawn twice"}, FIELD, later=True),
    Row("POST", "/projects/{project}/materials", 201, MATERIAL,
        {"kind": "film", "name": "Submittal 9", "permeance": "0.05 perm", "tensile": "40 lbf/in"}, OFFICE,
        later=True),
    Row("GET", "/projects/{project}/materials", 200, later=True),
    Row("POST", "/materials/{material}/withdraw", 200, MATERIAL, {"reason": "Wrong sheet"}, OFFICE,
        later=True),
    Row("POST", "/materials/{material}/lots", 201, LOT, {"number": "G-1", "rolls": 3}, FIELD, later=True),
    Row("GET", "/projects/{project}/lots", 200, later=True),
    Row("POST", "/lots/{lot}/withdraw", 200, LOT, {"reason": "Wrong number"}, FIELD, later=True),
    Row("GET", "/zones/{zone}/film", 200, ("asked_for", "laid", "films", "state"), later=True),
    Row("POST", "/zones/{zone}/film", 201, LAYING, {"material": "", "number": "G-2", "rolls": 1}, FIELD,
        later=True),
    Row("POST", "/zones/{zone}/film/{laying}/withdraw", 200, LAYING, {"reason": "Next door"}, FIELD,
        later=True),
    Row("GET", "/rule-sets", 200, later=True),
    Row("GET", "/zones/{zone}/numbers", 200, NUMBERS, later=True),
    Row("PUT", "/zones/{zone}/numbers", 200, NUMBERS,
        {"patch_overlap": {"value": "12 in", "source": "S-101"}, "mastic_up_to": "1/2 in"}, OFFICE,
        later=True),
    Row("POST", "/defects/{defect}/photos", 201, ("id",), file=jpeg, later=True),
    Row("POST", "/patches/{patch}/photos", 201, ("id",), file=jpeg, later=True),
    Row("GET", "/photos/{photo}", 200, later=True),
    Row("GET", "/zones/{zone}/gate", 200, ("state", "digest", "blockers")),
    Row(
        "POST", "/zones/{clear}/release", 201, ("state", "digest"),
        {"digest": "", "statement": "I have seen this zone."}, OFFICE,
    ),
    Row("GET", "/zones/{released}/releases", 200, later=True),
    Row("GET", "/releases/{release}", 200, RELEASE, later=True),
    Row("POST", "/zones/{released}/pull-back", 200, ("state",), {"reason": "Rain"}, OFFICE),
    Row("POST", "/zones/{released}/start-placing", 201, ("state", "placing_since"),
        {"at": "2026-11-25T12:00:00Z"}, FIELD, later=True),
    Row(
        "POST", "/zones/{released}/placed", 200, ("state", "placed.volume.m3", "placed.volume.text"),
        {"at": "2026-11-25T06:30:00Z", "volume": "60 cu yd"}, OFFICE,
    ),
    Row("GET", "/projects/{project}/history", 200,
        ("entries", "checkpoint.size", "checkpoint.last_hash", "checkpoint.note")),
    Row("GET", "/zones/{zone}/timeline", 200,
        ("letter", "time_zone", "entries", "as_of", "states", "marks", "done"), later=True),
    Row("GET", "/projects/{project}/who-did-what", 200, ("entries", "people"), later=True),
    Row("GET", "/projects/{project}/who-did-what/{lead}", 200, ("person.count", "days"), later=True),
    Row("POST", "/projects/{project}/checkpoints", 201, KEPT, later=True),
    Row("GET", "/projects/{project}/checkpoints", 200, ("checkpoints", "keys"), later=True),
    Row("GET", "/projects/{project}/checkpoints/{size}", 200, KEPT, later=True),
    Row("POST", "/projects/{project}/timestamps", 201,
        ("size", "at", "token_sha256", "chain_sha256", "entry"), may=OTHERS, later=True),
    Row("GET", "/projects/{project}/timestamps", 200, later=True),
    Row("POST", "/projects/{project}/checkpoints/check", 200, ("holds", "points", "growth", "first"),
        {"note": "laptight/shed\n1\nAAAA\n"}, later=True),
    Row("GET", "/projects/{project}/history/{seq}", 200, ("content", "hash", "proof.text", "faults"),
        later=True),
    Row(
        "GET", "/projects/{project}/closeout", 200,
        ("head.up_to", "head.key", "numbers", "people", "materials", "zones", "releases", "floor.slabs",
         "floor.limits", "cautions", "proof"),
        later=True,
    ),
    Row("GET", "/projects/{project}/record", 200),
    Row("POST", "/projects/{project}/ready-lists", 201, READY_LIST, {"label": "concrete sub"}, OFFICE,
        later=True, once=("link",)),
    Row("GET", "/projects/{project}/ready-lists", 200, later=True),
    Row("POST", "/ready-lists/{link}/withdraw", 200, READY_LIST, {"reason": "Sent astray"}, OFFICE,
        later=True),
    Row("GET", "/projects/{project}/plan-of-pours", 200, ("today", "working_days", "paces", "zones"),
        later=True),
    Row("POST", "/calendar-links", 201, CALENDAR, {"project": THE_SCENES}, later=True, once=("link",)),
    Row("GET", "/calendar-links", 200, later=True),
    Row("POST", "/calendar-links/{calendar}/end", 200, CALENDAR, may=OFFICE, later=True,
        others=(404, "not-found")),  # it is the manager's own
    Row(
        "POST", "/overlap", 200,
        ("overlap.m", "meets", "short_by.m", "nearest", "cut_size.length.m", "cut_size.width.m"),
        {"damage": TEAR, "patches": [{**CIRCLE, "diameter": "18 in", "offset": ["1/2 in", "0 in"]}],
         "minimum": "6 in"},
    ),
]  # fmt: skip

WRITES = [row for row in ROWS if row.method != "GET"]
WITH_ID = [row for row in ROWS if row.about is not None]
JSON_WRITES = [row for row in WRITES if row.file is None]

# Calls that anybody may make, signed in or not.
OPEN = {("POST", "/api/v1/sign-in"), ("GET", "/api/v1/ready/{token}")}

__all__ = ["ALL", "JSON_WRITES", "OPEN", "ROWS", "WITH_ID", "WRITES", "Row"]
