"""The head of every page of a project: whose it is, who is signed in as what, and the ways on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from service.actions.accounts import Person
from service.domain.site import Project
from service.web.render import Shell, Way

WAYS = (("Zones", "crew"), ("Office", "office"), ("History", "history"))


def project_head(
    project: Project,
    role: str,
    person: Person,
    here: str = "",
    *,
    errors: Mapping[str, str] | None = None,
    cautions: Sequence[str] = (),
    said: str = "",
) -> Shell:
    """The shell of a page below a project. `here`: the page of the head's ways that is being shown, if one is.

    Zones is the crew's page, Office the manager's, History the inspector's: everybody may read all three.
    """
    root = f"/projects/{project.id}"
    return Shell(
        project=project.name,
        project_href=root,
        person=person.name,
        person_id=person.id,
        role=role,
        ways=[Way(text, f"{root}/{page}", page == here) for text, page in WAYS],
        errors=errors or {},
        cautions=cautions,
        said=said,
    )
