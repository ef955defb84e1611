"""What the drawing macros take: plain pieces of a drawing, and the rows of schedules, reasons and choices."""

from __future__ import annotations

from dataclasses import dataclass, field

from service.domain.shapes.outlines import Outline

Px = tuple[int, int]  # thousandths of a pixel, y down

# Rows of the set pieces (templates/parts/blocks.html, fields.html).


@dataclass(frozen=True, slots=True)
class ScheduleRow:
    """One ruled row: tag first, what it is, the quieter line under it, on the right how far or how it stands.

    kind: "" or a defect's or zone's state with hyphens ("withdrawn" strikes the row through).
    """

    tag: str
    main: str
    sub: str = ""
    way: str = ""
    href: str = ""
    kind: str = ""


@dataclass(frozen=True, slots=True)
class ReasonRow:
    """One numbered reason; the tag is set bold before the words, the link says where it leads, or See it."""

    words: str
    tag: str = ""
    sub: str = ""
    href: str = ""
    link: str = ""


@dataclass(frozen=True, slots=True)
class PhotoRow:
    """One photo: thumbnail, the full picture behind it, what it shows, and the line under it."""

    src: str
    href: str
    alt: str
    words: str = ""


@dataclass(frozen=True, slots=True)
class Choice:
    """One of several: the value sent, its words, and a quieter line."""

    value: str
    words: str
    small: str = ""


@dataclass(frozen=True, slots=True)
class CheckBox:
    """One box to tick, sent as NAME=yes."""

    name: str
    words: str
    small: str = ""
    checked: bool = False


@dataclass(frozen=True, slots=True)
class Reading:
    """One of the four tape readings: side is left, right, near or far; text as typed; low when it is short.

    may_wall: an edge the film can be sealed to lies on this side, so `wall` may be said instead of a length.
    """

    side: str
    text: str = ""
    low: bool = False
    may_wall: bool = False
    wall: bool = False


# The zone's drawing.


@dataclass(frozen=True, slots=True)
class MarkToDraw:
    """A mark as the zone's drawing takes it; state is open, not sealed, sealed or withdrawn (not drawn).

    needed_nm grows the damage to the dashed least patch, 0 for none; patch stands at its offset (nanometres).
    """

    tag: str
    state: str
    at: Px
    outline: Outline
    needed_nm: int = 0
    patch: Outline | None = None
    patch_offset: tuple[int, int] = (0, 0)


NOT_SEALED, NOT_WALKED, AT_FAULT = "not sealed", "not walked", "at fault"


@dataclass(frozen=True, slots=True)
class PenetrationToDraw:
    """A penetration by its true outside; state is sealed or not sealed."""

    tag: str
    state: str
    at: Px
    outline: Outline
    href: str = ""


@dataclass(frozen=True, slots=True)
class SeamToDraw:
    """A seam; state is walked, not walked or at fault. `readings`: where a lap was read, and which way the
    seam runs there in degrees clockwise on the sketch."""

    tag: str
    state: str
    path: tuple[Px, ...]
    readings: tuple[tuple[Px, int], ...] = ()
    href: str = ""


@dataclass(frozen=True, slots=True)
class EdgeToDraw:
    """A described stretch of a zone's edge, running so that the outside is at its left (y down); state is
    sealed or not sealed."""

    state: str
    path: tuple[Px, ...]


@dataclass(frozen=True, slots=True)
class InstalledToDraw:
    """All that is installed in a zone, as its drawings take it; hrefs are for the pan-and-zoom sketch."""

    penetrations: tuple[PenetrationToDraw, ...] = ()
    seams: tuple[SeamToDraw, ...] = ()
    edges: tuple[EdgeToDraw, ...] = ()


NOTHING = InstalledToDraw()


@dataclass(frozen=True, slots=True)
class GridToDraw:
    """A grid line of the sketch: its label and two points it runs through."""

    label: str
    start: Px
    end: Px


@dataclass(frozen=True, slots=True)
class Leader:
    """The line from a mark to its tag: path to the elbow, the elbow, the shelf's length and its side."""

    path: str
    x: float
    y: float
    shelf: float
    anchor: str  # start | end
    text_x: float


@dataclass(frozen=True, slots=True)
class MarkDrawing:
    """One mark in drawing units: `shape`, `needed`, `patch` are paths, `ring` is (x, y, r) when too small."""

    tag: str
    state: str
    shape: str
    ring: tuple[float, float, float] | None
    needed: str
    patch: str
    leader: Leader | None


@dataclass(frozen=True, slots=True)
class TagOnLeader:
    """Words at the end of a leader."""

    words: str
    leader: Leader


@dataclass(frozen=True, slots=True)
class LineName:
    """A tag written along a line: its middle, and how it is turned (degrees)."""

    tag: str
    x: float
    y: float
    turn: int


@dataclass(frozen=True, slots=True)
class InstalledDrawing:
    """Penetrations, seams and edges in drawing units, one path for all of a kind and state; "" for none.

    untagged: tags that found no room.
    """

    sealed: str = ""
    unsealed: str = ""
    walked: str = ""
    not_walked: str = ""
    at_fault: str = ""
    readings: str = ""
    edges: str = ""
    edges_open: str = ""
    tags: tuple[TagOnLeader, ...] = ()
    names: tuple[LineName, ...] = ()
    untagged: int = 0

    def paths(self) -> list[tuple[str, str]]:
        """(how the style sheet names it, path) of all there is, in drawing order."""
        drawn = (
            ("edge", self.edges),
            ("edge is-open", self.edges_open),
            ("seam", self.walked + self.readings),
            ("seam is-not-walked", self.not_walked),
            ("seam is-open", self.at_fault),
            ("pipe", self.sealed),
            ("pipe is-open", self.unsealed),
        )
        return [(kind, path) for kind, path in drawn if path]


@dataclass(frozen=True, slots=True)
class GridDrawing:
    """A grid line: its path and the bubble with its label."""

    label: str
    path: str
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class WalkDrawing:
    """The way from mark to mark: its path, that of the leg to the next mark, and where it begins."""

    path: str
    next: str
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class ZoneDrawing:
    """A zone ready to be set as SVG. `name` keeps ids apart when a page has several; kind as in title_block.

    label: what a person who does not see it is told. untagged: tags that found no room.
    """

    name: str
    view: str
    width: float
    height: float
    kind: str
    label: str
    outline: str
    walls: tuple[str, ...] = ()
    marks: tuple[MarkDrawing, ...] = ()
    grid: tuple[GridDrawing, ...] = ()
    installed: InstalledDrawing = InstalledDrawing()
    untagged: int = 0
    walk: WalkDrawing | None = None
    key: tuple[str, ...] = field(default=())


@dataclass(frozen=True, slots=True)
class Dimension:
    """A dimension line from the damage to the patch's edge: heavy when low; words stand at (x, y)."""

    side: str
    path: str
    heads: str
    low: bool
    words: str = ""
    x: float = 0.0
    y: float = 0.0
    anchor: str = "middle"


@dataclass(frozen=True, slots=True)
class PatchDrawing:
    """Damage solid, least patch dashed, patches thin; `walls` are edges the patch is sealed to.

    `live` feeds patch.js. view is 240 by 240 units whatever the size, so words and arrowheads keep theirs.
    """

    name: str
    view: str
    label: str
    damage: str
    ring: tuple[float, float, float] | None
    needed: str
    patches: tuple[str, ...]
    walls: tuple[str, ...] = ()
    dimensions: tuple[Dimension, ...] = ()
    clip: str = ""  # where the least patch is drawn: a wall ends it
    live: dict[str, object] | None = None


@dataclass(frozen=True, slots=True)
class SketchDrawing:
    """What the viewer and the placers read; every point in pixels of the full-size sketch.

    tiles: address below which `LEVEL/X_Y.webp` lies. zone: the ring to open on. rows: made by `sketch_rows`
    (service/web/drawings/sketch_drawing.py). marks_href: where the same rows are fetched again, or "".
    px_per_m: 0 when no scale is set.
    """

    name: str
    label: str
    tiles: str
    width_px: int
    height_px: int
    levels: int
    px_per_m: float = 0.0
    zone: tuple[tuple[float, float], ...] = ()
    rows: dict[str, object] = field(default_factory=dict)
    marks_href: str = ""
