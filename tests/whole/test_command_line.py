"""The commands as they are typed, each in a process of its own."""

from __future__ import annotations

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

GOOD = "four plain grey doors"
ROOT = Path(__file__).parents[2]


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
def serving(*words: str | Path) -> Iterator[str]:
    """The address of a service started with these words, on a free port; it is ended with the block."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    process = subprocess.Popen(
        [sys.executable, "-m", "service", *map(str, words), "--port", str(port)],
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, cwd=ROOT,
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


def test_the_demo_prints_its_people_and_each_of_them_signs_in(tmp_path: Path) -> None:
    demo = pytest.importorskip("service.actions.demo")
    data = tmp_path / "demo"
    with serving("demo", "--data", data) as address:
        for email, _, _ in demo.PEOPLE:
            with signed_in(address, email, demo.PASSWORD) as client:
                assert "/projects/" in client.get("/").text
    assert run("check", "--data", data).returncode == 0
