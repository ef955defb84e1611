"""OWASP ASVS 5.0.0, levels 1 and 2, answered line by line in asvs.csv: none is left out, and "met" is shown.

The list of requirements is that of OWASP/ASVS, tag v5.0.0_release, the English CSV in its folder 5.0/docs_en;
its sentences are CC BY-SA and not repeated here. A requirement that asks for something written down is
answered where the column "how" is that, or names it.
"""

from __future__ import annotations

import ast
import csv
import hashlib
from collections.abc import Iterable
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TABLE = Path(__file__).with_name("asvs.csv")
HEAD = ["requirement", "level", "answer", "how", "shown by"]
ANSWERS = {"met", "not applicable", "accepted", "not met"}
# SHA-256 of the 253 numbers in order (by chapter, section and number), a line break between them.
NUMBERS = "8751ab9539fda73863d003f3456022a1829dfa180672b5847ebf2314ffa97320"


def rows() -> list[list[str]]:
    with TABLE.open(newline="") as file:
        head, *found = list(csv.reader(file))
    assert head == HEAD
    return found


@cache
def names_in(path: str) -> frozenset[str]:
    file = ROOT / path
    if not (file.is_file() and file.name.startswith("test_")):
        return frozenset()
    nodes = ast.walk(ast.parse(file.read_text()))
    return frozenset(node.name for node in nodes if isinstance(node, ast.FunctionDef))


def faults(table: Iterable[list[str]]) -> list[str]:
    """What is wrong with the answers, whichever requirements they are to."""
    found = []
    for number, level, answer, how, shown in table:
        path, _, test = shown.partition("::")
        if level not in ("1", "2") or answer not in ANSWERS or not how.strip() or not shown.strip():
            found.append(f"{number} is not answered")
        elif answer == "met" and not (test.startswith("test_") and test in names_in(path)):
            found.append(f"{number} is met by no test: {shown}")
    return found


def test_each_of_the_253_requirements_is_answered_once() -> None:
    numbers = [row[0] for row in rows()]
    assert len(numbers) == 253
    assert hashlib.sha256("\n".join(numbers).encode()).hexdigest() == NUMBERS
    assert sum(row[1] == "1" for row in rows()) == 70


def test_every_answer_says_how_and_what_is_met_names_a_test_that_is_there() -> None:
    assert faults(rows()) == []


def test_an_answer_without_a_test_a_reason_or_a_word_of_the_four_is_found() -> None:
    test = "tests/whole/test_asvs.py::test_each_of_the_253_requirements_is_answered_once"
    right = ["1.1.1", "2", "met", "so", test]
    assert faults([right]) == []
    for column, wrong in ((1, "3"), (2, "partly"), (3, " "), (4, "tests/whole/test_asvs.py"), (4, "see how")):
        row = [*right[:column], wrong, *right[column + 1 :]]
        assert len(faults([row])) == 1, row
