"""One tap, sent twice at the same moment or with a lost reply, lands once."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import httpx

from service.actions.frame.desk import Desk
from tests.api.conftest import Programs
from tests.api.rows import TEAR, Row
from tests.api.scene import Scene, jpeg
from tests.api.shape import assert_refused

MARK = Row("POST", "/zones/{zone}/defects", 201, body={"kind": "tear", "at": [350, 350], "outline": TEAR})


def test_a_mark_sent_eight_times_at_once_under_one_key_gets_one_tag(scene: Scene, programs: Programs) -> None:
    start = Barrier(8)

    def tap(_: int) -> httpx.Response:
        start.wait()
        return MARK.send(programs.lead, scene, key="tap")

    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(tap, range(8)))
    landed = [answer for answer in answers if answer.status_code == 201]
    assert landed and len({answer.content for answer in landed}) == 1
    for answer in answers:
        if answer.status_code != 201:
            assert_refused(answer, 409, "still-under-way")
    zone = programs.lead.get(scene.path("/zones/{zone}")).json()
    assert [mark["tag"] for mark in zone["defects"]] == ["B-01", "B-02", landed[0].json()["tag"]]


def test_without_a_key_two_taps_are_two_marks(scene: Scene, programs: Programs) -> None:
    """The check above could not fail if marks were told apart by their place."""
    tags = {MARK.send(programs.lead, scene).json()["tag"] for _ in range(2)}
    assert len(tags) == 2


def test_a_key_belongs_to_the_person_who_sent_it(scene: Scene, programs: Programs) -> None:
    first = MARK.send(programs.lead, scene, key="tap").json()["tag"]
    assert MARK.send(programs.manager, scene, key="tap").json()["tag"] != first


def test_a_refused_request_may_be_put_right_under_its_key(scene: Scene, programs: Programs) -> None:
    assert_refused(
        MARK.send(programs.lead, scene, body={"kind": "tear", "at": [1, 1], "outline": TEAR}, key="k"), 422
    )
    assert MARK.send(programs.lead, scene, key="k").status_code == 201


def test_the_same_key_at_another_address_is_refused(scene: Scene, programs: Programs) -> None:
    reason = Row("POST", "/defects/{defect}/withdraw", 200, body={"reason": "Twice"})
    other = Row("POST", "/patches/{patch}/withdraw", 200, body={"reason": "Twice"})
    assert reason.send(programs.lead, scene, key="k").status_code == 200
    assert_refused(other.send(programs.lead, scene, key="k"), 422, "key-reused")


def test_a_photo_sent_again_with_another_boundary_is_the_same_request(
    scene: Scene, programs: Programs
) -> None:
    """Every sending of a form draws a new boundary (RFC 2046 section 5.1.1): the file tells them apart."""
    path, key = scene.path("/defects/{defect}/photos"), {"Idempotency-Key": "photo"}
    sent = [
        programs.lead.post(path, files={"file": ("a.jpg", picture)}, headers=key)
        for picture in (jpeg(), jpeg(), jpeg("red"))
    ]
    assert sent[0].status_code == 201
    assert sent[1].content == sent[0].content
    assert_refused(sent[2], 422, "key-reused")


def test_a_reply_told_to_the_phone_is_committed_before_it_is_told(
    scene: Scene, programs: Programs, desk: Desk
) -> None:
    tag = MARK.send(programs.lead, scene, key="tap").json()["tag"]
    with desk.database.reading() as session:
        found = session.connection().exec_driver_sql("SELECT tag FROM defect WHERE tag = ?", (tag,)).all()
    assert len(found) == 1
