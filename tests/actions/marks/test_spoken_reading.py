"""A patch's readings as they are said in another language than the contract's."""

from __future__ import annotations

from gettext import NullTranslations

import pytest

from service.actions.marks.patch_entry import read_shape
from service.domain.shapes.outlines import Circle
from service.domain.words.refusals import BadInput
from service.domain.words.speech import Speech, speaking

HOLE = Circle(25_400_000)


class OneWord(NullTranslations):
    def gettext(self, message: str) -> str:
        return "muro" if message == "wall" else message


SPANISH = Speech("es", "Español", OneWord())


def _given(side: str) -> dict[str, object]:
    return {"sides": {"left": side, "right": "6 in", "near": "6 in", "far": "6 in"}}


def test_a_side_sealed_to_a_wall_may_be_told_in_the_language_being_spoken() -> None:
    with speaking(SPANISH):
        told = read_shape(HOLE, _given("Muro"))
    assert told.sides is not None and told.sides.readings()["left"] is None


def test_the_contract_s_own_word_for_it_counts_in_every_language() -> None:
    with speaking(SPANISH):
        told = read_shape(HOLE, _given("wall"))
    assert told == read_shape(HOLE, _given("wall"))


def test_a_word_of_another_language_is_no_wall() -> None:
    with pytest.raises(BadInput) as refused:
        read_shape(HOLE, _given("muro"))
    assert list(refused.value.fields) == ["left"]
