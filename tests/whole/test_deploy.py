"""What lies in deploy/ names only what there is: settings that are read, commands that are taken, files."""

from __future__ import annotations

import json
import re
import shlex
from pathlib import Path
from typing import Any

import pytest
import yaml

from service import __main__ as command_line
from service.settings import Settings

ROOT = Path(__file__).parents[2]
DEPLOY = ROOT / "deploy"


class Listening(dict[str, str]):
    """An environment that remembers what it was asked for."""

    def __init__(self) -> None:
        super().__init__()
        self.asked: set[str] = set()

    def get(self, key: str, default: Any = None) -> Any:
        self.asked.add(key)
        return default


def settings_read() -> set[str]:
    environ = Listening()
    Settings.read(Path("data"), environ=environ)
    return environ.asked


@pytest.mark.parametrize("file", ["Containerfile", "compose.yaml", "laptight.service"])
def test_every_setting_named_is_one_that_the_service_reads(file: str) -> None:
    named = set(re.findall(r"\bLAPTIGHT_[A-Z_]+", (DEPLOY / file).read_text()))
    assert named and named <= settings_read()


def test_the_commands_are_ones_that_the_service_takes() -> None:
    container = (DEPLOY / "Containerfile").read_text()
    found = re.search(r"^CMD (\[.*\])$", container, re.MULTILINE)
    unit = re.search(
        r"^ExecStart=\S+/laptight (.*)$", (DEPLOY / "laptight.service").read_text(), re.MULTILINE
    )
    assert found and unit
    for words in (json.loads(found[1]), shlex.split(unit[1])):
        told = command_line._parser().parse_args(words)
        assert told.run is command_line._serve


def test_a_stop_waits_longer_outside_than_inside() -> None:
    compose = yaml.safe_load((DEPLOY / "compose.yaml").read_text())
    outside = int(compose["services"]["service"]["stop_grace_period"].removesuffix("s"))
    unit = re.search(r"^TimeoutStopSec=(\d+)$", (DEPLOY / "laptight.service").read_text(), re.MULTILINE)
    assert unit and min(outside, int(unit[1])) > command_line.GRACE_S


def test_no_port_but_the_proxys_is_published_and_no_secret_is_written_down() -> None:
    compose = yaml.safe_load((DEPLOY / "compose.yaml").read_text())
    assert [name for name, service in compose["services"].items() if "ports" in service] == ["proxy"]
    for service in compose["services"].values():
        for name, value in service.get("environment", {}).items():
            if re.search(r"PASSWORD|SECRET|KEY", name) and not name.endswith("_FILE"):
                assert value.startswith("${") and value.endswith(":?}")


def test_every_file_that_the_container_takes_is_there() -> None:
    for source in re.findall(
        r"^COPY (?!--from)(.+) \S+$", (DEPLOY / "Containerfile").read_text(), re.MULTILINE
    ):
        for name in source.split():
            assert (ROOT / name).exists(), name
            assert not list((ROOT / name).rglob(".git*")) and (ROOT / name) != ROOT, "no history goes along"


@pytest.mark.parametrize("file", ["compose.yaml", "laptight.service"])
def test_office_and_inspector_need_a_second_factor_where_deploy_is_followed(file: str) -> None:
    """ASVS 5.0.0, 6.3.3."""
    assert re.search(r"^(?!\s*#).*LAPTIGHT_SECOND_FACTOR(: \"|=)required", (DEPLOY / file).read_text(), re.M)


def block(words: str, opens: str) -> str:
    """What stands between the braces behind `opens`, without comments."""
    text = re.sub(r"^\s*#.*$", "", words, flags=re.MULTILINE).partition(opens + " {")[2]
    depth = 1
    for at, sign in enumerate(text):
        depth += {"{": 1, "}": -1}.get(sign, 0)
        if depth == 0:
            return text[:at]
    raise AssertionError(f"no block {opens}")


def test_the_proxy_leads_people_to_https_and_refuses_programs() -> None:
    """The same file was read and run by the proxy of Debian 12 (2.6.2): 403 for calls, 308 for pages."""
    plain = block((DEPLOY / "proxy.conf").read_text(), "http://{$SITE}")
    programs = re.search(r"@programs path (.+)", plain)
    assert programs and programs[1].split() == ["/api/*", "/calendar/*"]
    assert re.search(r'respond ".+" 403', block(plain, "handle @programs"))
    assert "redir" not in block(plain, "handle @programs")
    assert "redir https://{$SITE}{uri} 308" in block(plain, "handle")
    assert "reverse_proxy" not in plain
