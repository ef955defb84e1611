"""DEVELOPERS.md stays true: its map is the first line of every module. Run this file to renew the map."""

from __future__ import annotations

import ast
import re
from pathlib import Path

from tests.whole.test_architecture import FOLDERS

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "DEVELOPERS.md"
START, END = "<!-- map -->", "<!-- /map -->"


def first_line(path: Path) -> str:
    return (ast.get_docstring(ast.parse(path.read_text())) or "").split("\n")[0]


def current_map() -> str:
    lines, folder = [], None
    for path in sorted((ROOT / "service").rglob("*.py"), key=lambda p: (p.parent, p.name)):
        here = path.parent.relative_to(ROOT)
        if here != folder:
            folder = here
            lines.append(f"\n**`{here}/`** {first_line(path.parent / '__init__.py')}\n")
        if path.name != "__init__.py":
            lines.append(f"- `{path.name}` {first_line(path)}")
    return "\n".join(lines).strip()


def test_the_map_in_developers_md_is_current() -> None:
    written = PAGE.read_text().split(START)[1].split(END)[0].strip()
    assert written == current_map(), "renew it: python -m tests.whole.test_docs"


def test_the_folders_of_each_layer_stand_in_the_page_as_they_are_held() -> None:
    rows = re.findall(r"^\| `(\w+)/` \| ((?:`\w+`(?: · )?)+) \|$", PAGE.read_text(), re.MULTILINE)
    assert {layer: tuple(re.findall(r"\w+", folders)) for layer, folders in rows} == FOLDERS


def test_decisions_are_numbered_without_a_gap() -> None:
    numbers = [int(number) for number in re.findall(r"^\*\*D-(\d\d) ", PAGE.read_text(), re.MULTILINE)]
    assert numbers == list(range(1, len(numbers) + 1))


def test_every_path_that_developers_md_names_exists() -> None:
    named = re.findall(r"`((?:service|tests|migrations|deploy)/[\w./-]+\.\w+)`", PAGE.read_text())
    missing = [name for name in named if not (ROOT / name).exists()]
    assert named and not missing, missing


def test_ci_runs_the_readmes_test_command_and_nothing_cleverer() -> None:
    commands = re.findall(r"```sh\n(.*?)\n```", (ROOT / "README.md").read_text(), re.DOTALL)
    test_command = next(command for command in commands if "-m tests" in command)
    assert (ROOT / ".ci" / "run").read_text().rstrip().endswith(test_command)


def test_no_address_of_a_registry_and_no_lock_file_is_kept() -> None:
    pinned = (ROOT / "deploy" / "constraints.txt").read_text()
    assert "://" not in pinned and "@" not in pinned


if __name__ == "__main__":
    text = PAGE.read_text()
    before, after = text.split(START)[0], text.split(END)[1]
    PAGE.write_text(f"{before}{START}\n{current_map()}\n{END}{after}")
