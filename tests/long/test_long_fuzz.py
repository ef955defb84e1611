"""The campaign behind tests/whole/test_fuzz.py: the same forms and addresses, many more of them, seeded."""

from __future__ import annotations

from tests.whole.stage import Stage
from tests.whole.test_fuzz import try_addresses, try_forms

FORMS, ADDRESSES = 20_000, 20_000


def test_twenty_thousand_forms_break_no_page(stage: Stage) -> None:
    try_forms(stage, FORMS)


def test_twenty_thousand_addresses_break_nothing(stage: Stage) -> None:
    try_addresses(stage, ADDRESSES)
