"""What the first page of a record tells: zones, papers, tables, pictures and history, from entries alone."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence

from service.domain.gate.site_parts import SiteParts
from service.domain.gate.wording import say_blocker
from service.domain.nouns.site import Site, Zone
from service.history.facts import facts as f
from service.history.facts.entries import Entry
from service.history.proofs.checkpoints import fingerprint, in_fours
from service.history.replay.standing import READY, Standing, standing_of
from service.history.sentences.sentences import sentence
from service.history.verifying.records import CHECKPOINT, ENTRIES, KEYS, LEAVES, MANIFEST, NAMES
from service.papers.record.index_page import IndexPage, Link, Picture, Shown, Told, ZoneLine
from service.papers.record.readme import HONESTY
from service.papers.setting.times import day, moment

Names = Mapping[str, str]
MOST_ENTRIES = 3000  # on the page; history.csv has them all
MOST_REASONS = 3

PROOF = (
    (ENTRIES, "the history: one entry a line, as the exact bytes that are kept"),
    (CHECKPOINT, "how many entries there are and the root over them, signed"),
    (MANIFEST, "the SHA-256 and size of every file but these three; the last entry names it"),
    ("checkpoints/", "every checkpoint that left before, each of them a beginning of this history"),
    ("timestamps/", "an authority's word on when a checkpoint was there, with the chain that vouches for it"),
    (KEYS, "every key that signed this history"),
    ("keys/", "the same keys for openssl, by fingerprint"),
    (LEAVES, "the hash of each entry, so that one that was changed can be named"),
    (NAMES, "what opens the hashes of names in the history; an erased name has no row"),
    ("verify.py", "proves all of it"),
    ("README.txt", "what each file is, and how to prove it by hand"),
)
TABLES = {
    "history.csv": "every entry as a sentence, with its hash",
    "people.csv": "who was on the project, and as what",
    "sketches.csv": "sketches with their scale",
    "zones.csv": "pour zones with their state, walk and placing",
    "walls.csv": "walls the film can be sealed to",
    "defects.csv": "marks: what was found, where, how large, and how it stands",
    "patches.csv": "patches as logged, with their overlap",
    "repairs.csv": "repairs that are no patch",
    "looks.csv": "second looks at patches and repairs",
    "holds.csv": "zones held whole, and holds lifted",
    "hold_points.csv": "hold points signed",
    "releases.csv": "releases and pull-backs",
    "photos.csv": "photos, and what each shows",
    "penetrations.csv": "penetrations and their seals",
    "seams.csv": "seams and their walks",
    "stations.csv": "laps as they were read along the seams",
    "runs.csv": "runs at fault on seams",
    "terminations.csv": "how the film ends along the edges",
    "materials.csv": "film, tape and mastic as submitted",
    "lots.csv": "lots received",
    "laid.csv": "which lot was laid where",
    "raised_numbers.csv": "numbers a zone asks more of",
    "layouts.csv": "layouts of sheets as they were kept",
    "sheets.csv": "the sheets of each layout, and off which lot they were laid",
    "order.csv": "what was to be ordered for the film still to be laid",
    "placing_plans.csv": "how each zone's placing is planned",
    "weather.csv": "weather readings of placing days, by hand and from stations",
    "thickness.csv": "the slab's thickness as it was measured",
    "project.json": "the project and its rule sheet",
}


def index_of(
    site: Site, entries: Sequence[Entry], names: Names, key: bytes, paths: Collection[str],
    papers: Mapping[str, Link], lost: Sequence[str],
) -> IndexPage:  # fmt: skip
    """`paths`: the files that are in the record already; `papers`: path to how it is told."""
    project = site.project
    assert project is not None, "a record of a project"
    print_, zone = fingerprint(key), project.time_zone
    shown = entries if len(entries) <= MOST_ENTRIES else ()
    parts = SiteParts(site)
    return IndexPage(
        name=project.name,
        up_to=len(entries),
        facts=(
            ("Started", moment(entries[0].at, zone)),
            ("Last told", f"entry {len(entries):,}, {moment(entries[-1].at, zone)}"),
            ("Times are", f"those of the site, {zone}"),
        ),
        zones=tuple(_zone(parts.of(one.id), one, papers) for one in _in_order(site)),
        papers=tuple(papers.values()),
        proof=tuple(_proof(paths)),
        tables=tuple(Link(path, words) for path, words in TABLES.items() if path in paths),
        sketches=tuple(_sketches(site, entries, paths)),
        photos=tuple(_photos(site, names, paths)),
        key_href=f"keys/{print_}.pem",
        fingerprint=tuple(in_fours(print_[start : start + 16]) for start in range(0, 64, 16)),
        history=tuple(
            Told(e.seq, sentence(e, names, project.units), moment(e.at, zone), e.role) for e in shown
        ),
        history_told=_how_many(len(entries), len(shown)),
        lost=tuple(lost),
        honesty=" ".join(HONESTY.split()),
    )


def _how_many(all_of_them: int, shown: int) -> str:
    if shown:
        return f"Entries 1 to {all_of_them:,}, the oldest first; one after them says that this record left."
    return f"The {all_of_them:,} entries are too many for one page."


def _proof(paths: Collection[str]) -> Iterable[Link]:
    for path, words in PROOF:
        inside = [one for one in paths if one.startswith(path)] if path.endswith("/") else []
        if inside:
            yield Link(path, words, f"{len(inside):,} {'file' if len(inside) == 1 else 'files'}")
        elif not path.endswith("/"):
            yield Link(path, words)


def _in_order(site: Site) -> list[Zone]:
    standing = (zone for zone in site.zones.values() if zone.withdrawn is None)
    return sorted(standing, key=lambda zone: (len(zone.letter), zone.letter))


def _zone(site: Site, zone: Zone, papers: Mapping[str, Link]) -> ZoneLine:
    standing = standing_of(site, zone.id)
    assert site.project is not None, "a record of a project"
    reasons = [say_blocker(blocker, site.project.units) for blocker in standing.blockers]
    over = len(reasons) - MOST_REASONS
    return ZoneLine(
        letter=zone.letter,
        name=zone.name,
        kind="ready" if standing.state == READY else standing.state.replace(" ", "-"),
        state=standing.state + _since(site, standing),
        why=tuple(reasons[:MOST_REASONS]),
        more=f"And {over:,} more {'reason' if over == 1 else 'reasons'}." if over > 0 else "",
        certificates=tuple(
            link for path, link in papers.items() if path.startswith(f"certificates/{zone.letter}-")
        ),
    )


def _since(site: Site, standing: Standing) -> str:
    project, placed = site.project, standing.zone.placement
    assert project is not None, "a record of a project"
    if placed is not None:
        return f", {day(placed.at, project.time_zone)}"
    began = standing.placing
    return f", placing since {moment(began.started_at, project.time_zone)}" if began is not None else ""


def _sketches(site: Site, entries: Iterable[Entry], paths: Collection[str]) -> Iterable[Link]:
    """Every picture of every sketch, in the order they came, where it is in the record."""
    by_stem = {path.partition(".")[0]: path for path in paths}
    told: dict[str, str] = {}
    for entry in entries:
        if isinstance(entry.fact, f.SketchAdded | f.SketchRevised):
            told.setdefault(f"sketches/{entry.fact.sha256}", site.sketches[entry.fact.sketch].name)
    for stem, name in told.items():
        if stem in by_stem:
            yield Link(by_stem[stem], name, "As it was uploaded. Its file is named by its SHA-256.")


def _photos(site: Site, names: Names, paths: Collection[str]) -> Iterable[Shown]:
    """Photos by what they show, in the order of the tags."""
    project = site.project
    assert project is not None, "a record of a project"
    by_tag: dict[str, list[Picture]] = {}
    for photo in site.photos.values():
        path, tag = f"photos/{photo.sha256}.jpg", _tag(site, photo.subject)
        if path in paths:
            found = by_tag.setdefault(tag, [])
            who, when = names.get(photo.by, "a person no longer named"), moment(photo.at, project.time_zone)
            found.append(
                Picture(
                    path,
                    photo.width_px,
                    photo.height_px,
                    f"Photo {len(found) + 1} of {tag}",
                    f"{when}, by {who}",
                )
            )
    for tag in sorted(by_tag):
        yield Shown(tag, tuple(by_tag[tag]))


def _tag(site: Site, subject: str) -> str:
    """The tag of what a photo shows: a mark's, that of the mark a patch lies on, or the zone's letter."""
    if subject in site.patches:
        return f"{site.defects[site.patches[subject].defect_id].tag}, patch"
    if subject in site.defects:
        return site.defects[subject].tag
    return f"Zone {site.zones[subject].letter}" if subject in site.zones else "Others"
