"""What programs send and get about penetrations: trade sizes, places, needs, groups and seals."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from service.actions.installed.none_here import NONE_OF
from service.api.answers.marks import CutSize, Reason
from service.api.answers.marks import Outline as OutlineTold
from service.api.answers.sites import Answer, Length, Place, Time
from service.api.shared.bodies import Length as LengthSent
from service.api.shared.bodies import MarkId, Outline, Sent, Text, example, listed
from service.api.shared.bodies import Place as PlaceSent
from service.domain.installed.trade_sizes import KINDS
from service.domain.nouns.installed import SEAL_METHODS

Others = Annotated[list[MarkId], Field(max_length=200)]


class NewPenetrations(Sent):
    """One `at` a place, or a row `from` a place `to` another with `count` or `spacing`. Its trade `size`, or
    the `outline` of its outside as measured."""

    model_config = example(kind="PVC pipe", size="4", at=[300, 300], note="by the stair")
    kind: Text = Field(description=listed(KINDS))
    size: Text | None = Field(default=None, description="As the trade calls it: GET /trade-sizes lists them.")
    outline: Outline | None = None
    at: PlaceSent | None = None
    from_: PlaceSent | None = Field(default=None, alias="from")
    to: PlaceSent | None = None
    count: int | None = Field(default=None, description="How many, both ends among them: 2 to 200.")
    spacing: LengthSent | None = None
    note: Text = ""


class NewSeal(Sent):
    """A collar is asked its width, length, fingers and tape; mastic and sealant in a dam whether the hole is
    close. What the method is not asked is left out or passed over."""

    model_config = example(
        method="collar", collar_width="12 in", collar_length="22 in", fingers=True, taped_to_pipe=True,
        taped_to_film=True, cleaned=True, dry=True, tape_width="4 in", lot="R-2231",
    )  # fmt: skip
    method: Text = Field(description=listed(SEAL_METHODS))
    collar_width: LengthSent | None = None
    collar_length: LengthSent | None = None
    fingers: bool | None = Field(default=None, description="Cut half the collar's width.")
    taped_to_pipe: bool | None = None
    taped_to_film: bool | None = None
    close_cut: bool | None = Field(default=None, description="The hole in the film is just big enough.")
    cleaned: bool
    dry: bool
    tape_width: LengthSent | None = None
    film_temperature: Text | None = None
    lot: Text | None = None
    note: Text | None = None
    also: Others | None = Field(default=None, description="Others inside the same seal, too close for two.")
    same_for: Others | None = Field(default=None, description="Others alike, sealed like this: a seal each.")


class NoneHere(Sent):
    model_config = example(what="penetrations")
    what: Text = Field(description=listed(NONE_OF))


# --- answers ---------------------------------------------------------------------------------------------


class TradeSize(Answer):
    """`source`: the standard that gives the outside diameter, and how well it was checked."""

    name: str
    outside_diameter: Length
    source: str


class TradeSizes(Answer):
    """`sizes` is empty for what is always measured."""

    kind: str
    sizes: list[TradeSize]


class CollarNeeds(Answer):
    """The least collar, rounded up in its text: its width, half of which is cut into fingers; its length.
    `mastic`: mastic may do instead, the hole cut just big enough."""

    collar_width: Length
    collar_length: Length
    finger: Length
    mastic: bool


class Seal(Answer):
    """A seal as built. `together`: ids of all it goes round. Lengths are null where the method has none."""

    id: str
    method: str
    together: list[str]
    collar_width: Length | None
    collar_length: Length | None
    fingers: bool
    taped_to_pipe: bool
    taped_to_film: bool
    close_cut: bool
    cleaned: bool
    dry: bool
    tape_width: Length | None
    film_temperature: str
    lot: str
    note: str
    by: str
    at: Time


class Penetration(Answer):
    """`state`: open, not sealed, sealed, withdrawn. `reasons`: why the seal does not hold. `outline` lies as
    on the sketch's present picture. `seal`: the newest that was not withdrawn."""

    id: str
    zone: str
    tag: str
    kind: str
    size: str
    outline: OutlineTold
    at: Place
    note: str
    state: str
    reasons: list[Reason]
    needs: CollarNeeds
    seal: Seal | None
    by: str
    placed_at: Time
    withdrawn: str | None


class CloseGroup(Answer):
    """Penetrations that stand closer than a collar allows, and the least sheet of film under one dam."""

    penetrations: list[str]
    tags: list[str]
    sheet: CutSize


class PenetrationsPlaced(Answer):
    penetrations: list[Penetration]


class Penetrations(PenetrationsPlaced):
    """The zone's own by tag, withdrawn ones too; `reaching_in` are neighbours' that reach into it.
    `none_here`: somebody stated that there are none."""

    reaching_in: list[Penetration]
    groups: list[CloseGroup]
    none_here: bool


class SealsLogged(Answer):
    """What was sealed, each as it stands now: the one asked about first, then those of `same_for`."""

    id: str
    state: str
    reasons: list[Reason]
    penetrations: list[Penetration]


class NoneStated(Answer):
    """`none_here`: all that the zone was stated to have none of. `state`: the zone's, now."""

    zone: str
    none_here: list[str]
    state: str
