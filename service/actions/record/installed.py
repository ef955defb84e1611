"""What is installed besides marks as tables for the record: seals, seams, edges, looks, film, hold points."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from service.actions.frame.cells import Cell, length, px, table, time
from service.domain.gate.installed_states import Thing, things_in
from service.domain.gate.wording import say_faults
from service.domain.gate.zone_facts import nm_per_px
from service.domain.nouns.installed import Look, Seal, Seam, Signed, Work
from service.domain.nouns.site import Site
from service.domain.patches.repair import Numbers
from service.domain.rule_sheet.effective import sheet_in
from service.domain.shapes.outline_texts import say_outline
from service.domain.words.measures import Units, say_length
from service.domain.words.temperatures import say_temperature

WORK = ("cleaned", "dry", "tape_width", "film_temperature", "lot", "note")
SIGNED = ("by", "role", "at")
OFF = "on a zone taken away"


def installed_tables(site: Site, units: Units) -> dict[str, str]:
    """File name to CSV text. A column of faults says in words what the gate finds today."""
    stands = {(thing.kind, thing.id): thing for thing in _things(site)}
    return {
        "penetrations.csv": _penetrations(site, units, stands),
        "seams.csv": _seams(site, units, stands),
        "stations.csv": _stations(site, units),
        "runs.csv": _runs(site),
        "terminations.csv": _terminations(site, units, stands),
        "repairs.csv": _repairs(site, units),
        "looks.csv": _looks(site),
        "materials.csv": _materials(site, units),
        "lots.csv": _lots(site),
        "laid.csv": _laid(site, stands),
        "hold_points.csv": _hold_points(site),
        "raised_numbers.csv": _raised(site),
    }


def _things(site: Site) -> Iterator[Thing]:
    for zone in (zone for zone in site.zones.values() if zone.withdrawn is None):
        scale = site.sketches[zone.sketch_id].scale
        if scale is not None:
            yield from things_in(site, zone, nm_per_px(scale), Numbers.of(sheet_in(site, zone)))


def _stood(stands: dict[tuple[str, str], Thing], kind: str, id: str) -> tuple[str, str]:
    """State and faults in words."""
    thing = stands.get((kind, id))
    return (thing.state, say_faults(thing.faults)) if thing else (OFF, "")


def _work(work: Work | None, units: Units) -> Sequence[Cell]:
    if work is None:
        return ("",) * len(WORK)
    warm = "" if work.film_mf is None else say_temperature(work.film_mf, units)
    tape = say_length(work.tape_width_nm, units) if work.tape_width_nm else "none"
    return work.cleaned, work.dry, tape, warm, work.lot, work.note


def _signed(signed: Signed | None) -> Sequence[Cell]:
    return ("", "", "") if signed is None else (signed.by, signed.role, time(signed.at))


def _penetrations(site: Site, units: Units, stands: dict[tuple[str, str], Thing]) -> str:
    head = (
        "id", "tag", "zone", "kind", "size", "shape", "at_px", "state", "faults", "placed_note", "placed_by",
        "placed_role", "placed_at", "seal", "method", "together", "collar_width", "collar_length", "fingers",
        "taped_to_pipe", "taped_to_film", "close_cut", *WORK, *SIGNED, "withdrawn",
    )  # fmt: skip
    return table(
        head,
        (
            (
                p.id, p.tag, p.zone_id, p.kind, p.size, say_outline(p.outline, units), px(p.at),
                *_stood(stands, "penetration", p.id), p.note, *_signed(p.signed), *_seal(p.seal, units),
                p.withdrawn,
            )
            for p in site.penetrations.values()
        ),
    )  # fmt: skip


def _seal(seal: Seal | None, units: Units) -> Sequence[Cell]:
    if seal is None:
        return ("",) * (9 + len(WORK) + len(SIGNED))
    return (
        seal.id, seal.method, " ".join(seal.together), length(seal.collar_width_nm, units),
        length(seal.collar_length_nm, units), seal.fingers, seal.taped_to_pipe, seal.taped_to_film,
        seal.close_cut, *_work(seal.work, units), *_signed(seal.signed),
    )  # fmt: skip


def _seams(site: Site, units: Units, stands: dict[tuple[str, str], Thing]) -> str:
    head = (
        "id", "tag", "zone", "kind", "path_px", "state", "faults", "drawn_note", "drawn_by", "drawn_role",
        "drawn_at", "walk", "stations", "least_lap", "taped", "bonded", *WORK, *SIGNED, "withdrawn",
    )  # fmt: skip
    return table(
        head,
        (
            (
                s.id, s.tag, s.zone_id, s.kind, "; ".join(map(px, s.path)), *_stood(stands, "seam", s.id),
                s.note, *_signed(s.signed), *_walk(s, units), s.withdrawn,
            )
            for s in site.seams.values()
        ),
    )  # fmt: skip


def _walk(seam: Seam, units: Units) -> Sequence[Cell]:
    walk = seam.walk
    if walk is None:
        return ("",) * (5 + len(WORK) + len(SIGNED))
    least = min((station.lap_nm for station in walk.stations), default=None)
    return (
        walk.id, len(walk.stations), length(least, units), walk.taped, walk.bonded,
        *_work(walk.work, units), *_signed(walk.signed),
    )  # fmt: skip


def _stations(site: Site, units: Units) -> str:
    return table(
        ("seam", "tag", "walk", "at_px", "lap", "lap_nm"),
        (
            (seam.id, seam.tag, seam.walk.id, px(at.at), length(at.lap_nm, units), at.lap_nm)
            for seam in site.seams.values()
            if seam.walk is not None
            for at in seam.walk.stations
        ),
    )


def _runs(site: Site) -> str:
    return table(
        ("seam", "tag", "walk", "fault", "from_px", "to_px", "defect"),
        (
            (seam.id, seam.tag, seam.walk.id, run.fault, px(run.a), px(run.b), run.mark)
            for seam in site.seams.values()
            if seam.walk is not None
            for run in seam.walk.runs
        ),
    )


def _terminations(site: Site, units: Units, stands: dict[tuple[str, str], Thing]) -> str:
    head = (
        "id", "tag", "zone", "kind", "path_px", "authority", "what", "state", "faults", "described_note",
        "described_by", "described_role", "described_at", "seal", "sealed", "runs_past", "protected", *WORK,
        *SIGNED, "withdrawn",
    )  # fmt: skip
    blank: Sequence[Cell] = ("",) * (4 + len(WORK) + len(SIGNED))
    return table(
        head,
        (
            (
                t.id, t.tag, t.zone_id, t.kind, "; ".join(map(px, t.path)), t.authority, t.what,
                *_stood(stands, "termination", t.id), t.note, *_signed(t.signed),
                *(
                    blank if t.seal is None else (
                        t.seal.id, t.seal.sealed, length(t.seal.runs_past_nm, units), t.seal.protected,
                        *_work(t.seal.work, units), *_signed(t.seal.signed),
                    )
                ),
                t.withdrawn,
            )
            for t in site.terminations.values()
        ),
    )  # fmt: skip


def _repairs(site: Site, units: Units) -> str:
    return table(
        ("id", "defect", "tag", "method", "lap", "lap_nm", "taped", *WORK, *SIGNED, "withdrawn"),
        (
            (
                r.id, d.id, d.tag, r.method, length(r.lap_nm, units), r.lap_nm, r.taped,
                *_work(r.work, units), *_signed(r.signed), r.withdrawn,
            )
            for d in site.defects.values()
            for r in d.repairs
        ),
    )  # fmt: skip


def _looks(site: Site) -> str:
    """Second looks at patches and at repairs, in the order of the marks and of time."""

    def looks() -> Iterator[tuple[str, str, str, Look]]:
        for patch in site.patches.values():
            for look in patch.looks:
                yield "patch", patch.id, site.defects[patch.defect_id].tag, look
        for mark in site.defects.values():
            for repair in mark.repairs:
                for look in repair.looks:
                    yield "repair", repair.id, mark.tag, look

    return table(
        ("id", "of", "of_id", "tag", "accepted", "note", *SIGNED),
        ((x.id, of, id, tag, x.accepted, x.note, x.by, x.role, time(x.at)) for of, id, tag, x in looks()),
    )


def _materials(site: Site, units: Units) -> str:
    head = (
        "id", "kind", "name", "claimed_class", "permeance_millionths_of_perm", "thickness_nm",
        "tensile_mlbf_in", "puncture_g", "roll_width", "roll_length", "least_lap", "least_patch_overlap",
        "least_temperature", "note", *SIGNED, "withdrawn",
    )  # fmt: skip
    return table(
        head,
        (
            (
                m.id, m.kind, m.name, m.claimed_class, m.permeance_up, m.thickness_nm, m.tensile_mlbf_in,
                m.puncture_g, length(m.roll_width_nm, units), length(m.roll_length_nm, units),
                length(m.least_lap_nm, units), length(m.least_patch_overlap_nm, units),
                None if m.least_mf is None else say_temperature(m.least_mf, units), m.note,
                *_signed(m.signed), m.withdrawn,
            )
            for m in site.materials.values()
        ),
    )  # fmt: skip


def _lots(site: Site) -> str:
    return table(
        ("id", "material", "name", "number", "rolls", "note", *SIGNED, "withdrawn"),
        (
            (
                lot.id, lot.material_id, site.materials[lot.material_id].name, lot.number, lot.rolls,
                lot.note, *_signed(lot.signed), lot.withdrawn,
            )
            for lot in site.lots.values()
        ),
    )  # fmt: skip


def _laid(site: Site, stands: dict[tuple[str, str], Thing]) -> str:
    return table(
        ("id", "zone", "letter", "lot", "number", "state", "faults", "note", *SIGNED, "withdrawn"),
        (
            (
                x.id, zone.id, zone.letter, x.lot_id, site.lots[x.lot_id].number,
                *_stood(stands, "film lot", x.id), x.note, *_signed(x.signed), x.withdrawn,
            )
            for zone in site.zones.values()
            for x in zone.laid
        ),
    )  # fmt: skip


def _hold_points(site: Site) -> str:
    """Every signature ever given; `counts` where the outline and the scale it was given for still stand."""
    return table(
        ("id", "zone", "letter", "step", "accepted", "counts", "note", *SIGNED),
        (
            (
                s.id, zone.id, zone.letter, s.step, s.accepted,
                (s.outline_revision, s.scale_revision)
                == (zone.outline_revision, site.sketches[zone.sketch_id].scale_revision),
                s.note, *_signed(s.signed),
            )
            for zone in site.zones.values()
            for s in zone.signatures
        ),
    )  # fmt: skip


def _raised(site: Site) -> str:
    """Values in the sheet's own units: nanometres, thousandths, or thousandths of a degree Fahrenheit."""
    return table(
        ("zone", "letter", "number", "value", "source"),
        (
            (zone.id, zone.letter, raised.name, raised.value, raised.source)
            for zone in site.zones.values()
            for raised in zone.raised
        ),
    )
