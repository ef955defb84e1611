"""The key that seals the secrets of codes is lost, or another: it is said, and a recovery code still
works."""

from __future__ import annotations

import logging
import os
from pathlib import Path

import httpx
import pytest

from service.__main__ import main
from service.storage.doors.sealing import FILE, KEY
from tests.cast import PASSWORD, Cast, Clock
from tests.conftest import ClientOf
from tests.web.entrance.test_second_factor import HERE, STEP, begin, code, secret_on, set_up

TOLD = "The service cannot check codes from an app any more."


@pytest.fixture
def codes(page_of: ClientOf, cast: Cast, clock: Clock) -> tuple[str, list[str]]:
    """What the manager's codes are made from, and the recovery codes."""
    found = set_up(page_of(cast.manager), clock)
    clock.go_on(seconds=30)
    return found


@pytest.fixture(params=["lost", "another", "cut short"])
def lost(request: pytest.FixtureRequest, codes: tuple[str, list[str]], data: Path) -> Path:
    """The file of the key, after what befell it."""
    file = data / "keys" / FILE
    if request.param == "lost":
        file.unlink()
    else:
        file.write_bytes(os.urandom(KEY if request.param == "another" else KEY - 1))
    return file


def test_a_right_code_is_refused_in_words_and_whoever_runs_the_service_is_told(
    client: httpx.Client,
    cast: Cast,
    clock: Clock,
    codes: tuple[str, list[str]],
    lost: Path,
    caplog: pytest.LogCaptureFixture,
) -> None:
    begin(client, cast)
    with caplog.at_level(logging.ERROR, "laptight"):
        answer = client.post(STEP, data={"code": code(codes[0], clock)})
    assert answer.status_code == 422
    assert TOLD in answer.text and "Use one of your recovery codes" in answer.text
    [line] = [record.getMessage() for record in caplog.records if record.name == "laptight"]
    assert "codes from apps cannot be checked" in line and FILE in line
    assert codes[0] not in line and cast.manager.id not in line


def test_looking_for_a_lost_key_makes_none_and_the_old_one_brought_back_serves_again(
    client: httpx.Client, cast: Cast, clock: Clock, codes: tuple[str, list[str]], data: Path
) -> None:
    """Another server may still bring it: a new one in its place would be the key from then on."""
    file = data / "keys" / FILE
    kept = file.read_bytes()
    file.unlink()
    begin(client, cast)
    assert client.post(STEP, data={"code": code(codes[0], clock)}).status_code == 422
    assert not file.exists()
    file.write_bytes(kept)
    assert client.post(STEP, data={"code": code(codes[0], clock)}).status_code == 303


def test_a_recovery_code_signs_in_without_the_key(
    client: httpx.Client, cast: Cast, codes: tuple[str, list[str]], lost: Path
) -> None:
    begin(client, cast)
    assert client.post(STEP, data={"code": codes[1][0]}).status_code == 303
    assert client.get("/told").status_code == 200


def test_a_program_is_told_by_a_code_of_its_own(
    client: httpx.Client, cast: Cast, clock: Clock, codes: tuple[str, list[str]], lost: Path
) -> None:
    sent = {"email": cast.manager.email, "password": PASSWORD}
    answer = client.post("/api/v1/sign-in", json=sent | {"code": code(codes[0], clock)})
    assert (answer.status_code, answer.json()["error"]["code"]) == (422, "codes-unreadable")
    assert client.post("/api/v1/sign-in", json=sent | {"code": codes[1][1]}).status_code == 200


def test_a_reset_that_takes_the_second_factor_away_lets_the_person_in_again(
    client: httpx.Client, cast: Cast, lost: Path, data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["people", "reset", cast.manager.email, "--second-factor", "--data", str(data)]) == 0
    link = "/reset/" + capsys.readouterr().out.split("/reset/")[1].split()[0]
    assert client.post(link, data={"password": "five plain grey doors"}).status_code == 303
    client.cookies.clear()
    again = client.post("/sign-in", data={"email": cast.manager.email, "password": "five plain grey doors"})
    assert again.status_code == 303 and not again.headers["location"].startswith(STEP)


def test_setting_codes_up_begins_anew_where_the_key_was_lost_half_way(
    page_of: ClientOf, cast: Cast, clock: Clock, data: Path
) -> None:
    page = page_of(cast.manager)
    secret = secret_on(page.post(f"{HERE}/codes", data={"codes_password": PASSWORD}))
    (data / "keys" / FILE).unlink()
    for sent in (code(secret, clock), "000000"):
        answer = page.post(f"{HERE}/codes/confirm", data={"code": sent, "name": "my phone"})
        assert (answer.status_code, answer.headers["location"]) == (303, HERE)
    assert set_up(page, clock)[1], "and a new key is made for the new codes"
