"""The two programs of roll cutting, solved by HiGHS: what each length is worth, and whole rolls by way.

One thread and counted effort, never a clock: the same ways always get the same answer. Only ways that fit in
whole nanometres come here, and what comes back is counted again.
"""

from __future__ import annotations

from collections.abc import Sequence

import highspy
import numpy as np

Way = tuple[int, ...]  # how many pieces of each length come off one roll

# Where the search for whole rolls stops: branches of it, and branches that bring nothing better.
MOST_NODES, MOST_IDLE_NODES = 300, 150
_INFINITE = highspy.kHighsInf


class _Quiet(highspy.Highs):
    """A solver that prints nothing: it greets on its first call, so it is silenced in place of that."""

    def enableCallbacks(self) -> None:
        self.silent()


def _solver() -> _Quiet:
    solver = _Quiet()  # type: ignore[no-untyped-call]  # highspy leaves its own untyped
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("parallel", "off")
    return solver


class _Rolls:
    """A program whose rows are the lengths, so many pieces of each at least, and whose columns are ways."""

    def __init__(self, counts: Sequence[int]) -> None:
        self.solver = _solver()
        none = np.array([], dtype=np.int32)
        for count in counts:
            self.solver.addRow(float(count), _INFINITE, 0, none, none.astype(np.float64))

    def add(self, way: Way) -> None:
        used = np.flatnonzero(way).astype(np.int32)
        pieces = np.array(way, dtype=np.float64)[used]
        self.solver.addCol(1.0, 0.0, _INFINITE, len(used), used, pieces)


class Prices:
    """What a piece of each length is worth, in rolls, by the ways known so far (Gilmore and Gomory 1961):
    the duals of the least rolls, parts of rolls allowed, that give all the pieces."""

    def __init__(self, counts: Sequence[int], ways: Sequence[Way]) -> None:
        self._rolls = _Rolls(counts)
        for way in ways:
            self.add(way)

    def add(self, way: Way) -> None:
        """Let rolls be cut in this way too."""
        self._rolls.add(way)

    def of_each(self) -> list[float]:
        """A price for each length; the ways known must give every length."""
        return [max(0.0, price) for price in self._solved().row_dual]

    def rolls(self) -> list[float]:
        """How many rolls of each way, in the order they were added, parts of rolls allowed."""
        return list(self._solved().col_value)

    def ask(self, counts: Sequence[int]) -> None:
        """Ask for so many pieces from now on."""
        for i, count in enumerate(counts):
            self._rolls.solver.changeRowBounds(i, float(count), _INFINITE)

    def _solved(self) -> highspy.HighsSolution:
        solver = self._rolls.solver
        solver.run()
        assert solver.getModelStatus() == highspy.HighsModelStatus.kOptimal, "prices of no program"
        return solver.getSolution()


def fewer_rolls(
    counts: Sequence[int], ways: Sequence[Way], at_least: int, under: int
) -> tuple[list[Way] | None, bool]:
    """A way for each roll, together all the pieces: fewer than `under`, as few as the search finds, no fewer
    than `at_least`; None where it finds none. And whether the solver says, its search ended, that no fewer
    rolls cut in these ways give them.

    It is not told the cutting known so far: version 1.16 then called dearer ones the best there are.
    """
    solver = _whole(counts, ways)
    every = np.arange(len(ways), dtype=np.int32)
    solver.addRow(float(at_least), float(under - 1), len(ways), every, np.ones(len(ways)))
    solver.run()
    status = solver.getModelStatus()
    if status == highspy.HighsModelStatus.kInfeasible:
        return None, True
    times = solver.getSolution().col_value or [0.0] * len(ways)
    found = [way for way, n in zip(ways, times, strict=True) for _ in range(round(n))]
    given = [sum(off) for off in zip(*found, strict=True)] or [0] * len(counts)
    if len(found) < under and all(have >= count for have, count in zip(given, counts, strict=True)):
        return found, status == highspy.HighsModelStatus.kOptimal
    return None, False


def _whole(counts: Sequence[int], ways: Sequence[Way]) -> highspy.Highs:
    """The program of whole rolls, its search bounded."""
    rolls = _Rolls(counts)
    for i, way in enumerate(ways):
        rolls.add(way)
        rolls.solver.changeColIntegrality(i, highspy.HighsVarType.kInteger)
    for option, value in (("mip_max_nodes", MOST_NODES), ("mip_max_stall_nodes", MOST_IDLE_NODES)):
        rolls.solver.setOptionValue(option, value)
    # Rolls are whole: within less than 1 of what cannot be undercut is there.
    rolls.solver.setOptionValue("mip_abs_gap", 0.99)
    rolls.solver.setOptionValue("mip_rel_gap", 0.0)
    return rolls.solver
