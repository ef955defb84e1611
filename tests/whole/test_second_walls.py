"""Guards that no right request of the permission matrix gets to, because something before them refuses, or
asks for more: each asked by itself, by somebody who may not."""

from __future__ import annotations

from pathlib import Path

import pytest

from service.actions.sketches import pdfs, pictures, sketches
from service.actions.sketches.pictures import Taken
from service.domain.nouns.roles import CREW_LEAD
from service.domain.words.refusals import NotAllowed
from tests.whole.asking import actor_of, main_words
from tests.whole.stage import Stage


def test_a_pdf_that_was_kept_is_shown_to_nobody_who_may_not_add_a_sketch(stage: Stage) -> None:
    with pytest.raises(NotAllowed):
        pdfs.kept_pdf(stage.desk.fresh(), stage.cast.lead.id, stage.cast.project_id, "0" * 64)


def test_a_picture_that_is_coming_is_shown_to_nobody_who_may_not_add_a_sketch(stage: Stage) -> None:
    coming = Taken("0" * 64, None)
    with pytest.raises(NotAllowed):
        pictures.shown_picture(stage.desk.fresh(), stage.cast.lead.id, stage.ids["sketch_id"], coming=coming)


def test_the_picture_of_somebody_who_may_not_revise_a_sketch_is_not_even_opened(stage: Stage) -> None:
    nowhere = Path("no such picture")
    with pytest.raises(NotAllowed):
        sketches.revise_sketch(
            stage.desk.fresh(),
            stage.cast.lead.id,
            stage.ids["sketch_id"],
            nowhere,
            [(0, 0), (9, 9)],
            [(0, 0), (9, 9)],
        )


def test_a_release_form_at_fault_is_not_given_back_to_who_may_not_release(stage: Stage) -> None:
    with stage.client(actor_of(stage, CREW_LEAD), program=False) as client:
        answer = client.post(f"/zones/{stage.ids['clear_id']}/release", data={"statement": "", "digest": ""})
    assert answer.status_code == 403 and "Only a project manager releases a zone." in main_words(answer)


def test_who_may_not_make_a_password_link_is_told_so_before_it_is_asked_whose(stage: Stage) -> None:
    path = f"/projects/{stage.ids['project_id']}/people/{stage.ids['person_id']}/reset"
    with stage.client(actor_of(stage, CREW_LEAD), program=False) as client:
        answer = client.post(path)
    assert answer.status_code == 403 and "Only a project manager makes this link." in main_words(answer)
