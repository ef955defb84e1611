"""The rows of an order list that are exported: whole, in English whatever is spoken, and true to the list."""

from __future__ import annotations

from gettext import NullTranslations

import pytest

from service.domain.nouns.installed import SIDE_LAP
from service.domain.nouns.rules import ready_made
from service.domain.order.asked import (
    DeliveryAsked,
    GroupToDam,
    OrderAsked,
    PipeToSeal,
    RepairsExpected,
    SeamToTape,
    SheetToCut,
    ZoneAsked,
)
from service.domain.order.order_list import OrderList, order_list
from service.domain.order.texts import HEAD, order_rows
from service.domain.patches.repair import Numbers
from service.domain.shapes.outlines import Circle
from service.domain.words.speech import Speech, speaking
from tests.domain.order.test_order_list import FOOT, INCH, NPS_4, NPS_HALF, THOUSAND_FT2


@pytest.fixture
def order() -> OrderList:
    zone = ZoneAsked(
        "z1",
        2 * THOUSAND_FT2,
        Numbers.of(ready_made("us")),
        tuple(SheetToCut(f"A {i}", 100 * FOOT + INCH // 16 * i, 15 * FOOT) for i in (1, 2, 3)),
        (SeamToTape(SIDE_LAP, 200 * FOOT + 1),),
        pipes=(
            PipeToSeal("A-P01", NPS_4),
            PipeToSeal("A-P02", NPS_HALF),
            PipeToSeal("A-P05", Circle(300 * FOOT)),
        ),
        groups=(GroupToDam(("A-P03", "A-P04"), 30 * INCH, 24 * INCH),),
    )
    repairs = RepairsExpected(2500, 18 * INCH, 16 * INCH)
    return order_list(
        OrderAsked(
            (zone,), 15 * FOOT, 200 * FOOT, 4 * INCH, 180 * FOOT, repairs, 7_500, 5_000, 1, 0,
            (DeliveryAsked("first", ("z1",)),),
        )
    )  # fmt: skip


def cells(order: OrderList, part: str, what: str) -> list[str]:
    (row,) = [row for row in order_rows(order, "us", {"z1": "A"}) if row[0] == part and row[2] == what]
    return row


def test_every_row_has_every_column_and_no_cell_is_missing(order: OrderList) -> None:
    head, *rows = order_rows(order, "us", {"z1": "A"})
    assert head == HEAD
    assert rows and all(len(row) == len(head) and all(isinstance(cell, str) for cell in row) for row in rows)


def test_the_allowance_and_the_stock_have_rows_of_their_own(order: OrderList) -> None:
    assert order.film.sheet_rolls == 3, "no two of them fit a roll: each is a hair over half of it"
    assert cells(order, "film", "rolls, needed before allowance")[3] == "3"
    assert cells(order, "film", "rolls, allowance")[3::4] == ["1", "7.5 %, chosen by a person"]
    assert cells(order, "film", "rolls, stock on site used")[3] == "1"
    assert cells(order, "film", "rolls, to order")[3] == "3"


def test_every_sheet_is_in_the_cutting_plan_and_lengths_are_rounded_up(order: OrderList) -> None:
    assert cells(order, "cutting", "sheet A 3")[1:6] == [
        "roll 3",
        "sheet A 3",
        "1",
        "100 ft 3/16 in",
        "15 ft",
    ]
    assert cells(order, "tape", "side laps")[6] == "201 ft"
    (collar,) = [row for row in order_rows(order, "us") if row[0] == "collars" and row[7] == "A-P01"]
    assert collar[3:6] == ["1", "21 1/4 in", "12 in"]


def test_expected_repairs_of_one_size_are_one_row(order: OrderList) -> None:
    rows = [row for row in order_rows(order, "us") if row[7] == "expected repairs"]
    assert sum(int(row[3]) for row in rows) == order.repairs == 5
    assert {tuple(row[4:6]) for row in rows} == {("18 in", "16 in")}


def test_what_no_roll_gives_is_in_the_table_too(order: OrderList) -> None:
    assert cells(order, "to mind", "no roll of this film gives the piece")[7] == "A-P05"


class Shouted(NullTranslations):
    """A language that says everything louder."""

    def gettext(self, message: str) -> str:
        return message.upper()

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return msgid2.upper()

    def pgettext(self, context: str, message: str) -> str:
        return message.upper()


def test_the_rows_are_the_same_whatever_language_is_spoken(order: OrderList) -> None:
    plain = order_rows(order, "us")
    with speaking(Speech("es", "Loud", Shouted())):
        assert order_rows(order, "us") == plain


def test_metric_rows_are_in_metres_and_millimetres(order: OrderList) -> None:
    rows = order_rows(order, "metric")
    (laps,) = [row for row in rows if row[0] == "tape" and row[2] == "side laps"]
    assert laps[6] == "61.0 m", "200 ft is 60.96 m"
    (sheet,) = [row for row in rows if row[2] == "sheet A 1"]
    assert sheet[4] == "30,482 mm", "100 ft 1/16 in is 30,481.5875 mm"
