"""What stands in the head of every page of a project: whose it is, who looks at it, and the ways on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from service.actions.entrance.accounts import Person
from service.domain.nouns.roles import CREW_LEAD, INSPECTOR, PROJECT_MANAGER
from service.domain.nouns.site import Project
from service.domain.words.speech import later, tr
from service.web.serving.render import Shell, Way

# A project's page for each audience; everybody may open all of them, one's own comes first.
AUDIENCES = (
    (CREW_LEAD, "crew", later("Crew")),
    (PROJECT_MANAGER, "office", later("Office")),
    (INSPECTOR, "history", later("History")),
)


def home_of(project_id: str, role: str) -> str:
    """The page of a project that this role starts from."""
    part = next((part for audience, part, _ in AUDIENCES if audience == role), "history")
    return f"/projects/{project_id}/{part}"


def shell_of(
    project: Project,
    role: str,
    person: Person,
    here: str = "",
    *,
    errors: Mapping[str, str] | None = None,
    said: str = "",
    cautions: Sequence[str] = (),
    known: int = 0,
    zone_id: str = "",
) -> Shell:
    """The shell of a project's page: `render(template, page, **shell_of(...))`.

    `here`: the path of the page being shown, told in the ways where it is one of them. `known`: the head the
    page was read at, where what is done on it may come late by a phone's outbox.
    """
    own_first = sorted(AUDIENCES, key=lambda row: row[0] != role)
    hrefs = [(tr(text), f"/projects/{project.id}/{part}") for _, part, text in own_first]
    return {
        "project": project.name,
        "project_href": f"/projects/{project.id}",
        "person": person.name,
        "person_id": person.id,
        "told": person.unread,
        "project_id": project.id,
        "zone_id": zone_id,
        "known": known,
        "role": role,
        "ways": [Way(text, href, here == href) for text, href in hrefs],
        "errors": errors or {},
        "said": said,
        "cautions": cautions,
    }
