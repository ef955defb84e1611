"""What an order list says is to be ordered: rolls, and plainly nothing where there is nothing."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from service.actions.frame.languages import speech_for
from service.domain.words.speech import speaking
from service.history.order.words import stands


def order(film: int, tape: int) -> Any:
    return SimpleNamespace(
        film=SimpleNamespace(counts=SimpleNamespace(to_order=film)),
        tape=SimpleNamespace(counts=SimpleNamespace(to_order=tape)),
    )


@pytest.mark.parametrize(
    ("film", "tape", "words", "in_spanish"),
    [
        (6, 1, "Order 6 rolls of film and 1 roll of tape", "Pida 6 rollos de lámina y 1 rollo de cinta"),
        (0, 2, "Order no film and 2 rolls of tape", "Pida nada de lámina y 2 rollos de cinta"),
        (1, 0, "Order 1 roll of film and no tape", "Pida 1 rollo de lámina y nada de cinta"),
        (0, 0, "Nothing is to be ordered", "No hay nada que pedir"),
    ],
)
def test_an_order_says_its_rolls_and_plainly_nothing(
    film: int, tape: int, words: str, in_spanish: str
) -> None:
    assert stands(order(film, tape)) == words
    with speaking(speech_for("es")):
        assert stands(order(film, tape)) == in_spanish
