"""What is said round the still picture that places are chosen on: what to press next, and its buttons."""

from __future__ import annotations

from collections.abc import Sequence

from service.domain.words.speech import tr, trn
from service.web.forms.placed import LINE, PAIR, POINT, RING, Mode
from service.web.forms.stills import Point


def told_words(mode: Mode, places: Sequence[Point | None], turn: int, far: bool, words: Sequence[str]) -> str:
    """The sentence over the picture. turn: which of a pair is set now; far: a press only comes closer yet."""
    if mode == PAIR:
        return _told_of_pair(places, words[turn], far)
    if mode == POINT:
        if places[0]:
            return tr("Placed. Press again to set it better.")
        if far:
            return tr("Press the place on the picture. It comes closer, then press again.")
        return tr("Closer now: press the exact place.")
    if not far:
        if mode == RING:
            return tr("Closer now: press the exact corner.")
        return tr("Closer now: press the exact point.")
    return _told_of_many(mode, len(places))


def _told_of_pair(places: Sequence[Point | None], point: str, far: bool) -> str:
    if all(places):
        return tr("Both points are placed. Press again to set {point} better.", point=point)
    if far:
        return tr("Press {point} on the picture. It comes closer, then press again.", point=point)
    return tr("Closer now: press {point}.", point=point)


def _told_of_many(mode: Mode, n: int) -> str:
    if mode == RING:
        if not n:
            return tr("Press the next corner on the picture. It comes closer, then press again.")
        return trn(
            "{n} corner so far. Press the next corner on the picture. It comes closer, then press again.",
            "{n} corners so far. Press the next corner on the picture. It comes closer, then press again.",
            n,
        )
    if not n:
        return tr("Press the next point on the picture. It comes closer, then press again.")
    return trn(
        "{n} point so far. Press the next point on the picture. It comes closer, then press again.",
        "{n} points so far. Press the next point on the picture. It comes closer, then press again.",
        n,
    )


def way_words(mode: Mode, any_place: bool) -> list[tuple[str, str]]:
    """The buttons that move the picture, and the one that takes the last corner or point back."""
    ways = [
        ("middle", tr("Place it at the middle")),
        ("out", tr("Further out")),
        ("all", tr("Show all")),
        ("see-left", tr("Look further left")),
        ("see-right", tr("Look further right")),
        ("see-up", tr("Look further up")),
        ("see-down", tr("Look further down")),
    ]
    if mode == RING and any_place:
        ways.append(("undo", tr("Undo the last corner")))
    if mode == LINE and any_place:
        ways.append(("undo", tr("Undo the last point")))
    return ways


def move_words(units: str) -> tuple[tuple[str, str], ...]:
    """The buttons that move the place; units: "us", "metric", or "" on a sketch with no scale."""
    by = {"us": tr("1 in"), "metric": tr("10 mm")}.get(units) or tr("1 dot")
    return (
        ("move-left", tr("{step} left", step=by)),
        ("move-right", tr("{step} right", step=by)),
        ("move-up", tr("{step} up", step=by)),
        ("move-down", tr("{step} down", step=by)),
    )
