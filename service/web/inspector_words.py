"""The history's words on pages: what each kind of entry is called, and where the thing it is about is."""

from __future__ import annotations

import re

from service.actions.audit import Line
from service.history.entries import Entry

KINDS = {
    "project-started": "project started",
    "rule-sheet-changed": "rule sheet changed",
    "person-invited": "person invited",
    "invitation-withdrawn": "invitation withdrawn",
    "person-joined": "person let in",
    "person-left": "person taken off",
    "sketch-added": "sketch added",
    "sketch-revised": "sketch revised",
    "scale-set": "scale set",
    "grid-laid": "grid laid",
    "zone-outlined": "zone outlined",
    "zone-changed": "zone changed",
    "zone-withdrawn": "zone taken off the sketch",
    "wall-drawn": "wall drawn",
    "wall-withdrawn": "wall taken away",
    "defect-marked": "defect marked",
    "defect-withdrawn": "mark withdrawn",
    "patch-logged": "patch logged",
    "patch-withdrawn": "patch withdrawn",
    "walk-finished": "punch walk finished",
    "zone-held": "zone put on hold",
    "hold-lifted": "hold lifted",
    "zone-released": "zone released",
    "release-pulled-back": "release pulled back",
    "zone-placed": "zone placed",
    "photo-added": "photo added",
    "numbers-raised": "zone's numbers raised",
    "cause-told": "cause told",
    "repair-logged": "repair logged",
    "repair-withdrawn": "repair withdrawn",
    "patch-looked-at": "second look at a patch",
    "repair-looked-at": "second look at a repair",
    "penetrations-placed": "penetration placed",
    "penetration-withdrawn": "penetration withdrawn",
    "seal-logged": "seal logged",
    "seal-withdrawn": "seal withdrawn",
    "seam-drawn": "seam drawn",
    "seam-walked": "seam walked",
    "seam-withdrawn": "seam withdrawn",
    "termination-described": "edge described",
    "termination-sealed": "edge sealed",
    "edge-seal-withdrawn": "edge's seal withdrawn",
    "termination-withdrawn": "edge withdrawn",
    "none-here-stated": "none here, as stated",
    "material-submitted": "material submitted",
    "material-withdrawn": "material withdrawn",
    "lot-received": "lot received",
    "lot-withdrawn": "lot withdrawn",
    "lot-laid": "film laid",
    "laying-withdrawn": "film laid, withdrawn",
    "hold-point-signed": "hold point signed",
    "checkpoint-given": "checkpoint given",
    "record-made": "record taken",
    "key-changed": "signing key changed",
    "name-erased": "name erased",
    "timestamp-received": "timestamp received",
    "ready-list-opened": "ready list opened",
    "ready-list-withdrawn": "ready list withdrawn",
}
_TAG = re.compile(r"([A-Za-z]+)[\s._-]*(?:([PSEpse])[\s._-]*)?0*([0-9]{1,6})")


def tag_of(typed: str) -> str:
    """`b 7` and `B-007` as the tag is chalked, `B-07`; `b p3` as `B-P03`; anything else as it was typed."""
    read = _TAG.fullmatch(typed.strip())
    return f"{read[1].upper()}-{(read[2] or '').upper()}{int(read[3]):02d}" if read else typed.strip()


def thing_of(entry: Entry) -> tuple[str, str]:
    """Address and link's words of what an entry is about; two empty texts where no page shows it."""
    kind, subject = entry.subject
    fact, zone = entry.fact, f"/zones/{entry.zone}"
    if kind in ("patch", "repair", "defect"):
        return f"/defects/{getattr(fact, 'defect', subject)}", f"See {entry.tag}"
    if kind == "project":
        return _of_project(entry)
    return {
        "zone": (zone, "See the zone"),
        "wall": (zone, "See the zone"),
        "hold": (zone, "See the zone"),
        "release": (f"/releases/{subject}", "See the certificate"),
        "penetration": (f"/penetrations/{subject}", f"See {entry.tag}"),
        "seam": (f"/seams/{subject}", f"See {entry.tag}"),
        "termination": (f"/edges/{subject}", f"See {entry.tag}"),
        "lot": (f"/projects/{entry.project}/film", "See the film"),
        "material": (f"/projects/{entry.project}/film", "See the film"),
        "photo": (f"/photos/{subject}.webp", "See the photo"),
        "sketch": (f"/sketches/{subject}", "See the sketch"),
        "person": (f"/projects/{entry.project}/people", "See the people"),
        "invitation": (f"/projects/{entry.project}/people", "See the people"),
        "link": (f"/projects/{entry.project}/ready-lists", "See the ready lists"),
    }.get(kind, ("", ""))


def _of_project(entry: Entry) -> tuple[str, str]:
    if entry.type == "rule-sheet-changed":
        return f"/projects/{entry.project}/rule-sheet", "See the rule sheet"
    return f"/projects/{entry.project}/office", "See the project"


def stood_of(entry: Entry) -> str:
    """The page that shows the entry's zone, or all zones, as the entry left them."""
    root = f"/zones/{entry.zone}" if entry.zone else f"/projects/{entry.project}"
    return f"{root}/as-it-stood?entry={entry.seq}"


def short_hash(line: Line) -> str:
    """The first eight signs in fours, to read out."""
    return f"{line.hash[:4]} {line.hash[4:8]}"
