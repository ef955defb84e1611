"""The choices of an order as somebody gives them: every field at fault is named at once."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from service.actions.office.order_reading import read_order
from service.domain.nouns.installed import FILM, SEALANT, TAPE, Material, Signed
from service.domain.nouns.placing import Delivery, StockCount
from service.domain.nouns.site import Site, Zone
from service.domain.order.gather import OrderChoice
from service.domain.words.measures import NM_PER_FOOT
from service.domain.words.refusals import BadInput

SIGNED = Signed("p", "project manager", datetime(2026, 11, 25, tzinfo=UTC), 1)
AT = datetime(2026, 11, 30, 13, tzinfo=UTC)
PLAIN = {"material": "film", "film_allowance": "0", "tape_allowance": "0", "repairs": "0"}


def material(id: str, kind: str, width: int | None = 12, withdrawn: str | None = None) -> Material:
    roll = None if width is None else width * NM_PER_FOOT
    return Material(
        id, kind, id, "", None, None, None, None, roll, roll, None, None, None, "", SIGNED, withdrawn
    )  # fmt: skip


def a_site() -> Site:
    site = Site()
    for of in (
        material("film", FILM), material("tape", TAPE), material("mastic", SEALANT),
        material("bare", FILM, None), material("gone", FILM, withdrawn="Wrong class"),
    ):  # fmt: skip
        site.put(of)
    for id, withdrawn in (("b", None), ("c", None), ("old", "Redrawn")):
        ring = ((0, 0), (1000, 0), (1000, 1000))
        site.put(Zone(id, "sketch", id.upper(), "", ring, None, None, 0, None, withdrawn, 1))
    return site


def faults(**given: Any) -> set[str]:
    with pytest.raises(BadInput) as refused:
        read_order(a_site(), PLAIN | given)
    return set(refused.value.fields)


def test_a_whole_choice_is_read_exactly() -> None:
    given = {
        "film_allowance": "7.5 %", "tape_allowance": "10", "repairs": "0,5",
        "stock": [{"material": "film", "whole_rolls": "3"}, {"material": "tape", "whole_rolls": 0}],
        "deliveries": [
            {"label": " Truck 1 ", "at": AT, "zones": ["b"]},
            {"label": "", "at": None, "zones": []},
            {"label": "Truck 2", "at": None, "zones": ["c"]},
        ],
    }  # fmt: skip
    assert read_order(a_site(), PLAIN | given) == OrderChoice(
        "film", 7_500, 10_000, 500, (StockCount("film", 3),),
        (Delivery("Truck 1", AT, ("b",)), Delivery("Truck 2", None, ("c",))),
    )  # fmt: skip


@pytest.mark.parametrize("typed", ["", "-1", "101", "100.001", "5 5", "five", "1e3", "7.", "٣", "1.2345"])
def test_a_share_that_is_none_is_named(typed: str) -> None:
    assert faults(film_allowance=typed) == {"film_allowance"}
    assert faults(tape_allowance=typed) == {"tape_allowance"}


def test_a_film_without_its_roll_is_asked_for_it() -> None:
    with pytest.raises(BadInput) as refused:
        read_order(a_site(), PLAIN | {"material": "bare"})
    assert refused.value.code == "no-roll" and set(refused.value.fields) == {"material"}


@pytest.mark.parametrize("chosen", ["tape", "mastic", "gone", "nothing"])
def test_what_is_no_film_that_stands_is_named(chosen: str) -> None:
    assert faults(material=chosen) == {"material"}


@pytest.mark.parametrize("rolls", ["-1", "1.5", "10001", "some", "٣"])
def test_stock_is_whole_rolls(rolls: str) -> None:
    assert faults(stock=[{"material": "film", "whole_rolls": rolls}]) == {"stock.0.whole_rolls"}


def test_stock_of_nothing_of_ours_or_counted_twice_is_named() -> None:
    assert faults(stock=[{"material": "mastic", "whole_rolls": 1}]) == {"stock.0.material"}
    twice = [{"material": "film", "whole_rolls": 1}] * 2
    assert faults(stock=twice) == {"stock.1.material"}


def test_a_delivery_has_a_name_of_its_own_and_zones_of_its_own() -> None:
    def row(label: str, *zones: str) -> dict[str, Any]:
        return {"label": label, "at": None, "zones": zones}

    assert faults(deliveries=[row("", "b")]) == {"deliveries.0.label"}
    assert faults(deliveries=[row("x" * 81, "b")]) == {"deliveries.0.label"}
    assert faults(deliveries=[row("One")]) == {"deliveries.0.zones"}
    assert faults(deliveries=[row("One", "old")]) == {"deliveries.0.zones"}
    assert faults(deliveries=[row("One", "b"), row("one", "c")]) == {"deliveries.1.label"}
    assert faults(deliveries=[row("One", "b"), row("Two", "b", "c")]) == {"deliveries.1.zones"}


def test_everything_at_fault_is_told_at_once() -> None:
    assert faults(film_allowance="x", repairs="many", material="gone") == {
        "film_allowance", "repairs", "material",
    }  # fmt: skip
