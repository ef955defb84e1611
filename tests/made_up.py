"""A made-up language that shows untranslated text: a sentence stands in brackets, its fields outside.

`⟦Short by ⟧1/4 in⟦ on the ⟧left`: what stands outside brackets on a page never went through `tr`.
"""

from __future__ import annotations

import re
from gettext import NullTranslations

from service.domain.words.speech import Speech

_PARTS = re.compile(r"(\{[^{}]*\}|<[^<>]*>)")


def bracketed(message: str) -> str:
    """The message with brackets round all but its fields and its markup."""
    parts = _PARTS.split(message)
    return "".join(part if i % 2 or not part else f"⟦{part}⟧" for i, part in enumerate(parts))


class MadeUp(NullTranslations):
    """Says everything in brackets."""

    def gettext(self, message: str) -> str:
        return bracketed(message)

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return bracketed(msgid1 if n == 1 else msgid2)

    def pgettext(self, context: str, message: str) -> str:
        return bracketed(message)


MADE_UP = Speech("xx", "Made up", MadeUp())
