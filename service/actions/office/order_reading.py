"""What a person chooses of an order: film, allowances, expected repairs, stock counted, deliveries."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from service.actions.frame.asked import Asked
from service.domain.nouns.installed import FILM, SEALANT
from service.domain.nouns.placing import Delivery, StockCount
from service.domain.nouns.site import Site
from service.domain.order.gather import OrderChoice
from service.domain.words.speech import tr

MOST_ROLLS, MOST_DELIVERIES, LONGEST_LABEL = 10_000, 50, 80
MOST_REPAIRS_M = 1_000_000  # thousandths in 1,000 sq ft: one a square foot
_NUMBER = re.compile(r"(\d{1,4})(?:[.,](\d{1,3}))?", re.ASCII)


def read_order(site: Site, given: Mapping[str, Any]) -> OrderChoice:
    """The whole new choice. `given`: `material` (empty: as the layouts have it), `film_allowance` and
    `tape_allowance` (per cent), `repairs` (in 1,000 sq ft), `stock` (each `material`, `whole_rolls`),
    `deliveries` (each `label`, `at`, `zones`). BadInput names every field at fault by its place."""
    asked = Asked(given)
    film = _material(asked, site)
    fact = OrderChoice(
        film,
        _share(asked, "film_allowance"),
        _share(asked, "tape_allowance"),
        _repairs(asked),
        _stock(asked, site),
        _deliveries(asked, site),
    )
    asked.done()
    return fact


def _material(asked: Asked, site: Site) -> str:
    chosen = asked.text("material", 200)
    if not chosen:
        return ""
    material = site.materials.get(chosen)
    if material is None or material.kind != FILM:
        asked.wrong("material", tr("Choose one of this project's films."))
    elif material.withdrawn is not None:
        told = tr("{material} was withdrawn: {reason}", material=material.name, reason=material.withdrawn)
        asked.wrong("material", told)
    elif material.roll_width_nm is None or material.roll_length_nm is None:
        told = tr(
            "How wide and how long a roll of {material} is, is not stated: submit it with its roll.",
            material=material.name,
        )
        asked.wrong("material", told, "no-roll")
    return chosen


def thousandths(text: str) -> int | None:
    """A plain number of at most four digits and three decimals, in thousandths; None where it is none."""
    found = _NUMBER.fullmatch(text.strip())
    return int(found[1]) * 1000 + int((found[2] or "0").ljust(3, "0")) if found else None


def _share(asked: Asked, name: str) -> int:
    """Thousandths of a per cent."""
    read = thousandths(asked.text(name, 40).removesuffix("%"))
    if read is None or read > 100_000:
        asked.wrong(name, tr("Write a share from 0 to 100 per cent, like 5 or 7.5. None is 0."))
        return 0
    return read


def _repairs(asked: Asked) -> int:
    read = thousandths(asked.text("repairs", 40))
    if read is None or read > MOST_REPAIRS_M:
        told = tr("Write how many patches you expect in 1,000 sq ft, like 2 or 0.5. None is 0.")
        asked.wrong("repairs", told)
        return 0
    return read


def _stock(asked: Asked, site: Site) -> tuple[StockCount, ...]:
    """Counts above nothing, each of a material of its own."""
    found: dict[str, int] = {}
    for i, row in enumerate(asked.given.get("stock") or ()):
        where = f"stock.{i}.whole_rolls"
        material = site.materials.get(str(row.get("material")))
        if material is None or material.kind == SEALANT:
            asked.wrong(f"stock.{i}.material", tr("Choose film or tape of this project."))
        elif material.id in found:
            asked.wrong(f"stock.{i}.material", tr("That material is counted twice."))
        else:
            found[material.id] = _rolls(asked, where, row.get("whole_rolls"))
    return tuple(StockCount(material, rolls) for material, rolls in found.items() if rolls)


def _rolls(asked: Asked, where: str, typed: object) -> int:
    text = str(typed).strip() if typed is not None else ""
    if not text:
        return 0
    if not (text.isascii() and text.isdecimal() and len(text) < 6 and int(text) <= MOST_ROLLS):
        told = tr("Count whole rolls, 0 to {most}.", most=f"{MOST_ROLLS:,}")
        asked.wrong(where, told)
        return 0
    return int(text)


def _deliveries(asked: Asked, site: Site) -> tuple[Delivery, ...]:
    rows = asked.given.get("deliveries") or ()
    if len(rows) > MOST_DELIVERIES:
        asked.wrong("deliveries", tr("At most {most} deliveries.", most=MOST_DELIVERIES))
        return ()
    taken: set[str] = set()
    found: list[Delivery] = []
    for i, row in enumerate(rows):
        zones = tuple(dict.fromkeys(str(zone) for zone in row.get("zones") or ()))
        label, at = str(row.get("label") or "").strip(), row.get("at")
        if not (label or at or zones):
            continue
        _check_delivery(asked, site, f"deliveries.{i}", label, zones, taken)
        if any(label.casefold() == other.label.casefold() for other in found):
            asked.wrong(f"deliveries.{i}.label", tr("Two deliveries have the same name."))
        taken |= set(zones)
        found.append(Delivery(label, at if isinstance(at, datetime) else None, zones))
    return tuple(found)


def _check_delivery(
    asked: Asked, site: Site, where: str, label: str, zones: tuple[str, ...], taken: set[str]
) -> None:
    if not label:
        asked.wrong(f"{where}.label", tr("Give the delivery a name, such as Truck 1."))
    elif len(label) > LONGEST_LABEL or "\x00" in label:
        asked.wrong(f"{where}.label", tr("A name has at most {most} characters.", most=LONGEST_LABEL))
    if not zones:
        asked.wrong(f"{where}.zones", tr("Say which zones this delivery is for."))
    elif any(zone not in site.zones or site.zones[zone].withdrawn is not None for zone in zones):
        asked.wrong(f"{where}.zones", tr("Choose zones of this project."))
    elif taken & set(zones):
        asked.wrong(f"{where}.zones", tr("A zone's film comes with one delivery: this zone is in two."))
