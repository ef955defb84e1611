"""Who may do what: the one table that guards, pages and the permission test read."""

from __future__ import annotations

from service.domain.words.speech import later

CREW_LEAD, PROJECT_MANAGER, INSPECTOR = later("crew lead"), later("project manager"), later("inspector")
ROLES = (CREW_LEAD, PROJECT_MANAGER, INSPECTOR)

_EVERYONE = frozenset(ROLES)
_FIELD = frozenset((CREW_LEAD, PROJECT_MANAGER))
_OFFICE = frozenset((PROJECT_MANAGER,))

MAY: dict[str, frozenset[str]] = {
    later("read"): _EVERYONE,
    later("read the history"): _EVERYONE,
    later("mark a defect"): _EVERYONE,
    later("add a photo"): _EVERYONE,
    later("withdraw a defect"): _EVERYONE,  # narrowed by may_withdraw: the maker, or the project manager
    later("log a patch"): _FIELD,
    later("withdraw a patch"): _FIELD,
    later("finish a walk"): _FIELD,
    later("draw a wall"): _FIELD,
    later("say what damage came from"): _EVERYONE,
    later("log a repair"): _FIELD,
    later("withdraw a repair"): _FIELD,
    later("take a second look"): _EVERYONE,  # narrowed by may_look: never at one's own work
    later("place a penetration"): _FIELD,
    later("withdraw a penetration"): _FIELD,
    later("log a seal"): _FIELD,
    later("withdraw a seal"): _FIELD,
    later("draw a seam"): _FIELD,
    later("walk a seam"): _FIELD,
    later("withdraw a seam"): _FIELD,
    later("describe an edge"): _FIELD,
    later("log an edge's seal"): _FIELD,
    later("withdraw an edge"): _FIELD,
    later("state that there are none"): _FIELD,
    later("submit a material"): _OFFICE,
    later("withdraw a material"): _OFFICE,
    later("receive a lot"): _FIELD,
    later("withdraw a lot"): _FIELD,
    later("log film laid"): _FIELD,
    later("withdraw film laid"): _FIELD,
    later("sign a hold point"): _EVERYONE,
    later("raise a zone's numbers"): _OFFICE,
    later("hold a zone"): _EVERYONE,
    later("lift a hold"): _EVERYONE,
    later("keep a checkpoint"): _EVERYONE,
    later("take the record"): _EVERYONE,
    later("have a checkpoint timestamped"): _OFFICE | frozenset((INSPECTOR,)),
    later("open a ready list"): _OFFICE,
    later("withdraw a ready list"): _OFFICE,
    later("change the rule sheet"): _OFFICE,
    later("invite people"): _OFFICE,
    later("make a crew code"): _OFFICE,
    later("end a sign-in by code"): _FIELD,
    later("ask to be told"): _EVERYONE,
    later("add a sketch"): _OFFICE,
    later("set the scale"): _OFFICE,
    later("lay the grid"): _OFFICE,
    later("outline a zone"): _OFFICE,
    later("release a zone"): _OFFICE,
    later("pull back a release"): _OFFICE,
    later("mark a zone placed"): _OFFICE,
    later("plan the sheets"): _FIELD,
    later("log sheets laid"): _FIELD,
    later("plan the order"): _OFFICE,
    later("plan a placing"): _OFFICE,
    later("take readings"): _EVERYONE,
    later("withdraw readings"): _EVERYONE,  # narrowed by may_withdraw: who took them, or the project manager
    later("start placing"): _FIELD,
}


def may(role: str, action: str) -> bool:
    return role in MAY[action]


def may_withdraw(role: str, person_id: str, made_by: str, made_as: str) -> bool:
    """A mark or patch goes by its maker or a project manager; an inspector's mark by an inspector only."""
    if made_as == INSPECTOR:
        return role == INSPECTOR
    return role == PROJECT_MANAGER or person_id == made_by


def may_look(role: str, person_id: str, made_by: str) -> bool:
    """A second look is another person's than whoever made the patch or the repair."""
    return may(role, "take a second look") and person_id != made_by
