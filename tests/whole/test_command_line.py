"""The commands as they are typed, each in a process of its own."""

from __future__ import annotations

import gc
import re
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx
import pytest

from service.__main__ import main
from service.actions.frame.desk import Desk
from service.app import from_environment
from tests.cast import Cast
from tests.on_disk import database_bytes

GOOD = "four plain grey doors"
ROOT = Path(__file__).parents[2]
USUAL = (700, 10, 10)  # as Python 3.11 begins (its documentation of gc.set_threshold)


def run(*words: str | Path, typed: str = "") -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "service", *map(str, words)],
        input=typed, capture_output=True, text=True, cwd=ROOT, timeout=120, check=False,
    )  # fmt: skip


def add(data: Path, password: str = GOOD) -> subprocess.CompletedProcess[str]:
    return run(
        "people", "add", "first@example.com", "--name", "First Person", "--password-stdin", "--data", data,
        typed=password + "\n",
    )  # fmt: skip


@contextmanager
def serving(*words: str | Path, told: Path | None = None) -> Iterator[str]:
    """The address of a service started with these words, on a free port; it is ended with the block. `told`:
    where what it prints is kept."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    output = told.open("w") if told else subprocess.PIPE
    process = subprocess.Popen(
        [sys.executable, "-m", "service", *map(str, words), "--port", str(port)],
        stdout=output, stderr=subprocess.STDOUT, text=True, cwd=ROOT,
    )  # fmt: skip
    try:
        address = f"http://127.0.0.1:{port}"
        for _ in range(600):
            assert process.poll() is None, process.stdout.read() if process.stdout else ""
            try:
                httpx.get(f"{address}/sign-in")
                break
            except httpx.TransportError:
                time.sleep(0.1)
        yield address
    finally:
        process.terminate()
        process.communicate(timeout=30)
        if not isinstance(output, int):
            output.close()


@contextmanager
def signed_in(address: str, email: str, password: str) -> Iterator[httpx.Client]:
    with httpx.Client(base_url=address, headers={"Origin": address}) as client:
        answer = client.post("/sign-in", data={"email": email, "password": password})
        assert answer.status_code == 303, answer.text
        yield client


def test_the_first_person_is_made_and_signs_in_on_the_running_service(tmp_path: Path) -> None:
    data = tmp_path / "data"
    made = add(data)
    assert (made.returncode, made.stdout) == (0, "First Person can sign in as first@example.com.\n")
    with (
        serving("serve", "--data", data, "--host", "127.0.0.1") as address,
        signed_in(address, "first@example.com", GOOD) as client,
    ):
        answer = client.get("/")
    assert answer.status_code == 200
    assert "no project yet" in answer.text
    assert "server" not in answer.headers


def test_a_refused_password_is_told_and_exits_with_one(tmp_path: Path) -> None:
    refused = add(tmp_path / "data", "password")
    assert refused.returncode == 1
    assert "first that anybody would guess" in refused.stderr
    assert "Traceback" not in refused.stderr


def test_the_reset_link_that_is_printed_works(tmp_path: Path) -> None:
    data = tmp_path / "data"
    add(data)
    told = run("people", "reset", "First@Example.com", "--data", data)
    link = re.search(r"/reset/\S+", told.stdout)
    assert link, told
    with serving("serve", "--data", data) as address:
        with httpx.Client(base_url=address, headers={"Origin": address}) as client:
            answer = client.post(link.group(), data={"password": "five plain grey doors"})
        assert answer.status_code == 303
        with signed_in(address, "first@example.com", "five plain grey doors") as client:
            assert client.get("/").status_code == 200


def test_nobody_elses_reset_link_is_printed(tmp_path: Path) -> None:
    told = run("people", "reset", "nobody@example.com", "--data", tmp_path / "data")
    assert (told.returncode, told.stdout) == (1, "")


def test_the_check_says_in_a_sentence_whether_all_is_well(data: Path, cast: object) -> None:
    well = run("check", "--data", data)
    assert (well.returncode, well.stdout.count("\n")) == (0, 1)
    assert "6 entries of 2 projects" in well.stdout


def test_the_demo_prints_its_people_and_its_ready_list_and_each_gets_in(tmp_path: Path) -> None:
    demo = pytest.importorskip("service.actions.demo.demo")
    data, told = tmp_path / "demo", tmp_path / "told.txt"
    with serving("demo", "--data", data, told=told) as address:
        for email, _, _ in demo.PEOPLE:
            with signed_in(address, email, demo.PASSWORD) as client:
                assert "/projects/" in client.get("/").text
        [link] = re.findall(rf"{address}/ready/\S+", told.read_text())
        assert "Which zones are ready to place" in httpx.get(link).text
        secret = link.rpartition("/")[2]
    assert secret not in told.read_text().replace(link, ""), "no log of the request"
    assert run("check", "--data", data).returncode == 0


def test_a_worker_among_several_looks_for_cyclic_garbage_as_seldom_as_a_process_alone(
    data: Path, cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    before, seldom = gc.get_threshold(), []
    monkeypatch.setenv("LAPTIGHT_DATA", str(data))
    monkeypatch.setattr("uvicorn.run", lambda app, **_: seldom.append(gc.get_threshold()))
    try:
        gc.set_threshold(*USUAL)
        assert main(["serve", "--data", str(data)]) == 0
        gc.set_threshold(*USUAL)  # a worker is a fresh Python
        from_environment().state.desk.database.close()
        worker = gc.get_threshold()
    finally:
        gc.set_threshold(*before)
    assert seldom == [worker]
    assert worker[0] > USUAL[0]


# --- keys and names --------------------------------------------------------------------------------------
# In this process: what a command prints and answers is the same, and a start of Python costs more than it.


def said(capsys: pytest.CaptureFixture[str], *words: str | Path) -> tuple[int, str, str]:
    """Exit status, what was printed, and what was told as trouble."""
    status = main([str(word) for word in words])
    return (status, *capsys.readouterr())


def test_the_key_is_told_and_changed_and_a_forgotten_setting_changes_nothing(
    data: Path,
    cast: Cast,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    pem = data / "keys" / "signing-key.pem"
    status, out, _ = said(capsys, "keys", "--data", data)
    assert status == 0 and fingerprint_of(pem) in out and "It signs 2 histories." in out
    assert f"It lies in {pem}, apart from the database." in out
    status, out, _ = said(capsys, "keys", "rotate", "--data", data)
    assert (status, out.count("2 histories say so")) == (0, 1) and fingerprint_of(pem) in out
    _, out, _ = said(capsys, "keys", "--data", data)
    assert "when it took another's place" in out and fingerprint_of(pem) in out
    before = pem.read_bytes()
    monkeypatch.setenv("LAPTIGHT_KEYS", str(tmp_path / "nowhere"))
    for words in (("keys",), ("keys", "rotate"), ("people", "erase", cast.lead.email)):
        status, _, trouble = said(capsys, *words, "--data", data)
        assert status == 1 and "LAPTIGHT_KEYS" in trouble
    assert pem.read_bytes() == before and not (tmp_path / "nowhere").exists()
    assert said(capsys, "check", "--data", data)[0] == 0


def fingerprint_of(pem: Path) -> str:
    """By openssl alone, in fours."""
    der = subprocess.run(
        ["openssl", "pkey", "-in", pem, "-pubout", "-outform", "DER"], capture_output=True, check=True
    )
    told = subprocess.run(["openssl", "dgst", "-sha256"], input=der.stdout, capture_output=True, check=True)
    digest = told.stdout.decode().split()[-1]
    return " ".join(digest[at : at + 4] for at in range(0, 64, 4))


def test_a_person_is_erased_by_a_command_and_nobody_else(
    data: Path, cast: Cast, desk: Desk, capsys: pytest.CaptureFixture[str]
) -> None:
    for email, words in (
        ("nobody@example.com", "no account for this address"),
        (cast.manager.email, 'last project manager of "North warehouse slab"'),
    ):
        status, _, trouble = said(capsys, "people", "erase", email, "--data", data)
        assert status == 1 and words in trouble
    status, out, _ = said(capsys, "people", "erase", cast.lead.email, "--data", data)
    assert status == 0 and "Erased. 1 history says so; what they did stays there." in out
    assert "Notes that people typed were not searched" in out
    assert b"Lou Lead" not in database_bytes(desk) and b"Max Manager" in database_bytes(desk)
    assert said(capsys, "check", "--data", data)[0] == 0
