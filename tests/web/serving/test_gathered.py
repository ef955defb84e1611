"""What a page names is gathered as one file of each kind, and runs as the files would have run one by one."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from service.web.serving.gathered import NotGathered, as_one_module, gather, joined
from service.web.serving.render import STATIC
from service.web.serving.static import MOST_KEPT, MOST_TOGETHER, StaticFiles
from tests.web.serving.test_static import ask

PAGE = """<head><link rel="stylesheet" href="/static/a.css?v=1">
<script src="/static/one.js?v=1"></script>
<script type="module" src="/static/m.js?v=1"></script>
<link rel="stylesheet" href="/static/b.css?v=1">
<script src="/static/two.js?v=1"></script>
</head><body><noscript><link rel="stylesheet" href="/static/still.css?v=1"></noscript>
<script type="module" src="/static/n.js?v=1"></script><script type="module" src="/static/m.js?v=1"></script>
<script type="application/json" data-live>{}</script></body>"""


def test_a_page_asks_for_one_of_each_kind_in_the_order_it_named_them() -> None:
    html = gather(PAGE, lambda names, modules: f"{'modules' if modules else ''}+{'+'.join(names)}")
    assert re.findall(r'(?:href|src)="([^"]+)"', html) == [
        "+a.css+b.css", "+one.js+two.js", "modules+m.js+n.js", "/static/still.css?v=1",
    ]  # fmt: skip
    assert "data-live" in html


def test_a_page_that_names_nothing_is_left_as_it_is() -> None:
    assert gather("<head></head><body>x</body>", lambda *_: "wrong") == "<head></head><body>x</body>"


SOURCES = {
    "main.js": 'import { one, two as other } from "./parts.js?v=0a";\nconst self = "main";\n'
    'await null;\nglobalThis.said = [one(), other, self, globalThis.times].join(" ");',
    "parts.js": 'import { three } from "./deep.js";\nexport { four } from "./deep.js";\n'
    'const self = "parts";\nglobalThis.times = (globalThis.times ?? 0) + 1;\n'
    "export function one() { return self; }\nexport const two = three + 1;",
    "deep.js": 'const self = "deep";\nexport const three = 3, four = 4;',
    "second.js": 'import { four } from "./parts.js";\nconst self = "second";\nglobalThis.also = four;',
}


@pytest.mark.parametrize(
    "source",
    ['import whole from "./deep.js";', 'import * as all from "./deep.js";', "export default 3;",
     "export let changing = 1;", 'import "./deep.js";'],
)  # fmt: skip
def test_what_cannot_be_gathered_is_refused_and_not_passed_on_broken(source: str) -> None:
    with pytest.raises(NotGathered):
        as_one_module(("odd.js",), {**SOURCES, "odd.js": source}.__getitem__)


def test_modules_that_take_from_one_another_in_a_ring_are_refused() -> None:
    ring = {
        "a.js": 'import { b } from "./b.js";\nexport const a = 1;',
        "b.js": 'import { a } from "./a.js";\nexport const b = a;',
    }
    with pytest.raises(NotGathered):
        as_one_module(("a.js",), ring.__getitem__)


def test_every_script_of_the_project_can_be_gathered() -> None:
    folder = STATIC.folder
    modules = [path.name for path in folder.glob("*.js") if not path.name.startswith("worker")]
    for name in modules:
        assert ask(STATIC, STATIC.together((name,), True)).status_code == 200, name


def test_only_files_that_are_here_are_gathered_and_not_more_than_pages_ask_for(tmp_path: Path) -> None:
    for name in ("a.css", "b.css", "c.js"):
        (tmp_path / name).write_text(f"/* {name} */")
    shelf = StaticFiles(tmp_path)
    assert ask(shelf, shelf.together(("a.css", "b.css"), False)).text == "/* a.css */\n/* b.css */"
    for name in ("+a.css+none.css", "+a.css+c.js", "+", "modules+", "odd+a.css", "+../a.css", "+a.css" * 17):
        assert ask(shelf, f"/static/{name}").status_code == 404, name
    for n in range(MOST_KEPT + 50):
        order = "+".join(("a.css", "b.css")[n >> i & 1] for i in range(MOST_TOGETHER - 7))
        assert ask(shelf, f"/static/+{order}").status_code == 200
    assert len(shelf._kept) <= MOST_KEPT


def test_styles_and_plain_scripts_stand_one_after_another() -> None:
    assert joined(("b", "a"), {"a": "1", "b": "2"}.__getitem__) == "2\n1"
