"""Ready-made rule sets, and the numbers that hold in one zone, as JSON."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter
from pydantic import Field
from starlette.responses import Response

from service.actions.frame import reading
from service.actions.office import numbers
from service.api.answers import film as out
from service.api.shared.bodies import Number, Sent, example, given
from service.api.shared.calls import SIGNED_IN, Id, Reads, SignedRoute, Writes
from service.api.shared.errors import READS, WRITES, told
from service.api.telling import film as tell
from service.domain.rule_sheet.rule_sets import SETS

router = APIRouter(route_class=SignedRoute, dependencies=SIGNED_IN, tags=["rule sheet"])


def _no_default(schema: dict[str, Any]) -> None:
    schema.pop("default", None)


def _stays(**more: Any) -> Any:
    """A field that may be left out and then stays; null takes back what the zone asks more."""
    return Field(default=None, json_schema_extra=_no_default, **more)


class ZoneNumbersChange(Sent):
    """Any of the numbers that a zone may ask more of. What is left out stays; null takes it back."""

    model_config = example(patch_overlap={"value": "12 in", "source": "drawing S-101, note 4"}, lap=None)
    patch_overlap: Number | None = _stays()
    lap: Number | None = _stays()
    tape_width: Number | None = _stays()
    collar_width: Number | None = _stays()
    collar_length_factor: Number | None = _stays(description='A plain number as text: "2".')
    mastic_up_to: Number | None = _stays(description="Less is stricter.")
    station_every: Number | None = _stays(description="Less is stricter.")
    tape_temperature: Number | None = _stays(description='"50 F" or "10 C".')


@router.get("/rule-sets", responses=told((401, 503)))
def ready_made_sets() -> list[out.RuleSet]:
    """The published sets a rule sheet can be combined from, each with where it was read."""
    return [tell.rule_set(of) for of in SETS]


@router.get("/zones/{zone_id}/numbers", responses=told(READS))
def numbers_of_a_zone(zone_id: Id, call: Reads) -> out.ZoneNumbers:
    """What holds in the zone, and where each number comes from: the sheet, the zone, a material."""
    return tell.zone_numbers(reading.zone_view(call.desk, call.by, zone_id))


@router.put("/zones/{zone_id}/numbers", response_model=out.ZoneNumbers, responses=told(WRITES))
def raise_the_numbers_of_a_zone(zone_id: Id, body: ZoneNumbersChange, call: Writes) -> Response:
    """Ask more in this zone than the rule sheet does. A number that asks no more is refused."""

    def act() -> out.ZoneNumbers:
        numbers.raise_numbers(call.desk, call.by, zone_id, given(body))
        return tell.zone_numbers(reading.zone_view(call.desk, call.by, zone_id))

    return call.once(200, act)
