"""The order list of a project: what a person chose, what comes of it, and saving the choice."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from service.actions.frame.cells import table
from service.actions.frame.desk import Desk
from service.actions.frame.doing import project_to_change, record
from service.actions.office.order_reading import read_order
from service.domain.nouns.placing import OrderPlan
from service.domain.nouns.site import Site
from service.domain.order.asked import BadOrder
from service.domain.order.gather import Gathered, OrderChoice, as_chosen, gather
from service.domain.order.order_list import OrderList, order_list
from service.domain.order.texts import order_rows
from service.domain.words.speech import later, spoken, tr
from service.history.closeout.sheet import When
from service.history.facts.placing import OrderPlanned
from service.history.order.told import OrderTold
from service.history.order.words import sheet_of
from service.papers.order_list import order_pdf
from service.storage.history import slices
from service.storage.history.seen import SeenProject, names_in, project_seen_by

NO_LAYOUT = later("No sheets are laid out yet: the order list is worked out from where each sheet goes.")
NO_ROLL = later("How wide and how long a roll of film is, is not known: choose a film whose roll is stated.")


@dataclass(frozen=True, slots=True)
class Worked:
    """What comes of a choice. `order` is None where `trouble` says why; `code` is for programs."""

    chosen: OrderChoice
    gathered: Gathered
    order: OrderList | None
    trouble: str
    code: str


@dataclass(frozen=True, slots=True)
class OrderView:
    """`plan`: what was saved last; `worked`: what comes of it, or of a choice that is looked at. `names`:
    person id to name."""

    seen: SeenProject
    site: Site
    plan: OrderPlan | None
    worked: Worked
    names: Mapping[str, str]

    @property
    def stock_is_old(self) -> bool:
        """Whether film came or was laid since the stock on site was counted."""
        if self.plan is None or not self.plan.stock:
            return False
        since = self.plan.signed.seq
        laid = [of.signed.seq for layout in self.site.layouts.values() for of in layout.laid]
        return any(seq > since for seq in (*laid, *(lot.signed.seq for lot in self.site.lots.values())))


def order_view(desk: Desk, by: str, project_id: str, given: Mapping[str, Any] | None = None) -> OrderView:
    """The order as saved, or as it would be with what is `given` (see `read_order`): nothing is recorded."""
    with desk.reading() as session:
        seen = project_seen_by(session, by, project_id)
        site, names = slices.order_site(session, project_id), names_in(session, project_id)
    plan = site.order_plans.get(project_id)
    chosen = as_chosen(plan, site) if given is None else read_order(site, given)
    return OrderView(seen, site, plan, worked_out(site, chosen), names)


def worked_out(site: Site, chosen: OrderChoice) -> Worked:
    """The order list of a site by this choice."""
    gathered = gather(site, chosen)
    if gathered.asked is None:
        trouble, code = (NO_ROLL, "no-roll") if gathered.zones else (NO_LAYOUT, "no-layout")
        return Worked(chosen, gathered, None, tr(trouble), code)
    try:
        order = order_list(gathered.asked)
    except BadOrder as bad:
        return Worked(chosen, gathered, None, str(bad), bad.code)
    # Every zone here is laid out: one without sheets has them laid already, or under another zone's name.
    mind = tuple(fault for fault in order.faults if fault != "no-sheets")
    return Worked(chosen, gathered, replace(order, faults=mind), "", "")


def plan_order(desk: Desk, by: str, project_id: str, given: Mapping[str, Any]) -> OrderPlan:
    """Save the whole choice. The same choice again records nothing."""
    with desk.writing() as session:
        seen, _ = project_to_change(session, by, project_id, "plan the order")
        site = slices.order_site(session, project_id)
        chosen = read_order(site, given)
        plan = site.order_plans.get(project_id)
        if plan is None or as_chosen(plan, site) != chosen:
            record(desk, session, site, by, seen.role, _fact(chosen))
    return site.order_plans[project_id]


# --- handing it out ---------------------------------------------------------------------------------------


def told_of(view: OrderView, *, saved: bool = True) -> OrderTold | None:
    """What the sheet of an order list is told from; None where there is none. `saved`: by what is saved."""
    worked, project = view.worked, view.seen.project
    if worked.order is None or worked.gathered.rolls is None:
        return None
    signed = view.plan.signed if saved and view.plan else None
    return OrderTold(
        project=project.name,
        units=project.units,
        order=worked.order,
        rolls=worked.gathered.rolls,
        gathered=worked.gathered,
        letters={zone.id: zone.letter for zone in view.site.zones.values()},
        deliveries=worked.chosen.deliveries,
        saved=(view.names.get(signed.by, ""), signed.role, signed.at, signed.seq) if signed else None,
        stock_is_old=view.stock_is_old,
    )


def order_csv(view: OrderView) -> str:
    """The order list as a table, in English, its cells made harmless; nothing where there is none."""
    return _table(view.site, view.worked)


def order_tables(site: Site) -> dict[str, str]:
    """For the record, by file name: the list by the choices saved last, where anybody saved any."""
    (plan,) = site.order_plans.values() or (None,)
    text = _table(site, worked_out(site, as_chosen(plan, site))) if plan else ""
    return {"order.csv": text} if text else {}


def _table(site: Site, worked: Worked) -> str:
    if worked.order is None or site.project is None:
        return ""
    letters = {zone.id: zone.letter for zone in site.zones.values()}
    head, *rows = order_rows(worked.order, site.project.units, names=letters)
    return table(head, rows)


def order_paper(view: OrderView, when: When, at: datetime) -> bytes:
    """The order list as PDF, in the language being spoken; nothing where there is none."""
    told = told_of(view)
    if told is None:
        return b""
    return order_pdf(sheet_of(told, when), told.units, at, spoken().code)


def _fact(chosen: OrderChoice) -> OrderPlanned:
    return OrderPlanned(
        chosen.material_id, chosen.film_allowance_mpct, chosen.tape_allowance_mpct,
        chosen.repairs_per_1000ft2_m, chosen.stock, chosen.deliveries,
    )  # fmt: skip
