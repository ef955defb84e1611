"""Checkpoints, proofs and old checkpoints for programs: kept once for a key, checked by the standard."""

from __future__ import annotations

import base64
import hashlib

from service.actions.evidence import signing
from service.actions.frame.desk import Desk
from service.storage.history import books, ledger
from tests.api.conftest import Programs
from tests.api.scene import Scene
from tests.api.shape import assert_refused
from tests.cast import Cast
from tests.history import rfc9162

WHERE = "/projects/{project}/checkpoints"


def contents(desk: Desk, cast: Cast) -> list[bytes]:
    with desk.reading() as session:
        return [content for _, content, _ in ledger.leaves(session, cast.project_id)]


def head(desk: Desk, cast: Cast) -> int:
    with desk.reading() as session:
        return books.head(session, cast.project_id)


def test_a_checkpoint_is_kept_once_for_a_key_and_told_as_it_was_signed(
    scene: Scene, programs: Programs, desk: Desk, cast: Cast
) -> None:
    before, where = head(desk, cast), scene.path(WHERE)
    first = programs.inspector.post(where, headers={"Idempotency-Key": "k"})
    again = programs.inspector.post(where, headers={"Idempotency-Key": "k"})
    assert (first.status_code, again.status_code, again.content) == (201, 201, first.content)
    made = first.json()
    assert made["size"] == before + 1 == head(desk, cast)
    origin, size, root, *_ = made["note"].split("\n")
    assert (origin, size) == (f"laptight/{cast.project_id}", str(made["size"]))
    now = rfc9162.root(contents(desk, cast))
    assert made["root"] == now.hex() == base64.b64decode(root).hex()
    assert made["holds"] and made["faults"] == [] and made["given"]["by"] == "Ina Inspector"
    key = desk.database.keys.current().public
    # RFC 8410 section 4: this is the DER head of an Ed25519 key's SubjectPublicKeyInfo.
    assert (
        made["key_fingerprint"] == hashlib.sha256(bytes.fromhex("302a300506032b6570032100") + key).hexdigest()
    )
    assert programs.lead.get(scene.path(WHERE) + f"/{made['size']}").json() == made
    assert programs.inspector.post(where).json()["size"] == made["size"], "the newest entry gave one already"
    assert programs.lead.get(scene.path(WHERE) + f"/{made['size'] - 1}").status_code == 404


def test_the_list_tells_every_checkpoint_and_every_key(
    scene: Scene, programs: Programs, desk: Desk, cast: Cast
) -> None:
    signing.rotate(desk)
    programs.manager.post(scene.path(WHERE))
    told = programs.lead.get(scene.path(WHERE)).json()
    assert [one["size"] for one in told["checkpoints"]] == [head(desk, cast), int(scene.ids["size"])]
    new, old = told["keys"]
    assert (old["since"], old["until"], new["since"], new["until"]) == (
        1,
        new["since"] - 1,
        new["since"],
        None,
    )
    name, key_id, coded = new["vkey"].split("+", 2)
    raw = base64.b64decode(coded)
    # C2SP signed-note: the id is 4 bytes of SHA-256 over name, line end, type 0x01 and key.
    assert raw == b"\x01" + desk.database.keys.current().public
    assert key_id == hashlib.sha256(name.encode() + b"\n" + raw).hexdigest()[:8]


def test_the_history_tells_the_newest_note_that_left_and_never_the_head_s_own(
    scene: Scene, programs: Programs, desk: Desk, cast: Cast
) -> None:
    told = programs.lead.get(scene.path("/projects/{project}/history")).json()["checkpoint"]
    assert told["size"] == head(desk, cast) > int(scene.ids["size"])
    assert told["note"].split("\n")[1] == scene.ids["size"]
    other = f"/api/v1/projects/{cast.other_project_id}/history"
    assert programs.manager.get(other).status_code == 404


def test_an_entry_comes_with_its_bytes_and_a_proof_by_the_standard_s_own_definition(
    scene: Scene, programs: Programs, desk: Desk, cast: Cast
) -> None:
    entries, size = contents(desk, cast), int(scene.ids["size"])
    for seq in (1, 2, size - 1, size):
        told = programs.lead.get(scene.path("/projects/{project}/history/") + str(seq)).json()
        assert told["content"].encode() == entries[seq - 1] and told["faults"] == []
        assert told["hash"] == rfc9162.leaf(entries[seq - 1]).hex()
        proof = told["proof"]
        path = [bytes.fromhex(one) for one in proof["hashes"]]
        root = rfc9162.root_by_path(proof["index"], proof["size"], entries[seq - 1], path)
        assert root.hex() == proof["root"] == rfc9162.root(entries[:size]).hex()
        assert proof["text"].endswith(f"\n\n{proof['note']}") and len(proof["sides"]) == len(path)
    after = programs.lead.get(scene.path("/projects/{project}/history/") + str(size + 1)).json()
    assert after["proof"] is None and after["faults"] == []
    assert programs.lead.get(scene.path("/projects/{project}/history/") + "9999").status_code == 404


def test_an_old_checkpoint_is_checked_and_the_growth_proved(
    scene: Scene, programs: Programs, desk: Desk, cast: Cast
) -> None:
    note = programs.lead.get(scene.path("/projects/{project}/history")).json()["checkpoint"]["note"]
    where, old = scene.path(WHERE + "/check"), int(scene.ids["size"])
    before = head(desk, cast)
    told = programs.lead.post(where, json={"note": note}).json()
    assert told["holds"] and [one["code"] for one in told["points"]] == ["signed", "grew", "kept-fit"]
    assert told["growth"] is None and told["size"] == old and head(desk, cast) == before
    new = programs.lead.post(scene.path(WHERE)).json()
    growth = programs.lead.post(where, json={"note": note}).json()["growth"]
    entries = contents(desk, cast)
    was, now = rfc9162.root(entries[:old]), rfc9162.root(entries[: new["size"]])
    hashes = [bytes.fromhex(one) for one in growth["hashes"]]
    assert rfc9162.roots_by_proof(old, new["size"], hashes, was) == (was, now)
    assert growth["note"] == new["note"]


def test_what_does_not_fit_is_told_by_code_and_an_old_list_names_the_entry(
    scene: Scene, programs: Programs, desk: Desk, cast: Cast
) -> None:
    where = scene.path(WHERE + "/check")
    note = programs.lead.post(scene.path(WHERE)).json()["note"]
    none = programs.lead.post(where, json={"note": "hello"}).json()
    assert [one["code"] for one in none["points"]] == ["no-checkpoint"] and not none["holds"]
    spoilt = note.replace(f"\n{head(desk, cast)}\n", "\n7\n")
    told = programs.lead.post(where, json={"note": spoilt}).json()
    assert [one["code"] for one in told["points"]][:2] == ["signature-does-not-fit", "no-weight"]
    entries = contents(desk, cast)
    leaves = "".join(f"{rfc9162.leaf(one).hex()}\n" for one in entries)
    told = programs.lead.post(where, json={"note": note, "leaves": leaves}).json()
    assert told["holds"] and told["points"][-1]["code"] == "entries-fit"
    forged = [*entries[:4], b"{}", *entries[5:]]
    with desk.database.engine.begin() as connection:
        connection.exec_driver_sql("DROP TRIGGER entry_is_never_updated")
        connection.exec_driver_sql(
            "UPDATE entry SET content = ? WHERE project_id = ? AND seq = 5", (forged[4], cast.project_id)
        )
    told = programs.lead.post(where, json={"note": note, "leaves": leaves}).json()
    assert told["first"] == 5 and told["entry"] is None and told["between"] is None
    assert {"history-rewritten", "entry-hash-does-not-fit", "first-entry"} <= {
        one["code"] for one in told["points"]
    }
    refused = programs.lead.post(where, json={"note": note, "leaves": "hello"})
    assert_refused(refused, 422, "bad-input", "leaves")
