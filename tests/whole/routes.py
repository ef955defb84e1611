"""Every route of the app as a row: what it takes, what it is about, and which right it asks for.

`action` is a word of `roles.MAY`, or one of OPEN (anybody), SIGNED (anybody signed in, about no project).
`sent` is a body that is right as the stage stands, so that a refusal is about the person and nothing else.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

import httpx
from fastapi import FastAPI
from starlette.routing import Mount

from tests.api.scene import WORK, jpeg
from tests.web.sketches.plans import plan_png

OPEN, SIGNED = "anybody", "anybody signed in"
API = "/api/v1"


@dataclass(frozen=True)
class Row:
    """`path` as the app spells it. `ids`: which of the stage's things stand for the names in it, where that
    is not the thing of the same name. `made`: who made what is withdrawn: its role on the project. `own`: the
    one actor whose own thing it is about; for everybody else it is not there."""

    method: str
    path: str
    action: str
    form: dict[str, str] = field(default_factory=dict)
    json: dict[str, Any] | None = None
    files: dict[str, Callable[[], bytes]] = field(default_factory=dict)
    ids: dict[str, str] = field(default_factory=dict)
    query: str = ""
    made: str = ""
    own: str = ""

    def __str__(self) -> str:
        return f"{self.method} {self.path}" + (f" ({self.ids})" if self.ids else "")

    @property
    def program(self) -> bool:
        return self.path.startswith(API)

    @property
    def names(self) -> list[str]:
        """The names of the things in the path."""
        return [part.partition("}")[0] for part in self.path.split("{")[1:]]

    def address(self, ids: dict[str, str]) -> str:
        named = {name: ids[self.ids.get(name, name)] for name in self.names}
        return self.path.format(**named) + self.query.format(**ids)

    def send(
        self, client: httpx.Client, ids: dict[str, str], address: str | None = None, **more: str
    ) -> httpx.Response:
        """The request with its right body. `more`: further fields beside it."""
        where = address or self.address(ids)
        files = {name: (name, make(), "application/octet-stream") for name, make in self.files.items()}
        if self.program and not files:
            body = None if self.json is None else {**_filled(self.json, ids), **more}
            return client.request(self.method, where, json=body)
        form = {**_filled(self.form, ids), **more}
        return client.request(self.method, where, data=form or None, files=files or None)


def _filled(body: dict[str, Any], ids: dict[str, str]) -> dict[str, Any]:
    """`@name` stands for the id of a thing of the stage, and `{name}` within a field's name."""
    return {
        name.format_map(ids): ids[value[1:]] if isinstance(value, str) and value[:1] == "@" else value
        for name, value in body.items()
    }


POINTS = {"x1": "150", "y1": "150", "x2": "450", "y2": "150"}
TEAR = {"shape": "rectangle", "length": "4 in", "width": "2 in"}
SIDES = {"left": "6 in", "right": "6 in", "near": "6 in", "far": "6 in"}
YES = {"cleaned": "yes", "dry": "yes", "edges_taped": "yes", "tape_width": "4 in"}
PATCH = {"by": "readings", "left": "6", "right": "6", "near": "6", "far": "6", "unit": "in", **YES}
RING = "[[510,410],[890,410],[890,790]]"
CLEAR, RELEASED = {"zone_id": "clear_id"}, {"zone_id": "released_id"}
WHY = {"reason": "Entered twice"}
ORDER = {"material": "", "film_allowance": "5", "tape_allowance": "10", "repairs": "1"}

FACTOR = "/account/second-factor"

ENTRANCE = [
    Row("GET", "/health", OPEN),
    Row("GET", "/health/ready", OPEN),
    Row("GET", "/", SIGNED),
    Row("GET", "/sign-in", OPEN),
    Row("POST", "/sign-in", OPEN, {"email": "x@example.com", "password": "wrong all the way"}),
    Row("POST", "/sign-out", OPEN),
    Row("POST", "/language", OPEN, form={"language": "en"}),
    Row("POST", "/type-size", OPEN, form={"size": "larger"}),
    Row("GET", "/worker.js", OPEN),
    Row("GET", "/manifest.webmanifest", OPEN),
    Row("GET", "/outbox", OPEN),
    Row("GET", "/phone/patch", OPEN),
    Row("GET", "/join/{token}", OPEN),
    Row("POST", "/join/{token}", OPEN, {"name": "", "password": ""}),
    Row("GET", "/forgot", OPEN),
    Row("GET", "/reset/{token}", OPEN, ids={"token": "reset"}),
    Row("POST", "/reset/{token}", OPEN, {"password": "short"}, ids={"token": "reset"}),
    Row("GET", "/account", SIGNED),
    Row("POST", "/account", SIGNED, {"old_password": "not mine at all", "password": "four grey plain doors"}),
    Row("POST", "/account/sign-ins/end", SIGNED),
    Row("POST", "/account/sign-ins/{sign_in_id}/end", SIGNED, own="the crew lead"),
    Row("GET", "/sign-in/second-step", OPEN),
    Row("POST", "/sign-in/second-step", OPEN, {"code": "000000"}),
    Row("POST", "/sign-in/second-step/passkey", OPEN),
    Row("GET", "/sign-in/company", OPEN),
    Row("GET", "/sign-in/company/back", OPEN, query="?code=x&state=y"),
    Row("GET", FACTOR, SIGNED),
    Row("POST", FACTOR + "/codes", SIGNED, {"codes_password": "not mine at all"}),
    Row("POST", FACTOR + "/codes/confirm", SIGNED, {"code": "000000"}),
    Row("POST", FACTOR + "/passkey", SIGNED, {"passkey": "{}"}),
    Row("POST", FACTOR + "/passkey/options", SIGNED, {"passkey_password": "not mine at all"}),
    Row("POST", FACTOR + "/recovery-codes", SIGNED, {"recovery_password": "not mine at all"}),
    Row("POST", FACTOR + "/{factor_id}/remove", SIGNED, own="another project's manager"),
]

SKETCHES = [
    Row("GET", "/sketches/{sketch_id}", "read"),
    Row("GET", "/sketches/{sketch_id}/tiles/{level}/{x}_{y}.webp", "read"),
    Row("GET", "/sketches/{sketch_id}/preview.webp", "read"),
    Row("GET", "/sketches/{sketch_id}/window.webp", "read", query="?level=0&x=100000&y=100000&w=288&h=320"),
    Row("GET", "/projects/{project_id}/sketches/new", "add a sketch"),
    Row("POST", "/projects/{project_id}/sketches/new", "add a sketch", {"name": "Two", "request_key": "k"},
        files={"file": plan_png}),
    Row("GET", "/sketches/{sketch_id}/scale", "set the scale"),
    Row("POST", "/sketches/{sketch_id}/scale", "set the scale",
        {**POINTS, "distance": "50 ft", "confirm": "yes"}),
    Row("GET", "/sketches/{sketch_id}/grid", "lay the grid"),
    Row("POST", "/sketches/{sketch_id}/grid", "lay the grid", {**POINTS, "label": "1"}),
    Row("POST", "/sketches/{sketch_id}/grid/drop", "lay the grid", {"drop": "A"}),
    Row("GET", "/sketches/{sketch_id}/revise", "add a sketch"),
    Row("POST", "/sketches/{sketch_id}/revise", "add a sketch", {"request_key": "k"},
        files={"file": plan_png}),
    Row("GET", "/sketches/{sketch_id}/zones/new", "outline a zone"),
    Row("POST", "/sketches/{sketch_id}/zones/new", "outline a zone", {"letter": "E", "outline": RING}),
    Row("GET", "/zones/{zone_id}/edit", "outline a zone"),
    Row("POST", "/zones/{zone_id}/edit", "outline a zone", {"name": "Other", "outline": RING}),
    Row("GET", "/zones/{zone_id}/withdraw", "outline a zone"),
    Row("POST", "/zones/{zone_id}/withdraw", "outline a zone", WHY),
    Row("GET", "/zones/{zone_id}/walls", "draw a wall"),
    Row("POST", "/zones/{zone_id}/walls", "draw a wall", POINTS),
    Row("GET", "/walls/{wall_id}/withdraw", "draw a wall"),
    Row("POST", "/walls/{wall_id}/withdraw", "draw a wall", WHY),
]  # fmt: skip

CREW = [
    Row("GET", "/projects/{project_id}/crew", "read"),
    Row("GET", "/zones/{zone_id}", "read"),
    Row("GET", "/zones/{zone_id}/marks.json", "read"),
    Row("GET", "/zones/{zone_id}/along.json", "read"),
    Row("POST", "/zones/{zone_id}/walks", "finish a walk", {"looked": "yes"}),
    Row("GET", "/zones/{zone_id}/hold", "hold a zone"),
    Row("POST", "/zones/{zone_id}/hold", "hold a zone", {"cause": "storm", "reason": "Hail"}),
    Row("GET", "/holds/{hold_id}/lift", "lift a hold"),
    Row("POST", "/holds/{hold_id}/lift", "lift a hold", WHY),
    Row("GET", "/zones/{zone_id}/mark", "mark a defect"),
    Row("POST", "/zones/{zone_id}/mark", "mark a defect",
        {**TEAR, "x": "250", "y": "250", "kind": "tear", "angle_deg": "0"}),
    Row("GET", "/defects/{defect_id}/marked", "read"),
    Row("GET", "/defects/{defect_id}", "read"),
    Row("GET", "/defects/{defect_id}/withdraw", "withdraw a defect", made="crew lead"),
    Row("POST", "/defects/{defect_id}/withdraw", "withdraw a defect", WHY, made="crew lead"),
    Row("POST", "/defects/{defect_id}/withdraw", "withdraw a defect", WHY, ids={"defect_id": "seen_id"},
        made="inspector"),
    Row("GET", "/patches/{patch_id}/withdraw", "withdraw a patch", made="crew lead"),
    Row("POST", "/patches/{patch_id}/withdraw", "withdraw a patch", WHY, made="crew lead"),
    Row("GET", "/defects/{defect_id}/patch", "log a patch"),
    Row("POST", "/defects/{defect_id}/patch", "log a patch", PATCH),
    Row("POST", "/defects/{defect_id}/patch/preview", "read", PATCH),
    Row("GET", "/patches/{patch_id}", "read"),
    Row("POST", "/defects/{defect_id}/photos", "add a photo", files={"picture": jpeg}),
    Row("POST", "/patches/{patch_id}/photos", "add a photo", files={"picture": jpeg}),
    Row("GET", "/photos/{photo_id}.webp", "read"),
    Row("HEAD", "/blobs/{sha256}", SIGNED, ids={"sha256": "defect_id"}),
    Row("PUT", "/blobs/{sha256}", SIGNED, {"not": "a photo"}, ids={"sha256": "defect_id"}),
]  # fmt: skip

MENDED = {"defect_id": "mended_id"}
REPAIR = {"method": "lap again", "cleaned": "yes", "dry": "yes", "lap": "7 in", "taped": "yes",
          "tape_width": "4 in"}  # fmt: skip
LOOK = "take a second look"
ONE_REPAIR = "/defects/{defect_id}/repairs/{repair_id}"
FIRST_STEP = "subgrade compacted, level and free of sharp stone"
MENDING = [
    Row("GET", "/defects/{defect_id}/repair", "log a repair", ids=MENDED),
    Row("POST", "/defects/{defect_id}/repair", "log a repair", REPAIR, ids=MENDED),
    Row("GET", f"{ONE_REPAIR}/withdraw", "withdraw a repair", ids=MENDED, made="crew lead"),
    Row("POST", f"{ONE_REPAIR}/withdraw", "withdraw a repair", WHY, ids=MENDED, made="crew lead"),
    Row("GET", f"{ONE_REPAIR}/look", LOOK, ids=MENDED, made="crew lead"),
    Row("POST", f"{ONE_REPAIR}/look", LOOK, {"answer": "accept"}, ids=MENDED, made="crew lead"),
    Row("GET", "/patches/{patch_id}/look", LOOK, made="crew lead"),
    Row("POST", "/patches/{patch_id}/look", LOOK, {"answer": "accept"}, made="crew lead"),
    Row("POST", "/defects/{defect_id}/cause", "say what damage came from", {"cause": "wind"}),
    Row("GET", "/zones/{zone_id}/hold-points", "read"),
    Row("POST", "/zones/{zone_id}/hold-points", "sign a hold point", {"step": FIRST_STEP, "answer": "sign"}),
    Row("GET", "/projects/{project_id}/causes", "read"),
]

PEOPLE = "/projects/{project_id}/people"
OFFICE = [
    Row("GET", "/projects/new", SIGNED),
    Row("POST", "/projects/new", SIGNED,
        {"name": "Depot", "units": "us", "time_zone": "America/Chicago", "request_key": "k"}),
    Row("GET", "/projects/{project_id}", "read"),
    Row("GET", "/projects/{project_id}/office", "read"),
    Row("GET", PEOPLE, "read"),
    Row("POST", PEOPLE, "invite people", {"email": "otto.outsider@example.com", "role": "crew lead"}),
    Row("POST", "/projects/{project_id}/invitations/{invitation_id}/withdraw", "invite people"),
    Row("POST", PEOPLE + "/{person_id}/role", "invite people", {"role": "inspector"}),
    Row("POST", PEOPLE + "/{person_id}/take-off", "invite people"),
    Row("POST", PEOPLE + "/{person_id}/reset", "invite people"),
    Row("GET", "/projects/{project_id}/order", "read"),
    Row("POST", "/projects/{project_id}/order", "plan the order", ORDER),
    Row("GET", "/projects/{project_id}/order.csv", "read"),
    Row("GET", "/projects/{project_id}/order.pdf", "read"),
    Row("GET", "/projects/{project_id}/rule-sheet", "read"),
    Row("POST", "/projects/{project_id}/rule-sheet", "change the rule sheet",
        {"patch_overlap": "8 in", "patch_overlap_was": "6 in", "step": "look", "seen": "9999"}),
    Row("GET", "/zones/{zone_id}/release", "read"),
    Row("POST", "/zones/{zone_id}/release", "release a zone", {"digest": "@digest", "statement": "Seen"},
        ids=CLEAR),
    Row("GET", "/zones/{zone_id}/pull-back", "pull back a release", ids=RELEASED),
    Row("POST", "/zones/{zone_id}/pull-back", "pull back a release", WHY, ids=RELEASED),
    Row("GET", "/zones/{zone_id}/start-placing", "start placing", ids=RELEASED),
    Row("POST", "/zones/{zone_id}/start-placing", "start placing", ids=RELEASED),
    Row("GET", "/zones/{zone_id}/placed", "mark a zone placed", ids=RELEASED),
    Row("POST", "/zones/{zone_id}/placed", "mark a zone placed", {"volume": "60 cu yd"}, ids=RELEASED),
]  # fmt: skip

CHECKPOINTS = "/projects/{project_id}/checkpoints"
LOOKING = [
    Row("GET", "/projects/{project_id}/history", "read the history"),
    Row("GET", "/projects/{project_id}/history/{seq}", "read the history"),
    Row("GET", "/projects/{project_id}/history/{seq}/proof", "read the history"),
    Row("GET", "/projects/{project_id}/history/{seq}/entry.json", "read the history"),
    Row("GET", CHECKPOINTS, "read the history"),
    Row("POST", CHECKPOINTS, "keep a checkpoint"),
    Row("GET", CHECKPOINTS + "/check", "read the history"),
    Row("POST", CHECKPOINTS + "/check", "read the history", {"note": "@note"}),
    Row("GET", CHECKPOINTS + "/{size}", "read the history"),
    Row("GET", CHECKPOINTS + "/{size}/checkpoint.txt", "read the history"),
    Row("GET", CHECKPOINTS + "/{size}/timestamp.tsr", "read the history", ids={"size": "stamped"}),
    Row("GET", CHECKPOINTS + "/{size}/timestamp-chain.pem", "read the history", ids={"size": "stamped"}),
    Row("POST", "/projects/{project_id}/timestamps", "have a checkpoint timestamped"),
    Row("GET", CHECKPOINTS + "/{size}/since/{old}.txt", "read the history"),
    Row("GET", "/projects/{project_id}/closeout", "read the history"),
    Row("GET", "/projects/{project_id}/closeout.pdf", "read the history"),
    Row("GET", "/projects/{project_id}/record", "take the record"),
    Row("POST", "/projects/{project_id}/record", "take the record"),
    Row("GET", "/projects/{project_id}/as-it-stood", "read the history"),
    Row("GET", "/zones/{zone_id}/as-it-stood", "read the history"),
    Row("GET", "/zones/{zone_id}/compare", "read the history"),
    Row("GET", "/zones/{zone_id}/timeline", "read the history"),
    Row("GET", "/projects/{project_id}/who-did-what", "read the history"),
    Row("GET", "/projects/{project_id}/who-did-what/{person_id}", "read the history"),
    Row("GET", "/releases/{release_id}", "read the history"),
    Row("GET", "/releases/{release_id}/certificate.pdf", "read the history"),
    Row("GET", "/releases/{release_id}/proof", "read the history"),
    Row("GET", "/zones/{zone_id}/cut-list", "read"),
    Row("GET", "/zones/{zone_id}/punch-list", "read"),
    Row("GET", "/zones/{zone_id}/together", "read"),
    Row("GET", "/zones/{zone_id}/walk-order", "read"),
]


def _call(method: str, path: str, action: str, json: dict[str, Any] | None = None, **more: Any) -> Row:
    return Row(method, API + path, action, json=json, **more)


CALLS = [
    _call("POST", "/sign-in", OPEN, {"email": "x@example.com", "password": "wrong all the way"}),
    _call("GET", "/openapi.json", SIGNED),
    _call("POST", "/projects", SIGNED, {"name": "Depot", "units": "us", "time_zone": "America/Chicago"}),
    _call("GET", "/projects", SIGNED),
    _call("POST", "/overlap", SIGNED, {"damage": TEAR, "patches": [], "minimum": "6 in"}),
    _call("GET", "/projects/{project_id}", "read"),
    _call("GET", "/projects/{project_id}/rule-sheet", "read"),
    _call("PUT", "/projects/{project_id}/rule-sheet", "change the rule sheet", {"patch_overlap": "8 in"}),
    _call("GET", "/projects/{project_id}/order", "read"),
    _call("PUT", "/projects/{project_id}/order", "plan the order", {**ORDER, "stock": [], "deliveries": []}),
    _call("GET", "/projects/{project_id}/people", "read"),
    _call("POST", "/projects/{project_id}/people", "invite people",
          {"email": "otto.outsider@example.com", "role": "crew lead"}),
    _call("POST", "/projects/{project_id}/sketches", "add a sketch", files={"file": plan_png}),
    _call("GET", "/sketches/{sketch_id}", "read"),
    _call("GET", "/projects/{project_id}/zones", "read"),
    _call("PUT", "/sketches/{sketch_id}/scale", "set the scale",
          {"from": [150, 150], "to": [450, 150], "distance": "50 ft"}),
    _call("POST", "/sketches/{sketch_id}/zones", "outline a zone",
          {"letter": "E", "outline": [[510, 410], [890, 410], [890, 790]]}),
    _call("GET", "/zones/{zone_id}", "read"),
    _call("POST", "/zones/{zone_id}/walks", "finish a walk", {"note": ""}),
    _call("POST", "/zones/{zone_id}/walls", "draw a wall", {"from": [150, 150], "to": [450, 150]}),
    _call("POST", "/walls/{wall_id}/withdraw", "draw a wall", WHY),
    _call("POST", "/zones/{zone_id}/holds", "hold a zone", {"cause": "storm", "reason": "Hail"}),
    _call("POST", "/holds/{hold_id}/lift", "lift a hold", WHY),
    _call("GET", "/zones/{zone_id}/gate", "read"),
    _call("POST", "/zones/{zone_id}/release", "release a zone", {"digest": "@digest", "statement": "Seen"},
          ids=CLEAR),
    _call("POST", "/zones/{zone_id}/pull-back", "pull back a release", WHY, ids=RELEASED),
    _call("POST", "/zones/{zone_id}/start-placing", "start placing", {}, ids=RELEASED),
    _call("POST", "/zones/{zone_id}/placed", "mark a zone placed", {"volume": "60 cu yd"}, ids=RELEASED),
    _call("POST", "/zones/{zone_id}/defects", "mark a defect",
          {"kind": "tear", "at": [250, 250], "outline": TEAR}),
    _call("GET", "/defects/{defect_id}", "read"),
    _call("POST", "/defects/{defect_id}/withdraw", "withdraw a defect", WHY, made="crew lead"),
    _call("POST", "/defects/{defect_id}/withdraw", "withdraw a defect", WHY, ids={"defect_id": "seen_id"},
          made="inspector"),
    _call("POST", "/defects/{defect_id}/patches", "log a patch", {"sides": SIDES, **WORK}),
    _call("POST", "/patches/{patch_id}/withdraw", "withdraw a patch", WHY, made="crew lead"),
    _call("POST", "/defects/{defect_id}/repairs", "log a repair",
          {"method": "lap again", "cleaned": True, "dry": True, "lap": "7 in", "taped": True,
           "tape_width": "4 in"}, ids=MENDED),
    _call("POST", f"{ONE_REPAIR}/withdraw", "withdraw a repair", WHY, ids=MENDED, made="crew lead"),
    _call("POST", f"{ONE_REPAIR}/looks", LOOK, {"accepted": True}, ids=MENDED, made="crew lead"),
    _call("POST", "/patches/{patch_id}/looks", LOOK, {"accepted": True}, made="crew lead"),
    _call("POST", "/defects/{defect_id}/cause", "say what damage came from", {"cause": "wind"}),
    _call("GET", "/projects/{project_id}/causes", "read"),
    _call("GET", "/zones/{zone_id}/hold-points", "read"),
    _call("POST", "/zones/{zone_id}/hold-points", "sign a hold point",
          {"step": FIRST_STEP, "accepted": True}),
    _call("POST", "/defects/{defect_id}/photos", "add a photo", files={"file": jpeg}),
    _call("POST", "/patches/{patch_id}/photos", "add a photo", files={"file": jpeg}),
    _call("GET", "/photos/{photo_id}", "read"),
    _call("GET", "/projects/{project_id}/history", "read the history"),
    _call("GET", "/projects/{project_id}/history/{seq}", "read the history"),
    _call("GET", "/zones/{zone_id}/timeline", "read the history"),
    _call("GET", "/projects/{project_id}/who-did-what", "read the history"),
    _call("GET", "/projects/{project_id}/who-did-what/{person_id}", "read the history"),
    _call("GET", CHECKPOINTS, "read the history"),
    _call("POST", CHECKPOINTS, "keep a checkpoint", {}),
    _call("GET", "/projects/{project_id}/timestamps", "read the history"),
    _call("POST", "/projects/{project_id}/timestamps", "have a checkpoint timestamped", {}),
    _call("POST", CHECKPOINTS + "/check", "read the history", {"note": "@note"}),
    _call("GET", CHECKPOINTS + "/{size}", "read the history"),
    _call("GET", "/zones/{zone_id}/releases", "read the history", ids=RELEASED),
    _call("GET", "/releases/{release_id}", "read the history"),
    _call("GET", "/projects/{project_id}/closeout", "read the history"),
    _call("GET", "/projects/{project_id}/record", "take the record"),
]  # fmt: skip

EDGE_SEAL = {"sealed": "yes", "cleaned": "yes", "dry": "yes", "tape_width": "4 in"}
WALLED = {"kind": "sealed to the wall or grade beam"}
EDGES = [
    Row("GET", "/zones/{zone_id}/edges", "read"),
    Row("POST", "/zones/{zone_id}/edges", "describe an edge", {**WALLED, "side": "2"}),
    Row("GET", "/edges/{termination_id}", "read"),
    Row("POST", "/edges/{termination_id}/seal", "log an edge's seal", EDGE_SEAL),
    Row("GET", "/edges/{termination_id}/unseal", "withdraw an edge", made="crew lead"),
    Row("POST", "/edges/{termination_id}/unseal", "withdraw an edge", WHY, made="crew lead"),
    Row("GET", "/edges/{termination_id}/withdraw", "withdraw an edge", made="crew lead"),
    Row("POST", "/edges/{termination_id}/withdraw", "withdraw an edge", WHY, made="crew lead"),
    _call("POST", "/zones/{zone_id}/terminations", "describe an edge", {**WALLED, "edges": [2]}),
    _call("GET", "/zones/{zone_id}/terminations", "read"),
    _call("GET", "/zones/{zone_id}/together", "read"),
    _call("GET", "/zones/{zone_id}/walk-order", "read"),
    _call("GET", "/defects/{defect_id}/offers", "read"),
    _call("GET", "/terminations/{termination_id}", "read"),
    _call("POST", "/terminations/{termination_id}/seals", "log an edge's seal",
          {"sealed": True, "cleaned": True, "dry": True, "tape_width": "4 in"}),
    _call("POST", "/terminations/{termination_id}/unseal", "withdraw an edge", WHY, made="crew lead"),
    _call("POST", "/terminations/{termination_id}/withdraw", "withdraw an edge", WHY, made="crew lead"),
]  # fmt: skip

DRAWN = {"kind": "side lap", "path": [[150, 380], [350, 380]]}
WALKED = {"stations": [{"at": "5 ft", "lap": "6 in"}, {"at": "15 ft", "lap": "5 in"}], "taped": True,
          "bonded": True, "cleaned": True, "dry": True, "tape_width": "4 in"}  # fmt: skip
SEAM_WALK = {"at_0": "5 ft", "lap_0": "6 in", "taped": "yes", "bonded": "yes", "cleaned": "yes", "dry": "yes",
             "tape_width": "4 in"}  # fmt: skip
SEAMS = [
    Row("GET", "/zones/{zone_id}/seams", "read"),
    Row("GET", "/zones/{zone_id}/seams/draw", "draw a seam"),
    Row("POST", "/zones/{zone_id}/seams/draw", "draw a seam",
        {"kind": "side lap", "outline": "[[150,380],[350,380]]"}),
    Row("GET", "/seams/{seam_id}", "read"),
    Row("GET", "/seams/{seam_id}/walk", "walk a seam"),
    Row("POST", "/seams/{seam_id}/walk", "walk a seam", SEAM_WALK),
    Row("GET", "/seams/{seam_id}/withdraw", "withdraw a seam", made="crew lead"),
    Row("POST", "/seams/{seam_id}/withdraw", "withdraw a seam", WHY, made="crew lead"),
    _call("POST", "/zones/{zone_id}/seams", "draw a seam", DRAWN),
    _call("GET", "/zones/{zone_id}/seams", "read"),
    _call("GET", "/seams/{seam_id}", "read"),
    _call("POST", "/seams/{seam_id}/walks", "walk a seam", WALKED),
    _call("POST", "/seams/{seam_id}/withdraw", "withdraw a seam", WHY, made="crew lead"),
]  # fmt: skip

PIPE, ONE_PIPE = {"kind": "steel pipe", "size": "NPS 4", "at": [150, 350]}, "/penetrations/{penetration_id}"
MASTIC = {"method": "mastic", "close_cut": True, "cleaned": True, "dry": True}
PENETRATIONS = [
    Row("GET", "/zones/{zone_id}/penetrations", "read"),
    Row("GET", "/zones/{zone_id}/penetrations/place", "place a penetration"),
    Row("POST", "/zones/{zone_id}/penetrations/place", "place a penetration",
        {"by": "one", "x": "150", "y": "350", "what": "steel pipe|NPS 4"}),
    Row("GET", "/zones/{zone_id}/none-here", "state that there are none", ids=CLEAR),
    Row("POST", "/zones/{zone_id}/none-here", "state that there are none",
        {"what": "penetrations", "looked": "yes"}, ids=CLEAR),
    Row("GET", ONE_PIPE, "read"),
    Row("GET", ONE_PIPE + "/seal", "log a seal"),
    Row("POST", ONE_PIPE + "/seal", "log a seal",
        {"method": "mastic", "close_cut": "yes", "cleaned": "yes", "dry": "yes"}),
    Row("GET", ONE_PIPE + "/unseal", "withdraw a seal", made="crew lead"),
    Row("POST", ONE_PIPE + "/unseal", "withdraw a seal", WHY, made="crew lead"),
    Row("GET", ONE_PIPE + "/withdraw", "withdraw a penetration", made="crew lead"),
    Row("POST", ONE_PIPE + "/withdraw", "withdraw a penetration", WHY, made="crew lead"),
    _call("GET", "/trade-sizes", SIGNED),
    _call("POST", "/zones/{zone_id}/penetrations", "place a penetration", PIPE),
    _call("GET", "/zones/{zone_id}/penetrations", "read"),
    _call("GET", ONE_PIPE, "read"),
    _call("POST", ONE_PIPE + "/seals", "log a seal", MASTIC),
    _call("POST", ONE_PIPE + "/unseal", "withdraw a seal", WHY, made="crew lead"),
    _call("POST", ONE_PIPE + "/withdraw", "withdraw a penetration", WHY, made="crew lead"),
    _call("POST", "/zones/{zone_id}/none-here", "state that there are none", {"what": "penetrations"},
          ids=CLEAR),
]  # fmt: skip

PROJECT_FILM, LAID = "/projects/{project_id}/film", "/zones/{zone_id}/film/{laying_id}/withdraw"
MATERIAL = {"kind": "film", "name": "Submittal 9"}
NEW_LOT = {"number": "G-1", "rolls": "2"}
MORE = {"lap": "8 in", "lap_was": "", "lap_source": "S-101", "step": "look", "seen": "0"}
FILM = [
    Row("GET", PROJECT_FILM, "read"),
    Row("POST", PROJECT_FILM, "receive a lot", {"material": "@material_id", **NEW_LOT}),
    Row("GET", f"{PROJECT_FILM}/submit", "submit a material"),
    Row("POST", f"{PROJECT_FILM}/submit", "submit a material", MATERIAL),
    Row("GET", "/materials/{material_id}/withdraw", "withdraw a material"),
    Row("POST", "/materials/{material_id}/withdraw", "withdraw a material", WHY),
    Row("GET", "/lots/{lot_id}/withdraw", "withdraw a lot"),
    Row("POST", "/lots/{lot_id}/withdraw", "withdraw a lot", WHY),
    Row("GET", "/zones/{zone_id}/film", "read"),
    Row("POST", "/zones/{zone_id}/film", "log film laid", {"lot": "@lot_id"}, ids=CLEAR),
    Row("POST", "/zones/{zone_id}/film/received", "log film laid", {"material": "@material_id", **NEW_LOT}),
    Row("GET", LAID, "withdraw film laid"),
    Row("POST", LAID, "withdraw film laid", WHY),
    Row("GET", "/zones/{zone_id}/numbers", "read"),
    Row("POST", "/zones/{zone_id}/numbers", "raise a zone's numbers", MORE),
    _call("POST", "/projects/{project_id}/materials", "submit a material", MATERIAL),
    _call("GET", "/projects/{project_id}/materials", "read"),
    _call("POST", "/materials/{material_id}/withdraw", "withdraw a material", WHY),
    _call("POST", "/materials/{material_id}/lots", "receive a lot", {"number": "G-1", "rolls": 2}),
    _call("GET", "/projects/{project_id}/lots", "read"),
    _call("POST", "/lots/{lot_id}/withdraw", "withdraw a lot", WHY),
    _call("GET", "/zones/{zone_id}/film", "read"),
    _call("POST", "/zones/{zone_id}/film", "log film laid", {"lot": "@lot_id"}, ids=CLEAR),
    _call("POST", LAID, "withdraw film laid", WHY),
    _call("GET", "/rule-sets", SIGNED),
    _call("GET", "/zones/{zone_id}/numbers", "read"),
    _call("PUT", "/zones/{zone_id}/numbers", "raise a zone's numbers", {"lap": "8 in"}),
]  # fmt: skip

LABEL = {"label": "concrete sub"}
READY_LISTS = [
    Row("GET", "/projects/{project_id}/ready-lists", "read"),
    Row("POST", "/projects/{project_id}/ready-lists", "open a ready list", LABEL),
    Row("GET", "/ready-lists/{link_id}/withdraw", "withdraw a ready list"),
    Row("POST", "/ready-lists/{link_id}/withdraw", "withdraw a ready list", WHY),
    Row("GET", "/ready/{token}", OPEN, ids={"token": "ready"}),
    _call("POST", "/projects/{project_id}/ready-lists", "open a ready list", LABEL),
    _call("GET", "/projects/{project_id}/ready-lists", "read"),
    _call("POST", "/ready-lists/{link_id}/withdraw", "withdraw a ready list", WHY),
    _call("GET", "/ready/{token}", OPEN, ids={"token": "ready"}),
]

CALENDAR = "/projects/{project_id}/calendar-links"
POURS = [
    Row("GET", "/projects/{project_id}/plan-of-pours", "read"),
    Row("GET", "/zones/{zone_id}/move-day", "outline a zone"),
    Row("POST", "/zones/{zone_id}/move-day", "outline a zone", {"place_at": "2027-03-01T06:30"}),
    Row("POST", CALENDAR, "read", {"covers": "project"}),
    Row("POST", CALENDAR + "/{calendar_id}/end", "read", own="the project manager"),
    Row("GET", "/calendar/{token}.ics", OPEN, ids={"token": "calendar"}),
    _call("GET", "/projects/{project_id}/plan-of-pours", "read"),
    _call("POST", "/calendar-links", SIGNED, {}),
    _call("GET", "/calendar-links", SIGNED),
    _call("POST", "/calendar-links/{calendar_id}/end", SIGNED, own="the project manager"),
]

DAY, PLAN = "/zones/{zone_id}/placing-day", "/zones/{zone_id}/placing-plan"
READ, THICK = "/readings/{readings_id}/withdraw", "/thickness/{thickness_id}/withdraw"
PLANNED = {"thickness": "4 in", "limit": "usual"}
WEATHER = {"air": "85 F", "humidity": "45", "wind": "12 mph"}
STATION = "Time,Air F,RH %,Wind mph\n2026-11-20 06:00,60,50,8\n"
PLACING_DAYS = [
    Row("GET", DAY, "read"),
    Row("GET", PLAN, "plan a placing"),
    Row("POST", PLAN, "plan a placing", PLANNED),
    Row("GET", "/zones/{zone_id}/readings", "take readings"),
    Row("POST", "/zones/{zone_id}/readings", "take readings", WEATHER),
    Row("GET", "/zones/{zone_id}/readings/file", "take readings"),
    Row("POST", "/zones/{zone_id}/readings/file", "take readings", {"text": STATION}),
    Row("GET", "/zones/{zone_id}/thickness", "take readings"),
    Row("POST", "/zones/{zone_id}/thickness", "take readings", {"depth_0": "4 in"}),
    Row("GET", READ, "withdraw readings", made="crew lead"),
    Row("POST", READ, "withdraw readings", WHY, made="crew lead"),
    Row("GET", THICK, "withdraw readings", made="crew lead"),
    Row("POST", THICK, "withdraw readings", WHY, made="crew lead"),
    _call("GET", DAY, "read"),
    _call("PUT", PLAN, "plan a placing", PLANNED),
    _call("POST", "/zones/{zone_id}/readings", "take readings", WEATHER),
    _call("POST", "/zones/{zone_id}/readings/file", "take readings", files={"file": STATION.encode}),
    _call("POST", READ, "withdraw readings", WHY, made="crew lead"),
    _call("POST", "/zones/{zone_id}/thickness", "take readings", {"readings": [{"depth": "4 in"}]}),
    _call("POST", THICK, "withdraw readings", WHY, made="crew lead"),
]

SHEETS_LAID, ONE_LAYOUT = "/layouts/{layout_id}/laid", "/layouts/{layout_id}"
OF_SHEETS = {"laying_id": "sheets_id"}
ASKED = "?ask=yes&film=typed&roll_width=15+ft&roll_length=200+ft&way=0&starts=left"
SHEETS = {"film": "typed", "roll_width": "15 ft", "roll_length": "200 ft", "way": "0", "starts": "left"}
ROLLS = {"roll_width": "15 ft", "roll_length": "200 ft", "direction": 0}
LAYOUTS = [
    Row("GET", "/zones/{zone_id}/layout", "read", query=ASKED),
    Row("GET", "/zones/{zone_id}/layout/cost.json", "read", query=ASKED),
    Row("POST", "/zones/{zone_id}/layout", "plan the sheets", SHEETS, ids=CLEAR),
    Row("GET", "/sketches/{sketch_id}/layout", "read"),
    Row("GET", "/sketches/{sketch_id}/layout/cost.json", "read", query=ASKED + "&zone-{zone_id}=yes"),
    Row("POST", "/sketches/{sketch_id}/layout", "plan the sheets",
        {**SHEETS, "zone-{clear_id}": "yes"}),
    Row("GET", ONE_LAYOUT, "read"),
    Row("GET", ONE_LAYOUT + "/sheets.pdf", "read"),
    Row("GET", ONE_LAYOUT + "/withdraw", "plan the sheets", made="crew lead"),
    Row("POST", ONE_LAYOUT + "/withdraw", "plan the sheets", WHY, made="crew lead"),
    Row("GET", SHEETS_LAID, "log sheets laid"),
    Row("POST", SHEETS_LAID, "log sheets laid", {"sheet-2": "yes", "lot": "@lot_id"}),
    Row("GET", SHEETS_LAID + "/{laying_id}/withdraw", "log sheets laid", ids=OF_SHEETS, made="crew lead"),
    Row("POST", SHEETS_LAID + "/{laying_id}/withdraw", "log sheets laid", WHY, ids=OF_SHEETS,
        made="crew lead"),
    _call("POST", "/zones/{zone_id}/layouts/preview", "read", ROLLS),
    _call("POST", "/zones/{zone_id}/layouts", "plan the sheets", ROLLS, ids=CLEAR),
    _call("GET", "/zones/{zone_id}/layouts", "read"),
    _call("POST", "/sketches/{sketch_id}/layouts/preview", "read", ROLLS),
    _call("POST", "/sketches/{sketch_id}/layouts", "plan the sheets", {**ROLLS, "reason": "wider rolls"}),
    _call("GET", "/sketches/{sketch_id}/layouts", "read"),
    _call("GET", ONE_LAYOUT, "read"),
    _call("POST", ONE_LAYOUT + "/withdraw", "plan the sheets", WHY, made="crew lead"),
    _call("POST", ONE_LAYOUT + "/sheets-laid", "log sheets laid", {"sheets": [2], "lot": "@lot_id"}),
    _call("POST", ONE_LAYOUT + "/sheets-laid/{laying_id}/withdraw", "log sheets laid", WHY, ids=OF_SHEETS,
          made="crew lead"),
]  # fmt: skip

CODES = "/projects/{project_id}/crew-codes"
ON_SHEETS = [
    Row("GET", "/zones/{zone_id}/code-sheet", "read"),
    Row("GET", "/zones/{zone_id}/code-sheet.pdf", "read"),
    Row("GET", CODES, "make a crew code"),
    Row("POST", CODES, "make a crew code", {"person_id": "@person_id"}),
    Row("POST", CODES + "/sheet.pdf", "make a crew code", {"code": "@code"}),
    Row("POST", CODES + "/{code_id}/end", "end a sign-in by code"),
    Row("GET", "/told", SIGNED),
    Row("POST", "/told/read", SIGNED),
    Row("POST", "/told/phones", SIGNED, {"endpoint": "https://push.example/x", "p256dh": "x", "auth": "x"}),
    Row("POST", "/told/phones/forget", SIGNED, {"endpoint": "https://push.example/x"}),
    Row("GET", "/projects/{project_id}/told", "ask to be told"),
    Row("POST", "/projects/{project_id}/told", "ask to be told", {"event-clear": "yes", "way-page": "yes"}),
    Row("GET", "/code/{token}", OPEN, ids={"token": "code"}),
    Row("POST", "/code/{token}", OPEN, ids={"token": "code"}),
]

ROWS = [
    *ENTRANCE,
    *SKETCHES,
    *CREW,
    *MENDING,
    *OFFICE,
    *LOOKING,
    *CALLS,
    *EDGES,
    *SEAMS,
    *PENETRATIONS,
    *FILM,
    *READY_LISTS,
    *POURS,
    *PLACING_DAYS,
    *LAYOUTS,
    *ON_SHEETS,
]


def routes_of(app: FastAPI) -> set[tuple[str, str]]:
    """Every (method, path) that the app answers, through every router inside a router; files are a mount."""
    return set(_walk(app.routes, ""))


def _walk(routes: Any, before: str) -> Iterator[tuple[str, str]]:
    for route in routes:
        if isinstance(route, Mount):
            assert route.path == "/static", f"a mount nobody knows: {route.path}"
        elif hasattr(route, "original_router"):
            yield from _walk(route.original_router.routes, before + route.include_context.prefix)
        else:
            for method in sorted(route.methods):
                yield method, before + route.path
