"""What the sources never do: run text as program, unpickle, draw weak numbers, write markup from scripts.

Requirements are named by their numbers in OWASP ASVS 5.0.0. `ruff`'s S rules hold much of it while one types;
this holds it in the suite.
"""

from __future__ import annotations

import ast
import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PYTHON = [*sorted((ROOT / "service").rglob("*.py")), *sorted((ROOT / "migrations").rglob("*.py"))]
STATIC = ROOT / "templates" / "static"
SCRIPTS = [file for file in sorted(STATIC.rglob("*.js")) if "vendor" not in file.parts]

MODULES = {
    "1.5.2 takes anything in": {"pickle", "marshal", "shelve", "dill", "yaml"},
    "1.5.1 XML": {"xml", "lxml"},
    "11.5.1 can be guessed": {"random"},
    "1.2.6, 1.3.8, 1.3.9 another language to inject into": {"ldap", "ldap3", "pymemcache"},
}
CALLS = {
    "1.3.2 runs text": {"eval", "exec", "compile", "__import__"},
    "1.3.7 makes a template of text": {"from_string", "Template"},
    "1.2.5 runs a shell": {"system", "popen", "getoutput", "getstatusoutput"},
    "11.4.1 is broken": {"md5", "sha1"},
}
BARE = CALLS["1.3.2 runs text"]  # `session.exec` and `re.compile` run nothing
FINE = {("getoutput", "subprocess")}  # the record's own program asks openssl for its version, by a fixed text
FIXED = (ast.Constant, ast.JoinedStr, ast.BinOp, ast.Name)  # patterns written in the sources
IN_SCRIPTS = {
    "1.3.2 runs text": r"\beval\(|new Function\(|set(?:Timeout|Interval)\(\s*[\"'`]",
    "3.2.2 writes markup": r"\.(?:inner|outer)HTML\s*=|insertAdjacentHTML|document\.write",
    "3.5.5 hears other windows": r"window\.addEventListener\(\"message\"|onmessage",
    "15.3.6 lets a name of Object's through": r"__proto__|\.constructor\[",
    "3.6.1 comes from elsewhere": r"(?:import|fetch)\(\s*[\"']https?:",
}


def of_python(source: str) -> list[str]:
    """What this text of Python does that no source may."""
    found = []
    for node in ast.walk(ast.parse(source)):
        names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
        names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
        for name in names:
            found += [why for why, modules in MODULES.items() if name.split(".")[0] in modules]
        if isinstance(node, ast.Call):
            found += _called(node)
    return found


def _called(node: ast.Call) -> list[str]:
    called = node.func
    name = getattr(called, "attr", getattr(called, "id", ""))
    of = getattr(getattr(called, "value", None), "id", "")
    runs = isinstance(called, ast.Name) or name not in BARE
    found = [why for why, names in CALLS.items() if name in names and runs and (name, of) not in FINE]
    shell = [word for word in node.keywords if word.arg == "shell" and not _is_false(word.value)]
    fixed = not node.args or isinstance(node.args[0], FIXED) or ast.unparse(node.args[0])[:9] == "_NUMBER.f"
    if of == "re" and name != "escape" and not fixed:
        found.append("1.2.9 makes a pattern of text")
    return found + (["1.2.5 runs a shell"] if shell and of in ("subprocess", "os") else [])


def _is_false(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and node.value is False


def of_script(source: str) -> list[str]:
    return [why for why, pattern in IN_SCRIPTS.items() if re.search(pattern, source)]


def test_no_source_of_the_service_does_what_none_may() -> None:
    assert len(PYTHON) > 300
    found = {str(file.relative_to(ROOT)): of_python(file.read_text()) for file in PYTHON}
    assert {name: why for name, why in found.items() if why} == {}


def test_no_script_does_what_none_may() -> None:
    assert len(SCRIPTS) > 20
    found = {file.name: of_script(file.read_text()) for file in SCRIPTS}
    assert {name: why for name, why in found.items() if why} == {}


def test_a_source_that_does_is_found() -> None:
    python = {
        "import pickle": "1.5.2",
        "from xml.etree import ElementTree": "1.5.1",
        "import random": "11.5.1",
        "eval(x)": "1.3.2",
        "env.from_string(x)": "1.3.7",
        "subprocess.run(x, shell=True)": "1.2.5",
        "os.system(x)": "1.2.5",
        "hashlib.md5(x)": "11.4.1",
        "re.search(form.value('x'), y)": "1.2.9",
    }
    scripts = {
        "eval('x')": "1.3.2",
        "a.innerHTML = b": "3.2.2",
        'window.addEventListener("message", f)': "3.5.5",
        "x.__proto__ = y": "15.3.6",
        'import("https://x.example/a.js")': "3.6.1",
    }
    for texts, finds in ((python, of_python), (scripts, of_script)):
        for text, number in texts.items():
            assert [why.split()[0] for why in finds(text)] == [number], text


def test_the_proxy_tells_the_address_that_came_to_it_and_not_what_the_sender_says() -> None:
    """4.1.3 and 15.3.4: tries at a password are counted by it, so nobody may choose it."""
    proxy = (ROOT / "deploy" / "proxy.conf").read_text()
    assert re.search(r"header_up X-Forwarded-For \{remote_host\}", proxy)


def asks_outside(source: str) -> list[ast.Call]:
    """Every call of this text that may ask another machine by httpx."""
    calls = [node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Call)]
    return [
        call
        for call in calls
        if re.fullmatch(r"httpx\.(get|post|put|request|stream|Client)", ast.unparse(call.func))
    ]


def test_no_call_to_another_machine_follows_where_it_is_sent() -> None:
    """15.3.2: each says so itself, whatever the library does by default."""
    calls = [call for file in PYTHON for call in asks_outside(file.read_text())]
    assert len(calls) >= 4
    for call in calls:
        said = [word for word in call.keywords if word.arg == "follow_redirects"]
        assert len(said) == 1 and _is_false(said[0].value), ast.unparse(call)
