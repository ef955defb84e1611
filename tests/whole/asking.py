"""Asking the stage as its people do: the actor of a role, a form as shown, a page's plain words."""

from __future__ import annotations

import html
import re

import httpx

from service.domain.nouns.roles import CREW_LEAD, INSPECTOR, PROJECT_MANAGER
from tests.web.office.forms import form_of
from tests.whole.stage import Actor, Stage

__all__ = ["CREW_LEAD", "INSPECTOR", "PROJECT_MANAGER", "actor_of", "main_words", "shown_again", "shown_form"]


def actor_of(stage: Stage, role: str) -> Actor:
    """Whoever has this role on the project."""
    return next(actor for actor in stage.actors if actor.here == role)


def shown_form(client: httpx.Client, address: str, action: str = "") -> dict[str, str]:
    """The fields of a form as its page fills them: its own key, and what it offers."""
    return shown_again(client.get(address).text, action or address)


def shown_again(page: str, action: str) -> dict[str, str]:
    """The fields of a form in a page, as a browser would send them: no picture pressed, no file chosen."""
    left_out = ("press", "file", "camera", "picture")
    return {name: value for name, value in form_of(page, action).items() if name not in left_out}


def main_words(page: httpx.Response) -> str:
    """What a person reads between head and foot, without what they typed into fields."""
    main = page.text.split("<main", 1)[-1].split("</main>", 1)[0]
    main = re.sub(r"<(script|style|svg|noscript)\b.*?</\1>", " ", main, flags=re.DOTALL)
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", main)).split())
