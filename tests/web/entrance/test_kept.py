"""A form sent after the sign-in had ended: with scripts off, what was typed comes back after signing in."""

from __future__ import annotations

import html
import re

import httpx
import pytest
from fastapi import FastAPI

from service.actions.frame.desk import Desk
from service.web.entrance.kept import LONGEST, PLAIN_COOKIE, Kept, pack, unpack, worth_showing
from tests import builders
from tests.cast import PASSWORD, Cast
from tests.conftest import ClientOf
from tests.in_process import browser

TYPED = {
    "note": "two holes <by> the & pipe",
    "name": "B west",
    "width": "6",
    "width_unit": "in",
    "request_key": "k1",
}


def fields_of(page: str) -> dict[str, str]:
    """The hidden fields of a page, as a browser without scripts would send them."""
    found = re.findall(r'<input type="hidden" name="([^"]+)"(?: id="[^"]*")? value="([^"]*)">', page)
    return {name: html.unescape(value) for name, value in found}


def test_what_was_typed_is_offered_to_be_sent_again(client: httpx.Client, cast: Cast) -> None:
    path = f"/projects/{cast.project_id}/people"
    late = client.post(path, data=TYPED, headers={"Referer": f"{client.base_url}{path}"})
    assert late.status_code == 303
    sign_in = client.get(late.headers["location"])
    sent = {**fields_of(sign_in.text), "email": cast.manager.email}
    wrong = client.post("/sign-in", data={**sent, "password": "not that one"})
    again = client.post("/sign-in", data={**sent, **fields_of(wrong.text), "password": PASSWORD})
    assert again.status_code == 200
    assert f'action="{path}"' in again.text
    assert fields_of(again.text).items() >= TYPED.items()
    assert "two holes &lt;by&gt; the &amp; pipe" in again.text
    assert client.get("/").status_code == 200, "and the person is signed in"


def test_where_scripts_run_the_page_itself_is_shown_again(client: httpx.Client, cast: Cast) -> None:
    late = client.post("/account", data={"note": "x"}, headers={"Referer": f"{client.base_url}/account"})
    page = client.get(late.headers["location"]).text
    assert re.search(r'<noscript><input type="hidden" name="kept"', page), (
        "scripts on: the field is not there"
    )
    answer = client.post(
        "/sign-in", data={"email": cast.lead.email, "password": PASSWORD, "next": "/account"}
    )
    assert (answer.status_code, answer.headers["location"]) == (303, "/account")


def test_passwords_and_pictures_never_travel(client: httpx.Client) -> None:
    late = client.post(
        "/account",
        data={"old_password": "secret one", "password": "secret two", "note": "kept"},
        files={"photo": ("a.jpg", b"bytes of a picture", "image/jpeg")},
    )
    carried = unpack(late.headers["location"].partition("&kept=")[2], late.cookies[PLAIN_COOKIE])
    assert carried == Kept("/account", (("note", "kept"),))


def test_too_much_to_carry_is_left_behind(client: httpx.Client) -> None:
    noise = "".join(chr(0x4E00 + (i * 7919) % 20_000) for i in range(6_000))
    assert pack(Kept("/a", (("note", noise),)), "b") == ""
    late = client.post("/account", data={"note": noise})
    assert (late.status_code, "kept=" in late.headers["location"]) == (303, False)


@pytest.mark.parametrize(
    "text",
    [
        "", "x", "é", "A" * (LONGEST + 4), pack(Kept("//evil.test", (("a", "b"),)), "b"),
        pack(Kept("https://evil.test/", (("a", "b"),)), "b"), pack(Kept("/a", (("a", "b"),)), "another"),
        pack(Kept("/a", (("a", "\ud800"),)), "b"),
    ],
)  # fmt: skip
def test_what_we_did_not_pack_is_not_unpacked(text: str) -> None:
    assert unpack(text, "b") is None
    assert unpack(pack(Kept("/a", (("a", "b"),)), "b"), None) is None


def test_a_small_text_that_swells_is_not_unpacked() -> None:
    import base64
    import zlib

    bomb = base64.urlsafe_b64encode(
        zlib.compress(b'["x","/a",[["a","' + b"x" * 3_000_000 + b'"]]]', 9)
    ).decode()
    assert len(bomb) < LONGEST
    assert unpack(bomb, "b") is None


def test_an_address_that_somebody_else_wrote_offers_nothing_to_send(
    client: httpx.Client, cast: Cast, app: FastAPI
) -> None:
    """A crew lead packs a release of theirs, and has the project manager sign in by that address."""
    with browser(app) as elsewhere:
        late = elsewhere.post("/zones/z/release", data={"statement": "Seen", "digest": "1:x"})
    sign_in = client.get(late.headers["location"])
    sent = {**fields_of(sign_in.text), "email": cast.manager.email, "password": PASSWORD}
    assert sent["kept"]
    answer = client.post("/sign-in", data=sent)
    assert (answer.status_code, answer.headers["location"]) == (303, "/")


def test_of_a_refused_form_what_was_typed_is_shown_and_nothing_it_sent_beside(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    """A project manager whose role was changed while the release page was open, for one."""
    zone = builders.a_zone(desk, cast, builders.a_sketch(desk, cast))
    sent = {"statement": "I walked all of it.", "digest": "2:9604e4ddf5", "seen": "239", "request_key": "k"}
    answer = page_of(cast.lead).post(f"/zones/{zone.id}/release", data=sent)
    assert answer.status_code == 403
    page = answer.text.split("<main", 1)[1]
    assert "What you had typed" in page and "I walked all of it." in page
    assert (
        "2:9604e4ddf5" not in page and "digest" not in page and "<dt>seen" not in page and "239" not in page
    )


def test_what_is_shown_has_names_that_can_be_read() -> None:
    sent = (
        ("cut_length", "18"),
        ("cut_length_unit", "in"),
        ("look", "5,2,1"),
        ("b_look", "5"),
        ("note", " "),
    )
    assert worth_showing(sent) == (("cut length", "18"),)
