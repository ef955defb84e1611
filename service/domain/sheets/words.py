"""What is said wherever sheets are laid: which goes first, which way the concrete goes, what to heed."""

from __future__ import annotations

from service.domain.sheets.nouns import STARTS_LEFT
from service.domain.words.speech import later, tr

# A roll's weight: calculated with polyethylene at about 0.92 g/cm3. Knife, wind, wet film: common practice,
# no source.
CAUTION_KNIFE = later(
    "Hooked or guarded blade, cut away from your body, a board under the cut so that the sheet below stays "
    "whole. Gloves."
)
CAUTION_WIND = later(
    "Wind: unroll short lengths and weigh the edges down at once with sand bags, never stakes. Keep off the "
    "lee edge of a loose sheet, and stop when gusts lift the laps."
)
CAUTION_ROLL = later(
    "A roll 15 ft wide and 200 ft long of 10 mil film weighs about 140 to 150 lb (calculated): two people "
    "or a machine."
)
CAUTION_WET = later(
    "Wet film is slippery, worst on a slope: keep off it or dry it. The film maker's instructions, the local "
    "code and the engineer of record come first."
)
CAUTIONS = (CAUTION_KNIFE, CAUTION_WIND, CAUTION_ROLL, CAUTION_WET)


# Eighths of a turn clockwise from the right.
EIGHTHS = (
    later("to the right on the sketch"),
    later("right and down on the sketch"),
    later("down on the sketch"),
    later("left and down on the sketch"),
    later("to the left on the sketch"),
    later("left and up on the sketch"),
    later("up on the sketch"),
    later("right and up on the sketch"),
)


def order_words(starts: str) -> str:
    """Which sheets go down first: what lies upstream lies on top (common practice, no source)."""
    if starts == STARTS_LEFT:
        return tr(
            "Looking the way the concrete goes, lay from the right to the left, and in a row from the far "
            "end back: each sheet lies on the one before it, so that no free edge faces the concrete."
        )
    return tr(
        "Looking the way the concrete goes, lay from the left to the right, and in a row from the far end "
        "back: each sheet lies on the one before it, so that no free edge faces the concrete."
    )


def direction_words(udeg: int) -> str:
    """`to the right on the sketch`, or `12.5° clockwise from the right on the sketch`."""
    eighths, rest = divmod(udeg, 45_000_000)
    if not rest:
        return tr(EIGHTHS[eighths % 8])
    return tr("{degrees}° clockwise from the right on the sketch", degrees=f"{udeg / 1e6:g}")
