"""The facts of a project as tables for the record: one CSV a kind, opened by any spreadsheet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from service.actions.frame.cells import Cell, length, px, table, time
from service.actions.office.orders import order_tables
from service.actions.record.installed import installed_tables
from service.actions.record.layouts import layout_tables
from service.actions.record.placing import placing_tables
from service.domain.nouns.site import Patch, Site
from service.domain.shapes.outline_texts import say_outline
from service.domain.shapes.outlines import Outline, Sides
from service.domain.words.measures import Units, say_length
from service.domain.words.temperatures import say_typed
from service.history.facts.entries import Entry
from service.history.replay.standing import standings_of
from service.history.sentences.sentences import sentence

Names = dict[str, str]


def tables(site: Site, entries: Sequence[Entry], leaves: Sequence[bytes], names: Names) -> dict[str, str]:
    """File name to CSV text. `leaves`: each entry's hash, of the bytes that are kept. `names`: person id to
    name as it is told today."""
    assert site.project is not None, "a record of a project"
    units = site.project.units
    return {
        "history.csv": history_table(entries, leaves, names, units),
        "people.csv": table(
            ("id", "name", "role"), ((m.id, names.get(m.id), m.role) for m in site.members.values())
        ),
        "sketches.csv": _sketches(site, units),
        "zones.csv": zones_table(site),
        "walls.csv": table(
            ("id", "zone", "from_px", "to_px", "withdrawn"),
            ((w.id, w.zone_id, px(w.a), px(w.b), w.withdrawn) for w in site.walls.values()),
        ),
        "defects.csv": _defects(site, units),
        "patches.csv": _patches(site, units),
        "holds.csv": table(
            ("id", "zone", "cause", "reason", "by", "at", "lifted"),
            ((h.id, h.zone_id, h.cause, h.reason, h.by, time(h.at), h.lifted) for h in site.holds.values()),
        ),
        "releases.csv": _releases(site),
        "photos.csv": table(
            ("id", "shows", "zone", "file", "by", "at"),
            (
                (p.id, p.subject, p.zone_id, f"photos/{p.sha256}.jpg", p.by, time(p.at))
                for p in site.photos.values()
            ),
        ),
        **installed_tables(site, units),
        **layout_tables(site, units),
        **order_tables(site),
        **placing_tables(site, units),
    }  # fmt: skip


def history_table(entries: Sequence[Entry], leaves: Sequence[bytes], names: Names, units: Units) -> str:
    """Every entry as a sentence, with its leaf hash."""
    head = ("seq", "at", "by", "role", "type", "zone", "tag", "sentence", "leaf_hash")
    return table(
        head,
        (
            (
                e.seq, time(e.at), e.by, e.role, e.type, e.zone, e.tag, sentence(e, names, units),
                leaf.hex(),
            )
            for e, leaf in zip(entries, leaves, strict=True)
        ),
    )  # fmt: skip


def _sketches(site: Site, units: Units) -> str:
    head = (
        "id",
        "name",
        "sha256",
        "page",
        "revision",
        "width_px",
        "height_px",
        "scale_from_px",
        "scale_to_px",
    )
    return table(
        (*head, "scale_distance"),
        (
            (
                s.id, s.name, s.sha256, s.page, s.revision, s.width_px, s.height_px,
                px(s.scale.a) if s.scale else None, px(s.scale.b) if s.scale else None,
                say_length(s.scale.distance_nm, units) if s.scale else None,
            )
            for s in site.sketches.values()
        ),
    )  # fmt: skip


def zones_table(site: Site, states: Mapping[str, str] | None = None) -> str:
    """Every zone with its state, worked out here unless it was before (`states`, by zone)."""
    head = (
        "id", "letter", "name", "state", "sketch", "outline_px", "walked_at", "planned_placing", "placed_at",
        "placed_by", "volume", "placed_without_release", "blockers_at_placing", "stated_none", "withdrawn",
        "placing_started_at",
    )  # fmt: skip

    told = states or {zone_id: standing.state for zone_id, standing in standings_of(site).items()}

    def row(zone_id: str) -> Sequence[Cell]:
        zone, placed = site.zones[zone_id], site.zones[zone_id].placement
        put: Sequence[Cell] = ("", "", "", "", "")
        if placed is not None:
            why = "; ".join(placed.blockers)
            put = (time(placed.at), placed.by, placed.volume, placed.without_release, why)
        return (
            zone.id, zone.letter, zone.name, told[zone_id],
            zone.sketch_id,
            "; ".join(map(px, zone.outline)), time(zone.walked_at), time(zone.place_at), *put,
            ", ".join(zone.none_here), zone.withdrawn, time(zone.placing.started_at) if zone.placing else "",
        )  # fmt: skip

    return table(head, map(row, site.zones))


def _defects(site: Site, units: Units) -> str:
    verdicts = {
        defect_id: verdict
        for standing in standings_of(site).values()
        for defect_id, verdict in standing.verdicts.items()
    }
    head = (
        "id",
        "tag",
        "zone",
        "kind",
        "shape",
        "at_px",
        "state",
        "overlap",
        "overlap_nm",
        "cause",
        "note",
        "by",
        "role",
    )

    def row(defect_id: str) -> Sequence[Cell]:
        d, found = site.defects[defect_id], verdicts.get(defect_id)
        nm = found.overlap.overlap_nm if found and found.overlap else None
        state = "withdrawn" if d.withdrawn is not None else found.state if found else "on a zone taken away"
        return (
            d.id, d.tag, d.zone_id, d.kind, say_outline(d.outline, units), px(d.at), state,
            length(nm, units), nm, d.cause, d.note, d.by, d.role, time(d.marked_at), d.after_placing,
            d.withdrawn, d.during_placing,
        )  # fmt: skip

    more = ("marked_at", "after_placing", "withdrawn", "found_during_placing")
    return table((*head, *more), map(row, site.defects))


def _patches(site: Site, units: Units) -> str:
    head = (
        "id", "defect", "tag", "also_on", "size", "offset", "cleaned", "dry", "edges_taped", "tape_width",
        "method", "lot", "film_temperature", "overlap_as_logged", "overlap_as_logged_nm", "note", "by",
        "role", "logged_at", "withdrawn",
    )  # fmt: skip

    def row(p: Patch) -> Sequence[Cell]:
        x, y = p.offset
        offset = "" if p.outline is None else f"{say_length(x, units)} right, {say_length(y, units)} down"
        return (
            p.id, p.defect_id, site.defects[p.defect_id].tag, " ".join(p.also),
            _size(p.outline, p.sides, units), offset, p.cleaned, p.dry, p.edges_taped,
            say_length(p.tape_width_nm, units), p.method, p.lot, say_typed(p.film_temperature, units),
            length(p.overlap_nm, units), p.overlap_nm, p.note, p.by, p.role, time(p.logged_at), p.withdrawn,
        )  # fmt: skip

    return table(head, map(row, site.patches.values()))


def _size(outline: Outline | None, sides: Sides | None, units: Units) -> str:
    if outline is not None:
        return say_outline(outline, units)
    read = sides.readings() if sides is not None else {}
    return ", ".join(f"{word} {'wall' if nm is None else say_length(nm, units)}" for word, nm in read.items())


def _releases(site: Site) -> str:
    head = (
        "id",
        "zone",
        "digest",
        "gate_version",
        "statement",
        "not_asked_for",
        "by",
        "at",
        "seq",
        "pulled_back",
    )
    return table(
        head,
        (
            (
                r.id, r.zone_id, r.digest, r.version, r.statement, ", ".join(r.not_asked_for), r.by,
                time(r.at), r.seq, r.pulled_back,
            )
            for r in site.releases.values()
        ),
    )  # fmt: skip
