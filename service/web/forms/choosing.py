"""Choosing places without scripts: press the picture, see the same place closer in, press again to settle it.

One function, `choose`, reads the same fields as the placers of templates/parts/sketch.html and works through
what was pressed. A page that takes a place does this, for GET and for POST alike:

    chosen = choose(form.values, ground, POINT)       # of a GET: choose(request.query_params, ground, POINT)
    if chosen.pressed:                                # the picture was pressed, not the form's own button
        return show(form, chosen)                     # 200: the form again, everything typed given back
    place = chosen.places[0]                          # (x, y) in pixels of today's picture, or None

and in its template, inside the form (`import "parts/choosing.html" as choosing`):

    {{ placers.place_point(page.sketch, *page.chosen.values, fallback=choosing.still(page.chosen.still)) }}

`ground_of(sketch, ...)` makes the Ground. A file chosen in the same form is lost when the picture is pressed:
ask for the place first. Enter on the picture, which browsers send as a press at 0, 0, takes its middle.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from service.actions.sketches.pictures import CLOSEST, Window, level_for_all, window_at
from service.domain.nouns.site import Px, Sketch
from service.domain.sketch.places import from_base
from service.domain.words.speech import tr
from service.web.drawings.shown import Shown
from service.web.forms.choosing_words import move_words, told_words, way_words
from service.web.forms.placed import LINE, MANY, PAIR, POINT, RING, Mode, read_places, texts_of
from service.web.forms.stills import Ground, Point, Still, drawn_over, milli, window_src

__all__ = ["LINE", "PAIR", "POINT", "RING", "Chosen", "Ground", "Point", "choose", "ground_of"]

SIZES = ((288, 320), (720, 540))  # the first fits a phone 320 pixels wide with the page's margins
STEP = 4  # levels closer at one press: a finger's miss of a few dots still lands inside the closer picture
FINE_M = 0.0508  # a place is settled where one dot of the picture is 2 in of ground or less
FINE_PX = 2.0  # or two dots of a sketch that has no scale
MOST_CORNERS = 200
NUDGE_M = {"us": 0.0254, "metric": 0.01}
WAYS = {"left": (-1, 0), "right": (1, 0), "up": (0, -1), "down": (0, 1)}


@dataclass(frozen=True, slots=True)
class Chosen:
    """What the presses came to.

    places: settled places in pixels, None where a point or one of a pair is not settled; of a ring its
    corners, of a line its points. values: the same as the texts that the placers' hidden fields hold.
    pressed: the picture or one of its buttons was pressed: the form is shown again and nothing is recorded.
    """

    places: tuple[Point | None, ...]
    values: tuple[str, ...]
    pressed: bool
    still: Still

    @property
    def settled(self) -> tuple[Point, ...]:
        """The settled places alone."""
        return tuple(place for place in self.places if place is not None)


@dataclass(frozen=True, slots=True)
class Look:
    """Where the still picture stands: its level, its middle (thousandths), whose turn it is, its size."""

    level: int
    x: int
    y: int
    turn: int
    size: int

    def text(self) -> str:
        return f"{self.level},{self.x},{self.y},{self.turn},{self.size}"


def ground_of(
    sketch: Sketch,
    *,
    home: Iterable[Px] = (),
    rings: Iterable[Iterable[Px]] = (),
    walls: Iterable[tuple[Px, Px]] = (),
    words: Iterable[tuple[str, Px]] = (),
) -> Ground:
    """The Ground of a sketch as it is today. Points are given in the base frame, as the site keeps them."""

    def now(points: Iterable[Px]) -> tuple[Point, ...]:
        return tuple(from_base(sketch, point) for point in points)

    return Ground(
        src=window_src(sketch),
        width_px=sketch.width_px,
        height_px=sketch.height_px,
        levels=sketch.levels,
        px_per_m=Shown(sketch).px_per_m,
        home=now(home),
        rings=tuple(now(ring) for ring in rings),
        lines=tuple((from_base(sketch, a), from_base(sketch, b)) for a, b in walls),
        words=tuple((text, from_base(sketch, point)) for text, point in words),
    )


def choose(
    sent: Mapping[str, str],
    ground: Ground,
    mode: Mode,
    *,
    prefix: str = "",
    fine_m: float = FINE_M,
    by_dots: bool = False,
    units: str = "us",
    words: Sequence[str] = (),
) -> Chosen:
    """Read the places already settled from what was sent, and work through what was pressed.

    prefix: of every field, as given to the placer. fine_m: how much ground one dot of the picture may be when
    a press settles; by_dots: settle by the sketch's own dots instead. words: names of a pair's points.
    Garbage in the fields counts as nothing chosen.
    """
    fine_px = fine_m * ground.px_per_m if ground.px_per_m and not by_dots else FINE_PX
    step = _Step(ground, mode, fine_px, units, read_places(sent, mode, prefix))
    step.start(sent.get(f"{prefix}look", ""))
    pressed = step.press(sent, prefix)
    named = words or (tr("the first point"), tr("the second point"))
    return Chosen(tuple(step.places), texts_of(step.places, mode), pressed, step.still(prefix, named))


class _Step:
    """One sending of the form: the places so far, the look it was sent from, and the look that follows."""

    def __init__(
        self, ground: Ground, mode: Mode, fine_px: float, units: str, places: list[Point | None]
    ) -> None:
        self.ground, self.mode, self.units, self.places = ground, mode, units, places
        top = ground.levels - 1
        self.settles = min(max(math.floor(math.log2(max(fine_px, 0.125))), CLOSEST), top)
        self.closest = max(self.settles - 1, CLOSEST)
        self.look = Look(0, 0, 0, 0, 0)

    def start(self, text: str) -> None:
        """The look the form was sent from; a first look stands on the place, or shows all there is."""
        try:
            level, x, y, turn, size = (int(part) for part in text.split(","))
        except ValueError:
            waiting = [n for n, place in enumerate(self.places) if place is None]
            self.look = replace(self.look, turn=waiting[0] if waiting else 0)
            if self.mode == POINT and self.places[0]:
                self._stand_on(self.places[0], self.closest)
            else:
                self._show_all()
            return
        level = min(max(level, CLOSEST), self.ground.levels - 1)
        self.look = Look(level, x, y, turn if turn in (0, 1) else 0, size if size in (0, 1) else 0)

    @property
    def view(self) -> Window:
        look = self.look
        return window_at(self.ground.sizes, (look.x, look.y), look.level, *SIZES[look.size])

    def press(self, sent: Mapping[str, str], prefix: str) -> bool:
        """Work through the button or the place pressed. False when neither was."""
        button = sent.get(f"{prefix}do", "")
        if button:
            self._button(button)
            return True
        try:
            x, y = int(sent[f"{prefix}press.x"]), int(sent[f"{prefix}press.y"])
        except (KeyError, ValueError):
            return False
        width, height = SIZES[self.look.size]
        if (x, y) == (0, 0):  # Enter on the picture
            x, y = width // 2, height // 2
        self._place(*self.view.place_at(min(max(x, 0), width - 1), min(max(y, 0), height - 1)))
        return True

    def _place(self, x: int, y: int) -> None:
        x = min(max(x, 0), self.ground.width_px * 1000)
        y = min(max(y, 0), self.ground.height_px * 1000)
        spot = (x / 1000, y / 1000)
        if self.look.level > self.settles:
            self._stand_on(spot, max(self.look.level - STEP, self.closest))
        elif self.mode == POINT:
            self.places[0] = spot
            self._stand_on(spot, max(self.look.level - 1, self.closest))
        elif self.mode == PAIR:
            self.places[self.look.turn] = spot
            self._take_turn(1 - self.look.turn)
        elif len(self.places) < MOST_CORNERS:
            self.places.append(spot)
            self._show_all()

    def _take_turn(self, turn: int) -> None:
        """Whose turn it is next; with both settled the one just set may be set again."""
        if self.places[turn] is not None:
            place = self.places[1 - turn]
            assert place is not None
            self._stand_on(place, self.closest)
            return
        self.look = replace(self.look, turn=turn)
        self._show_all()

    def _button(self, button: str) -> None:
        kind, _, which = button.partition("-")
        look, (width, height) = self.look, SIZES[self.look.size]
        if kind == "out":
            self.look = replace(look, level=min(look.level + 2, self.ground.levels - 1))
        elif kind == "all":
            self._show_all()
        elif kind == "size":
            self.look = replace(look, size=1 - look.size)
        elif kind == "middle":
            self._place(look.x, look.y)
        elif kind == "see" and which in WAYS:
            right, down = WAYS[which]
            dot = 1000 * 2.0**look.level
            self._stand_on(
                ((look.x + right * width * dot / 2) / 1000, (look.y + down * height * dot / 2) / 1000),
                look.level,
            )
        elif kind == "move" and which in WAYS:
            self._nudge(*WAYS[which])
        elif kind == "undo":
            self._undo()
        elif kind == "again" and self.mode == PAIR and which in ("0", "1"):
            self.places[int(which)] = None
            self.look = replace(look, turn=int(which))
            self._show_all()

    def _undo(self) -> None:
        if self.mode in MANY:
            del self.places[-1:]
        else:
            self.places = [None] * len(self.places)
            self.look = replace(self.look, turn=0)
        self._show_all()

    def _nudge(self, right: int, down: int) -> None:
        """Move the place last settled by an inch, or by a dot of a sketch that has no scale."""
        turn = -1 if self.mode in MANY else self.look.turn
        place = self.places[turn] if self.places else None
        if place is None:
            return
        by = NUDGE_M[self.units] * self.ground.px_per_m or 1.0
        x = min(max(place[0] + right * by, 0.0), float(self.ground.width_px))
        y = min(max(place[1] + down * by, 0.0), float(self.ground.height_px))
        self.places[turn] = (round(x, 3), round(y, 3))
        self._stand_on((x, y), min(self.look.level, self.settles))

    def _stand_on(self, spot: Point, level: int) -> None:
        x, y = milli(spot)
        x = min(max(x, 0), self.ground.width_px * 1000)
        y = min(max(y, 0), self.ground.height_px * 1000)
        self.look = replace(self.look, level=level, x=x, y=y)

    def _show_all(self) -> None:
        """The look that shows the home ring, or the whole picture where there is none."""
        width, height = SIZES[self.look.size]
        home = self.ground.home or ((0.0, 0.0), (float(self.ground.width_px), float(self.ground.height_px)))
        xs, ys = [x for x, _ in home], [y for _, y in home]
        across = max((max(xs) - min(xs)) / (width * 0.92), (max(ys) - min(ys)) / (height * 0.92), 0.125)
        level = min(math.ceil(math.log2(across)), level_for_all(self.ground.sizes, width, height))
        self._stand_on(((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2), max(level, CLOSEST))

    def still(self, prefix: str, words: Sequence[str]) -> Still:
        look, (width, height) = self.look, SIZES[self.look.size]
        strokes, texts = drawn_over(self.view, self.ground, self.places, closed=self.mode == RING)
        return Still(
            name=prefix,
            src=f"{self.ground.src}&level={look.level}&x={look.x}&y={look.y}&w={width}&h={height}",
            width=width,
            height=height,
            strokes=strokes,
            texts=texts,
            told=told_words(self.mode, self.places, self.look.turn, self.look.level > self.settles, words),
            look=look.text(),
            ways=self._ways(words),
            moves=self._moves(),
        )

    def _ways(self, words: Sequence[str]) -> tuple[tuple[str, str], ...]:
        again = [(f"again-{n}", tr("Choose {point} again", point=words[n])) for n in (0, 1) if self._again(n)]
        ways = [(way, said) for way, said in way_words(self.mode, bool(self.places))]
        larger = tr("Larger picture") if self.look.size == 0 else tr("Smaller picture")
        return (*ways, *again, ("size", larger))

    def _again(self, n: int) -> bool:
        return self.mode == PAIR and self.places[n] is not None

    def _moves(self) -> tuple[tuple[str, str], ...]:
        turn = -1 if self.mode in MANY else self.look.turn
        if not self.places or self.places[turn] is None:
            return ()
        return move_words(self.units if self.ground.px_per_m else "")
