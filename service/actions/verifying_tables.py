"""A record's tables against what a replay of its entries tells: every zone's state, and every sentence."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from service.actions.cells import as_typed
from service.actions.record_tables import history_table, zones_table
from service.history.verifying.findings import Files, Finding, Unreadable, fails, holds
from service.history.verifying.whole import MOST_TABLE_BYTES, Checked, rows_of

Row = Mapping[str, str]
HISTORY, ZONES, PEOPLE = "history.csv", "zones.csv", "people.csv"


def table_findings(files: Files, checked: Checked) -> Iterator[Finding]:
    """Row by row, by the columns that both know: another program may have told less."""
    present = [name for name in (HISTORY, ZONES) if name in files.names]
    if checked.entries is None or checked.site is None or not present:
        return
    read = {}
    for name in (HISTORY, ZONES, PEOPLE):
        try:
            read[name] = rows_of(files.content(name, MOST_TABLE_BYTES))
        except (KeyError, Unreadable):
            continue  # told where all files are
        except ValueError:
            yield fails("table", f"{name} is no table.")
            return
    # The names are the record's own: the history tells nobody's.
    names = {row.get("id", ""): as_typed(row["name"]) for row in read.get(PEOPLE, ()) if row.get("name")}
    faults: list[Finding] = []
    if HISTORY in read:
        faults += _differences(HISTORY, "seq", read[HISTORY], rows_of(_history(checked, names).encode()))
    if ZONES in read:
        faults += _differences(ZONES, "id", read[ZONES], rows_of(zones_table(checked.site).encode()))
    yield from faults
    if not faults and read:
        tables_told = " and ".join(name for name in (HISTORY, ZONES) if name in read)
        yield holds("tables", f"{tables_told} tell what a replay of the entries tells.")


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


def _history(checked: Checked, names: dict[str, str]) -> str:
    assert checked.entries is not None and checked.site is not None and checked.site.project is not None
    up_to = checked.up_to
    return history_table(checked.entries[:up_to], checked.leaves[:up_to], names, checked.site.project.units)
