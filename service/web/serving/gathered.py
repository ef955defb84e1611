"""A page's scripts and styles as one file of each kind: every further request costs a round trip.

The sources stay as they are, one file a matter, and a page names what it needs; what it names is gathered
when it is made. `/static/+look.css+phone.css?v=...` is these files in this order. Scripts that are modules
come with what they take from one another, each once and in a scope of its own, as a browser would run them.
"""

from __future__ import annotations

import re
from collections.abc import Callable

Address = Callable[[tuple[str, ...], bool], str]  # names, and whether they are modules
Read = Callable[[str], str]

_STYLE = re.compile(r'<link rel="stylesheet" href="/static/([\w.-]+)\?v=\w+">\n?')
_CLASSIC = re.compile(r'<script src="/static/([\w.-]+)\?v=\w+"></script>\n?')
_MODULE = re.compile(r'<script type="module" src="/static/([\w.-]+)\?v=\w+"></script>\n?')
_FROM = r' from "\./([\w.-]+\.js)(?:\?v=\w+)?";$'
_IMPORT = re.compile(r"^import \{([^}]*)\}" + _FROM, re.MULTILINE)
_PASSED_ON = re.compile(r"^export \{([^}]*)\}" + _FROM, re.MULTILINE)
_EXPORT = re.compile(r"^export (?=(?:async )?function\b|const\b|class\b)", re.MULTILINE)


class NotGathered(ValueError):
    """A script is written in a way that cannot be gathered: it names what it takes in another form."""


def gather(html: str, address: Address) -> str:
    """The page with one style sheet, one script and one module where it named several.

    `address`: the address of files of one kind together. A style sheet that the body names stays where it
    is: it stands in a noscript, and is asked for there alone.
    """
    head, end, body = html.partition("</head>")
    html = _together(head, _STYLE, '<link rel="stylesheet" href="{}">\n', address) + end + body
    html = _together(html, _CLASSIC, '<script src="{}"></script>\n', address)
    return _together(html, _MODULE, '<script type="module" src="{}"></script>\n', address)


def _together(html: str, pattern: re.Pattern[str], tag: str, address: Address) -> str:
    """All that the pattern finds as one, where the first of them stood."""
    names = tuple(dict.fromkeys(pattern.findall(html)))
    first = pattern.search(html)
    if first is None or (len(names) < 2 and pattern is not _MODULE):
        return html
    before, after = html[: first.start()], html[first.end() :]
    return before + tag.format(address(names, pattern is _MODULE)) + pattern.sub("", after)


def joined(names: tuple[str, ...], read: Read) -> str:
    """Style sheets, or scripts that are no modules, one after another."""
    return "\n".join(read(name) for name in names)


def as_one_module(names: tuple[str, ...], read: Read) -> str:
    """The modules and all they take, each in a scope of its own, those taken from first.

    NotGathered where one takes something in a form this does not read, or they take from one another.
    """
    order: list[str] = []
    _in_order(names, read, order, ())
    wanted: dict[str, set[str]] = {name: set() for name in order}
    for name in order:
        for pattern in (_IMPORT, _PASSED_ON):
            for what, other in pattern.findall(read(name)):
                wanted[other] |= {_names(part)[0] for part in what.split(",") if part.strip()}
    place = {name: f"m{i}" for i, name in enumerate(order)}
    return "\n".join(_scope(name, read(name), wanted[name], place) for name in order)


def _in_order(names: tuple[str, ...], read: Read, order: list[str], above: tuple[str, ...]) -> None:
    for name in names:
        if name in above:
            raise NotGathered(f"{name} takes from itself by way of {' and '.join(above)}")
        if name in order:
            continue
        source = read(name)
        taken = [other for pattern in (_IMPORT, _PASSED_ON) for _, other in pattern.findall(source)]
        _in_order(tuple(dict.fromkeys(taken)), read, order, (*above, name))
        order.append(name)


def _names(part: str) -> tuple[str, str]:
    """What is taken, and what it is called here."""
    there, _, here = part.strip().partition(" as ")
    return there.strip(), (here or there).strip()


def _scope(name: str, source: str, wanted: set[str], place: dict[str, str]) -> str:
    passed: list[str] = []

    def taken(found: re.Match[str]) -> str:
        pairs = [_names(part) for part in found[1].split(",") if part.strip()]
        said = ", ".join(there if there == here else f"{there}: {here}" for there, here in pairs)
        return f"const {{ {said} }} = {place[found[2]]};"

    def handed_on(found: re.Match[str]) -> str:
        passed.extend(
            f"{here}: {place[found[2]]}.{there}" for there, here in map(_names, found[1].split(","))
        )
        return ""

    body = _EXPORT.sub("", _PASSED_ON.sub(handed_on, _IMPORT.sub(taken, source)))
    if left := re.search(r"^(?:import|export)\b.*$", body, re.MULTILINE):
        raise NotGathered(f"{name}: {left[0]}")
    if not wanted:  # nobody takes from it: it may wait for something before it goes on
        return f"(async () => {{\n{body}\n}})();"
    own = sorted(wanted - {one.partition(":")[0] for one in passed})
    return f"const {place[name]} = (() => {{\n{body}\nreturn {{ {', '.join([*own, *passed])} }};\n}})();"
