"""Every sentence of every page in every language: nothing untranslated, left out, or left over."""

from __future__ import annotations

import json
import re
import shutil
import string
import sys
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html.parser import HTMLParser
from pathlib import Path

import httpx
import polib
import pytest
from fastapi import FastAPI
from pysqlite3 import dbapi2

from service.actions.demo import demo
from service.actions.entrance import accounts
from service.actions.frame import languages
from service.app import make_app
from service.settings import Settings
from service.web.entrance.languages import COOKIE
from service.web.serving import guards
from tests.browser.test_manners import _pages, _person, half_in
from tests.in_process import ADDRESS, InProcess, quick_app
from tests.languages import CATALOGUES, sentences
from tests.made_up import MADE_UP

# The same word in both languages: standards, units, proper names of forms.
SAME = set((Path(__file__).parent / "same_in_both.txt").read_text().splitlines())
# Keys of what people type, in the entries of a history: their words are nobody's to translate.
TYPED = {
    "name", "note", "reason", "statement", "label", "letter", "number", "cause_note", "what", "title", "file",
    "source", "authority", "lot", "tag", "email", "grid", "size", "place", "detail", "claimed_class",
    "withdrawn", "blockers", "where", "mix",
}  # fmt: skip
SEEN_IN = ("aria-label", "alt", "title", "placeholder", "label")
SILENT = {"script", "style", "textarea", "pre", "code", "keep"}
WITHOUT_END = {"input", "br", "img", "link", "meta", "hr", "path", "circle", "line", "source"}
WORD = re.compile(r"[A-Za-zÁ-ÿ]{3,}")
# What is no language: tags, hashes, addresses.
NO_WORDS = re.compile(
    r"\b[0-9a-f]{8,}\b|\b[0-9a-f]{4}(?: [0-9a-f]{4})+\b|[A-Za-z0-9+/]{43}=|laptight/\w+"
    r"|\b[A-Z]{1,3}-[A-Z]?\d+\b"
    r"|[\w.+-]+@[\w.-]+|https?://\S+|SHA256:\S+|/[\w/.-]+"
)
# Pages that say everything in both languages at once, whoever reads them.
IN_BOTH = ("/code/{token}", "/zones/{zone_id}/code-sheet")


class Text(HTMLParser):
    """The text of a page that a person sees or hears, piece by piece; buttons' values are forms' keys."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.pieces: list[str] = []
        self.inside: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        if tag not in WITHOUT_END:
            self.inside.append("keep" if found.get("translate") == "no" else tag)
        if "keep" not in self.inside:
            self.pieces += [found.get(name) or "" for name in SEEN_IN]

    def handle_endtag(self, tag: str) -> None:
        if self.inside and tag not in WITHOUT_END:
            self.inside.pop()

    def handle_data(self, data: str) -> None:
        if not SILENT & set(self.inside):
            self.pieces.append(data)


def left_over(html: str, known: Sequence[str]) -> list[str]:
    """What a page says outside the brackets of the made-up language, but for names and typed words."""
    reader = Text()
    reader.feed(html)
    found = []
    for piece in reader.pieces:
        bare = " ".join(_outside(piece).split())
        for typed in known:
            bare = bare.replace(typed, " ")
        words = WORD.findall(NO_WORDS.sub(" ", bare))
        if words:
            found.append(f"{' '.join(words)}   in: {' '.join(piece.split())[:110]}")
    return found


def _outside(text: str) -> str:
    """The text outside brackets; a sentence may stand in another's field."""
    deep, kept = 0, []
    for letter in text:
        deep += (letter == "⟦") - (letter == "⟧")
        kept.append(letter if deep == 0 and letter != "⟧" else " ")
    return "".join(kept)


@dataclass(frozen=True)
class Ground:
    """The demo, whose every page is asked for in the made-up language; `known`: names and typed words."""

    app: FastAPI
    pages: list[tuple[str, str, str]]  # route, who, path
    tokens: dict[str, str]
    known: list[str]

    def html(self, who: str, path: str) -> str:
        transport = InProcess(self.app, raises=False)
        with httpx.Client(transport=transport, base_url=ADDRESS, trust_env=False) as client:
            client.cookies.set(COOKIE, "xx")
            client.headers.update({"Accept": "text/html", "Sec-Fetch-Site": "same-origin"})
            if who in self.tokens:
                client.cookies.set(guards.PLAIN_COOKIE, self.tokens[who])
            answer = client.get(path)
        assert answer.status_code == 200, (path, answer.status_code)
        return answer.text


def _ground(data: Path) -> Ground:
    app = quick_app(Settings.read(data, environ={}))
    desk = app.state.desk.fresh()
    demo.fill(desk)
    who = {role: _person(app, email) for email, _, role in demo.PEOPLE}
    tokens = {role: accounts.open_sign_in(desk, person.id)[0] for role, person in who.items()}
    tokens["half in"] = half_in(desk.fresh())
    pages = [(shown.route, shown.who, shown.path) for shown in _pages(app, who)]
    known = {" ".join(text.split()) for text in _typed(data / "laptight.sqlite3") if WORD.search(text)}
    known |= {text.removesuffix(".") for text in known}  # a sentence brings its own full stop
    known |= {"Laptight", "Español", "English", "concrete sub", "America/Chicago"}
    return Ground(app, pages, tokens, sorted(known, key=len, reverse=True))


def _typed(file: Path) -> Iterator[str]:
    """Every text that somebody typed, from the entries of the history."""
    connection = dbapi2.connect(str(file))
    names = [row[0] for row in connection.execute("SELECT name FROM person")]
    bodies = [row[0] for row in connection.execute("SELECT content FROM entry")]
    connection.close()
    yield from names
    for body in bodies:
        yield from _strings(json.loads(body), "")


def _strings(value: object, key: str) -> Iterator[str]:
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from _strings(inner, name)
    elif isinstance(value, list):
        for inner in value:
            yield from _strings(inner, key)
    elif isinstance(value, str) and key in TYPED:
        yield value


@pytest.fixture(scope="module")
def ground(tmp_path_factory: pytest.TempPathFactory, migrated_file: Path) -> Iterator[Ground]:
    data = tmp_path_factory.mktemp("languages")
    shutil.copy(migrated_file, data / "laptight.sqlite3")
    with pytest.MonkeyPatch.context() as patch:
        _speak_made_up(patch)
        made = _ground(data)
        yield made
        made.app.state.desk.database.close()


def _speak_made_up(patch: pytest.MonkeyPatch) -> None:
    """Every module that asks for the languages gets one more."""
    both = {**languages.speeches(), MADE_UP.code: MADE_UP}
    for module in list(sys.modules.values()):
        if getattr(module, "__name__", "") == "service.web.serving.words":
            continue  # what scripts say is read from catalogues, and the made-up language has none
        if getattr(module, "__name__", "").startswith("service.") and hasattr(module, "speeches"):
            patch.setattr(module, "speeches", lambda: both)
        if getattr(module, "__name__", "") == "service.web.serving.render":
            patch.setattr(module, "words_name", lambda: "")


def test_no_page_says_anything_that_no_catalogue_could_say_otherwise(ground: Ground) -> None:
    found = {
        f"{path} as {who}": rest
        for route, who, path in ground.pages
        if route not in IN_BOTH
        if (rest := left_over(ground.html(who, path), ground.known))
    }
    told = "\n".join(f"{page}\n  " + "\n  ".join(rest) for page, rest in found.items())
    assert not found, told


@pytest.mark.parametrize("path", sorted(CATALOGUES.glob("*.po")), ids=lambda path: path.stem)
def test_a_catalogue_says_every_sentence_of_the_sources_and_none_besides(path: Path) -> None:
    said = {(e.msgctxt or "", e.msgid) for e in polib.pofile(str(path)) if e.translated()}
    wanted = {(sentence.context, sentence.one) for sentence in sentences()}
    assert not wanted - said, "not translated; run python -m tests.languages, then translate"
    assert not said - wanted, "said by no source any more; run python -m tests.languages"


@pytest.mark.parametrize("path", sorted(CATALOGUES.glob("*.po")), ids=lambda path: path.stem)
def test_a_translation_has_the_fields_and_the_markup_of_its_sentence(path: Path) -> None:
    for entry in polib.pofile(str(path)):
        for said in (entry.msgstr, *entry.msgstr_plural.values()):
            if said:
                ours = {entry.msgid, entry.msgid_plural} - {""}
                assert _fields(said) in [_fields(one) for one in ours], entry.msgid
                assert re.findall(r"</?\w+", said) == re.findall(r"</?\w+", entry.msgid), entry.msgid


def _fields(message: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(message) if name is not None}


@pytest.mark.parametrize("path", sorted(CATALOGUES.glob("*.po")), ids=lambda path: path.stem)
def test_no_sentence_is_the_same_in_both_languages_unless_it_is_listed(path: Path) -> None:
    entries = polib.pofile(str(path))
    same = {entry.msgid for entry in entries if entry.msgid in (entry.msgstr, *entry.msgstr_plural.values())}
    same = {message for message in same if WORD.search(re.sub(r"\{\w+\}", "", message))}
    assert same <= SAME, same - SAME


def test_text_that_no_catalogue_says_is_found() -> None:
    html = '<p>⟦Short by ⟧1/4 ⟦in⟧</p><p aria-label="Left">Ann</p><script>var word</script>'
    assert [line.split("   ")[0] for line in left_over(html, ["Ann"])] == ["Left"]


def main() -> None:
    """`python -m tests.whole.test_languages WORD...`: what is left over on the pages of such routes."""
    with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        _speak_made_up(patch)
        make_app(Settings.read(Path(folder), environ={})).state.desk.database.close()  # migrates
        ground = _ground(Path(folder))
        for route, who, path in ground.pages:
            if all(word.lower() in route.lower() for word in sys.argv[1:]):
                rest = left_over(ground.html(who, path), ground.known)
                print(f"{route} as {who}: {len(rest)}", *rest, sep="\n    ")


if __name__ == "__main__":
    main()
