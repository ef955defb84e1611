"""What goes wrong in a whole zone, one case a fault that the gate knows, and what mends each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from service.domain.nouns.installed import (
    DAM,
    FREE_EDGE,
    IMPEDIMENT,
    JOINT,
    LAP_AGAIN,
    MASTIC,
    OVER_FOOTING,
    REPLACE_SHEET,
    SHORT_OF_FOOTING,
    TAPE_THE_SEAM,
    Raised,
    SeamRun,
)
from service.domain.nouns.rules import STEPS
from service.domain.shapes.outlines import Circle
from service.history.facts import facts as f
from service.history.facts import film as h
from service.history.facts import installed as g
from service.history.facts.every_fact import Fact
from tests.history.story import (
    CORNERS,
    INCH,
    LEAD,
    MANAGER,
    edge,
    edge_seal,
    film,
    laid,
    look,
    lot,
    mark,
    patch,
    pipe,
    px,
    repair,
    ring,
    seal,
    seam,
    seam_walk,
    signed,
    signed_all,
    work,
)

Faults = set[str]


@dataclass(frozen=True)
class Case:
    """What goes wrong, by whom; the blockers and the faults it makes; and what mends it."""

    name: str
    wrong: tuple[Fact, ...]
    holds: set[tuple[str, str]]
    faults: Faults
    mends: tuple[Fact, ...]
    who: tuple[str, str] = LEAD

    def __str__(self) -> str:
        return self.name


def _resealed(name: str, faults: Faults, **wrong: Any) -> Case:
    """The collar of the one pipe logged anew in this way, then well."""
    return Case(
        name, (seal("c2", "1", **wrong),), {("penetration-not-sealed", "B-P1")}, faults, (seal("c3", "1"),)
    )


def _rewalked(name: str, faults: Faults, **wrong: Any) -> Case:
    return Case(
        name, (seam_walk("w2", "1", **wrong),), {("seam-at-fault", "B-S1")}, faults, (seam_walk("w3", "1"),)
    )


def _edged(name: str, faults: Faults, kind: str, well: dict[str, Any], **wrong: Any) -> Case:
    """Side 1 taken back, described as this kind and sealed in this way; then sealed well."""
    said = {key: wrong.pop(key) for key in ("authority", "what") if key in wrong}
    anew = (edge("5", 1, kind, **said), edge_seal("es5", "5", **wrong))
    mends = (edge_seal("es6", "5", **well),)
    if said:
        gone = g.TerminationWithdrawn("5", "zb", "B-E5", "described wrongly")
        right = {key: "the engineer's letter" for key in said}
        mends = (gone, edge("6", 1, kind, **right), edge_seal("es6", "6", **well))  # type: ignore[assignment]
    gone_first = g.TerminationWithdrawn("1", "zb", "B-E1", "drawn wrongly")
    return Case(name, (gone_first, *anew), {("edge-not-sealed", "B-E5")}, faults, mends)


def _relaid(name: str, faults: Faults, **wrong: Any) -> Case:
    """Film of another material laid as well; then taken up again."""
    return Case(
        name,
        (film("m2", **wrong), lot("l2", "m2", "F-2"), laid("y2", "l2", "F-2")),
        {("film-below-sheet", "F-2")},
        faults,
        (h.LayingWithdrawn("y2", "l2", "zb", "B", "F-2", "taken up again"),),
    )


def _repatched(name: str, faults: Faults, **wrong: Any) -> Case:
    """The one patch withdrawn and laid anew in this way; then well, and looked at."""
    gone = g_patch_gone("p1")
    return Case(
        name,
        (gone, patch("p2", "01", (600, 200), **wrong)),
        {("defect-not-sealed", "B-01")},
        faults,
        (g_patch_gone("p2"), patch("p3", "01", (600, 200)), look("k9", "p3", "01")),
    )


def g_patch_gone(name: str) -> f.PatchWithdrawn:
    return f.PatchWithdrawn(name, "01", "zb", "B-01", "came off")


def _mended(kind: str, method: str, well: dict[str, Any], name: str, faults: Faults, **wrong: Any) -> Case:
    """A mark of this kind with this repair badly made; then well made, and looked at."""
    code = "needs-other-repair" if "other-repair" in faults else "defect-not-sealed"
    return Case(
        f"{kind}: {name}",
        (mark("09", (700, 600), kind), repair("q9", "09", method, **{**well, **wrong})),
        {(code, "B-09")},
        faults,
        (
            g.RepairWithdrawn("q9", "09", "zb", "B-09", "done again"),
            repair("q10", "09", _right(kind, method), **_well(kind, method, well)),
            g.RepairLookedAt("k9", "q10", "09", "zb", "B-09", True, ""),
        ),
    )


def _right(kind: str, method: str) -> str:
    return {"open seam": TAPE_THE_SEAM, "contamination": "clean the film"}.get(kind, method)


def _well(kind: str, method: str, well: dict[str, Any]) -> dict[str, Any]:
    if kind == "contamination":
        return {}
    return LAPPED if kind == "open seam" else well


LAPPED: dict[str, Any] = {"lap_nm": 6 * INCH, "taped": True, "work": work()}
SHORT = 6 * INCH - INCH // 16
NARROW = 4 * INCH - 1
COLD = 39_999
JOINED: dict[str, Any] = {"runs_past_nm": 6 * INCH, "protected": True}

CASES = [
    # penetrations
    Case("a pipe nobody sealed", (pipe("2", (400, 300)),), {("penetration-not-sealed", "B-P2")},
         {"not-sealed-yet"}, (seal("c2", "2"),)),
    Case("a seal withdrawn", (g.SealWithdrawn("c1", "1", (), "zb", "B-P1", "torn off"),),
         {("penetration-not-sealed", "B-P1")}, {"not-sealed-yet"}, (seal("c3", "1"),)),
    _resealed("a collar a nanometre narrow", {"collar-narrow"}, collar_width_nm=12 * INCH - 1),
    # 1.5 times pi times 4.5 in is 21.206 in.
    _resealed("a collar cut 21 in long", {"collar-short"}, collar_length_nm=21 * INCH),
    _resealed("fingers not cut", {"no-fingers"}, fingers=False),
    _resealed("a collar not taped to the pipe", {"not-taped-to-pipe"}, taped_to_pipe=False),
    _resealed("a collar not taped to the film", {"not-taped-to-film"}, taped_to_film=False),
    _resealed("collar tape narrow", {"tape-narrow"}, work=work(tape_width_nm=NARROW)),
    _resealed("a collar on dirty film", {"not-cleaned"}, work=work(cleaned=False)),
    _resealed("a collar on wet film", {"not-dry"}, work=work(dry=False)),
    _resealed("a collar on cold film", {"too-cold"}, work=work(film_mf=COLD)),
    _resealed("mastic round a 4 in pipe", {"too-large-for-mastic", "hole-not-close"}, method=MASTIC),
    _resealed("a dam round one", {"dam-for-one", "hole-not-close"}, method=DAM),
    Case("one collar round two", (pipe("2", (302, 300)), seal("c2", "1", also=("2",))),
         {("penetration-not-sealed", "B-P1"), ("penetration-not-sealed", "B-P2")},
         {"one-collar-for-several"},
         (seal("c3", "1", also=("2",), method=DAM, close_cut=True, work=work(tape_width_nm=0)),)),
    # seams
    Case("a seam nobody walked", (seam("2"),), {("seam-at-fault", "B-S2")}, {"not-walked"},
         (seam_walk("w2", "2"),)),
    _rewalked("a lap a sixteenth short", {"lap-short"}, lap_nm=SHORT),
    _rewalked("no lap measured", {"no-stations"}, stations=()),
    _rewalked("laps measured too far apart", {"stations-far-apart"},
              stations=seam_walk("x", "1").stations[:4]),
    _rewalked("a seam not taped", {"not-taped"}, taped=False),
    _rewalked("tape not bonded", {"not-bonded"}, bonded=False),
    _rewalked("seam tape narrow", {"tape-narrow"}, work=work(tape_width_nm=NARROW)),
    _rewalked("a dirty seam", {"not-cleaned"}, work=work(cleaned=False)),
    _rewalked("a wet seam", {"not-dry"}, work=work(dry=False)),
    _rewalked("a cold seam", {"too-cold"}, work=work(film_mf=COLD)),
    _rewalked("a run at fault that no mark stands for", {"run-not-marked"},
              runs=(SeamRun("fishmouth", px(200, 400), px(220, 400), "nobody"),)),
    # edges
    Case("an edge taken back", (g.TerminationWithdrawn("1", "zb", "B-E1", "drawn wrongly"),),
         {("edge-not-described", "B")}, set(), (edge("5", 1), edge_seal("es5", "5"))),
    Case("an edge's seal withdrawn", (g.EdgeSealWithdrawn("es1", "1", "zb", "B-E1", "came loose"),),
         {("edge-not-sealed", "B-E1")}, {"not-sealed-yet"}, (edge_seal("es5", "1"),)),
    _edged("over a footing on nobody's word", {"no-authority"}, OVER_FOOTING, {}, authority=""),
    _edged("short of a footing on nobody's word", {"no-authority"}, SHORT_OF_FOOTING, {}, authority=" "),
    _edged("at an impediment nobody named", {"no-impediment-named"}, IMPEDIMENT, {}, what=""),
    _edged("film past a joint a sixteenth short", {"runs-past-short"}, JOINT, JOINED,
           runs_past_nm=SHORT, protected=True),
    _edged("film past a joint that nobody protected", {"not-protected"}, JOINT, JOINED,
           runs_past_nm=6 * INCH, protected=False),
    _edged("a free edge that is not whole", {"not-sealed"}, FREE_EDGE, {}, sealed=False),
    _edged("an edge with narrow tape", {"tape-narrow"}, FREE_EDGE, {}, work=work(tape_width_nm=NARROW)),
    _edged("an edge on dirty film", {"not-cleaned"}, FREE_EDGE, {}, work=work(cleaned=False)),
    _edged("an edge on wet film", {"not-dry"}, FREE_EDGE, {}, work=work(dry=False)),
    _edged("an edge on cold film", {"too-cold"}, FREE_EDGE, {}, work=work(film_mf=COLD)),
    # film
    Case("no film logged", (h.LayingWithdrawn("y1", "l1", "zb", "B", "F-1", "another zone"),),
         {("film-not-logged", "B"), ("defect-not-sealed", "B-01")}, {"lot-not-known"},
         (laid("y2", "l1", "F-1"),)),
    Case("a lot withdrawn", (h.LotWithdrawn("l1", "m1", "F-1", "misread"),),
         {("film-below-sheet", "F-1"), ("defect-not-sealed", "B-01")}, {"lot-withdrawn", "lot-not-known"},
         (lot("l2", "m1", "F-1"), laid("y2", "l2", "F-1"),
          h.LayingWithdrawn("y1", "l1", "zb", "B", "F-1", "misread"))),
    Case("a material withdrawn", (h.MaterialWithdrawn("m1", "Film m1", "not approved"),),
         {("film-below-sheet", "F-1")}, {"material-withdrawn"},
         (film("m3"), lot("l3", "m3", "F-1"), laid("y3", "l3", "F-1"),
          h.LayingWithdrawn("y1", "l1", "zb", "B", "F-1", "misread"))),
    # ASTM E1745 class A asks 45.0 lbf/in and at most 0.1 perm (numbers seen on public pages).
    _relaid("film a thousandth weak", {"below-class"}, claimed_class="B", tensile_mlbf_in=44_999),
    _relaid("film that passes too much", {"below-class", "too-permeable"}, claimed_class="",
            permeance_up=100_001),
    _relaid("film of an unknown permeance", {"class-not-shown", "permeance-not-shown"},
            claimed_class="", permeance_up=None),
    _relaid("film that claims more than it shows", {"claims-more-than-shown", "below-class"},
            puncture_g=1_700),
    _relaid("film a nanometre thin", {"too-thin"}, thickness_nm=253_999),
    _relaid("film of an unknown thickness", {"thickness-not-shown"}, thickness_nm=None),
    # hold points
    *(
        Case(f"a hold point refused: {step}", (signed("n1", step, False),), {("hold-point-refused", "B")},
             set(), (signed("n2", step),))
        for step in STEPS
    ),
    # marks: patches and looks
    Case("a patch that a second look refused", (look("k8", "p1", "01", False),),
         {("defect-not-sealed", "B-01"), ("hold-point-open", "B")}, {"look-refused"},
         (look("k9", "p1", "01"),)),
    Case("a patch laid since the last look", (patch("p4", "01", (600, 200)),), {("second-look", "B-01")},
         set(), (look("k9", "p4", "01"),)),
    _repatched("a patch of a lot nobody received", {"lot-not-known"}, lot="F-9"),
    _repatched("a patch on cold film", {"too-cold"}, film_temperature="39 F"),
    # The roll is 144 in (12 ft) wide.
    _repatched("a patch wider than the roll", {"wider-than-roll"}, sides=None,
               outline=Circle(146 * INCH)),
    # marks: other repairs
    _mended("short lap", LAP_AGAIN, LAPPED, "lapped a sixteenth short", {"lap-short"}, lap_nm=SHORT),
    _mended("short lap", LAP_AGAIN, LAPPED, "no lap measured", {"lap-short"}, lap_nm=None),
    _mended("short lap", LAP_AGAIN, LAPPED, "not taped", {"edges-not-taped"}, taped=False),
    _mended("displaced sheet", LAP_AGAIN, LAPPED, "tape narrow", {"tape-narrow"},
            work=work(tape_width_nm=NARROW)),
    _mended("unbonded tape", TAPE_THE_SEAM, LAPPED, "dirty", {"not-cleaned"}, work=work(cleaned=False)),
    _mended("open seam", TAPE_THE_SEAM, LAPPED, "wet", {"not-dry"}, work=work(dry=False)),
    _mended("open seam", TAPE_THE_SEAM, LAPPED, "cold", {"too-cold"}, work=work(film_mf=COLD)),
    _mended("open seam", LAP_AGAIN, LAPPED, "the wrong repair", {"other-repair"}),
    _mended("contamination", REPLACE_SHEET, {**LAPPED, "work": work(lot="F-1")}, "a way that does not count",
            {"method-not-counted"}),
    # marks that lean on what is installed
    Case("damage at a pipe whose collar was not made anew",
         (mark("09", (303, 300)), patch("p9", "09", (303, 300)), look("k9", "p9", "09")),
         {("defect-not-sealed", "B-09")}, {"collar-first"}, (seal("c3", "1"),)),
    Case("a mark of an unsealed pipe with no pipe under it",
         (mark("09", (700, 600), "unsealed penetration"),),
         {("needs-other-repair", "B-09")}, set(), (pipe("9", (700, 600)), seal("c9", "9"))),
    Case("a mark of an unsealed edge sealed before the mark",
         (mark("09", (500, 100), "unsealed termination"),), {("needs-other-repair", "B-09")}, set(),
         (edge_seal("es9", "1"),)),
    # the zone
    Case("a zone redrawn", (f.ZoneChanged("zb", "North bay", ring((*CORNERS[:3], (100, 699))), None),),
         {("not-walked", "B"), ("hold-point-open", "B"), ("edge-not-described", "B")}, set(),
         (f.ZoneChanged("zb", "North bay", ring(CORNERS), None), f.WalkFinished("zb", "B", ""),
          *signed_all("n"))),
    Case("a number raised for the zone",
         (g.NumbersRaised("zb", "B", (Raised("lap", 7 * INCH, "the engineer"),), ("lap",)),),
         {("seam-at-fault", "B-S1")}, {"lap-short"}, (g.NumbersRaised("zb", "B", (), ("lap",)),), MANAGER),
    Case("a material that asks for a longer lap",
         (film("m2", least_lap_nm=7 * INCH), lot("l2", "m2", "F-2"), laid("y2", "l2", "F-2")),
         {("seam-at-fault", "B-S1")}, {"lap-short"},
         (h.LayingWithdrawn("y2", "l2", "zb", "B", "F-2", "taken up again"),)),
]  # fmt: skip
