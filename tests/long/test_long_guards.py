"""Every guard taken away by itself: the permission matrix must notice each, or it proves nothing.

Four kinds: a word of `roles.MAY` given to every role; the rules that narrow a word (`may_withdraw`,
`may_look`); a place in the sources that asks `allow(...)` or refuses by `roles.may(...)`; a lookup of
`storage/history/seen.py` that forgets who is looking. What is expected of a cell is worked out before
anything is taken away. How tests of permissions are to be tested: OWASP's Authorization Regression Testing
cheat sheet.
"""

from __future__ import annotations

import ast
import sys
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import FrameType
from typing import Any

import pytest

from service.actions.frame import doing
from service.domain.nouns import roles
from service.storage.history import seen
from tests.whole.cells import NOT_YOURS, TOO_LOW, Cell, expected, faults
from tests.whole.routes import ROWS
from tests.whole.stage import Stage

ROOT = Path(__file__).resolve().parents[2]
Met = Callable[[str, str], None]  # told which guard was asked, and for which word
EVERYBODY = frozenset(roles.ROLES)
LOOKUPS = tuple(name for name in vars(seen) if name.endswith("_seen_by"))
RULES = ("may_withdraw", "may_look")
# No request of the matrix gets to these: each is asked by itself in tests/whole/test_second_walls.py.
SECOND = {
    "service/actions/sketches/pictures.py::shown_picture",
    "service/actions/sketches/pdfs.py::kept_pdf",
    "service/actions/sketches/sketches.py::revise_sketch",
    "service/web/office/release.py::release",
    "service/web/office/people.py::reset_link",
}
ITSELF = (
    f"service/actions/frame/doing.py:{doing.allow.__code__.co_firstlineno + 2}"  # what every `allow` asks
)
OUTSIDERS = ("another project's manager", "a manager taken off")


# --- what there is to take away --------------------------------------------------------------------------


@dataclass(frozen=True)
class Place:
    """Where the service refuses by role: the function, and the word, or nothing where that is not written."""

    function: str
    word: str


def places() -> dict[str, Place]:
    """Every place that refuses by role, by file and line."""
    found = {}
    for file in sorted((ROOT / "service").rglob("*.py")):
        name = str(file.relative_to(ROOT))
        functions = [n for n in ast.walk(ast.parse(file.read_text())) if isinstance(n, ast.FunctionDef)]
        for function, node in ((each, node) for each in functions for node in ast.walk(each)):
            asked = node.value if isinstance(node, ast.Expr) and _calls(node.value, "allow") else None
            asked = _refuses(node) if isinstance(node, ast.If) else asked
            if isinstance(asked, ast.Call):
                word = asked.args[1].value if isinstance(asked.args[1], ast.Constant) else ""
                found[f"{name}:{asked.lineno}"] = Place(f"{name}::{function.name}", str(word))
    return {place: of for place, of in found.items() if not place.startswith(ITSELF)}


def _calls(node: ast.expr, name: str) -> bool:
    if not isinstance(node, ast.Call):
        return False
    called = node.func
    return getattr(called, "attr", getattr(called, "id", "")) == name


def _refuses(node: ast.If) -> ast.expr | None:
    """The question of an `if not roles.may(...)` that raises."""
    tested = node.test
    if not (isinstance(tested, ast.UnaryOp) and isinstance(tested.op, ast.Not)):
        return None
    if not _calls(tested.operand, "may") or not any(isinstance(each, ast.Raise) for each in node.body):
        return None
    return tested.operand


# --- taking it away --------------------------------------------------------------------------------------


def _asker(frame: FrameType) -> str:
    file = Path(frame.f_code.co_filename)
    return f"{file.relative_to(ROOT) if file.is_relative_to(ROOT) else file}:{frame.f_lineno}"


def _instead(name: str, was: Any, gone: frozenset[str], member: str, met: Met) -> Any:
    """The same guard, which notes that it was asked, and lets everybody by where it is one of `gone`."""

    def allow(seen_as: Any, action: str) -> None:
        met(site := _asker(sys._getframe(1)), action)
        if site not in gone:
            was(seen_as, action)

    def may(role: str, action: str) -> bool:
        met(site := _asker(sys._getframe(1)), action)
        return site in gone or was(role, action)

    def rule(*asked: str) -> bool:
        met(name, "")
        return name in gone or was(*asked)

    def look(session: Any, person: str, noun_id: str) -> Any:
        met(name, "")
        return was(session, member if name in gone else person, noun_id)

    return {"allow": allow, "may": may}.get(name, rule if name in RULES else look)


@contextmanager
def without(gone: Iterable[str], member: str, met: Met = lambda *_: None) -> Iterator[None]:
    """The service without some of its guards. A lookup that is gone answers everybody as it answers `member`;
    the lookups that stand on one another inside `storage/history/seen.py` do so as ever."""
    guards = {"allow": doing.allow, "may": roles.may} | {name: getattr(roles, name) for name in RULES}
    guards |= {name: getattr(seen, name) for name in LOOKUPS}
    with pytest.MonkeyPatch.context() as patch:
        for name, was in guards.items():
            other = _instead(name, was, frozenset(gone), member, met)
            for key, module in list(sys.modules.items()):
                if key.startswith("service.") and module is not seen:
                    for bound in [bound for bound, value in vars(module).items() if value is was]:
                        patch.setattr(module, bound, other)
        yield


# --- the campaign ----------------------------------------------------------------------------------------


class Matrix:
    """Every cell in which somebody is refused, and which guards each meets on its way."""

    def __init__(self, stage: Stage) -> None:
        self.stage, self.member = stage, stage.cast.manager.id
        cells = [Cell(row, actor, expected(row, actor)) for row in ROWS for actor in stage.actors]
        self.too_low = [cell for cell in cells if cell.expected == TOO_LOW]
        self.not_theirs = [c for c in cells if c.expected == NOT_YOURS and c.actor.name in OUTSIDERS]
        self.places = places()
        self.met: dict[str, list[Cell]] = defaultdict(list)

    def follow(self) -> None:
        """Send every one of them, and note what could have refused it: a lookup who is not on the project, a
        word or a rule who may not (a word that every role has refuses nobody). Then once more without those,
        for what stands behind them."""
        for _ in range(2):
            gone = frozenset(self.met) - set(LOOKUPS)
            for cell in self.too_low + self.not_theirs:
                self._follow(cell, gone)

    def _follow(self, cell: Cell, gone: frozenset[str]) -> None:
        met: dict[str, str] = {}
        with without(gone, self.member, met.__setitem__):
            assert not faults(self.stage, cell) or gone
        for guard, word in met.items():
            known = guard in LOOKUPS or guard in RULES or guard in self.places
            fits = (guard in LOOKUPS) == (cell.expected == NOT_YOURS) and roles.MAY.get(word) != EVERYBODY
            fits = fits and known
            if fits and cell not in self.met[guard]:
                self.met[guard].append(cell)

    def notices(self, cells: Iterable[Cell], gone: Iterable[str]) -> bool:
        with without(gone, self.member):
            return any(faults(self.stage, cell) for cell in cells)

    def holds_alone(self, guard: str) -> bool:
        """Some cell is refused by this guard when every other of its kind is gone, and by nothing without it.
        Lookups stay where a guard by role is asked: it goes by the role that they tell."""
        kind = {other for other in self.met if (other in LOOKUPS) == (guard in LOOKUPS)}
        for cell in self.met[guard]:
            if not self.notices([cell], kind - {guard}) and self.notices([cell], kind):
                return True
        return False


@pytest.fixture
def matrix(stage: Stage) -> Matrix:
    made = Matrix(stage)
    made.follow()
    return made


def test_every_word_given_to_every_role_is_noticed(stage: Stage) -> None:
    """A word that a rule narrows is given away together with the rule, which refuses the same people."""
    matrix, ways, unseen = Matrix(stage), [0, 0], []
    for word in [word for word, may in roles.MAY.items() if may != EVERYBODY]:
        cells = [cell for cell in matrix.too_low if cell.row.action == word]
        with pytest.MonkeyPatch.context() as patch:
            patch.setitem(roles.MAY, word, EVERYBODY)
            noticed = [matrix.notices(cells, gone) for gone in ((), RULES)]
        if True in noticed:
            ways[noticed.index(True)] += 1
        else:
            unseen.append(word)
    print(f"words given to everybody: noticed {ways[0]}, with the rule that narrows them {ways[1]}")
    assert sum(ways) and not unseen


def test_every_guard_taken_away_is_noticed(matrix: Matrix) -> None:
    """By itself; or, where another stands before or behind it, by what it refuses when they are gone."""
    narrow = {at for at, of in matrix.places.items() if roles.MAY.get(of.word, EVERYBODY) != EVERYBODY}
    unseen = sorted(narrow - set(matrix.met))
    alone, behind = 0, 0
    for guard in sorted(matrix.met):
        if matrix.notices(matrix.met[guard], (guard,)):
            alone += 1
        elif matrix.holds_alone(guard):
            behind += 1
        else:
            unseen.append(guard)
    left = [guard for guard in unseen if guard not in narrow or matrix.places[guard].function not in SECOND]
    print(f"guards {alone + behind + len(unseen)}: noticed {alone}, behind another and holding {behind}")
    assert set(RULES) | set(LOOKUPS) <= set(matrix.met)
    assert {of.function for of in matrix.places.values()} >= SECOND
    assert not left, "\n".join(left)
