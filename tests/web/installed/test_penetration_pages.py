"""Placing and sealing penetrations on a phone, as a browser without scripts sends it."""

from __future__ import annotations

import httpx
import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.doing import record, sketch_to_change
from service.actions.frame.reading import zone_view
from service.actions.installed.penetrations import penetration_view, place_penetrations
from service.domain.installed.trade_sizes import KINDS, sizes
from service.domain.nouns.installed import Penetration
from service.domain.nouns.site import Alignment, Zone
from service.domain.shapes.outlines import Circle, Rectangle
from service.history.facts.facts import SketchRevised
from tests.builders import NEXT_DOOR, a_pipe, a_sketch, a_zone, blockers_of
from tests.cast import Cast, assemble
from tests.conftest import ClientOf
from tests.web.office.forms import form_of
from tests.whole.asking import main_words

INCH = 25_400_000
COLLAR = {
    "method": "collar", "collar_width": "12", "collar_length": "22", "fingers": "yes", "taped_to_pipe": "yes",
    "taped_to_film": "yes", "cleaned": "yes", "dry": "yes", "tape_width": "4",
}  # fmt: skip
MASTIC = {"method": "mastic", "close_cut": "yes", "cleaned": "yes", "dry": "yes"}


@pytest.fixture
def cast(desk: Desk) -> Cast:
    return assemble(desk, demands=("penetrations",))


def pipes(desk: Desk, cast: Cast, zone: Zone) -> list[Penetration]:
    return zone_view(desk, cast.lead.id, zone.id).penetrations()


def bars(desk: Desk, cast: Cast, zone: Zone, count: int = 4) -> list[Penetration]:
    given = {"kind": "reinforcing bar", "size": "#5", "from": [200, 200], "to": [500, 200], "count": count}
    return place_penetrations(desk, cast.lead.id, zone.id, given)


def fresh(client: httpx.Client, path: str) -> dict[str, str]:
    """The form of a page with nothing pressed."""
    form = form_of(client.get(path).text, path.partition("?")[0])
    for name in ("press", "do", "turn_to"):
        form.pop(name, None)
    return form


def test_a_pipe_is_placed_and_its_page_tells_the_collar_to_cut(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    """NPS 4: 1.5 girths are 21.206 in (TRADE.md 9.1, calculated), cut 21 1/4 in."""
    zone, client = a_zone(desk, cast), page_of(cast.lead)
    path = f"/zones/{zone.id}/penetrations/place"
    sent = client.post(path, data=fresh(client, path) | {"x": "300", "y": "310", "what": "steel pipe|NPS 4"})
    assert sent.status_code == 303
    words = main_words(client.get(sent.headers["location"]))
    assert "B-P01 is not sealed yet" in words
    assert "Collar 12 in wide, cut 21 1/4 in long, fingers cut 6 in" in words
    assert "4.500 in across" in words and "Or mastic" not in words
    (pipe,) = pipes(desk, cast, zone)
    assert (pipe.at, pipe.outline) == ((300_000, 310_000), Circle(114_300_000))
    assert fresh(client, path)["what"] == "steel pipe|NPS 4", "the last one is offered again"


def test_every_size_of_every_kind_is_offered_without_scripts(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    page = page_of(cast.lead).get(f"/zones/{a_zone(desk, cast).id}/penetrations/place").text
    for kind in KINDS:
        assert f'value="{kind}|"' in page
        assert all(f'value="{kind}|{size.name}"' in page for size in sizes(kind))


def test_a_row_is_placed_from_end_to_end_and_switching_keeps_what_was_typed(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone, client = a_zone(desk, cast), page_of(cast.lead)
    path = f"/zones/{zone.id}/penetrations/place"
    typed = fresh(client, path) | {"what": "reinforcing bar|#5", "note": "dowels", "turn_to": "row"}
    turned = client.post(path, data=typed)
    form = form_of(turned.text, path)
    assert turned.status_code == 200
    assert (form["by"], form["what"], form["note"]) == ("row", "reinforcing bar|#5", "dowels")
    for name in ("press", "do", "turn_to"):
        form.pop(name, None)
    ends = {"x1": "200", "y1": "200", "x2": "500", "y2": "200"}
    refused = client.post(path, data=form | ends)
    assert refused.status_code == 422 and "how many stand in the row" in main_words(refused)
    sent = client.post(path, data=form | ends | {"count": "4"})
    assert sent.status_code == 303
    assert [pipe.at[0] for pipe in pipes(desk, cast, zone)] == [200_000, 300_000, 400_000, 500_000]
    assert "B-P02, B-P03 and B-P04" in main_words(client.get(sent.headers["location"]))


def test_a_measured_duct_lies_as_the_turned_picture_shows_it(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    """Today's picture is turned a quarter against the first: what lies level on it lies upright beneath."""
    sketch = a_sketch(desk, cast)
    zone, client = a_zone(desk, cast, sketch), page_of(cast.lead)
    with desk.writing() as session:
        seen, site = sketch_to_change(session, cast.manager.id, sketch, "add a sketch")
        quarter = Alignment((0, 0), (1_000_000, 0), (2_000_000, 0), (2_000_000, 1_000_000))
        fact = SketchRevised(sketch, "1" * 64, None, 2000, 3000, 5, quarter)
        record(desk, session, site, cast.manager.id, seen.role, fact)
    path = f"/zones/{zone.id}/penetrations/place"
    size = {"what": "duct|", "shape": "rectangle", "length": "24", "width": "12", "angle_deg": "0"}
    sent = client.post(path, data=fresh(client, path) | size | {"x": "1700", "y": "300"})
    assert sent.status_code == 303, main_words(sent)
    (duct,) = pipes(desk, cast, zone)
    assert duct.outline == Rectangle(24 * INCH, 12 * INCH, 270_000_000)
    assert duct.at == (300_000, 300_000)


def test_a_place_in_the_next_zone_is_offered_to_it_with_everything_typed(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    sketch = a_sketch(desk, cast)
    zone, client = a_zone(desk, cast, sketch), page_of(cast.lead)
    other = a_zone(desk, cast, sketch, "C", NEXT_DOOR)
    path = f"/zones/{zone.id}/penetrations/place"
    form = fresh(client, path) | {"x": "1200", "y": "300", "what": "PVC pipe|NPS 2", "note": "by the door"}
    refused = client.post(path, data=form)
    assert refused.status_code == 422 and "It lies in zone C: place it there" in refused.text
    again = form_of(refused.text, path)
    assert again["note"] == "by the door"
    assert client.post(path, data=form | {"zone": other.id}).status_code == 303
    assert [pipe.tag for pipe in pipes(desk, cast, other)] == ["C-P01"]


def test_a_seal_tells_its_verdict_at_once_with_every_fault(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone, client = a_zone(desk, cast), page_of(cast.lead)
    given = {"kind": "steel pipe", "size": "4", "at": [300, 300]}
    (pipe,) = place_penetrations(desk, cast.lead.id, zone.id, given)
    path = f"/penetrations/{pipe.id}/seal"
    poor = COLLAR | {"collar_length": "21 1/8", "fingers": "no", "tape_width": "3"}
    sent = client.post(path, data=fresh(client, path) | poor)
    words = main_words(client.get(sent.headers["location"]))
    assert "B-P01 is not sealed: the collar is cut shorter than the rule sheet asks for this girth" in words
    assert "its fingers are not cut half the collar's width" in words and "the tape is narrower" in words
    offered = fresh(client, path)
    assert (offered["collar_width"], offered["tape_width"]) == ("12", "3")
    assert not offered["collar_length"] and "fingers" not in offered, "measured and answered anew every time"
    sent = client.post(path, data=offered | COLLAR)
    assert "B-P01 is sealed: collar 12 in wide, 22 in long" in main_words(
        client.get(sent.headers["location"])
    )
    assert "penetration-not-sealed" not in blockers_of(desk, cast, zone)


def test_a_question_left_open_gives_everything_typed_back(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    client, pipe = page_of(cast.lead), a_pipe(desk, cast, a_zone(desk, cast))
    path = f"/penetrations/{pipe.id}/seal"
    form = fresh(client, path) | COLLAR | {"lot": "R-2231", "note": "north wall", "film_temperature": "45"}
    form.pop("dry")
    refused = client.post(path, data=form)
    assert refused.status_code == 422
    assert "Was it dry? Answer yes or no." in main_words(refused)
    assert "Write F or C behind the temperature" in main_words(refused)
    again = form_of(refused.text, path)
    assert all(again[name] == form[name] for name in form)


def test_the_same_seal_is_logged_on_all_that_were_shown_and_on_nothing_placed_since(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone, client = a_zone(desk, cast), page_of(cast.lead)
    row = bars(desk, cast, zone)
    path = f"/penetrations/{row[0].id}/seal"
    page = client.get(path).text
    assert "Same for these too: B-P02, B-P03 and B-P04" in page
    form = form_of(page, path) | MASTIC | {"all_alike": "yes"}
    later = place_penetrations(
        desk, cast.lead.id, zone.id, {"kind": "reinforcing bar", "size": "#5", "at": [600, 600]}
    )
    data = {**form, "alike": [pipe.id for pipe in row[1:]]}
    assert client.post(path, data=data).status_code == 303
    sealed = [pipe.tag for pipe in pipes(desk, cast, zone) if pipe.seal is not None]
    assert sealed == [pipe.tag for pipe in row]
    assert penetration_view(desk, cast.lead.id, later[0].id)[1].seal is None


def test_those_too_close_are_offered_one_dam_and_sealed_by_one_form(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    """Three of 0.922 in across (ANSI C80.3), 6 in apart: 12.922 by 0.922 in, and 6 in more on every side."""
    zone, client = a_zone(desk, cast), page_of(cast.lead)
    given = {"kind": "EMT conduit", "size": "3/4", "from": [300, 300], "to": [310, 300], "count": 3}
    group = place_penetrations(desk, cast.lead.id, zone.id, given)
    page = client.get(f"/zones/{zone.id}/penetrations")
    told = "B-P01, B-P02 and B-P03 stand closer than a collar allows: one sheet and sealant in a dam, cut "
    assert f"{told}24 15/16 by 12 15/16 in." in main_words(page)
    path = f"/penetrations/{group[0].id}/seal"
    form = form_of(client.get(f"{path}?together=yes").text, path)
    assert form["method"] == "sealant in a dam"
    data = {**form, **MASTIC, "method": "sealant in a dam", "also": [pipe.id for pipe in group[1:]]}
    sent = client.post(path, data=data)
    assert "B-P01 is sealed: sealant in a dam" in main_words(client.get(sent.headers["location"]))
    assert all(pipe.seal is not None for pipe in pipes(desk, cast, zone))


def test_the_list_puts_what_is_not_sealed_first_and_an_inspector_sees_no_button(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone = a_zone(desk, cast)
    a_pipe(desk, cast, zone)
    bars(desk, cast, zone, 2)
    words = main_words(page_of(cast.lead).get(f"/zones/{zone.id}/penetrations"))
    assert "2 of 3 penetrations not sealed" in words
    assert words.index("To seal") < words.index("B-P02") < words.index("Sealed") < words.index("B-P01")
    seen = main_words(page_of(cast.inspector).get(f"/zones/{zone.id}/penetrations"))
    assert "Place a penetration" not in seen and "B-P02" in seen


def test_that_there_are_none_is_stated_only_by_who_says_they_looked(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone, client = a_zone(desk, cast), page_of(cast.lead)
    assert "There are none here" in client.get(f"/zones/{zone.id}/penetrations").text
    path = f"/zones/{zone.id}/none-here"
    form = fresh(client, path)
    assert client.post(path, data=form).status_code == 422
    assert "none-stated" in blockers_of(desk, cast, zone)
    sent = client.post(path, data=form | {"looked": "yes"})
    assert sent.headers["location"] == f"/zones/{zone.id}/penetrations?said=none"
    assert "none-stated" not in blockers_of(desk, cast, zone)
    assert "It is stated that zone B has none" in main_words(client.get(sent.headers["location"]))


def test_a_seal_and_a_penetration_are_taken_back_with_a_reason(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone, client = a_zone(desk, cast), page_of(cast.lead)
    pipe = a_pipe(desk, cast, zone)
    for end, told in (("unseal", "B-P01 is not sealed yet"), ("withdraw", "Withdrawn: Moved")):
        path = f"/penetrations/{pipe.id}/{end}"
        assert client.post(path, data=fresh(client, path)).status_code == 422
        sent = client.post(path, data=fresh(client, path) | {"reason": "Moved"})
        assert told in main_words(client.get(sent.headers["location"]))
