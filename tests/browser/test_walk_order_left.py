"""The walk order on a phone without signal: done marks fall out, new ones go in where they cost least."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.conftest import served
from tests.browser.ground import Ground, app_of

pytestmark = pytest.mark.browser
LEFT = """async ([start, marks, legs]) => {
  const { orderLeft } = await import("/static/walk-order.js");
  return orderLeft(start, marks, legs).map((mark) => mark.tag);
}"""


@pytest.fixture(scope="module")
def page(chromium: Browser) -> Iterator[Page]:
    with served(app_of(Ground())) as address:
        context = chromium.new_context()
        opened = context.new_page()
        opened.goto(f"{address}/pipe")
        yield opened
        context.close()


def mark(tag: str, x: float, y: float = 0, done: bool = False) -> dict[str, Any]:
    return {"id": f"id-{tag}", "tag": tag, "at": [x, y], "done": done}


def left(page: Page, start: Sequence[float] | None, marks: list[dict[str, Any]], legs: Sequence[str]) -> Any:
    return page.evaluate(LEFT, [start, marks, [{"id": f"id-{tag}"} for tag in legs]])


def test_the_servers_order_stands_however_the_marks_are_handed_in(page: Page) -> None:
    marks = [mark("B-01", 5), mark("B-02", 1), mark("B-03", 9)]
    assert left(page, [0, 0], marks, ["B-03", "B-01", "B-02"]) == ["B-03", "B-01", "B-02"]


def test_a_done_mark_and_one_that_is_gone_fall_out(page: Page) -> None:
    marks = [mark("B-01", 5, done=True), mark("B-02", 1)]
    assert left(page, [0, 0], marks, ["B-03", "B-01", "B-02"]) == ["B-02"]


def test_a_new_mark_goes_in_where_the_walk_grows_least(page: Page) -> None:
    known, legs = [mark("B-01", 10), mark("B-02", 20)], ["B-01", "B-02"]
    for x, order in (
        (4, ["B-09", "B-01", "B-02"]), (14, ["B-01", "B-09", "B-02"]), (27, ["B-01", "B-02", "B-09"]),
    ):  # fmt: skip
        assert left(page, [0, 0], [*known, mark("B-09", x)], legs) == order


def test_new_marks_go_in_where_trying_every_place_finds_the_shortest(page: Page) -> None:
    places = {f"B-{k:02d}": ((k * 37) % 101, (k * 53) % 97) for k in range(1, 13)}
    legs = [tag for tag in places if tag != "B-12"]
    found = left(page, [0, 0], [mark(tag, *at) for tag, at in places.items()], legs)

    def length(order: Sequence[str]) -> float:
        steps = pairwise([(0, 0), *(places[tag] for tag in order)])
        return sum(math.hypot(ax - bx, ay - by) for (ax, ay), (bx, by) in steps)

    ways = [[*legs[:k], "B-12", *legs[k:]] for k in range(len(legs) + 1)]
    assert found == min(ways, key=length)


def test_with_no_start_and_no_order_new_marks_still_come_out_each_once(page: Page) -> None:
    marks = [mark("B-02", 1), mark("B-01", 9), mark("B-03", 2)]
    assert left(page, None, marks, []) == ["B-02", "B-03", "B-01"]
    assert left(page, None, [], ["B-01"]) == []
