"""The order list on paper: what to order first, then a cut plan a delivery, each on pages of its own."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime

from service.domain.words.measures import Units
from service.history.order.told import OrderSheet
from service.papers.setting.typeset import compile_pdf


def order_pdf(sheet: OrderSheet, units: Units, at: datetime, lang: str) -> bytes:
    """The order list as PDF: the same bytes for the same sheet, dated `at`."""
    data = {**asdict(sheet), "paper": "us-letter" if units == "us" else "a4"}
    return compile_pdf("order_list", data, {}, sheet.title, at, lang)
