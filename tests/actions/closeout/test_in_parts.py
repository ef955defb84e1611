"""A closeout told zone by zone from parts of the site is the closeout told from the whole of it."""

from __future__ import annotations

import pytest

from service.actions.closeout import closeout, paper
from service.domain.nouns.site import Site
from tests.history.random_story import MUCH_OF, Teller
from tests.history.story import Story


class Whole:
    """In the place of `SiteParts`: every zone is told from everything."""

    def __init__(self, site: Site) -> None:
        self.site = site

    def of(self, zone_id: str) -> Site:
        return self.site


def told(story: Story) -> tuple[object, ...]:
    found = closeout.closeout_of(story.site, story.entries, {})
    return found, paper.drawings_of(story.site, found)


@pytest.mark.parametrize("seed", range(len(MUCH_OF)))
def test_parts_tell_and_draw_what_the_whole_does(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    teller = Teller(seed)
    for turn, fact in enumerate(teller.tell(60)):
        teller.story.tell(fact)
        if turn % 12 != 11:
            continue
        in_parts = told(teller.story)
        with monkeypatch.context() as patch:
            patch.setattr(closeout, "SiteParts", Whole)
            patch.setattr(paper, "SiteParts", Whole)
            assert told(teller.story) == in_parts
