"""An order list as it is told: what it is told from, and the sheet its page and its paper are set from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from service.domain.nouns.placing import Delivery
from service.domain.order.gather import Gathered, Rolls
from service.domain.order.order_list import OrderList
from service.domain.words.measures import Units
from service.history.closeout.sheet import Part


@dataclass(frozen=True, slots=True)
class OrderTold:
    """What an order list is told from. `letters`: by zone id. `saved`: who saved the choices, in which role,
    when, as which entry; None where they are only looked at. `stock_is_old`: film came or was laid since the
    stock was counted."""

    project: str
    units: Units
    order: OrderList
    rolls: Rolls
    gathered: Gathered
    letters: Mapping[str, str]
    deliveries: tuple[Delivery, ...]
    saved: tuple[str, str, datetime, int] | None
    stock_is_old: bool


@dataclass(frozen=True, slots=True)
class OrderSheet:
    """What its page and its paper are set from. `deliveries`: a part each, to start on a page of its own."""

    title: str
    block: tuple[tuple[str, str], ...]
    stands: str
    small: str
    before: tuple[Part, ...]
    deliveries: tuple[Part, ...]
    after: tuple[Part, ...]
    cautions: tuple[str, ...]
    running: str
