"""What is installed, on the zone's drawing: true outsides, lines that tell a state, edges beside it."""

from __future__ import annotations

import gzip
import math
import re

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.shapes.outlines import Circle, Rectangle
from service.web.drawings.drawing import (
    EdgeToDraw,
    InstalledToDraw,
    MarkToDraw,
    PenetrationToDraw,
    Px,
    SeamToDraw,
    ZoneDrawing,
)
from service.web.drawings.frame import frame_of
from service.web.drawings.zone_drawing import draw_zone
from service.web.serving.render import environment

IN = 25_400_000
SCALE = 6_000_000.0  # 6 mm to a pixel
RING = (
    (0, 0),
    (2_800_000, 0),
    (2_800_000, 1_400_000),
    (1_800_000, 1_400_000),
    (1_800_000, 2_000_000),
    (0, 2_000_000),
)
places = st.tuples(st.integers(0, 2_800_000), st.integers(0, 2_000_000))
TAG_TALL = 16


def drawn(
    pipes: tuple[PenetrationToDraw, ...] = (),
    seams: tuple[SeamToDraw, ...] = (),
    edges: tuple[EdgeToDraw, ...] = (),
    marks: tuple[MarkToDraw, ...] = (),
) -> ZoneDrawing:
    installed = InstalledToDraw(pipes, seams, edges)
    return draw_zone(RING, SCALE, marks, kind="held", label="Zone B", installed=installed)


def svg(drawing: ZoneDrawing) -> str:
    source = '{% import "parts/drawing.html" as d %}{{ d.zone_svg(drawing) }}'
    return environment().from_string(source).render(drawing=drawing)


def pipe(
    number: int, at: Px = (900_000, 700_000), state: str = "not sealed", size: int = 4
) -> PenetrationToDraw:
    return PenetrationToDraw(f"B-P{number:02d}", state, at, Circle(size * IN))


def seam(number: int, y: int, state: str = "walked") -> SeamToDraw:
    return SeamToDraw(f"B-S{number:02d}", state, ((0, y), (1_800_000, y)), (((400_000, y), 0),))


def pieces(path: str) -> list[list[tuple[float, float]]]:
    """The straight pieces of a path, one list of points for each M."""
    return [
        [(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", piece)]
        for piece in path.split("M")[1:]
        if "a" not in piece
    ]


def test_a_penetration_is_drawn_by_its_true_outside_with_a_cross_through_its_middle() -> None:
    """A circle of 120 in at 6 mm to the pixel, worked out here from the frame of the drawing alone."""
    frame = frame_of(RING, SCALE)
    (path,) = (drawn((pipe(1, size=120),)).installed.unsealed,)
    radius = re.search(r"a([\d.]+) ", path)
    assert radius and float(radius[1]) == pytest.approx(60 * IN / SCALE * frame.units_per_px, abs=0.06)
    (left, right), (top, bottom) = pieces(path)
    middle = frame.point((900_000, 700_000))
    assert ((left[0] + right[0]) / 2, left[1]) == pytest.approx(middle, abs=0.1)
    assert (top[0], (top[1] + bottom[1]) / 2) == pytest.approx(middle, abs=0.1)
    assert right[0] - left[0] > 2 * float(radius[1])


def test_a_rebar_too_small_to_see_still_shows_its_cross() -> None:
    across = pieces(drawn((pipe(1, size=1),)).installed.unsealed)[0]
    assert across[1][0] - across[0][0] >= 6


def test_sealed_and_not_sealed_are_told_by_line_and_by_word() -> None:
    sealed, unsealed = svg(drawn((pipe(1, state="sealed"),))), svg(drawn((pipe(1),)))
    assert 'class="line pipe"' in sealed and "penetration sealed" in sealed
    assert 'class="line pipe is-open"' in unsealed and "penetration not sealed" in unsealed
    assert "not sealed" not in sealed


def test_only_penetrations_not_sealed_have_a_tag_on_a_leader() -> None:
    drawing = drawn((pipe(1, state="sealed"), pipe(2, (1_500_000, 900_000))))
    assert [tag.words for tag in drawing.installed.tags] == ["B-P02"]


def test_a_row_close_together_has_one_tag_that_names_its_first_and_its_last() -> None:
    row = tuple(pipe(number, (500_000 + 50_000 * number, 700_000)) for number in range(3, 9))
    apart = pipe(9, (1_700_000, 300_000))
    told = [tag.words for tag in drawn((*row, apart)).installed.tags]
    assert told == ["B-P03 to 08", "B-P09"]


@pytest.mark.parametrize(
    ("state", "kind", "words"),
    [
        ("walked", "line seam", "seam walked"),
        ("not walked", "line seam is-not-walked", "seam not walked"),
        ("at fault", "line seam is-open", "seam that does not hold"),
    ],
)
def test_a_seam_tells_by_line_and_by_word_whether_it_was_walked_and_holds(
    state: str, kind: str, words: str
) -> None:
    markup = svg(drawn(seams=(seam(1, 600_000, state),)))
    drawn_at = re.findall(r'class="(line seam[^"]*)" d="M30 ', markup)
    assert drawn_at == [kind]
    assert f"</svg>{words}</li>" in markup


def test_a_reading_is_a_short_tick_square_to_the_seam_at_its_place() -> None:
    path = ((200_000, 200_000), (1_400_000, 1_100_000))
    at = (800_000, 650_000)  # the middle of the path
    turn = round(math.degrees(math.atan2(900, 1200)))
    slant = SeamToDraw("B-S01", "walked", path, ((at, turn),))
    ((a, b),) = pieces(drawn(seams=(slant,)).installed.readings)
    x, y = frame_of(RING, SCALE).point(at)
    assert ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) == pytest.approx((x, y), abs=0.1)
    along = (1200 * (b[0] - a[0]) + 900 * (b[1] - a[1])) / 1500
    assert abs(along) < 0.2 and 4 < math.dist(a, b) < 10


@pytest.mark.parametrize("seams", [1, 12])
def test_a_seam_is_named_along_its_line_at_its_middle(seams: int) -> None:
    rows = tuple(seam(i, 100_000 + 150_000 * i) for i in range(seams))
    drawing = drawn(seams=rows)
    named = {name.tag: name for name in drawing.installed.names}
    x, y = frame_of(RING, SCALE).point((900_000, 100_000))
    first = named["B-S00"]
    assert (first.x, first.y) == pytest.approx((x, y), abs=0.1) and first.turn == 0
    assert len(named) + drawing.untagged == seams


def test_above_a_dozen_seams_only_those_that_want_work_are_named() -> None:
    rows = tuple(seam(i, 60_000 * i + 100_000, "not walked" if i == 7 else "walked") for i in range(30))
    assert [name.tag for name in drawn(seams=rows).installed.names] == ["B-S07"]


@pytest.mark.parametrize(
    ("a", "b", "turn"),
    [((200_000, 1_000_000), (1_400_000, 900_000), -5), ((900_000, 200_000), (900_000, 1_400_000), -90)],
)
def test_words_along_a_seam_are_never_upside_down(a: Px, b: Px, turn: int) -> None:
    for path in ((a, b), (b, a)):
        (name,) = drawn(seams=(SeamToDraw("B-S01", "walked", path),)).installed.names
        assert name.turn == turn


@pytest.mark.parametrize("state", ["sealed", "not sealed"])
def test_an_edge_is_a_second_line_outside_the_outline_all_along(state: str) -> None:
    """By GEOS: every point of the line lies outside the drawn zone, and as far from it as the next one."""
    frame = frame_of(RING, SCALE)
    zone = shapely.Polygon([frame.point(p) for p in RING])
    drawing = drawn(edges=(EdgeToDraw(state, (*RING, RING[0])),)).installed
    (run,) = pieces(drawing.edges if state == "sealed" else drawing.edges_open)
    assert run[0] == run[-1]
    beside = shapely.LineString(run)
    away = [
        zone.exterior.distance(beside.interpolate(part, normalized=True)) for part in (0.1, 0.37, 0.62, 0.9)
    ]
    assert not zone.intersects(beside)
    assert away == pytest.approx([away[0]] * 4, abs=0.15) and away[0] > 4.5  # half of a doubled outline


def test_a_part_of_the_edge_that_nobody_described_has_no_second_line() -> None:
    drawing = drawn(edges=(EdgeToDraw("sealed", RING[:2]),))
    (run,) = pieces(drawing.installed.edges)
    assert len(run) == 2 and drawing.installed.edges_open == ""
    assert drawn().installed.edges == ""


def test_the_legend_explains_only_what_is_drawn() -> None:
    assert drawn().key == ()
    drawing = drawn((pipe(1, state="sealed"),), (seam(1, 500_000, "not walked"),))
    assert drawing.key == ("pipe", "seam-not-walked")


def box_of_tag(x: float, y: float, shelf: float) -> shapely.Polygon:
    return shapely.box(min(x, x + shelf), y - TAG_TALL, max(x, x + shelf), y)


@settings(deadline=None, max_examples=40)
@given(
    st.lists(st.tuples(places, st.sampled_from(["sealed", "not sealed"])), max_size=40),
    st.lists(places, max_size=30),
    st.lists(places, max_size=12),
)
def test_no_tag_of_a_mark_a_penetration_or_a_seam_covers_another(
    pipes: list[tuple[Px, str]], seams: list[Px], marks: list[Px]
) -> None:
    drawing = drawn(
        tuple(pipe(i, at, state) for i, (at, state) in enumerate(pipes)),
        tuple(
            SeamToDraw(f"B-S{i:02d}", "not walked", ((0, y), (x + 1, y))) for i, (x, y) in enumerate(seams)
        ),
        marks=tuple(MarkToDraw(f"B-{i:02d}", "open", at, Circle(IN)) for i, at in enumerate(marks)),
    )
    leaders = [m.leader for m in drawing.marks if m.leader] + [t.leader for t in drawing.installed.tags]
    boxes = [box_of_tag(each.x, each.y, each.shelf) for each in leaders]
    boxes += [shapely.box(n.x - 15, n.y - 6, n.x + 15, n.y + 6) for n in drawing.installed.names]
    paper = shapely.box(0, 0, drawing.width, drawing.height)
    assert all(paper.covers(box) for box in boxes)
    assert all(a.intersection(b).area < 1e-6 for i, a in enumerate(boxes) for b in boxes[i + 1 :])


def test_forty_penetrations_and_thirty_seams_are_one_path_a_kind_and_cost_a_phone_little() -> None:
    """The first view of a zone may move 100 KB; its drawing may take 5 of them compressed."""
    pipes = tuple(
        PenetrationToDraw(
            f"B-P{i:02d}",
            "not sealed" if i % 5 == 0 else "sealed",
            (100_000 + 61_000 * i % 2_600_000, 100_000 + 47_000 * i % 1_200_000),
            Circle(4 * IN) if i % 3 else Rectangle(30 * IN, 24 * IN),
        )
        for i in range(40)
    )
    seams = tuple(
        seam(i, 60_000 * i + 50_000, ("walked", "not walked", "at fault")[i % 3]) for i in range(30)
    )
    markup = svg(drawn(pipes, seams, (EdgeToDraw("sealed", RING[:3]), EdgeToDraw("not sealed", RING[2:4]))))
    drawing = markup.split("<figcaption")[0]
    assert drawing.count('class="line') == 7
    assert len(gzip.compress(drawing.encode())) < 5_000
