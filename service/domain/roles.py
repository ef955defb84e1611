"""Who may do what: the one table that guards, pages and the permission test read."""

from __future__ import annotations

from service.domain.speech import later

CREW_LEAD, PROJECT_MANAGER, INSPECTOR = later("crew lead"), later("project manager"), later("inspector")
ROLES = (CREW_LEAD, PROJECT_MANAGER, INSPECTOR)

_EVERYONE = frozenset(ROLES)
_FIELD = frozenset((CREW_LEAD, PROJECT_MANAGER))
_OFFICE = frozenset((PROJECT_MANAGER,))

MAY: dict[str, frozenset[str]] = {
    "read": _EVERYONE,
    "read the history": _EVERYONE,
    "mark a defect": _EVERYONE,
    "add a photo": _EVERYONE,
    "withdraw a defect": _EVERYONE,  # narrowed by may_withdraw: the maker, or the project manager
    "log a patch": _FIELD,
    "withdraw a patch": _FIELD,
    "finish a walk": _FIELD,
    "draw a wall": _FIELD,
    "say what damage came from": _EVERYONE,
    "log a repair": _FIELD,
    "withdraw a repair": _FIELD,
    "take a second look": _EVERYONE,  # narrowed by may_look: never at one's own work
    "place a penetration": _FIELD,
    "withdraw a penetration": _FIELD,
    "log a seal": _FIELD,
    "withdraw a seal": _FIELD,
    "draw a seam": _FIELD,
    "walk a seam": _FIELD,
    "withdraw a seam": _FIELD,
    "describe an edge": _FIELD,
    "log an edge's seal": _FIELD,
    "withdraw an edge": _FIELD,
    "state that there are none": _FIELD,
    "submit a material": _OFFICE,
    "withdraw a material": _OFFICE,
    "receive a lot": _FIELD,
    "withdraw a lot": _FIELD,
    "log film laid": _FIELD,
    "withdraw film laid": _FIELD,
    "sign a hold point": _EVERYONE,
    "raise a zone's numbers": _OFFICE,
    "hold a zone": _EVERYONE,
    "lift a hold": _EVERYONE,
    "keep a checkpoint": _EVERYONE,
    "take the record": _EVERYONE,
    "have a checkpoint timestamped": _OFFICE | frozenset((INSPECTOR,)),
    "open a ready list": _OFFICE,
    "withdraw a ready list": _OFFICE,
    "change the rule sheet": _OFFICE,
    "invite people": _OFFICE,
    "make a crew code": _OFFICE,
    "end a sign-in by code": _FIELD,
    "ask to be told": _EVERYONE,
    "add a sketch": _OFFICE,
    "set the scale": _OFFICE,
    "lay the grid": _OFFICE,
    "outline a zone": _OFFICE,
    "release a zone": _OFFICE,
    "pull back a release": _OFFICE,
    "mark a zone placed": _OFFICE,
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
