"""Bodies nobody meant: whatever is sent, the answer is one that the description names, and never a 500."""

from __future__ import annotations

from typing import Any

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from tests.api.conftest import Programs
from tests.api.rows import JSON_WRITES, Row
from tests.api.scene import Scene
from tests.api.shape import assert_refused

NAMES = st.sampled_from(
    [
        "shape",
        "length",
        "width",
        "diameter",
        "points",
        "angle_deg",
        "at",
        "sides",
        "left",
        "value",
        "source",
        "x",
    ]
)
WORDS = st.sampled_from(
    [
        "", "6 in", "6", "wall", "0 in", "1e9 ft", "-3 in", "\u2033", "5'13\"", "us", "hole", "circle",
        "polygon", "B", "crew lead", "2026-11-25T06:30:00Z", "99999-01-01", "60 cu yd", "a@b",
        "A" * 300, "½ in", "0/0 in",
    ]
)  # fmt: skip
NUMBERS = st.integers() | st.floats(allow_nan=False, allow_infinity=False)
LEAVES = st.none() | st.booleans() | NUMBERS | st.text() | WORDS


def _nested(inside: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.lists(inside, max_size=5) | st.dictionaries(NAMES | st.text(), inside, max_size=5)


VALUES = st.recursive(LEAVES, _nested, max_leaves=12)


def paths_in(value: Any, here: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Every place in a body that something else can be put."""
    inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [here, *(path for key, each in inside for path in paths_in(each, (*here, key)))]


def put(value: Any, path: tuple[Any, ...], new: Any) -> Any:
    if not path:
        return new
    if isinstance(value, dict):
        return {**value, path[0]: put(value[path[0]], path[1:], new)}
    return [put(each, path[1:], new) if i == path[0] else each for i, each in enumerate(value)]


@st.composite
def bent(draw: st.DrawFn, right: dict[str, Any]) -> Any:
    """A right body with one to three places in it made into something else."""
    body: Any = right
    for _ in range(draw(st.integers(1, 3))):
        body = put(body, draw(st.sampled_from(paths_in(body))), draw(VALUES))
    return body


# A finished walk and a placing may be told with no body at all.
WITH_NONE = ("/walks", "/placed", "/start-placing")
ASK_FOR_A_BODY = [row for row in JSON_WRITES if not row.path.endswith(WITH_NONE)]
QUIET = settings(
    max_examples=400, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)


def test_no_body_makes_a_call_break(scene: Scene, programs: Programs) -> None:
    @QUIET
    @given(row=st.sampled_from(JSON_WRITES), data=st.data())
    def send(row: Row, data: st.DataObject) -> None:
        body = data.draw(bent(row.right_body(scene) or {}), "body")
        answer = programs.manager.request(row.method, scene.path(row.path), json=body)
        if answer.status_code == row.status:
            return
        assert answer.status_code in (404, 409, 422), (answer.status_code, answer.text)
        assert_refused(answer, answer.status_code)

    send()


def test_no_bytes_make_a_call_break(scene: Scene, programs: Programs) -> None:
    kinds = st.sampled_from(
        ["application/json", "text/plain", "multipart/form-data; boundary=x", "a/b+json", ";"]
    )

    @settings(QUIET, max_examples=150)
    @given(row=st.sampled_from(ASK_FOR_A_BODY), content=st.binary(max_size=200), kind=kinds)
    def send(row: Row, content: bytes, kind: str) -> None:
        headers = {"Content-Type": kind}
        path = scene.path(row.path)
        assume(content or row.body)  # a call that takes no field takes an empty body
        answer = programs.manager.request(row.method, path, content=content, headers=headers)
        assert_refused(answer, 422)

    send()
