"""A zone's edge on the crew's pages: sides told by number and word, described, sealed, taken back.

The zone is 80 by 60 ft; the sheet asks a lap of 6 in and tape of 4 in (common practice, no source).
"""

from __future__ import annotations

import re

import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.actions.installed.terminations import describe_edge
from service.actions.sketches.zones import change_zone
from service.domain.nouns.installed import JOINT, OVER_FOOTING, TO_WALL, Termination
from service.domain.nouns.site import Zone
from tests import builders
from tests.cast import Cast, assemble
from tests.conftest import ClientOf
from tests.web.office.forms import actions_of, form_of

YES = {"sealed": "yes", "cleaned": "yes", "dry": "yes"}


@pytest.fixture
def cast(desk: Desk) -> Cast:
    return assemble(desk, demands=("terminations",))


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    return builders.a_zone(desk, cast)


def edges_of(desk: Desk, cast: Cast, zone: Zone) -> list[Termination]:
    return zone_view(desk, cast.lead.id, zone.id).terminations()


def described(desk: Desk, cast: Cast, zone: Zone, *edges: int, kind: str = TO_WALL) -> list[Termination]:
    given = {"kind": kind, "edges": list(edges), "authority": "Engineer" if kind == OVER_FOOTING else ""}
    return describe_edge(desk, cast.lead.id, zone.id, given)


def rows_of(html: str) -> list[str]:
    """The rows of the page's first schedule, as words."""
    schedule = html.partition('<ol class="schedule"')[2].partition("</ol>")[0]
    return [" ".join(re.sub(r"<[^>]+>", " ", row).split()) for row in schedule.split("<li")[1:]]


def test_an_edge_nobody_described_is_told_side_by_side(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    page = page_of(cast.lead).get(f"/zones/{zone.id}/edges").text
    assert "280 ft not described" in page
    rows = [row.partition(">")[2].strip() for row in rows_of(page)]
    assert rows == [f"Side {n} Not described {long} ft open" for n, long in enumerate((80, 60, 80, 60), 1)]


def test_sides_are_described_once_and_the_next_word_is_offered_for_footings_only(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    lead, path = page_of(cast.lead), f"/zones/{zone.id}/edges"
    sent = form_of(lead.get(path).text, path) | {"kind": OVER_FOOTING, "authority": "Engineer, S-101"}
    answers = [lead.post(path, data={**sent, "side": ["1", "3"]}) for _ in range(2)]
    assert {answer.headers["location"] for answer in answers} == {f"{path}?said=described"}
    assert [stretch.tag for stretch in edges_of(desk, cast, zone)] == ["B-E01", "B-E02"]
    again = form_of(lead.get(path).text, path)
    assert again["authority"] == "Engineer, S-101"
    lead.post(path, data={**again, "kind": TO_WALL, "side": "rest"})
    assert [t.authority for t in edges_of(desk, cast, zone)] == ["Engineer, S-101"] * 2 + [""] * 2
    assert path not in actions_of(lead.get(path).text), "nothing is left to describe"


def test_a_side_opened_from_its_row_is_ticked(desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone) -> None:
    path = f"/zones/{zone.id}/edges"
    html = page_of(cast.lead).get(f"{path}?side=3").text
    assert form_of(html, path)["side"] == "3"
    assert "side" not in form_of(page_of(cast.lead).get(f"{path}?side=nonsense").text, path)


def test_part_of_a_side_is_told_as_part_and_overlaps_are_refused_by_tag(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    lead, path = page_of(cast.lead), f"/zones/{zone.id}/edges"
    part = {"from_edge": "2", "from_distance": "10", "to_edge": "2", "to_distance": "20 ft",
            "from_distance_unit": "ft", "to_distance_unit": "ft", "kind": TO_WALL}  # fmt: skip
    assert lead.post(path, data=part).status_code == 303
    assert "Part of side 2, 10 ft" in lead.get(path).text
    answer = lead.post(path, data=part | {"to_distance": "11", "note": "again"})
    assert answer.status_code == 422 and "B-E01 describes part of that already" in answer.text
    kept = form_of(answer.text, path)
    assert (kept["from_distance"], kept["to_distance"], kept["note"]) == ("10", "11", "again")
    assert kept["kind"] == TO_WALL


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({}, "which part of the edge"),
        ({"side": "1", "from_edge": "2", "from_distance": "1 ft", "to_edge": "2", "to_distance": "2 ft"},
         "not both"),
        ({"side": "abc"}, "Tick sides of this zone."),
        ({"from_distance": "1 ft"}, "Choose the side to measure on."),
        ({"side": "1", "kind": OVER_FOOTING}, "whose word it is"),
        ({"side": "1", "kind": "impediment"}, "what the film ends at"),
        ({"side": "1", "kind": ""}, "Say how the film ends there."),
    ],
)  # fmt: skip
def test_what_is_missing_is_asked_for_and_nothing_is_described(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone, sent: dict[str, str], words: str
) -> None:
    path = f"/zones/{zone.id}/edges"
    answer = page_of(cast.lead).post(path, data={"kind": TO_WALL, "authority": " ", **sent})
    assert answer.status_code == 422 and words in answer.text
    assert edges_of(desk, cast, zone) == []


def test_a_stretch_tells_what_must_be_done_and_its_verdict_at_once(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    (stretch,), lead = described(desk, cast, zone, 1), page_of(cast.lead)
    page, path = f"/edges/{stretch.id}", f"/edges/{stretch.id}/seal"
    shown = lead.get(page).text
    assert "B-E01 is open" in shown and "ASTM E1643 6.5" in shown and "Tape at least 4 in wide" in shown
    sent = form_of(shown, path) | YES | {"tape_width": "3"}
    landed = [lead.post(path, data=sent).headers["location"] for _ in range(2)]
    assert set(landed) == {f"{page}?said=sealed"}
    assert "The tape is narrower than the rule sheet asks." in lead.get(page).text
    kept = form_of(lead.get(page).text, path)
    assert kept["tape_width"] == "3" and "sealed" not in kept, "what was used is offered, an answer never"
    lead.post(path, data=kept | YES | {"tape_width": "4"})
    assert "B-E01 is sealed" in lead.get(page).text


def test_a_seal_half_answered_comes_back_as_typed(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    (stretch, other), lead = described(desk, cast, zone, 1, 2), page_of(cast.lead)
    path = f"/edges/{stretch.id}/seal"
    sent = {"sealed": "yes", "cleaned": "no", "tape_width": "six", "also": other.id, "lot": "T-118"}
    answer = lead.post(path, data=sent)
    assert answer.status_code == 422
    assert "Was it dry? Answer yes or no." in answer.text
    kept = form_of(answer.text, path)
    assert {name: kept[name] for name in sent} == sent


def test_others_of_its_kind_are_sealed_in_one_go_and_the_next_is_offered(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    one, two, three = described(desk, cast, zone, 1, 2, 3)
    (footing,) = described(desk, cast, zone, 4, kind=OVER_FOOTING)
    lead, path = page_of(cast.lead), f"/edges/{one.id}/seal"
    page = lead.get(f"/edges/{one.id}").text
    assert f'value="{two.id}"' in page and f'value="{footing.id}"' not in page
    lead.post(path, data={**form_of(page, path), **YES, "tape_width": "4", "also": [two.id, three.id]})
    assert [t.seal is not None for t in edges_of(desk, cast, zone)] == [True, True, True, False]
    assert f'href="/edges/{footing.id}"' in lead.get(f"/edges/{one.id}").text


def test_a_joint_names_the_zone_beyond_and_how_far_film_runs_past(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    builders.a_zone(desk, cast, zone.sketch_id, "C", builders.NEXT_DOOR)
    beside, free = described(desk, cast, zone, 2, 3, kind=JOINT)
    lead, path = page_of(cast.lead), f"/edges/{beside.id}/seal"
    page = lead.get(f"/edges/{beside.id}").text
    assert "Film runs on into zone C" in page and "Run past the joint by at least 6 in." in page
    assert "No zone is outlined along it yet" in lead.get(f"/edges/{free.id}").text
    asked = form_of(page, path)
    assert "runs_past" in asked and "tape_width" not in asked
    lead.post(path, data=asked | YES | {"runs_past": "5 1/2", "protected": "yes"})
    assert "short by 1/2 in" in lead.get(f"/edges/{beside.id}").text


def test_a_seal_and_a_stretch_are_taken_back_with_a_reason(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    (stretch,), lead = described(desk, cast, zone, 1), page_of(cast.lead)
    page = f"/edges/{stretch.id}"
    lead.post(f"{page}/seal", data=YES | {"tape_width": "4 in"})
    for end, told in (
        ("unseal", f"{page}?said=unsealed"),
        ("withdraw", f"/zones/{zone.id}/edges?said=withdrawn"),
    ):
        path = f"{page}/{end}"
        assert f'href="{path}"' in lead.get(page).text
        assert lead.post(path, data=form_of(lead.get(path).text, path)).status_code == 422
        sent = form_of(lead.get(path).text, path) | {"reason": "It came loose."}
        assert [lead.post(path, data=sent).headers["location"] for _ in range(2)] == [told] * 2
        assert "Withdrawn already" in lead.get(path).text
    html = lead.get(page).text
    assert "B-E01 is withdrawn" in html and f"{page}/seal" not in actions_of(html)
    assert "280 ft not described" in lead.get(f"/zones/{zone.id}/edges").text


def test_an_inspector_reads_the_edge_and_changes_nothing(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    (stretch,), inspector = described(desk, cast, zone, 1), page_of(cast.inspector)
    path = f"/zones/{zone.id}/edges"
    html = inspector.get(path).text
    assert "B-E01" in html and path not in actions_of(html)
    shown = inspector.get(f"/edges/{stretch.id}").text
    assert not [action for action in actions_of(shown) if action.startswith("/edges")]
    assert "/withdraw" not in shown
    assert inspector.post(path, data={"side": "2", "kind": TO_WALL}).status_code == 403
    assert page_of(cast.outsider).get(f"/edges/{stretch.id}").status_code == 404


def test_a_project_that_does_not_ask_for_its_edges_says_so(desk: Desk, page_of: ClientOf) -> None:
    cast = assemble(desk)
    zone = builders.a_zone(desk, cast)
    assert "Not asked for on this project" in page_of(cast.lead).get(f"/zones/{zone.id}/edges").text


def test_a_stretch_of_an_outline_that_was_changed_since_is_told(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    described(desk, cast, zone, 1)
    moved = [(x, y + 40 if y == 100 else y) for x, y in builders.SQUARE]
    change_zone(desk, cast.manager.id, zone.id, outline=moved, keep_place_at=True)
    page = page_of(cast.lead).get(f"/zones/{zone.id}/edges").text
    assert "Not on the zone&#39;s outline as it is now" in page
    assert "272 ft not described" in page
