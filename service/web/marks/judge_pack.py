"""What a phone needs to judge a patch on one mark by itself: the mark, what lies on it, the numbers asked.

`templates/static/judge.js` reads it. What that says is a preview: the service judges again when the patch is
received.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import combinations
from typing import Any

from service.actions.frame.reading import ZoneView
from service.domain.gate.surroundings import same_material
from service.domain.gate.wording import REASONS
from service.domain.gate.zone_facts import nm_per_px
from service.domain.nouns.site import Defect
from service.domain.patches.overlap import Piece
from service.domain.patches.repair import COVERED, DefectFacts, Numbers, repair_faults, workmanship
from service.domain.shapes.outlines import outline_to_json
from service.domain.shapes.sides import sides_to_json
from service.domain.sketch.places import turn_of
from service.domain.words.measures import say_length
from service.domain.words.speech import tr
from service.web.shared.crew_words import FORM_UNIT

# What a phone can tell of a patch before it is logged, told in the words of the page's language.
TOLD = (
    "not-cleaned", "not-dry", "edges-not-taped", "tape-narrow", "method-not-counted", "too-cold",
    "other-material", "lot-not-known", "wider-than-roll",
)  # fmt: skip


def pack_of(view: ZoneView, defect: Defect, angle_udeg: int) -> dict[str, Any] | None:
    """What the patch form of this mark brings along; None where the gate reads nothing of it.

    Beside what `judge_pack` gives: `angle_udeg` the readings' frame, `turn_udeg` from today's picture to the
    base frame, `most_nm` the longest a patch can be, `unit` of the form, `asked` and `reasons` in words.
    """
    mark, around, project = view.standing.defect_facts(defect.id), view.around(), view.seen.project
    scale = view.seen.sketch.scale
    if mark is None or around is None or scale is None:
        return None
    lots = {number: same_material(number, around) for number in around.lots}
    long = max(math.dist(a, b) for a, b in combinations(view.zone.outline, 2))
    return {
        **judge_pack(mark, around.numbers, lots, around.roll_nm),
        "angle_udeg": angle_udeg,
        "turn_udeg": -turn_of(view.seen.sketch),
        "most_nm": round(long * nm_per_px(scale) / 1000) + 2 * around.numbers.patch_overlap_nm,
        "unit": FORM_UNIT[project.units],
        "asked": say_length(around.numbers.patch_overlap_nm, project.units, "up"),
        "reasons": {code: tr(REASONS[code]) for code in TOLD},
    }


def judge_pack(
    mark: DefectFacts,
    numbers: Numbers,
    lots: Mapping[str, bool | None] | None = None,
    roll_nm: int | None = None,
) -> dict[str, Any]:
    """The mark with all that is logged on it, as JSON: lengths in nanometres, shapes in the stored form.

    `lots`: lot number in lower case to whether it is of the film laid here; `roll_nm`: the widest roll of it.
    """
    repairs = [repair_faults(repair, mark.kind, numbers) for repair in mark.repairs]
    return {
        "damage": outline_to_json(mark.outline),
        "covered": mark.kind in COVERED,
        "laid": [
            {
                "piece": piece_json(patch.piece),
                "method": patch.method,
                "faults": list(workmanship(patch, numbers)),
            }
            for patch in mark.patches
        ],
        "mended": any(not faults for faults in repairs),
        "repair_faults": [fault for faults in repairs for fault in faults],
        "refused": mark.refused,
        "collar_first": bool(mark.collars),
        "numbers": numbers_json(numbers),
        "lots": dict(lots or {}),
        "roll_nm": roll_nm,
    }


def numbers_json(numbers: Numbers) -> dict[str, Any]:
    """The numbers of the rule sheet that a patch is judged by, as they hold in the mark's zone."""
    return {
        "patch_overlap_nm": numbers.patch_overlap_nm,
        "tape_width_nm": numbers.tape_width_nm,
        "tape_mf": numbers.tape_mf,
        "repair_methods": list(numbers.repair_methods),
        "film_asked": "film" in numbers.gate_demands,
    }


def piece_json(piece: Piece) -> dict[str, Any]:
    """A piece as the script takes it."""
    if piece.sides is not None:
        return {"sides": sides_to_json(piece.sides)}
    assert piece.outline is not None, "a piece has an outline or sides"
    return {"outline": outline_to_json(piece.outline), "offset": list(piece.offset)}
