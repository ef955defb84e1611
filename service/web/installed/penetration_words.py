"""A penetration in words: what it is, what seal it needs, how it stands, which stand too close."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from service.actions.frame.reading import ZoneView
from service.actions.installed.penetrations import close_groups
from service.domain.gate.near_marks import faults_of_seal
from service.domain.gate.wording import say_faults
from service.domain.gate.zone_facts import nm_per_px
from service.domain.installed.penetration_groups import GroupNeed, group_need
from service.domain.installed.penetrations import CollarNeed, collar_need
from service.domain.installed.trade_sizes import say_size
from service.domain.nouns.installed import Penetration, Seal
from service.domain.patches.repair import NOT_SEALED, OPEN, SEALED, WITHDRAWN, Numbers
from service.domain.shapes.outline_texts import say_outline
from service.domain.words.measures import Units, say_length, say_sides
from service.domain.words.names import penetration_kind, penetration_state
from service.domain.words.speech import later, tr, trc, trn
from service.domain.words.temperatures import say_temperature
from service.web.drawings.drawing import ScheduleRow
from service.web.drawings.shown import where_words
from service.web.shared.crew_words import starting

Words = tuple[str, str, str]  # the sentence, the quieter line, and kind: "", holds, short or stop

CAUTION_PENETRATION = later(
    "Keep bar ends and stakes capped or guarded wherever somebody could fall on them, level ones too. Cut "
    "away from your body, with a board under the blade. Mastic, primer, solvent: read the maker's sheet, "
    "keep air moving, no flame."
)
# How a collar is made: common practice, no source.
COLLAR_STEPS = later(
    "Slit a square of film tight over it and tape that down on all sides. Wrap the collar round, its lower "
    "half cut into fingers; tape it to what it wraps, and the fingers to the film. Common practice, no "
    "source: the film maker's own instructions come first."
)
OR_MASTIC = later("Or mastic, with the hole in the film cut just big enough")
MOST_TAGS = 6


@dataclass(frozen=True, slots=True)
class CloseGroup:
    """Penetrations too close for a collar each, with the sheet of film that goes under one dam."""

    pipes: tuple[Penetration, ...]
    need: GroupNeed
    words: str
    settled: bool


def numbers_of(view: ZoneView) -> Numbers:
    return Numbers.of(view.seen.project.sheet)


def what(pipe: Penetration, units: Units) -> str:
    """`Steel pipe, NPS 4` or `Duct, 24 by 12 in`."""
    size = say_size(pipe.size) if pipe.size else say_outline(pipe.outline, units)
    return f"{starting(penetration_kind(pipe.kind))}, {size}"


def need_of(view: ZoneView, pipe: Penetration) -> CollarNeed:
    return collar_need(pipe.outline, numbers_of(view))


def need_words(need: CollarNeed, units: Units) -> str:
    """`Collar 12 in wide, cut 21 1/4 in long, fingers cut 6 in`, all rounded up."""
    wide, long, deep = (say_length(nm, units, "up") for nm in (need.width_nm, need.length_nm, need.finger_nm))
    told = later("Collar {wide} wide, cut {long} long, fingers cut {deep}")
    return tr(told, wide=wide, long=long, deep=deep)


def short_need(need: CollarNeed, units: Units) -> str:
    """The same in the few words of a row."""
    size = say_sides(need.width_nm, need.length_nm, units, "up")
    return (
        tr("Mastic, or collar {size}", size=size) if need.mastic_allowed else tr("Collar {size}", size=size)
    )


def faults_in(view: ZoneView, pipe: Penetration) -> tuple[str, ...]:
    """What is wrong with its seal now; nothing of one that is withdrawn."""
    if pipe.withdrawn is not None:
        return ()
    return faults_of_seal(pipe, view.site.penetrations, numbers_of(view))


def state_of(view: ZoneView, pipe: Penetration) -> str:
    if pipe.withdrawn is not None:
        return WITHDRAWN
    if pipe.seal is None:
        return OPEN
    return NOT_SEALED if faults_in(view, pipe) else SEALED


def stands_words(view: ZoneView, pipe: Penetration) -> Words:
    """How it stands: sealed and by what, or every fault of its seal."""
    if pipe.withdrawn is not None:
        return tr("{tag} is withdrawn", tag=pipe.tag), pipe.withdrawn, ""
    if pipe.seal is None:
        return tr("{tag} is not sealed yet", tag=pipe.tag), tr("No seal is logged on it."), ""
    faults = faults_in(view, pipe)
    if faults:
        told = tr("Put right what is named and log the seal anew. What was logged stays on record.")
        why = say_faults(faults)
        return trc("penetration", "{tag} is not sealed: {why}", tag=pipe.tag, why=why), told, "short"
    seal = seal_words(pipe.seal, view.seen.project.units)
    return tr("{tag} is sealed: {seal}", tag=pipe.tag, seal=seal), "", "holds"


def seal_words(seal: Seal, units: Units) -> str:
    """`collar 12 in wide, 22 in long`, as built, rounded down."""
    if not seal.collar_width_nm:
        return tr(seal.method)
    wide, long = (say_length(nm, units, "down") for nm in (seal.collar_width_nm, seal.collar_length_nm))
    return tr("{method} {wide} wide, {long} long", method=tr(seal.method), wide=wide, long=long)


def seal_facts(view: ZoneView, seal: Seal) -> tuple[tuple[str, str], ...]:
    """The seal as it was logged, a row a fact; what the method is not asked is left out."""
    units, work = view.seen.project.units, seal.work
    rows = [(tr("Seal"), starting(seal_words(seal, units))), (tr("Work"), ", ".join(_work_words(seal)))]
    if work.tape_width_nm:
        wide = say_length(work.tape_width_nm, units, "down")
        rows.append((tr("Tape"), tr("{width} wide", width=wide)))
    if work.film_mf is not None:
        rows.append((tr("Film temperature"), say_temperature(work.film_mf, units)))
    rows += [(term, words) for term, words in ((tr("Lot"), work.lot), (tr("Note"), work.note)) if words]
    others = [view.site.penetrations[id].tag for id in seal.together if id in view.site.penetrations]
    if len(others) > 1:
        rows.append((tr("Round all of"), ", ".join(sorted(others, key=lambda tag: (len(tag), tag)))))
    return tuple(rows)


def _work_words(seal: Seal) -> list[str]:
    """How it was made, an answer each."""
    work = seal.work
    cleaned = tr("cleaned") if work.cleaned else tr("not cleaned")
    dry = tr("dry") if work.dry else tr("not dry")
    if not seal.collar_width_nm:
        close = tr("hole cut just big enough") if seal.close_cut else tr("not hole cut just big enough")
        return [close, cleaned, dry]
    return [
        tr("fingers cut half the width") if seal.fingers else tr("not fingers cut half the width"),
        tr("taped to what it wraps") if seal.taped_to_pipe else tr("not taped to what it wraps"),
        tr("taped to the film") if seal.taped_to_film else tr("not taped to the film"),
        cleaned,
        dry,
    ]


def groups_of(view: ZoneView) -> tuple[CloseGroup, ...]:
    """Those of the zone that stand too close for a collar each."""
    scale, numbers = view.seen.sketch.scale, numbers_of(view)
    if scale is None:
        return ()
    found = []
    for pipes in close_groups(view.site, view.zone, numbers):
        need = group_need([(pipe.id, pipe.outline, pipe.at) for pipe in pipes], nm_per_px(scale), numbers)
        settled = all(state_of(view, pipe) == SEALED for pipe in pipes)
        words = group_words(pipes, need, view.seen.project.units)
        found.append(CloseGroup(pipes, need, words, settled))
    return tuple(found)


def group_words(pipes: Sequence[Penetration], need: GroupNeed, units: Units) -> str:
    size = say_sides(need.length_nm, need.width_nm, units, "up")
    return tr(
        "{tags} stand closer than a collar allows: one sheet and sealant in a dam, cut {size}",
        tags=tags_words(pipe.tag for pipe in pipes),
        size=size,
    )


def tags_words(tags: Iterable[str]) -> str:
    """`B-P03, B-P04 and B-P05`; of many the first few, and how many more."""
    named = list(tags)
    if len(named) > MOST_TAGS:
        first = ", ".join(named[: MOST_TAGS - 1])
        return trn("{list} and {n} more", "{list} and {n} more", len(named) - MOST_TAGS + 1, list=first)
    if len(named) < 2:
        return "".join(named)
    return tr("{list} and {last}", list=", ".join(named[:-1]), last=named[-1])


def pipe_row(view: ZoneView, pipe: Penetration) -> ScheduleRow:
    """One ruled row: tag, what it is, what it needs or what is wrong with it, where it stands."""
    units, state = view.seen.project.units, state_of(view, pipe)
    if pipe.withdrawn is not None:
        told = tr("Withdrawn: {reason}", reason=pipe.withdrawn)
    elif state == SEALED and pipe.seal is not None:
        told = starting(seal_words(pipe.seal, units))
    elif state == NOT_SEALED:
        told = f"{starting(say_faults(faults_in(view, pipe)))}. {short_need(need_of(view, pipe), units)}"
    else:
        told = short_need(need_of(view, pipe), units)
    where = where_words(view.seen.sketch, pipe.at, units)
    return ScheduleRow(
        tag=pipe.tag,
        main=what(pipe, units),
        sub=" · ".join(filter(None, (told, where))),
        way="" if state == WITHDRAWN else penetration_state(state),
        href=f"/penetrations/{pipe.id}",
        kind=state.replace(" ", "-"),
    )
