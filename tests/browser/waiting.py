"""Waiting for a page, asked from outside: a poll inside the page is an `eval`, which our policy refuses."""

from __future__ import annotations

import time

from playwright.sync_api import Error, Page

PATIENCE_S = 30.0


def until(page: Page, expression: str) -> None:
    """Until the expression is true in the page. AssertionError when it is not in time."""
    ends = time.monotonic() + PATIENCE_S
    while time.monotonic() < ends:
        try:
            if page.evaluate(f"Boolean({expression})"):
                return
        except Error:  # the page was on its way to the next one
            page.wait_for_load_state()
        page.wait_for_timeout(25)
    raise AssertionError(f"not in {PATIENCE_S:g} s: {expression}")
