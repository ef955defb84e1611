"""Forms nobody meant: a right form with fields bent, left out, doubled or made up; odd addresses."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

import httpx
from hypothesis import strategies as st

from tests.whole.asking import CREW_LEAD, INSPECTOR, PROJECT_MANAGER
from tests.whole.routes import ROWS, Row

HUGE = "9" * 5000
NASTY = [
    "", " ", "\x00", "a\x00b", HUGE, "1e400", "nan", "inf", "-0", "-0.0", "-1", "0", "٣", "²", "½", "1/0 in",
    "\u202eabc\u2066", "\ufffe", "😀" * 50, "x" * 10_000, "1e9 ft", "-3 in", "6", "5'13\"", "' OR 1=1 --",
    "<script>alert(1)</script>", "{{ 7*7 }}", "%s%n", "../../etc", "0002-01-01T00:00", "9998-12-31T23:59",
    "2026-03-08T02:30", "2026-11-26T06:30+09:00", "[]", "[[]]", "{}", "[" * 3000, "[[NaN,1],[2,3],[4,5]]",
    "[[1" + "0" * 400 + ",1],[2,3],[4,5]]", "[[1,1],[1,1],[1,1]]", "[[1e308,1],[-1e308,3],[4,5]]",
    "0,1,1,0,0", f"0,{10**400},1,0,0", f"{10**30},1,1,0,0", "-9,-9,-9,-9,-9", "a" * 64, "a" * 64 + "-1",
    "right 20 ft", "right 1e9 ft\ndown 1", "yes", "wall", "circle", "polygon", "slit", "size", "middle",
    "move-left", "again-1", "undo", "crew lead", "storm", "1:0000", "on",
]  # fmt: skip
FIELDS = [
    "look", "press.x", "press.y", "do", "request_key", "turn", "turn_deg", "corners", "pad_unit", "walked",
    "take", "page", "kept", "sides", "work", "also", "cut_length", "cut_width", "offset_x", "offset_y",
    "offset_x_way", "seen", "digest", "sure", "revision", "angle_deg", "slit_angle", "shape", "by", "check",
    "tape_width", "x", "y", "x1", "y1", "x2", "y2", "outline", "spacing", "more", "toward", "label", "lot",
    "unit", "diameter", "opening", "kind", "place_at", "at", "volume", "email", "role", "next", "distance",
    "confirm", "slit_length", "length", "width", "step", "effect", "note", "reason", "zone", "letter", "name",
    "again", "statement", "cause", "left_wall", "patch_overlap", "patch_overlap_source", "cut_allowance",
    "gate_demands_0", "gate_demands_was", "collar_length_factor", "drop", "looked", "walk_note", "method",
]  # fmt: skip

FORM_ROWS = [row for row in ROWS if row.method == "POST" and not row.program and not row.files]
WHO = (CREW_LEAD, PROJECT_MANAGER, INSPECTOR)
VALUES = st.sampled_from(NASTY) | st.text(max_size=40) | st.floats().map(str) | st.integers().map(str)


@st.composite
def bent_forms(draw: st.DrawFn) -> tuple[Row, str, list[tuple[str, str]]]:
    """A row, who sends it, and its fields in order, some of them bent."""
    row = draw(st.sampled_from(FORM_ROWS))
    fields = list(row.form.items())
    for _ in range(draw(st.integers(1, 4))):
        name, value = draw(st.sampled_from([*FIELDS, *row.form])), draw(VALUES)
        fields = [pair for pair in fields if pair[0] != name or draw(st.integers(0, 4)) == 0]
        fields.append((name, value))
    if draw(st.integers(0, 9)) == 0:
        fields = fields[1:]
    return row, draw(st.sampled_from(WHO)), fields


def send_bent(
    client: httpx.Client, row: Row, ids: dict[str, str], fields: list[tuple[str, str]]
) -> httpx.Response:
    named = [(name, ids[value[1:]] if value in ("@digest",) else value) for name, value in fields]
    body = urlencode(named, errors="surrogatepass").encode()
    kind = {"Content-Type": "application/x-www-form-urlencoded"}
    return client.post(row.address(ids), content=body, headers=kind)


# --- addresses and headers -------------------------------------------------------------------------------

QUERIES = [
    "said", "did", "before", "after", "limit", "zone", "tag", "person", "kind", "day", "at", "entry", "then",
    "first", "second", "kept", "name", "picture", "v", "coming", "level", "x", "y", "w", "h", "small", "next",
    "first_at", "second_at", "at2", "entry2", "other", "from", "to", "state",
]  # fmt: skip
IDS = [
    "a" * 10_000,
    "%00",
    "%FF%FE",
    "%ED%A0%80",
    "..%2f..%2f",
    "%E2%80%AE",
    "'--",
    "%0d%0aX:1",
    "%20",
    "%25",
]
GETS = [row for row in ROWS if row.method == "GET"]


@st.composite
def bent_addresses(draw: st.DrawFn) -> tuple[Row, dict[str, str], dict[str, str]]:
    """A row that is looked at, odd ids for some of the things it names, and an odd query."""
    row = draw(st.sampled_from(GETS))
    odd = {name: draw(st.sampled_from(IDS)) for name in row.names if draw(st.integers(0, 3)) == 0}
    query = draw(st.dictionaries(st.sampled_from(QUERIES), VALUES, max_size=3))
    return row, odd, query


def look_bent(
    client: httpx.Client, row: Row, ids: dict[str, str], odd: dict[str, str], query: dict[str, Any]
) -> httpx.Response:
    named = {name: odd.get(name, ids[row.ids.get(name, name)]) for name in row.names}
    asked = urlencode(query, errors="surrogatepass")
    where = row.path.format(**named) + row.query.format(**ids)
    return client.get(where + ("&" if "?" in where else "?") + asked)
