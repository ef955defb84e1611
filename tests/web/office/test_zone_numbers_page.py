"""A zone's numbers: who asks for each, what asking more would do, and nothing saved without looking."""

from __future__ import annotations

import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.actions.office.numbers import raise_numbers
from service.domain.nouns.installed import Raised
from service.domain.nouns.site import Zone
from tests.builders import a_laying, a_lot, a_mark, a_material, a_patch, a_release, a_walk, a_zone, state_of
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.web.office.forms import actions_of, form_of


@pytest.fixture
def ready(desk: Desk, cast: Cast) -> Zone:
    """A released zone whose one patch overlaps by exactly 6 in."""
    zone = a_zone(desk, cast)
    a_patch(desk, cast, a_mark(desk, cast, zone))
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    return zone


def path(zone: Zone) -> str:
    return f"/zones/{zone.id}/numbers"


def raised(desk: Desk, cast: Cast, zone: Zone) -> tuple[Raised, ...]:
    return zone_view(desk, cast.lead.id, zone.id).zone.raised


def test_who_asks_for_each_number_is_told(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    a_laying(desk, cast, zone, a_lot(desk, cast, a_material(desk, cast, least_lap="9 in")))
    raise_numbers(desk, cast.manager.id, zone.id, {"lap": {"value": "8 in", "source": "Drawing S-101"}})
    page = page_of(cast.inspector).get(path(zone)).text
    for words in ("Lap: 9 in", "ASTM E1643 section 6", "Drawing S-101", "Submittal 3: its maker&#39;s own"):
        assert words in page, words
    assert path(zone) not in actions_of(page)


def test_asking_more_shows_what_it_does_before_it_is_saved(
    desk: Desk, cast: Cast, page_of: ClientOf, ready: Zone
) -> None:
    manager = page_of(cast.manager)
    sent = form_of(manager.get(path(ready)).text, path(ready))
    sent |= {"patch_overlap": "8 in", "patch_overlap_source": "S-101", "step": "look"}
    looked = manager.post(path(ready), data=sent)
    assert looked.status_code == 200 and "6 in now, <b>8 in</b> then" in looked.text
    assert "The release of zone B falls away." in looked.text
    assert raised(desk, cast, ready) == () and state_of(desk, cast, ready) == "ready to place"
    save = form_of(looked.text, path(ready)) | {"step": "save"}
    assert [manager.post(path(ready), data=save).status_code for _ in range(2)] == [303, 303]
    assert [(one.name, one.source) for one in raised(desk, cast, ready)] == [("patch_overlap", "S-101")]
    assert state_of(desk, cast, ready) == "held"


def test_a_number_that_asks_no_more_comes_back_as_typed(cast: Cast, page_of: ClientOf, ready: Zone) -> None:
    manager = page_of(cast.manager)
    sent = form_of(manager.get(path(ready)).text, path(ready)) | {"tape_width": "5 in", "step": "look"}
    for typed, told in (
        ("6 in", "A zone may only ask more"),
        ("5 in", "may only ask more"),
        ("8", "of what?"),
    ):
        answer = manager.post(path(ready), data=sent | {"lap": typed})
        assert answer.status_code == 422 and told in answer.text
        kept = form_of(answer.text, path(ready))
        assert (kept["lap"], kept["tape_width"]) == (typed, "5 in")
    nothing = form_of(manager.get(path(ready)).text, path(ready)) | {"step": "look"}
    assert "Nothing is changed yet" in manager.post(path(ready), data=nothing).text


def test_nothing_is_saved_without_looking(desk: Desk, cast: Cast, page_of: ClientOf, ready: Zone) -> None:
    manager = page_of(cast.manager)
    sent = form_of(manager.get(path(ready)).text, path(ready)) | {"lap": "8 in", "step": "save"}
    answer = manager.post(path(ready), data=sent)
    assert answer.status_code == 409 and "Nothing is saved yet" in answer.text
    assert raised(desk, cast, ready) == ()


def test_somebody_elses_change_is_not_overwritten(
    desk: Desk, cast: Cast, page_of: ClientOf, ready: Zone
) -> None:
    manager = page_of(cast.manager)
    sent = form_of(manager.get(path(ready)).text, path(ready)) | {"lap": "8 in", "step": "look"}
    looked = manager.post(path(ready), data=sent)
    raise_numbers(desk, cast.manager.id, ready.id, {"lap": "12 in"})
    for again in (form_of(looked.text, path(ready)) | {"step": "save"}, sent):
        answer = manager.post(path(ready), data=again)
        assert answer.status_code == 409 and "since you looked" in answer.text
    assert [one.value for one in raised(desk, cast, ready)] == [12 * 25_400_000]


def test_emptied_a_number_is_taken_back_and_a_new_source_keeps_the_exact_one(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    """155 mm is shown as 6 1/8 in (155.575 mm): read back from the form it would be another number."""
    zone = a_zone(desk, cast)
    raise_numbers(desk, cast.manager.id, zone.id, {"patch_overlap": "155 mm", "lap": "8 in"})
    manager = page_of(cast.manager)
    sent = form_of(manager.get(path(zone)).text, path(zone))
    assert sent["patch_overlap"] == "6 1/8 in"
    sent |= {"lap": "", "patch_overlap_source": "S-101", "step": "look"}
    looked = manager.post(path(zone), data=sent)
    assert "8 in now, <b>6 in</b> then" in looked.text
    manager.post(path(zone), data=form_of(looked.text, path(zone)) | {"step": "save"})
    assert raised(desk, cast, zone) == (Raised("patch_overlap", 155_000_000, "S-101"),)


@pytest.mark.parametrize(("who", "status"), [("lead", 403), ("inspector", 403), ("outsider", 404)])
def test_only_a_project_manager_asks_more(
    desk: Desk, cast: Cast, page_of: ClientOf, ready: Zone, who: str, status: int
) -> None:
    sent = form_of(page_of(cast.manager).get(path(ready)).text, path(ready)) | {"lap": "9 in"}
    for step in ("look", "save", "edit", ""):
        assert page_of(getattr(cast, who)).post(path(ready), data=sent | {"step": step}).status_code == status
    assert raised(desk, cast, ready) == ()
