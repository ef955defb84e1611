"""A zone's marks in the closeout, in words and rows: every repair of each, and how it was looked at."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from service.domain.nouns.installed import CLEAN
from service.domain.patches.repair import SEALED, WITHDRAWN
from service.domain.words.names import mark_state
from service.domain.words.speech import later, tr, trc, trn
from service.history.closeout.sheet import Cell, Row, When, by, cell, starting, taken_back
from service.history.closeout.told import Look, MarkTold, PatchTold, RepairTold, Size
from service.history.replay.standing import READY

FOUND = {
    "during placing": later("found during placing"),
    "after placing": later("received after placing"),
}
NOT_SAID = later("nobody logged any")


def css(state: str) -> str:
    """A state as the style sheet and the drawings name it."""
    return "ready" if state == READY else state.replace(" ", "-")


def mark_rows(mark: MarkTold, when: When) -> Iterator[Row]:
    """A row for each repair, the mark told in the first of them; one row where nothing was logged."""
    repairs: Sequence[PatchTold | RepairTold] = sorted(
        (*mark.patches, *mark.repairs), key=lambda repair: repair.act.seq
    )
    told = [_repair_cells(repair, when) for repair in repairs]
    if mark.under:
        told.append(
            (cell(tr("under the patch on {tags}", tags=", ".join(mark.under))), cell(""), cell(""), cell(""))
        )
    told = told or [(cell(tr(NOT_SAID) if mark.undone is None else ""), cell(""), cell(""), cell(""))]
    kind = css(mark.state)
    for number, cells in enumerate(told):
        first = number == 0
        what = _mark_cell(mark, when) if first else cell(tr("{kind}, as above", kind=tr(mark.kind)))
        stands = _mark_stands(mark, when) if first else cell("")
        yield Row((cell(mark.tag), what, *cells, stands), kind=kind, thing=("defect", mark.id))


def _mark_cell(mark: MarkTold, when: When) -> Cell:
    photos = trn("{n} photo", "{n} photos", len(mark.photos)) if mark.photos else ""
    return cell(
        starting(f"{tr(mark.kind)}, {mark.size}"),
        mark.where,
        mark.note,
        tr("likely from: {cause}", cause=tr(mark.cause)) if mark.cause else "",
        tr(FOUND[mark.found]) if mark.found in FOUND else "",
        tr("marked by {who}", who=by(mark.act, when)),
        photos,
    )


def _mark_words(state: str) -> str:
    """How a mark stands, or that it could not be judged."""
    said = mark_state(state)
    return tr(said) if said == state else said


def _mark_stands(mark: MarkTold, when: When) -> Cell:
    if mark.undone is not None:
        return cell(starting(mark_state(WITHDRAWN)), f"{mark.undone.why} ({by(mark.undone.act, when)})")
    reached = (
        tr("overlap {length}", length=mark.overlap.text) if mark.overlap and mark.state == SEALED else ""
    )
    return cell(starting(_mark_words(mark.state)), reached, mark.why)


def _repair_cells(repair: PatchTold | RepairTold, when: When) -> tuple[Cell, ...]:
    if isinstance(repair, PatchTold):
        size = starting(repair.size) if repair.size else ""
        more = (size, tr("also over {tags}", tags=", ".join(repair.over)) if repair.over else "")
        reached, asked = repair.overlap, repair.minimum.text
    else:
        more, reached = ("", ""), repair.lap
        asked = repair.minimum.text if repair.minimum else ""
    words = cell(
        starting(tr(repair.method)),
        *more,
        repair.how,
        tr("lot {lot}", lot=repair.lot) if repair.lot else "",
        repair.note,
        tr("logged by {by}", by=by(repair.act, when)),
        starting(taken_back(repair.undone, when)) if repair.undone else "",
    )
    lapped = isinstance(repair, RepairTold) and repair.method != CLEAN
    met = "" if repair.met else tr("did not meet it")
    return words, cell(_reach(reached, lapped), met), cell(asked), _looks(repair.looks, when)


def _reach(reached: Size | None, lapped: bool) -> str:
    if reached is None:
        return tr("no lap told") if lapped else ""
    if reached.nm < 0:
        return tr("damage shows past it")
    return tr("lap {length}", length=reached.text) if lapped else reached.text


def _looks(looks: Iterable[Look], when: When) -> Cell:
    """The newest answer, then those before it."""
    told = list(looks)[::-1]
    if not told:
        return cell(trc("look", "none"))
    lines = [
        (by(look.act, when) if number == 0 else _looked_by(look, when))
        + (f": {look.note}" if look.note else "")
        for number, look in enumerate(told)
    ]
    return cell(_looked(told[0]), *lines)


def _looked(look: Look) -> str:
    return trc("look", "accepted") if look.accepted else trc("look", "refused")


def _looked_by(look: Look, when: When) -> str:
    if look.accepted:
        return trc("look", "accepted by {by}", by=by(look.act, when))
    return trc("look", "refused by {by}", by=by(look.act, when))
