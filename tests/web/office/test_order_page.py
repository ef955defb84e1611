"""The order list as a page, a paper, a table and JSON: one list, its allowance and its stock shown apart.

Rolls are counted by hand: 60 ft in rows of 12 ft lapped 6 in are 6 sheets (TRADE.md section 10, calculated),
each 80 ft long, of which a roll of 200 ft gives two.
"""

from __future__ import annotations

import csv
import html
import io
import re
from typing import Any

import httpx
import pypdfium2
import pytest

from service.actions.evidence.audit import entries_after
from service.actions.frame.desk import Desk
from service.actions.office.orders import order_tables
from service.domain.nouns.installed import Material
from service.domain.nouns.site import Zone
from service.storage.history import slices
from tests.builders import NEXT_DOOR, SQUARE, a_lot, a_sketch, a_zone
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.laid_out import a_layout, a_roll, rows_over, sheets_laid
from tests.web.office.forms import actions_of, form_of

NEEDED, ALLOWANCE, STOCK, TO_ORDER, LEFT = range(1, 6)


@pytest.fixture
def film(desk: Desk, cast: Cast) -> Material:
    return a_roll(desk, cast)


@pytest.fixture
def pair(desk: Desk, cast: Cast, film: Material) -> tuple[Zone, Zone]:
    """Two zones side by side, six sheets of 80 ft in each."""
    sketch = a_sketch(desk, cast)
    one, two = a_zone(desk, cast, sketch), a_zone(desk, cast, sketch, "C", NEXT_DOOR)
    a_layout(desk, cast, [one], rows_over(SQUARE), film.id)
    a_layout(desk, cast, [two], rows_over(NEXT_DOOR), film.id)
    return one, two


def path(cast: Cast, end: str = "") -> str:
    return f"/projects/{cast.project_id}/order{end}"


def table_of(page: str, caption: str) -> list[list[str]]:
    """The rows of a ruled table, its quieter lines after a bar."""
    found = re.search(rf"<caption>{re.escape(caption)}</caption>.*?<tbody>(.*?)</tbody>", page, re.DOTALL)
    assert found is not None, caption
    rows = re.findall(r"<tr.*?>(.*?)</tr>", found[1], re.DOTALL)
    return [[_words(cell) for cell in re.findall(r"<t[hd].*?>(.*?)</t[hd]>", row, re.DOTALL)] for row in rows]


def _words(cell: str) -> str:
    told = re.sub(r"<b class=\"name\".*?</b>", "", cell).replace("<small>", " | ")
    return html.unescape(re.sub(r"<.*?>", "", told)).strip()


def numbers(page: str, row: int = 0) -> list[int]:
    """Needed, allowance, stock, to order and left of film (row 0) or tape (row 1), after one for its name."""
    cells = table_of(page, "Rolls to order")[row]
    return [0, *(int(cell.partition(" | ")[0].replace(",", "")) for cell in cells[1:])]


def chosen(page: httpx.Response, cast: Cast, **changed: str) -> dict[str, str]:
    return form_of(page.text, path(cast)) | changed


def test_two_sheets_come_off_a_roll_and_fewer_rolls_cannot_do(
    cast: Cast, page_of: ClientOf, pair: tuple[Zone, Zone]
) -> None:
    for person in (cast.manager, cast.lead, cast.inspector):
        page = page_of(person).get(path(cast)).text
        assert "Order 6 rolls of film" in page and "which is proved" in page
        assert numbers(page)[NEEDED:] == [6, 0, 0, 6, 0]
        cuts = table_of(page, "Which sheet is cut from which roll")
        assert [row[0] for row in cuts] == ["1", "2", "3", "4", "5", "6"]
        sheets = sorted(sheet for row in cuts for sheet in row[1].split(", "))
        assert sheets == sorted(f"{letter} {n}: 80 ft" for letter in "BC" for n in range(1, 7))
        assert all(row[2].startswith("40 ft") for row in cuts)
        for words in ("two people or a machine", "hooked or guarded blade", "material maker"):
            assert words in page, words
    assert path(cast) not in actions_of(page_of(cast.lead).get(path(cast)).text)


def test_an_allowance_is_shown_apart_and_never_inside_what_is_needed(
    cast: Cast, page_of: ClientOf, pair: tuple[Zone, Zone]
) -> None:
    manager = page_of(cast.manager)
    before = numbers(manager.get(path(cast)).text)
    looked = manager.get(path(cast), params={"material": "", "film_allowance": "25"}).text
    # A quarter of six rolls is one and a half: two are ordered.
    assert numbers(looked)[NEEDED:] == [before[NEEDED], 2, 0, before[NEEDED] + 2, 0]
    assert numbers(looked, 1) == numbers(manager.get(path(cast)).text, 1)


def test_stock_larger_than_the_need_orders_nothing_and_says_what_is_left(
    cast: Cast, page_of: ClientOf, film: Material, pair: tuple[Zone, Zone]
) -> None:
    manager = page_of(cast.manager)
    sent = chosen(manager.get(path(cast)), cast, **{"stock.0.whole_rolls": "10"})
    manager.post(path(cast), data=sent)
    assert numbers(manager.get(path(cast)).text)[NEEDED:] == [6, 0, 6, 0, 4]


def test_the_zones_add_up_to_the_whole_and_so_do_the_deliveries(
    cast: Cast, page_of: ClientOf, pair: tuple[Zone, Zone]
) -> None:
    manager, (one, two) = page_of(cast.manager), pair
    names = {"deliveries.0.label": "Truck 1", "deliveries.1.label": "Truck 2", "film_allowance": "25"}
    zones = {f"zone.{one.id}": "0", f"zone.{two.id}": "1", "deliveries.0.at": "2026-11-30T07:00"}
    manager.post(path(cast), data=chosen(manager.get(path(cast)), cast, **names, **zones))
    page = manager.get(path(cast)).text
    assert "Comes Mon 30 Nov 2026, 7:00 am." in page
    by_zone = table_of(page, "What each zone takes")
    assert [row[0] for row in by_zone] == ["B", "C"]
    cuts = re.findall(r"(?:[BC] )?\d+: 80 ft", page)
    assert sum(int(row[1]) for row in by_zone) == len(cuts) == 12
    by_delivery = table_of(page, "What comes when")
    assert [row[:3] for row in by_delivery] == [["Truck 1", "B", "6"], ["Truck 2", "C", "6"]]
    assert sum(int(row[3]) for row in by_delivery) == numbers(page)[TO_ORDER]
    assert sum(int(row[4]) for row in by_delivery) == numbers(page, 1)[TO_ORDER]


def test_choices_looked_at_are_not_recorded_and_saved_ones_are_once(
    desk: Desk, cast: Cast, page_of: ClientOf, pair: tuple[Zone, Zone]
) -> None:
    def planned() -> int:
        lines, _ = entries_after(desk, cast.manager.id, cast.project_id, 0, limit=500)
        return sum(line.entry.type == "order-planned" for line in lines)

    manager = page_of(cast.manager)
    looked = manager.get(path(cast), params={"material": "", "repairs": "3"})
    assert "looked at and not saved" in looked.text and planned() == 0
    assert form_of(looked.text, path(cast))["repairs"] == "3"
    assert "3 in 1,000 sq ft, 16 by 16 in each" in looked.text
    sent = chosen(looked, cast)
    for _ in range(2):
        assert manager.post(path(cast), data=sent).headers["location"].endswith("?did=saved")
    assert planned() == 1
    again = manager.get(path(cast))
    assert "saved by Max Manager, project manager" in again.text
    manager.post(path(cast), data=chosen(again, cast))
    assert planned() == 1, "the same choice again records nothing"


def test_what_is_at_fault_is_named_beside_its_field_and_nothing_typed_is_lost(
    cast: Cast, page_of: ClientOf, pair: tuple[Zone, Zone]
) -> None:
    manager = page_of(cast.manager)
    wrong = {
        "film_allowance": "lots", "repairs": "2,5", "stock.0.whole_rolls": "-1", "deliveries.0.label": "Noon",
        "deliveries.1.at": "2026-02-30T07:00",
    }  # fmt: skip
    sent = chosen(manager.get(path(cast)), cast, **wrong)
    for answer in (manager.post(path(cast), data=sent), manager.get(path(cast), params=sent)):
        assert answer.status_code == 422
        for name in ("film_allowance", "stock.0.whole_rolls", "deliveries.0.label", "deliveries.1.at"):
            assert f'id="{name}-wrong"' in answer.text, name
        assert 'id="repairs-wrong"' not in answer.text
        kept = form_of(answer.text, path(cast))
        assert {name: kept[name] for name in wrong} == wrong


def test_zones_that_are_not_in_the_order_are_named_and_lead_to_their_layout(
    desk: Desk, cast: Cast, page_of: ClientOf, film: Material
) -> None:
    manager = page_of(cast.manager)
    bare = a_zone(desk, cast)
    page = manager.get(path(cast))
    assert "No sheets are laid out yet" in page.text and f'href="/zones/{bare.id}/layout"' in page.text
    for end in (".csv", ".pdf"):
        answer = manager.get(path(cast, end))
        assert (answer.status_code, answer.headers["location"]) == (303, path(cast))
    two = a_zone(desk, cast, bare.sketch_id, "C", NEXT_DOOR)
    a_layout(desk, cast, [two], rows_over(NEXT_DOOR), film.id)
    assert "No layout yet, so not in this order: B." in manager.get(path(cast)).text


def test_a_film_whose_roll_is_not_stated_is_asked_for(
    desk: Desk, cast: Cast, page_of: ClientOf, pair: tuple[Zone, Zone]
) -> None:
    manager, bare = page_of(cast.manager), a_roll(desk, cast, roll_width="", roll_length="")
    answer = manager.get(path(cast), params={"material": bare.id})
    assert answer.status_code == 422 and "submit it with its roll" in answer.text


def test_a_sheet_laid_leaves_the_list_and_the_stock_is_to_be_counted_again(
    desk: Desk, cast: Cast, page_of: ClientOf, film: Material
) -> None:
    manager, zone = page_of(cast.manager), a_zone(desk, cast)
    layout = a_layout(desk, cast, [zone], rows_over(SQUARE), film.id)
    lot = a_lot(desk, cast, film)
    first = manager.get(path(cast))
    assert "By the lots received and the sheets laid: 4 rolls." in first.text
    manager.post(path(cast), data=chosen(first, cast, **{"stock.0.whole_rolls": "2"}))
    assert "count it again" not in manager.get(path(cast)).text
    sheets_laid(desk, cast, zone, layout, lot.id, (1, 2))
    page = manager.get(path(cast)).text
    assert "count it again" in page and "Laid already: 2 sheets." in page
    assert numbers(page)[NEEDED:] == [2, 0, 2, 0, 0]


def test_a_record_carries_the_same_table_once_an_order_was_planned(
    desk: Desk, cast: Cast, page_of: ClientOf, pair: tuple[Zone, Zone]
) -> None:
    def recorded() -> dict[str, str]:
        with desk.reading() as session:
            return order_tables(slices.whole_site(session, cast.project_id))

    manager = page_of(cast.manager)
    assert recorded() == {}
    manager.post(path(cast), data=chosen(manager.get(path(cast)), cast, film_allowance="25"))
    told = manager.get(path(cast, ".csv")).content.decode()
    assert recorded() == {"order.csv": told} and '"rolls, allowance",2,' in told


def test_table_paper_and_json_tell_what_the_page_tells(
    cast: Cast, page_of: ClientOf, program_of: ClientOf, film: Material, pair: tuple[Zone, Zone]
) -> None:
    manager = page_of(cast.manager)
    more = {"deliveries.0.label": "=1+1", f"zone.{pair[0].id}": "0", "film_allowance": "25"}
    manager.post(path(cast), data=chosen(manager.get(path(cast)), cast, **more))
    page = manager.get(path(cast)).text
    counts = numbers(page)[NEEDED:]

    told: Any = program_of(cast.lead).get(f"/api/v1{path(cast)}").json()
    rolls = told["order"]["film"]["rolls"]
    names = ("needed", "allowance", "stock", "to_order", "left_over")
    assert [rolls[name] for name in names] == counts
    assert told["choices"]["material"] == film.id and told["choices"]["film_allowance"] == "25"
    cut = {sheet["name"] for roll in told["order"]["film"]["cuts"] for sheet in roll["sheets"]}
    assert cut == {f"{letter} {n}" for letter in "BC" for n in range(1, 7)}

    with pypdfium2.PdfDocument(manager.get(path(cast, ".pdf")).content) as paper:
        words = " ".join(of.get_textpage().get_text_range() for of in paper)
    assert f"Order {counts[3]} rolls of film" in " ".join(words.split())

    answer = manager.get(path(cast, ".csv"))
    assert answer.headers["content-type"].startswith("text/csv")
    rows = list(csv.DictReader(io.StringIO(answer.text, newline="")))
    film_rows = {row["what"]: int(row["number"] or 0) for row in rows if row["part"] == "film"}
    ends = ("needed before allowance", "allowance", "stock on site used", "to order", "left over on site")
    assert [film_rows[f"rolls, {end}"] for end in ends] == counts
    assert {row["what"] for row in rows if row["part"] == "cutting" and row["what"].startswith("sheet")} == {
        f"sheet {name}" for name in cut
    }
    cells = [cell for row in rows for cell in row.values()]
    assert any("=1+1" in cell for cell in cells)
    assert not [cell for cell in cells if cell[:1] in ("=", "+", "-", "@")]
