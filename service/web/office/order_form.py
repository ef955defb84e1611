"""The choices of an order as a form: what is saved, or what was typed; and what was typed as it is read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from service.actions.office.order_reading import MOST_DELIVERIES
from service.actions.office.orders import OrderView
from service.domain.nouns.installed import FILM, TAPE, Material
from service.domain.nouns.site import Zone
from service.domain.order.gather import OrderChoice, stock_offered
from service.domain.words.measures import say_distance
from service.domain.words.speech import tr, trn
from service.history.order.measures import share
from service.web.forms.forms import Form

SPARE = 2  # deliveries to fill in besides those there are


@dataclass(frozen=True, slots=True)
class StockRow:
    """`name`: of the field; `material_name`: of the hidden one that says which material it counts."""

    name: str
    material_name: str
    material: str
    label: str
    value: str
    hint: str


@dataclass(frozen=True, slots=True)
class DeliveryRow:
    """`name`: what the names of its fields start with."""

    name: str
    heading: str
    label: str
    at: str


@dataclass(frozen=True, slots=True)
class ZoneRow:
    """Which delivery brings a zone's film: the number of one, or nothing."""

    name: str
    label: str
    value: str


@dataclass(frozen=True, slots=True)
class OrderForm:
    """`materials`: pairs (id, words), first for none. `which`: pairs (number, words) of the deliveries."""

    materials: tuple[tuple[str, str], ...]
    values: Mapping[str, str]
    stock: tuple[StockRow, ...]
    deliveries: tuple[DeliveryRow, ...]
    which: tuple[tuple[str, str], ...]
    zones: tuple[ZoneRow, ...]


def order_form(view: OrderView, typed: Form | None) -> OrderForm:
    """The form over what is saved, or over what was typed."""
    chosen = view.worked.chosen
    values = dict(typed.values) if typed else _values(view, chosen)
    count = min(MOST_DELIVERIES, 1 + max(map(_place_of, values), default=-1)) if typed else 0
    rows = max(count, min(MOST_DELIVERIES, len(chosen.deliveries) + SPARE))
    deliveries = tuple(
        DeliveryRow(
            f"deliveries.{i}",
            tr("Delivery {number}", number=i + 1),
            values.get(f"deliveries.{i}.label", ""),
            values.get(f"deliveries.{i}.at", ""),
        )
        for i in range(rows)
    )
    return OrderForm(
        materials=(
            ("", tr("as the layouts have it")),
            *((of.id, _film_words(view, of)) for of in _films(view)),
        ),
        values={name: values.get(name, "") for name in ("material", *PLAIN)},
        stock=tuple(_stock_row(view, i, of, values) for i, of in enumerate(countable(view))),
        deliveries=deliveries,
        which=(
            ("", tr("in no delivery")),
            *((str(i), row.label or row.heading) for i, row in enumerate(deliveries)),
        ),
        zones=tuple(
            ZoneRow(
                f"zone.{zone.id}",
                tr("Zone {letter}", letter=zone.letter),
                values.get(f"zone.{zone.id}", ""),
            )
            for zone in zones_of(view)
        ),
    )


PLAIN = ("film_allowance", "tape_allowance", "repairs")


def given_of(form: Form, view: OrderView) -> dict[str, Any]:
    """What was typed, as `order_reading.read_order` takes it. A day that is none is noted on the form."""
    zones, time_zone = zones_of(view), view.seen.project.time_zone
    count = min(MOST_DELIVERIES, 1 + max(map(_place_of, form.values), default=-1))
    return {
        "material": form.value("material"),
        **{name: form.value(name).strip() or "0" for name in PLAIN},
        "stock": [
            {
                "material": form.value(f"stock.{i}.material"),
                "whole_rolls": form.value(f"stock.{i}.whole_rolls"),
            }
            for i in range(len(countable(view)))
            if form.has(f"stock.{i}.material")
        ],
        "deliveries": [
            {
                "label": form.value(f"deliveries.{i}.label"),
                "at": form.moment(f"deliveries.{i}.at", time_zone),
                "zones": [zone.id for zone in zones if form.value(f"zone.{zone.id}") == str(i)],
            }
            for i in range(count)
        ],
    }


def beside(form: Form) -> dict[str, str]:
    """For what is no field of this form, the field it is told beside."""
    names = {f"deliveries.{i}.zones": f"deliveries.{i}.label" for i in range(MOST_DELIVERIES)}
    return names | {name: name.replace("material", "whole_rolls") for name in form.values if "." in name}


def is_choice(form: Form) -> bool:
    """Whether anything of the form was sent at all."""
    return any(form.has(name) for name in ("material", *PLAIN))


def _place_of(name: str) -> int:
    """The number of the delivery that a field belongs to; -1 for none."""
    first, _, rest = name.partition(".")
    number = rest.partition(".")[0]
    return int(number) if first == "deliveries" and number.isdecimal() and len(number) < 4 else -1


def zones_of(view: OrderView) -> list[Zone]:
    """The zones that film can still come for, by letter."""
    gathered = view.worked.gathered
    return sorted(
        (*gathered.zones, *gathered.without, *gathered.stale),
        key=lambda zone: (len(zone.letter), zone.letter),
    )


def _films(view: OrderView) -> list[Material]:
    return [of for of in view.site.materials.values() if of.kind == FILM and of.withdrawn is None]


def countable(view: OrderView) -> list[Material]:
    """The materials whose rolls on site are counted: film, then tape, in the order submitted."""
    tapes = [of for of in view.site.materials.values() if of.kind == TAPE and of.withdrawn is None]
    return [*_films(view), *tapes]


def _film_words(view: OrderView, material: Material) -> str:
    units = view.seen.project.units
    if material.roll_width_nm is None or material.roll_length_nm is None:
        return tr("{material}, its roll not stated", material=material.name)
    return tr(
        "{material}, {width} by {length}",
        material=material.name,
        width=say_distance(material.roll_width_nm, units),
        length=say_distance(material.roll_length_nm, units),
    )


def _stock_row(view: OrderView, i: int, material: Material, values: Mapping[str, str]) -> StockRow:
    offered = stock_offered(view.site, material)
    told = trn(
        "By the lots received and the sheets laid: {n} roll.",
        "By the lots received and the sheets laid: {n} rolls.",
        offered,
    )
    name = f"stock.{i}.whole_rolls"
    label = tr("{material}: whole rolls on site", material=material.name)
    return StockRow(name, f"stock.{i}.material", material.id, label, values.get(name, ""), told)


def _values(view: OrderView, chosen: OrderChoice) -> dict[str, str]:
    """The saved choice as the fields hold it."""
    counted = {count.material_id: count.whole_rolls for count in chosen.stock}
    values = {
        "material": chosen.material_id,
        "film_allowance": _plain(chosen.film_allowance_mpct),
        "tape_allowance": _plain(chosen.tape_allowance_mpct),
        "repairs": _plain(chosen.repairs_per_1000ft2_m),
    }
    for i, material in enumerate(countable(view)):
        values[f"stock.{i}.whole_rolls"] = str(counted.get(material.id, 0))
    for i, delivery in enumerate(chosen.deliveries):
        values[f"deliveries.{i}.label"] = delivery.label
        values[f"deliveries.{i}.at"] = _local(delivery.at, view.seen.project.time_zone)
        values |= {f"zone.{id}": str(i) for id in delivery.zone_ids}
    return values


def _plain(thousandths: int) -> str:
    return share(thousandths).removesuffix(" %")


def _local(at: datetime | None, time_zone: str) -> str:
    """As a day-and-time field holds it."""
    return at.astimezone(ZoneInfo(time_zone)).strftime("%Y-%m-%dT%H:%M") if at else ""
