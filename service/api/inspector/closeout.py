"""The closeout as JSON: the facts that its page and its paper are set from."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from datetime import datetime
from typing import Any

from fastapi import APIRouter

from service.actions.closeout.closeout import closeout
from service.api.answers import closeout as out
from service.api.shared.calls import SIGNED_IN, Id, Reads, SignedRoute
from service.api.shared.errors import READS, told
from service.domain.words.measures import metres
from service.history.closeout.told import Size
from service.history.facts.encoding import time_text

router = APIRouter(route_class=SignedRoute, dependencies=SIGNED_IN, tags=["history"])


@router.get("/projects/{project_id}/closeout", responses=told(READS))
def closeout_of_a_project(project_id: Id, call: Reads) -> out.Closeout:
    """The closeout: film and lots, zones, every repair with its overlap and the minimum asked then, what is
    installed, releases and pull-backs, who and when, and the least number of floor tests by area."""
    return out.Closeout.model_validate(plain(closeout(call.desk, call.by, project_id)))


def plain(value: Any) -> Any:
    """Told facts as the contract writes them: lengths as text and metres, times as RFC 3339."""
    match value:
        case Size(nm, text):
            return {"text": text, "m": metres(nm)}
        case datetime():
            return time_text(value)
        case tuple():
            return [plain(each) for each in value]
    if is_dataclass(value):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    return value
