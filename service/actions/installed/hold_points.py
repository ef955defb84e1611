"""The hold points of a zone before its film is covered: each signed by a person, in time order."""

from __future__ import annotations

from dataclasses import dataclass

from service.actions.frame import late
from service.actions.frame.desk import Desk
from service.actions.frame.doing import record, words, zone_to_change
from service.actions.frame.reading import ZoneView
from service.domain.gate.installed_facts import step_facts
from service.domain.nouns.installed import Signature
from service.domain.nouns.rules import LOOK_STEP, WALK_STEP
from service.domain.nouns.site import Site, Zone
from service.domain.patches.repair import Numbers
from service.domain.rule_sheet.effective import sheet_in
from service.domain.words.refusals import BadInput, Conflict
from service.domain.words.speech import later, tr
from service.history.facts.film import HoldPointSigned

SAY_WHY = later("Say what is not in order: whoever puts it right reads this.")
SIGNED_BY_WALKING = later("The punch walk is signed by finishing it, on the zone's page.")
OWN_WORK = later(
    "The second look is signed by somebody who logged no patch, repair or seal that stands in this zone."
)


@dataclass(frozen=True, slots=True)
class StepView:
    """A hold point and all that was signed of it, oldest first. `before`: the first step that must be signed
    before it, or nothing. `lapsed`: ids of signatures given for another outline or scale."""

    step: str
    met: bool
    refused: bool
    before: str
    signatures: tuple[Signature, ...]
    lapsed: frozenset[str]


def steps_of(site: Site, zone: Zone) -> tuple[StepView, ...]:
    """The zone's hold points in time order, whether or not the gate asks for them."""
    facts = step_facts(site, zone, Numbers.of(sheet_in(site, zone)))
    scale = site.sketches[zone.sketch_id].scale_revision
    now = zone.outline_revision, scale
    return tuple(
        StepView(
            fact.step,
            fact.met,
            fact.refused,
            next((earlier.step for earlier in facts[:i] if not earlier.met), ""),
            tuple(s for s in zone.signatures if s.step == fact.step),
            frozenset(s.id for s in zone.signatures if (s.outline_revision, s.scale_revision) != now),
        )
        for i, fact in enumerate(facts)
    )


def next_step(steps: tuple[StepView, ...]) -> str:
    """The first step that is not signed, or nothing when all are."""
    return next((step.step for step in steps if not step.met), "")


def may_sign(view: ZoneView, by: str, step: StepView) -> bool:
    """Whether this step waits for nothing else, and is this person's to sign."""
    own = step.step == LOOK_STEP and did_work(view.site, view.zone, by)
    return not step.before and step.step != WALK_STEP and not own


def did_work(site: Site, zone: Zone, by: str) -> bool:
    """Whether this person logged a patch, a repair or a seal that stands in the zone."""
    patches = (p.by for p in site.patches.values() if p.zone_id == zone.id and p.withdrawn is None)
    marks = [m for m in site.defects.values() if m.zone_id == zone.id and m.withdrawn is None]
    repairs = (r.signed.by for m in marks for r in m.repairs if r.withdrawn is None)
    pipes = (p.seal for p in site.penetrations.values() if p.zone_id == zone.id and p.withdrawn is None)
    edges = (t.seal for t in site.terminations.values() if t.zone_id == zone.id and t.withdrawn is None)
    seals = (seal.signed.by for seal in (*pipes, *edges) if seal is not None)
    return by in {*patches, *repairs, *seals}


def sign_hold_point(
    desk: Desk, by: str, zone_id: str, step: str, accepted: bool, note: str = ""
) -> Signature:
    """Sign a hold point, or refuse it, once every step before it is signed."""
    note = words(note, "note", needed=None if accepted else tr(SAY_WHY))
    with desk.writing() as session:
        seen, site = zone_to_change(session, by, zone_id, "sign a hold point")
        _check(site, seen.zone, by, step)
        if accepted:  # a refusal only holds, whatever came since
            late.check_signature(desk, session, site, seen.zone, by, step)
        fact = HoldPointSigned(desk.new_id(), zone_id, seen.zone.letter, step, accepted, note)
        record(desk, session, site, by, seen.role, fact)
    return site.zones[zone_id].signatures[-1]


def _check(site: Site, zone: Zone, by: str, step: str) -> None:
    """BadInput for no step of this zone; Conflict where it cannot be signed now, or by this person."""
    found = next((of for of in steps_of(site, zone) if of.step == step), None)
    if found is None:
        told = tr("The rule sheet of this zone has no such hold point.")
        raise BadInput(told, fields={"step": told})
    if zone.placement is not None:
        told = tr("Concrete is in zone {letter}: what it covers can be signed no more.", letter=zone.letter)
        raise Conflict(told, code="zone-placed")
    if step == WALK_STEP:
        raise Conflict(tr(SIGNED_BY_WALKING), code="sign-by-walking")
    if found.before:
        told = tr("Before it comes another step, which is not signed: {step}.", step=tr(found.before))
        raise Conflict(told, code="hold-point-order")
    if step == LOOK_STEP and did_work(site, zone, by):
        raise Conflict(tr(OWN_WORK), code="own-work")
