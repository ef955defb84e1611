"""The printed lists: sizes that are enough, totals that add up, nothing sealed to cut, nothing left out."""

from __future__ import annotations

import re

from service.actions.frame.desk import Desk
from service.actions.marks import defects
from service.actions.sketches import zones
from service.domain.nouns.site import Zone
from service.web.together.cutting import run_words
from tests.builders import HOLE, NEXT_DOOR, a_mark, a_patch, a_sketch, a_walk, a_zone, sides
from tests.cast import Cast
from tests.conftest import ClientOf

# Sizes of TRADE section 2.5 (calc): damage a by b with 6 in a side is (a + 12) by (b + 12). The lists cut
# 1 in more a side (common practice, no source): 4 by 2 in is 16 by 14 in at least and 18 by 16 in as cut.
SLIT = {"shape": "slit", "length": "30 in", "opening": "1/4 in", "angle_deg": 35}
SEAM = {"shape": "slit", "length": "7 ft"}


def words(page: str) -> str:
    """The page as it reads: tags out, spaces single."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page))


def cut(zone: Zone) -> str:
    return f"/zones/{zone.id}/cut-list"


def punch(zone: Zone) -> str:
    return f"/zones/{zone.id}/punch-list"


def test_pieces_stand_by_size_the_widest_first_with_their_totals(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    """Two of 18 by 16, one of 44 by 14 1/4: 2 x 288 + 627 = 1,203 sq in, 8.354 sq ft; tape 2 x 68 + 116 1/2
    = 252 1/2 in, which is 21.04 ft and so 22 ft to fetch."""
    zone = a_zone(desk, cast)
    a_mark(desk, cast, zone, (600, 300), "tear", SLIT)
    a_mark(desk, cast, zone)
    a_mark(desk, cast, zone, (300, 500))
    page = words(page_of(cast.lead).get(cut(zone)).text)
    assert page.index("2 pieces of 18 by 16 in") < page.index("1 piece of 44 by 14 1/4 in")
    assert page.index("B-02") < page.index("B-03") < page.rindex("B-01")
    assert "Least 16 by 14 in" in page and "Tape 68 in" in page and "Least 42 by 12 1/4 in" in page
    assert "Pieces 3" in page and "Film 8.4 sq ft" in page and "Tape 22 ft, 4 in wide" in page


def test_a_size_between_two_sixteenths_is_cut_to_the_larger(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    """A hole of 1/64 in: 12 1/64 in at least, 14 1/64 in as cut."""
    zone = a_zone(desk, cast)
    a_mark(desk, cast, zone, (300, 300), "hole", {"shape": "circle", "diameter": "1/64 in"})
    page = words(page_of(cast.lead).get(cut(zone)).text)
    assert "1 piece of 14 1/16 by 14 1/16 in" in page and "Least 12 1/16 by 12 1/16 in" in page


def test_a_sealed_mark_needs_no_piece_and_a_short_one_does(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    a_patch(desk, cast, a_mark(desk, cast, zone, (300, 300)))
    a_patch(desk, cast, a_mark(desk, cast, zone, (600, 300)), sides(right="5 3/4 in"))
    page = page_of(cast.lead).get(cut(zone)).text
    table = words(page[page.index("<table") :])
    assert "B-02" in table and "short by 1/4 in on the right" in table and "B-01" not in table


def test_what_no_patch_mends_gets_no_piece_and_its_repair(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    a_mark(desk, cast, zone, (300, 300), "open seam", SEAM)
    page = words(page_of(cast.lead).get(cut(zone)).text)
    assert "No piece to cut" in page and "clean, dry and tape the seam" in page
    assert "piece of" not in page


def test_nothing_open_is_said_in_words(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    assert (
        "No piece to cut: no mark of this zone is open."
        in page_of(cast.lead).get(cut(a_zone(desk, cast))).text
    )


def test_a_neighbour_s_mark_that_reaches_in_is_told_and_cut_once(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    sketch = a_sketch(desk, cast)
    zone, beside = a_zone(desk, cast, sketch), a_zone(desk, cast, sketch, "C", NEXT_DOOR)
    a_mark(desk, cast, beside, (905, 400), "hole", {"shape": "circle", "diameter": "4 ft"})
    client = page_of(cast.lead)
    own, theirs = client.get(cut(zone)).text, client.get(cut(beside)).text
    assert "C-01 reaches in from a neighbour" in own and "1 piece of" not in own
    assert "1 piece of 62 by 62 in" in words(theirs)
    assert "Reaching in from a neighbour" in client.get(punch(zone)).text


def test_the_punch_list_has_every_mark_and_room_to_write_where_a_patch_is_asked(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone = a_zone(desk, cast)
    a_patch(desk, cast, a_mark(desk, cast, zone, (300, 300)))
    a_mark(desk, cast, zone, (600, 300), "hole", HOLE)
    gone = a_mark(desk, cast, zone, (700, 300))
    defects.withdraw_defect(desk, cast.lead.id, gone.id, "a leaf on the film")
    zones.hold_zone(desk, cast.lead.id, zone.id, "frost", "white along the edge")
    page = page_of(cast.lead).get(punch(zone)).text
    rows = {
        tag: words(row) for tag, row in re.findall(r'<span class="tag">(B-0\d)</span>(.*?)</li>', page, re.S)
    }
    assert set(rows) == {"B-01", "B-02", "B-03"}
    assert "Sealed, overlap 6 in" in rows["B-01"] and "left" not in rows["B-01"]
    assert "Cut 14 1/2 by 14 1/2 in (least 12 1/2 by 12 1/2 in)" in rows["B-02"]
    assert all(side in rows["B-02"] for side in ("left", "right", "near", "far", "all edges taped", "lot"))
    assert "Withdrawn: a leaf on the film" in rows["B-03"] and "patched" not in rows["B-03"]
    assert "2 marks, 1 to mend." in page and "Zone B is on hold: frost" in page
    assert "Zone B has no finished punch walk" in page


def test_both_lists_say_when_by_whom_at_which_entry_and_carry_their_cautions(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone = a_zone(desk, cast)
    a_mark(desk, cast, zone)
    a_walk(desk, cast, zone)
    for address in (cut(zone), punch(zone)):
        page = page_of(cast.inspector).get(address).text
        assert "Drawn up Wed 25 Nov 2026, 6:00 am by Ina Inspector, inspector, at entry 9" in page
        assert "with a board under the blade" in page and "Wet film is slick" in page
        assert '<svg class="drawing"' in page and "Only the gate says" in page
        assert "ASTM E1643 section 8 (from memory, not verified)" in page
        assert "style=" not in page and "<script>" not in page, "the page's own policy forbids both"


def test_a_zone_taken_off_has_no_list(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    zones.withdraw_zone(desk, cast.manager.id, zone.id, "drawn twice")
    for address in (cut(zone), punch(zone)):
        answer = page_of(cast.lead).get(address)
        assert answer.status_code == 409 and "drawn twice" in answer.text


def test_nobody_from_outside_reads_the_lists(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    for address in (cut(zone), punch(zone)):
        assert page_of(cast.outsider).get(address).status_code == 404


def test_tape_to_fetch_is_never_less_than_what_is_needed() -> None:
    foot, metre = 304_800_000, 1_000_000_000
    assert run_words(3 * foot, "us") == "3 ft" and run_words(3 * foot + 1, "us") == "4 ft"
    assert run_words(2 * metre, "metric") == "2.0 m" and run_words(2 * metre + 1, "metric") == "2.1 m"
