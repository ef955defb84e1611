"""The shape of service/: who may import whom, what the pure layers may touch, how big things may get."""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

SERVICE = Path(__file__).parents[2] / "service"
FILES = sorted(SERVICE.rglob("*.py"))

# Each layer, and the parts of service/ it may import besides itself.
MAY_IMPORT: dict[str, set[str]] = {
    "__main__": {"app", "settings", "upkeep", "actions", "storage", "history", "domain"},
    "upkeep": {"app", "settings", "actions", "domain"},
    "app": {"settings", "finding", "web", "api", "actions", "storage", "history", "domain"},
    "settings": set(),
    "finding": set(),
    "web": {"actions", "domain", "history"},
    "api": {"actions", "domain", "history"},
    "actions": {"storage", "media", "papers", "history", "domain"},
    "papers": {"history", "domain"},
    "media": {"domain"},
    "storage": {"history", "domain"},
    "history": {"domain"},
    "domain": set(),
    "__init__": set(),
}

# The folders of each layer, from the ground up: a module imports from its own folder and those before it.
# What lies in the layer's own folder stands above them all.
FOLDERS: dict[str, tuple[str, ...]] = {
    "domain": (
        "words", "shapes", "nouns", "patches", "rule_sheet", "installed", "gate", "earlier", "sketch",
        "sheets", "cutting", "order", "weather", "placing", "walk",
    ),
    "history": ("proofs", "facts", "replay", "sentences", "closeout", "order", "certificate", "verifying"),
    "storage": ("tables", "doors", "blobs", "history", "accounts", "upkeep"),
    "papers": ("setting", "drawing", "record"),
    "actions": (
        "frame", "entrance", "evidence", "sketches", "marks", "installed", "film", "office", "people",
        "placing", "telling", "closeout", "record", "upkeep", "demo",
    ),
    "api": ("shared", "answers", "telling", "sketches", "crew", "inspector", "office"),
    "web": (
        "serving", "drawings", "forms", "shared", "entrance", "sketches", "together", "marks", "installed",
        "film", "placing", "crew", "office", "inspector",
    ),
}  # fmt: skip

# Where each package from outside is at home; anything not named here is refused everywhere.
AT_HOME: dict[str, set[str]] = {
    "shapely": {"domain"},
    "numpy": {"domain", "media"},
    "highspy": {"domain"},
    "rfc8785": {"history"},
    "cryptography": {"history", "storage"},
    "rfc3161_client": {"history", "actions"},
    "asn1crypto": {"history"},
    "httpx": {"actions"},
    "sqlmodel": {"storage", "actions"},  # actions: the Session type alone, see the test below
    "sqlalchemy": {"storage"},
    "alembic": {"storage"},
    "pysqlite3": {"storage"},
    "prometheus_client": {"web"},
    "opentelemetry": {"web"},
    "boto3": {"storage"},
    "botocore": {"storage"},
    "pyvips": {"media"},
    "PIL": {"media"},
    "pillow_heif": {"media"},
    "pypdfium2": {"media"},
    "argon2": {"actions"},
    "pyotp": {"actions"},
    "zxcvbn": {"actions"},
    "webauthn": {"actions"},
    "authlib": {"actions"},
    "joserfc": {"actions"},
    "typst": {"papers"},
    "segno": {"papers"},
    "icalendar": {"papers"},
    "fastapi": {"web", "api", "app", "finding"},
    "starlette": {"web", "api", "app", "finding"},
    "pydantic": {"api"},
    "jinja2": {"web", "papers"},
    "markupsafe": {"web"},  # comes with jinja2
    "uvicorn": {"__main__"},
    "polib": {"actions"},
}

# What the pure layers may use of the standard library.
PURE = {
    "__future__",
    "bisect",
    "collections",
    "contextlib",
    "contextvars",  # speech alone: which language is being spoken
    "dataclasses",
    "datetime",
    "enum",
    "fractions",
    "functools",
    "gettext",
    "heapq",
    "itertools",
    "math",
    "operator",
    "re",
    "types",
    "typing",
}
PURE_IN = {"domain": PURE | {"csv"}, "history": PURE | {"base64", "csv", "hashlib", "json"}}
IMPURE_CALLS = {"open", "print", "input", "now", "today", "utcnow", "uuid4", "token_hex", "random"}

LONGEST_FILE, LONGEST_FUNCTION = 330, 60
MOST_IN_A_FOLDER = 18


def layer(path: Path) -> str:
    return path.relative_to(SERVICE).parts[0].removesuffix(".py")


def imports(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import; write the full path"
            if node.module == "service":
                yield from (f"service.{alias.name}" for alias in node.names)
            else:
                yield node.module or ""


@pytest.fixture(params=FILES, ids=lambda path: str(path.relative_to(SERVICE)))
def path(request: pytest.FixtureRequest) -> Path:
    return Path(request.param)


def test_imports_point_toward_the_rules(path: Path) -> None:
    here = layer(path)
    for name in imports(path):
        root, *rest = name.split(".")
        if root == "service" and rest and rest[0] != here:
            assert rest[0] in MAY_IMPORT[here], f"{here} may not import {name}"


def place(name: str) -> tuple[str, int]:
    """The layer of a dotted name, and how high its folder stands in it."""
    _, here, *rest = [*name.split("."), ""]
    order = FOLDERS.get(here, ())
    return here, order.index(rest[0]) if rest[0] in order else len(order)


def test_inside_a_layer_imports_point_to_the_ground(path: Path) -> None:
    """A module imports from its own folder and from those that stand before it."""
    here, height = place(".".join(path.relative_to(SERVICE.parent).with_suffix("").parts))
    for name in imports(path):
        if name.startswith(f"service.{here}."):
            assert place(name)[1] <= height, f"{path.relative_to(SERVICE)} may not import {name}"


def test_every_folder_stands_in_its_layers_order_and_can_be_taken_in_at_a_glance() -> None:
    for here, order in FOLDERS.items():
        found = {folder.parent.name for folder in (SERVICE / here).glob("*/__init__.py")}
        assert found == set(order), here
    for folder in {path.parent for path in FILES} - {SERVICE}:
        assert len(list(folder.glob("*.py"))) - 1 <= MOST_IN_A_FOLDER, folder


def test_packages_from_outside_stay_at_home(path: Path) -> None:
    for name in imports(path):
        root = name.split(".")[0]
        if root == "service" or root in sys.stdlib_module_names:
            continue
        assert layer(path) in AT_HOME.get(root, set()), f"{name} is not at home in {layer(path)}"


def test_actions_take_only_the_session_type_from_the_database_library(path: Path) -> None:
    if layer(path) != "actions":
        return
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("sqlmodel"):
            assert [alias.name for alias in node.names] == ["Session"], "queries live in storage"


def test_pure_layers_use_only_the_pure_library(path: Path) -> None:
    allowed = PURE_IN.get(layer(path))
    if allowed is None:
        return
    used = {name.split(".")[0] for name in imports(path)} & sys.stdlib_module_names
    assert used <= allowed, f"not pure: {used - allowed}"
    called = {
        node.func.id if isinstance(node.func, ast.Name) else node.func.attr
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name | ast.Attribute)
    }
    assert not called & IMPURE_CALLS, f"pass it in as an argument: {called & IMPURE_CALLS}"


def test_every_module_says_what_it_is_for(path: Path) -> None:
    assert ast.get_docstring(ast.parse(path.read_text())), "first line: what this file is for"


def test_nothing_is_too_long_to_read(path: Path) -> None:
    text = path.read_text()
    assert len(text.splitlines()) <= LONGEST_FILE
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            length = (node.end_lineno or 0) - node.lineno + 1
            assert length <= LONGEST_FUNCTION, f"{node.name}: {length} lines"


def test_no_rule_decides_by_a_buffered_outline(path: Path) -> None:
    """A buffer is a polygon inside the true circle: it passes patches up to 0.029 in short of 6 in."""
    if (
        path == SERVICE / "domain" / "walk" / "ways.py"
    ):  # corners to walk round, off a wall by a hair: nothing is judged by them
        return
    assert ".buffer(" not in path.read_text() or layer(path) != "domain"


def test_the_top_level_holds_what_was_agreed_and_nothing_else() -> None:
    agreed = {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "service",
        "templates",
        "tests",
        "migrations",
        "deploy",
    }
    import subprocess

    listed = subprocess.run(
        ["git", "ls-files"], cwd=SERVICE.parent, capture_output=True, text=True, check=False
    ).stdout.split()
    found = {name.split("/")[0] for name in listed if not name.startswith(".")}
    assert found <= agreed, f"not agreed: {found - agreed}"
