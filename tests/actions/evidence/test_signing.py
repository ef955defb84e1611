"""The key that signs histories: changed, lost, foreign, cut off on the way; what each leaves behind."""

from __future__ import annotations

import base64
import shutil
from pathlib import Path

import pytest
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import load_pem_private_key
from fastapi import FastAPI

from service.actions.evidence import signing
from service.actions.frame.desk import Desk
from service.actions.people import people
from service.actions.sketches import zones
from service.actions.upkeep.checking import check_histories
from service.app import make_desk
from service.domain.nouns.roles import CREW_LEAD
from service.domain.words.refusals import Conflict
from service.history.facts.entries import Entry
from service.history.facts.evidence import KeyChanged
from service.history.proofs.checkpoints import key_of, public_key
from service.history.proofs.notes import read_note, signed_by
from service.settings import Settings
from service.storage.doors.keys import BEFORE, CURRENT
from service.storage.history import books, ledger, trees
from service.storage.history.books import AnotherKey
from tests.builders import a_release, a_walk, a_zone
from tests.cast import Cast, Clock
from tests.conftest import ClientOf
from tests.in_process import browser
from tests.on_disk import database_bytes


def public(desk: Desk) -> str:
    return desk.database.keys.current().public_text


def newest(desk: Desk, cast: Cast) -> Entry:
    with desk.reading() as session:
        return books.entries(session, cast.project_id)[-1]


def head_note(desk: Desk, cast: Cast) -> str:
    with desk.reading() as session:
        note = ledger.head_row(session, cast.project_id).note
    assert note is not None
    return note


def signs(cast: Cast, note: str, key: str) -> bool:
    """Whether this key signed the note (C2SP signed-note), by the cryptography library alone."""
    text, _, rest = note.rpartition("\n\n")
    for line in rest.splitlines():
        _, name, encoded = line.split(" ")
        raw = base64.b64decode(encoded)[4:]
        try:
            Ed25519PublicKey.from_public_bytes(base64.b64decode(key)).verify(raw, (text + "\n").encode())
        except InvalidSignature:
            continue
        return name == f"laptight/{cast.project_id}"
    return False


def a_kept_checkpoint(desk: Desk, cast: Cast) -> tuple[int, str]:
    size = signing.keep_checkpoint(desk, cast.inspector.id, cast.project_id)
    return size, signing.kept_checkpoint(desk, cast.inspector.id, cast.project_id, size)[1]


def write(desk: Desk, cast: Cast) -> None:
    people.change_role(desk, cast.manager.id, cast.project_id, cast.inspector.id, CREW_LEAD)


# --- the first key ---------------------------------------------------------------------------------------


def test_the_first_start_makes_the_key_in_the_folder_the_settings_name(tmp_path: Path) -> None:
    away = tmp_path / "vault"
    settings = Settings.read(tmp_path / "data", environ={"LAPTIGHT_KEYS": str(away)})
    desk = make_desk(settings)
    assert [file.name for file in away.iterdir()] == [CURRENT]
    assert (away / CURRENT).stat().st_mode & 0o777 == 0o600
    assert not (tmp_path / "data" / "keys").exists()
    desk.database.close()


def test_with_no_setting_the_keys_lie_beside_the_database_file_and_not_in_it(tmp_path: Path) -> None:
    assert Settings.read(tmp_path, environ={}).keys == tmp_path / "keys"
    assert Settings.read(tmp_path, environ={"LAPTIGHT_KEYS": ""}).keys == tmp_path / "keys"


@pytest.mark.sqlite_only("the bytes of its file")
def test_no_byte_of_a_private_key_is_in_the_database(desk: Desk, cast: Cast) -> None:
    """Neither the file's text nor the 32 bytes themselves, of the key before and of the one now."""
    secrets = []
    for _ in range(2):
        pem = desk.database.keys.file.read_bytes()
        private = load_pem_private_key(pem, None)
        secrets += [pem.splitlines()[1], private.private_bytes_raw()]  # type: ignore[union-attr]  # Ed25519
        signing.rotate(desk)
    kept = database_bytes(desk)
    assert public(desk).encode() in kept, "the public one is"
    assert [secret in kept for secret in secrets] == [False] * 4


# --- changing it -----------------------------------------------------------------------------------------


def test_a_changed_key_is_told_to_every_history_and_both_sign_the_first_checkpoint_after(
    desk: Desk, cast: Cast
) -> None:
    old = public(desk)
    assert signing.rotate(desk) == 2
    new = public(desk)
    told = newest(desk, cast)
    assert told.fact == KeyChanged(old, new) and (told.by, told.role) == ("operator", "operator")
    first = head_note(desk, cast)
    assert signs(cast, first, old) and signs(cast, first, new)
    write(desk, cast)
    second = head_note(desk, cast)
    assert signs(cast, second, new) and not signs(cast, second, old)
    assert check_histories(desk).faults == ()
    assert not (desk.database.keys.folder / BEFORE).exists(), "the old private key is gone"


def test_a_checkpoint_from_before_the_change_still_verifies_with_the_old_key(desk: Desk, cast: Cast) -> None:
    old = public(desk)
    size, note = a_kept_checkpoint(desk, cast)
    signing.rotate(desk)
    zone = a_zone(desk, cast)
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    assert signing.kept_checkpoint(desk, cast.inspector.id, cast.project_id, size)[1] == note
    [verified] = signed_by(read_note(note), [key_of(cast.project_id, public_key(old))])
    assert verified.public == public_key(old)
    assert not signed_by(read_note(note), [key_of(cast.project_id, public_key(public(desk)))])
    with desk.reading() as session:
        assert trees.root_at(session, cast.project_id, size) == base64.b64decode(note.splitlines()[2])


def test_a_change_cut_off_between_the_file_and_the_entries_is_healed_at_the_next_start(
    desk: Desk, cast: Cast, data: Path, database_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    old, before = public(desk), newest(desk, cast)

    def power_gone(*_: object) -> int:
        raise RuntimeError("power gone")

    monkeypatch.setattr(signing, "_tell", power_gone)
    with pytest.raises(RuntimeError, match="power gone"):
        signing.rotate(desk)
    monkeypatch.undo()
    new = public(desk)
    assert new != old and newest(desk, cast) == before, "the file is changed, the histories know nothing"
    with pytest.raises(AnotherKey):
        write(desk, cast)
    started = make_desk(
        Settings.read(data, environ={"LAPTIGHT_DATABASE_URL": database_url}), clock=desk.clock
    )
    started.database.close()
    assert newest(desk, cast).fact == KeyChanged(old, new)
    assert signs(cast, head_note(desk, cast), old) and signs(cast, head_note(desk, cast), new)
    assert not (desk.database.keys.folder / BEFORE).exists()
    write(desk, cast)
    assert check_histories(desk).faults == ()


def test_a_start_with_the_same_key_tells_nobody_anything(desk: Desk, cast: Cast) -> None:
    before = newest(desk, cast)
    assert signing.agree(desk) == 0
    assert newest(desk, cast) == before


def test_a_key_that_was_lost_and_made_anew_is_told_without_the_old_signature(desk: Desk, cast: Cast) -> None:
    old = public(desk)
    desk.database.keys.file.unlink()
    assert signing.agree(desk) == 2
    new, note = public(desk), head_note(desk, cast)
    assert newest(desk, cast).fact == KeyChanged(old, new)
    assert signs(cast, note, new) and not signs(cast, note, old)
    assert check_histories(desk).faults == ()


def test_another_server_signs_with_the_new_key_without_being_started_again(
    desk: Desk, cast: Cast, app: FastAPI, page_of: ClientOf
) -> None:
    """The app holds the database through a keyring of its own, as another server would."""
    manager = page_of(cast.manager)
    path = f"/projects/{cast.project_id}/people/{cast.lead.id}/role"
    assert manager.post(path, data={"role": "inspector"}).status_code == 303
    signing.rotate(desk)
    assert manager.post(path, data={"role": "crew lead"}).status_code == 303
    assert signs(cast, head_note(desk, cast), public(desk))


# --- a key that is not the histories' --------------------------------------------------------------------


def foreign(desk: Desk, tmp_path: Path) -> None:
    """Somebody else's key in the place of this server's."""
    other = make_desk(Settings.read(tmp_path / "elsewhere", environ={}))
    other.database.close()
    shutil.copy(tmp_path / "elsewhere" / "keys" / CURRENT, desk.database.keys.file)


def test_writing_with_a_foreign_key_is_refused_and_nothing_is_written(
    desk: Desk, cast: Cast, app: FastAPI, page_of: ClientOf, tmp_path: Path
) -> None:
    manager, zone = page_of(cast.manager), a_zone(desk, cast)
    foreign(desk, tmp_path)
    before, path = newest(desk, cast), f"/zones/{zone.id}/walks"
    manager.__dict__["_transport"].inner.raise_app_exceptions = False
    answer = manager.post(path, data={"looked": "yes"})
    assert (answer.status_code, answer.headers["retry-after"]) == (503, "5")
    assert "Nothing was recorded" in answer.text
    with pytest.raises(AnotherKey):
        zones.finish_walk(desk, cast.lead.id, zone.id)
    assert newest(desk, cast) == before
    assert manager.get(f"/zones/{zone.id}").status_code == 200, "reading goes on"
    with browser(app) as nobody:
        assert nobody.get("/sign-in").status_code == 200


def test_a_command_with_another_folder_of_keys_takes_no_history_over(
    desk: Desk, cast: Cast, tmp_path: Path, data: Path, database_url: str
) -> None:
    before, away = newest(desk, cast), tmp_path / "forgotten setting"
    started = make_desk(
        Settings.read(data, environ={"LAPTIGHT_KEYS": str(away), "LAPTIGHT_DATABASE_URL": database_url}),
        serving=False,
    )
    told = signing.key_told(started)
    assert (told.fingerprint, told.histories) == ("", 0) and "LAPTIGHT_KEYS" in told.trouble
    with pytest.raises(Conflict) as refusal:
        signing.rotate(started)
    assert refusal.value.code == "another-key"
    started.database.close()
    assert not away.exists() and newest(desk, cast) == before


def test_what_is_told_of_the_key_fits_the_histories(desk: Desk, cast: Cast, clock: Clock) -> None:
    first = signing.key_told(desk)
    assert (first.since, first.histories, first.trouble) == (None, 2, "")
    assert first.file == desk.database.keys.file
    clock.go_on(days=3)
    signing.rotate(desk)
    second = signing.key_told(desk)
    assert (second.since, second.histories) == (clock.now, 2)
    assert second.fingerprint != first.fingerprint
