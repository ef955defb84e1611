"""How many of a zone's marks stand how, on a closeout in a language that bends its words by number."""

from __future__ import annotations

from gettext import NullTranslations

from service.domain.words.speech import Speech, speaking
from service.history.closeout.words import sheet_of
from tests.actions.closeout.test_closeout import everything, told


class Counts(NullTranslations):
    """Says `<several>` where the number is not one, and of single words that they are single."""

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return f"<{msgid1}>" if n == 1 else f"<several: {msgid2}>"

    def pgettext(self, context: str, message: str) -> str:
        return f"<single: {message}>"


def test_marks_that_stand_alike_are_counted_in_words_that_bend_by_their_number() -> None:
    closeout = told(everything())
    with speaking(Speech("xx", "Counting", Counts())):
        rows = repr(sheet_of(closeout, lambda moment: ""))
    sealed = sum(mark.state == "sealed" for zone in closeout.zones for mark in zone.marks)
    assert sealed > 1
    assert f"<several: {sealed} sealed>" in rows
    assert f"{sealed} <single: sealed>" not in rows
