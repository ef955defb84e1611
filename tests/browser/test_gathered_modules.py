"""Modules gathered into one run as the browser would have run them one by one."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser

from service.web.serving.gathered import as_one_module
from tests.web.serving.test_gathered import SOURCES

pytestmark = pytest.mark.browser


def test_modules_run_once_each_in_scopes_of_their_own(chromium: Browser) -> None:
    """The browser is the judge: each `self` keeps its own value, and what is shared is run once."""
    context = chromium.new_context()
    page = context.new_page()
    page.evaluate(as_one_module(("main.js", "second.js"), SOURCES.__getitem__) + "\nnull")
    page.wait_for_function("globalThis.said")
    assert page.evaluate("[globalThis.said, globalThis.also]") == ["parts 4 main 1", 4]
    context.close()
