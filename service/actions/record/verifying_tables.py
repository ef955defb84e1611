"""A record's tables against what a replay of its entries tells: every zone's state, and every sentence."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from service.actions.frame.cells import as_typed
from service.actions.record.tables import history_table, zones_table
from service.history.verifying.findings import Files, Finding, Unreadable, fails, holds
from service.history.verifying.whole import MOST_TABLE_BYTES, Checked, rows_of

Row = Mapping[str, str]
HISTORY, ZONES, PEOPLE = "history.csv", "zones.csv", "people.csv"


def table_findings(files: Files, checked: Checked) -> Iterator[Finding]:
    """Row by row, by the columns that both know: another program may have told less."""
    present = [name for name in (HISTORY, ZONES) if name in files.names]
    if checked.entries is None or checked.site is None or not present:
        return
    faults = [fault for name in present for fault in _faults(files, name, checked)]
    yield from faults
    if not faults:
        yield holds("tables", f"{' and '.join(present)} tell what a replay of the entries tells.")


def _faults(files: Files, name: str, checked: Checked) -> Iterator[Finding]:
    try:
        content = files.content(name, MOST_TABLE_BYTES)
        told = _history(files, checked) if name == HISTORY else _zones(checked)
        if content == told.encode():
            return
        kept = rows_of(content)
    except Unreadable:
        return  # told where all files are
    except ValueError:
        yield fails("table", f"{name} is no table.")
        return
    yield from _differences(name, "seq" if name == HISTORY else "id", kept, rows_of(told.encode()))


def _history(files: Files, checked: Checked) -> str:
    """The names are the record's own: the history tells nobody's."""
    assert checked.entries is not None and checked.site is not None and checked.site.project is not None
    try:
        people = rows_of(files.content(PEOPLE, MOST_TABLE_BYTES))
    except (KeyError, Unreadable, ValueError):
        people = []
    names = {row.get("id", ""): as_typed(row["name"]) for row in people if row.get("name")}
    up_to = checked.up_to
    return history_table(checked.entries[:up_to], checked.leaves[:up_to], names, checked.site.project.units)


def _zones(checked: Checked) -> str:
    assert checked.site is not None
    return zones_table(checked.site, checked.states)


def _differences(name: str, key: str, kept: Sequence[Row], told: Sequence[Row]) -> Iterator[Finding]:
    for row, other in zip(kept, told, strict=False):
        column = next((c for c in other if c in row and row[c] != other[c]), None)
        if column is not None or row.get(key) != other[key]:
            column = column or key
            what = f'{name} tells {column} of {other[key]} as "{row.get(column, "")[:200]}"'
            yield fails("table", f'{what}, and a replay of the entries as "{other[column][:200]}".')
    if len(kept) != len(told):
        yield fails(
            "table", f"{name} has {len(kept):,} rows, and a replay of the entries gives {len(told):,}."
        )
