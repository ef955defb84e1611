"""Reads the forms of a page as a browser without scripts would send them."""

from __future__ import annotations

from html.parser import HTMLParser


class _Forms(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.forms: dict[str, dict[str, str]] = {}
        self._fields: dict[str, str] | None = None
        self._area = self._select = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == "form":
            self._fields = self.forms.setdefault(given.get("action", ""), {})
        if self._fields is None:
            return
        if tag == "input" and "name" in given:
            boxes = given.get("type") in ("radio", "checkbox")
            if not boxes or "checked" in given:
                self._fields[given["name"]] = given.get("value", "on")
        elif tag == "textarea":
            self._area = given["name"]
            self._fields[self._area] = ""
        elif tag == "select":
            self._select = given["name"]
        elif tag == "option" and (self._select not in self._fields or "selected" in given):
            self._fields[self._select] = given.get("value", "")

    def handle_data(self, data: str) -> None:
        if self._area and self._fields is not None:
            self._fields[self._area] += data.removeprefix("\n")

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._fields = None
        elif tag == "textarea":
            self._area = ""
        elif tag == "select":
            self._select = ""


def form_of(html: str, action: str) -> dict[str, str]:
    """The fields of the form with this action, filled as the page fills them. KeyError without one."""
    read = _Forms()
    read.feed(html)
    return read.forms[action]


def actions_of(html: str) -> list[str]:
    read = _Forms()
    read.feed(html)
    return [action for action in read.forms if action not in ("/language", "/type-size")]  # of every page
