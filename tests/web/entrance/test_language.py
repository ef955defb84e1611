"""Choosing the language and the size of the type: on the phone, for the person, and as the browser asks."""

from __future__ import annotations

import re

import httpx
import pytest

from service.actions.frame.languages import best_for, words_of_scripts
from service.domain.words.speech import IN_ENGLISH, spoken, tr, trn
from service.web.entrance.languages import COOKIE
from service.web.serving.render import environment
from tests.cast import PASSWORD, Cast
from tests.conftest import ClientOf


def lang_of(answer: httpx.Response) -> str:
    return answer.text.partition('<html lang="')[2][:2]


# The weights are those of RFC 9110 section 12.4.2: absent means 1, 0 means not acceptable.
@pytest.mark.parametrize(
    ("header", "code"),
    [
        ("", "en"), ("es", "es"), ("es-MX,es;q=0.9,en;q=0.8", "es"), ("en-US,en;q=0.9,es;q=0.8", "en"),
        ("fr,de;q=0.9", "en"), ("fr;q=1,es;q=0.2", "es"), ("es;q=0", "en"), ("EN;q=0.3, ES;q=0.7", "es"),
        ("es;q=x", "en"), ("*", "en"), ("es;q=" + "9" * 4000, "es"), ("," * 100_000, "en"),
        ("es;q=0.0.1", "en"),
    ],
)  # fmt: skip
def test_a_browser_that_never_chose_gets_what_it_asks_for(header: str, code: str) -> None:
    assert best_for(header).code == code


def test_a_visitor_reads_the_entrance_in_the_language_of_the_browser(client: httpx.Client) -> None:
    assert lang_of(client.get("/sign-in", headers={"Accept-Language": "es-US"})) == "es"
    assert lang_of(client.get("/sign-in")) == "en"


def test_what_a_person_chose_comes_along_to_the_next_phone(
    page_of: ClientOf, client: httpx.Client, cast: Cast
) -> None:
    chosen = page_of(cast.lead).post("/language", data={"language": "es", "back": "/account"})
    assert (chosen.status_code, chosen.headers["location"]) == (303, "/account")
    answer = client.post("/sign-in", data={"email": cast.lead.email, "password": PASSWORD})
    assert answer.cookies[COOKIE] == "es"
    assert lang_of(client.get("/", headers={"Accept-Language": "en"})) == "es"
    assert lang_of(page_of(cast.manager).get("/")) == "en"


def test_what_was_chosen_before_signing_in_is_the_persons_from_then_on(
    client: httpx.Client, page_of: ClientOf, cast: Cast
) -> None:
    client.post("/language", data={"language": "es"})
    client.post("/sign-in", data={"email": cast.lead.email, "password": PASSWORD})
    client.cookies.clear()
    answer = client.post("/sign-in", data={"email": cast.lead.email, "password": PASSWORD})
    assert answer.cookies[COOKIE] == "es"


@pytest.mark.parametrize("code", ["xx", "", "../es", "es.po"])
def test_a_language_there_is_not_is_refused_and_a_cookie_of_it_means_nothing(
    client: httpx.Client, code: str
) -> None:
    assert client.post("/language", data={"language": code}).status_code == 422
    client.cookies.set(COOKIE, code)
    assert lang_of(client.get("/sign-in")) == "en"


@pytest.mark.parametrize("back", ["//elsewhere.example", "https://elsewhere.example/", "\\elsewhere"])
def test_choosing_never_leads_to_another_site(client: httpx.Client, back: str) -> None:
    for path, form in (("/language", {"language": "es"}), ("/type-size", {"size": "larger"})):
        assert client.post(path, data={**form, "back": back}).headers["location"] == "/"


def test_larger_type_is_kept_on_the_phone_and_taken_back(client: httpx.Client) -> None:
    client.post("/type-size", data={"size": "larger"})
    assert 'class="larger"' in client.get("/sign-in").text
    client.post("/type-size", data={"size": "usual"})
    assert 'class="larger"' not in client.get("/sign-in").text


def test_one_answer_never_speaks_the_language_of_another(client: httpx.Client) -> None:
    for code in ("es", "en", "es", "en"):
        assert lang_of(client.get("/sign-in", headers={"Accept-Language": code})) == code
    assert spoken() is IN_ENGLISH


def test_what_scripts_say_comes_with_the_page_in_its_language(client: httpx.Client) -> None:
    page = client.get("/sign-in", headers={"Accept-Language": "es"}).text
    (href,) = re.findall(r'<script src="(/static/\+words-es\.js[^"]*)"', page)
    answer = client.get(href)
    assert answer.headers["content-type"].startswith("text/javascript")
    assert "immutable" in answer.headers["cache-control"]
    assert answer.text.startswith("globalThis.WORDS={")
    assert "globalThis.PLURAL=(n)=>Number((n != 1))" in answer.text
    assert "words-" not in client.get("/sign-in").text  # English is in the scripts themselves


def test_only_what_scripts_say_goes_to_the_phone() -> None:
    said, _ = words_of_scripts("es")
    assert said, "no script says anything in Spanish"
    assert "Sign out" not in said


def test_the_contract_is_in_english_whoever_asks(client: httpx.Client) -> None:
    for headers in ({"Accept-Language": "es"}, {"Cookie": f"{COOKIE}=es"}):
        answer = client.get("/api/v1/projects", headers=headers)
        assert answer.json()["error"]["message"] == client.get("/api/v1/projects").json()["error"]["message"]


def test_what_stands_in_a_field_is_never_read_as_a_field_itself() -> None:
    """A name that looks like a pattern of Python's format is shown as it was typed."""
    for typed in ("{who}", "{who.__class__}", "{0}", "{", "%s %(who)s", "{n:>9999999}"):
        assert tr("{who} said so", who=typed) == f"{typed} said so"
        assert trn("{n} mark by {who}", "{n} marks by {who}", 2, who=typed) == f"2 marks by {typed}"


def test_a_sentence_with_markup_escapes_what_stands_in_its_fields() -> None:
    template = environment().from_string(
        '{{ tr("<b>{who}</b> said so", who=page) }}|{{ tr("{who} & co", who=page) }}'
    )
    assert template.render(page="<i>") == "<b>&lt;i&gt;</b> said so|&lt;i&gt; &amp; co"
    counted = environment().from_string(
        '{{ trn("{n} mark by {who}", "<b>{n}</b> marks by {who}", 1200, who="<i>") }}'
    )
    assert counted.render() == "<b>1,200</b> marks by &lt;i&gt;"


def test_in_english_a_sentence_is_its_own_key() -> None:
    assert tr("Short by {short}", short="1/4 in") == "Short by 1/4 in"
    assert [trn("{n} mark", "{n} marks", n) for n in (0, 1, 2000)] == ["0 marks", "1 mark", "2,000 marks"]
