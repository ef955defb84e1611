"""One mark's page: how it stands, its patches and photos, and withdrawing."""

from __future__ import annotations

import re

import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.reading import defect_view, zone_view
from service.actions.marks import patches
from service.actions.marks.defects import settle_photo, take_in_photo
from service.domain.nouns.site import Defect
from tests.builders import SLIT, a_mark, a_patch, a_repair, a_zone, sides
from tests.cast import Cast, Clock
from tests.conftest import ClientOf
from tests.media.making import encoded, scene
from tests.web.office.forms import form_of


@pytest.fixture
def mark(desk: Desk, cast: Cast) -> Defect:
    return a_mark(desk, cast, a_zone(desk, cast))


def test_it_tells_how_it_stands_patch_by_patch(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    a_patch(desk, cast, mark, sides(right="5 3/4 in"))
    page = page_of(cast.lead).get(f"/defects/{mark.id}").text
    assert "B-01 is not sealed: short by 1/4 in on the right" in page
    assert "far 6 in, left 6 in, right 5 3/4 in, near 6 in" in page
    a_patch(desk, cast, mark, sides("7 in", "7 in", "7 in", "7 in"))
    page = page_of(cast.inspector).get(f"/defects/{mark.id}").text
    assert "B-01 is sealed: least overlap 7 in" in page
    assert "By itself: short by 1/4 in on the right." in page and "By itself it holds" in page
    assert "Log another patch" not in page, "an inspector logs none"
    assert page.count("logged a patch on B-01") == 2


def test_its_maker_withdraws_it_with_a_reason(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    client, path = page_of(cast.lead), f"/defects/{mark.id}/withdraw"
    form = form_of(client.get(path).text, path)
    assert client.post(path, data=form).status_code == 422
    gone = client.post(path, data=form | {"reason": "a shadow"})
    assert (gone.status_code, gone.headers["location"]) == (303, f"/zones/{mark.zone_id}?said=withdrawn")
    again = client.post(path, data=form | {"reason": "a shadow"})
    assert again.headers["location"] == gone.headers["location"]
    assert "Withdrawn already: a shadow" in client.get(path).text
    page = client.get(f"/defects/{mark.id}").text
    assert "B-01 is withdrawn" in page and path not in page


def test_an_inspectors_mark_is_not_the_crews_to_withdraw(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    theirs = a_mark(desk, cast, zone, by=cast.inspector.id)
    path = f"/defects/{theirs.id}/withdraw"
    for person in (cast.lead, cast.manager):
        assert path not in page_of(person).get(f"/defects/{theirs.id}").text
        assert page_of(person).post(path, data={"reason": "mine"}).status_code == 403
    assert path in page_of(cast.inspector).get(f"/defects/{theirs.id}").text
    assert zone_view(desk, cast.lead.id, zone.id).defects()[0].withdrawn is None


def test_a_patch_withdrawn_opens_the_mark_again(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    patch, client = a_patch(desk, cast, mark), page_of(cast.lead)
    path = f"/patches/{patch.id}/withdraw"
    assert client.post(path, data=form_of(client.get(path).text, path)).status_code == 422
    gone = client.post(path, data=form_of(client.get(path).text, path) | {"reason": "taken up"})
    page = client.get(gone.headers["location"]).text
    assert "B-01 is open" in page and "Withdrawn: taken up" in page


def test_a_patch_logged_by_another_lead_is_not_ones_own_to_withdraw(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    patch = patches.log_patch(desk, cast.manager.id, mark.id, sides()).patch
    client = page_of(cast.lead)
    assert f"/patches/{patch.id}/withdraw" not in client.get(f"/defects/{mark.id}").text
    assert client.post(f"/patches/{patch.id}/withdraw", data={"reason": "mine"}).status_code == 403


def test_a_photo_is_kept_once_and_shown_to_its_project_only(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    client, path = page_of(cast.lead), f"/defects/{mark.id}/photos"
    form = form_of(client.get(f"/defects/{mark.id}").text, path)
    form = {"request_key": form["request_key"]}
    photo = encoded(scene(64, 48), "JPEG")
    for _ in range(2):
        sent = client.post(path, data=form, files={"camera": ("a.jpg", photo, "image/jpeg")})
        assert sent.headers["location"] == f"/defects/{mark.id}?said=photo"
    (kept,) = defect_view(desk, cast.lead.id, mark.id)[0].photos_of(mark.id)
    address = f"/photos/{kept.id}.webp"
    assert f'src="{address}?small=1"' in client.get(f"/defects/{mark.id}").text
    full = client.get(address)
    assert full.status_code == 200 and full.headers["content-type"] in ("image/jpeg", "image/webp")
    assert full.headers["cache-control"].startswith("private")
    assert client.get(address, headers={"If-None-Match": full.headers["etag"]}).status_code == 304
    assert len(client.get(f"{address}?small=1").content) <= len(full.content)
    assert page_of(cast.outsider).get(address).status_code == 404


def test_a_photo_form_without_a_photo_says_so(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    answer = page_of(cast.lead).post(f"/defects/{mark.id}/photos", data={"request_key": "k"})
    assert answer.status_code == 422 and "Take a photo, or choose a picture." in answer.text


def _photographed(desk: Desk, cast: Cast, kind: str, subject: str) -> str:
    taken = take_in_photo(desk, cast.lead.id, kind, subject, encoded(scene(64, 48), "JPEG"))
    return settle_photo(desk, cast.lead.id, kind, subject, taken).id


def _side_by_side(page: str) -> list[tuple[str, str]]:
    """The pair as shown: each photo's id, and the word beneath it."""
    rows = re.findall(r'<figure><a href="/photos/(\w[\w-]*)\.webp">.*?<b>(\w+)</b>.*?</figure>', page)
    return [(photo, word) for photo, word in rows]


def test_the_newest_photo_before_stands_beside_the_newest_after(
    desk: Desk, cast: Cast, clock: Clock, page_of: ClientOf, mark: Defect
) -> None:
    client, path = page_of(cast.lead), f"/defects/{mark.id}"
    for _ in range(2):
        found = _photographed(desk, cast, "defect", mark.id)
        clock.go_on(minutes=5)
    patch = a_patch(desk, cast, mark)
    clock.go_on(minutes=5)
    _photographed(desk, cast, "defect", mark.id)  # of the mark, when film lay over it already
    assert "Before and after" not in client.get(path).text, "there is no photo of the patch yet"
    for _ in range(2):
        clock.go_on(minutes=5)
        mended = _photographed(desk, cast, "patch", patch.id)
    page = client.get(path).text
    assert _side_by_side(page) == [(found, "Before"), (mended, "After")]
    assert "B-01 before it was mended" in page and "B-01 after it was mended" in page
    patches.withdraw_patch(desk, cast.lead.id, patch.id, "taken up")
    assert _side_by_side(client.get(path).text) == [], "a patch taken up shows no mending"


def test_what_came_with_a_repair_shows_the_mark_after(
    desk: Desk, cast: Cast, clock: Clock, page_of: ClientOf
) -> None:
    lap = a_mark(desk, cast, a_zone(desk, cast), kind="short lap", outline=SLIT)
    found = _photographed(desk, cast, "defect", lap.id)
    clock.go_on(minutes=5)
    a_repair(desk, cast, lap)
    mended = _photographed(desk, cast, "defect", lap.id)
    page = page_of(cast.lead).get(f"/defects/{lap.id}").text
    assert _side_by_side(page) == [(found, "Before"), (mended, "After")]
