"""The history's words on pages: what each kind of entry is called, and where the thing it is about is."""

from __future__ import annotations

import re

from service.actions.evidence.audit import Line
from service.domain.words.speech import later, tr
from service.history.facts.entries import Entry

KINDS = {
    "project-started": later("project started"),
    "rule-sheet-changed": later("rule sheet changed"),
    "person-invited": later("person invited"),
    "invitation-withdrawn": later("invitation withdrawn"),
    "person-joined": later("person let in"),
    "person-left": later("person taken off"),
    "sketch-added": later("sketch added"),
    "sketch-revised": later("sketch revised"),
    "scale-set": later("scale set"),
    "grid-laid": later("grid laid"),
    "zone-outlined": later("zone outlined"),
    "zone-changed": later("zone changed"),
    "zone-withdrawn": later("zone taken off the sketch"),
    "wall-drawn": later("wall drawn"),
    "wall-withdrawn": later("wall taken away"),
    "defect-marked": later("defect marked"),
    "defect-withdrawn": later("mark withdrawn"),
    "patch-logged": later("patch logged"),
    "patch-withdrawn": later("patch withdrawn"),
    "walk-finished": later("punch walk finished"),
    "zone-held": later("zone put on hold"),
    "hold-lifted": later("hold lifted"),
    "zone-released": later("zone released"),
    "release-pulled-back": later("release pulled back"),
    "zone-placed": later("zone placed"),
    "photo-added": later("photo added"),
    "numbers-raised": later("zone's numbers raised"),
    "cause-told": later("cause told"),
    "repair-logged": later("repair logged"),
    "repair-withdrawn": later("repair withdrawn"),
    "patch-looked-at": later("second look at a patch"),
    "repair-looked-at": later("second look at a repair"),
    "penetrations-placed": later("penetration placed"),
    "penetration-withdrawn": later("penetration withdrawn"),
    "seal-logged": later("seal logged"),
    "seal-withdrawn": later("seal withdrawn"),
    "seam-drawn": later("seam drawn"),
    "seam-walked": later("seam walked"),
    "seam-withdrawn": later("seam withdrawn"),
    "termination-described": later("edge described"),
    "termination-sealed": later("edge sealed"),
    "edge-seal-withdrawn": later("edge's seal withdrawn"),
    "termination-withdrawn": later("edge withdrawn"),
    "none-here-stated": later("none here, as stated"),
    "material-submitted": later("material submitted"),
    "material-withdrawn": later("material withdrawn"),
    "lot-received": later("lot received"),
    "lot-withdrawn": later("lot withdrawn"),
    "lot-laid": later("film laid"),
    "laying-withdrawn": later("film laid, withdrawn"),
    "hold-point-signed": later("hold point signed"),
    "checkpoint-given": later("checkpoint given"),
    "record-made": later("record taken"),
    "key-changed": later("signing key changed"),
    "name-erased": later("name erased"),
    "password-link-made": later("password link made"),
    "password-link-used": later("password link used"),
    "timestamp-received": later("timestamp received"),
    "ready-list-opened": later("ready list opened"),
    "ready-list-withdrawn": later("ready list withdrawn"),
    "layout-kept": later("layout of sheets kept"),
    "layout-withdrawn": later("layout of sheets withdrawn"),
    "sheets-laid": later("sheets laid"),
    "sheets-laid-withdrawn": later("sheets laid, withdrawn"),
    "order-planned": later("order planned"),
    "placing-planned": later("placing planned"),
    "readings-taken": later("weather read"),
    "readings-withdrawn": later("weather readings withdrawn"),
    "thickness-measured": later("thickness measured"),
    "thickness-withdrawn": later("thickness readings withdrawn"),
    "placing-started": later("placing started"),
}
_TAG = re.compile(r"([A-Za-z]+)[\s._-]*(?:([PSEpse])[\s._-]*)?0*([0-9]{1,6})")


def kind_words(entry_type: str) -> str:
    """What a kind of entry is called."""
    return tr(KINDS.get(entry_type, entry_type.replace("-", " ")))


def tag_of(typed: str) -> str:
    """`b 7` and `B-007` as the tag is chalked, `B-07`; `b p3` as `B-P03`; anything else as it was typed."""
    read = _TAG.fullmatch(typed.strip())
    return f"{read[1].upper()}-{(read[2] or '').upper()}{int(read[3]):02d}" if read else typed.strip()


def thing_of(entry: Entry) -> tuple[str, str]:
    """Address and link's words of what an entry is about; two empty texts where no page shows it."""
    kind, subject = entry.subject
    fact, zone = entry.fact, f"/zones/{entry.zone}"
    if kind in ("patch", "repair", "defect"):
        return f"/defects/{getattr(fact, 'defect', subject)}", tr("See {tag}", tag=entry.tag)
    if kind == "project":
        return _of_project(entry)
    return {
        "zone": (zone, tr("See the zone")),
        "wall": (zone, tr("See the zone")),
        "hold": (zone, tr("See the zone")),
        "release": (f"/releases/{subject}", tr("See the certificate")),
        "penetration": (f"/penetrations/{subject}", tr("See {tag}", tag=entry.tag)),
        "seam": (f"/seams/{subject}", tr("See {tag}", tag=entry.tag)),
        "termination": (f"/edges/{subject}", tr("See {tag}", tag=entry.tag)),
        "layout": (f"/layouts/{subject}", tr("See the layout")),
        "readings": (f"{zone}/placing-day", tr("See the placing day")),
        "thickness": (f"{zone}/placing-day", tr("See the placing day")),
        "lot": (f"/projects/{entry.project}/film", tr("See the film")),
        "material": (f"/projects/{entry.project}/film", tr("See the film")),
        "photo": (f"/photos/{subject}.webp", tr("See the photo")),
        "sketch": (f"/sketches/{subject}", tr("See the sketch")),
        "person": (f"/projects/{entry.project}/people", tr("See the people")),
        "invitation": (f"/projects/{entry.project}/people", tr("See the people")),
        "link": (f"/projects/{entry.project}/ready-lists", tr("See the ready lists")),
    }.get(kind, ("", ""))


def _of_project(entry: Entry) -> tuple[str, str]:
    if entry.type == "rule-sheet-changed":
        return f"/projects/{entry.project}/rule-sheet", tr("See the rule sheet")
    return f"/projects/{entry.project}/office", tr("See the project")


def stood_of(entry: Entry) -> str:
    """The page that shows the entry's zone, or all zones, as the entry left them."""
    root = f"/zones/{entry.zone}" if entry.zone else f"/projects/{entry.project}"
    return f"{root}/as-it-stood?entry={entry.seq}"


def short_hash(line: Line) -> str:
    """The first eight signs in fours, to read out."""
    return f"{line.hash[:4]} {line.hash[4:8]}"
