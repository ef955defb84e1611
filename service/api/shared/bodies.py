"""What programs send, typed. A field that is not named here is refused, and no type is turned into another.

Lengths are text with a unit; what they say is read by the actions, so that pages and programs get one answer.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from service.domain.nouns.installed import CAUSES
from service.domain.nouns.roles import ROLES
from service.domain.nouns.rules import GATE_DEMANDS, REPAIR_METHODS, SHEET_PATCH, TAPE_ONLY
from service.domain.nouns.site import HOLD_CAUSES, KINDS


def listed(words: tuple[str, ...]) -> str:
    return "One of: " + ", ".join(words) + "."


Text = Annotated[str, Field(max_length=10_000)]
Length = Annotated[
    str, Field(max_length=200, description='A length with its unit: "6 1/2 in", "1\'-3 1/2\\"", "150 mm".')
]
Pixel = Annotated[float, Field(ge=-1_000_000, le=1_000_000, allow_inf_nan=False)]
Place = Annotated[
    list[Pixel],
    Field(min_length=2, max_length=2, description="[x, y] in pixels of the full-size sketch, y down."),
]
Degrees = Annotated[
    float,
    Field(ge=-1_000_000, le=1_000_000, allow_inf_nan=False, description="Clockwise as seen on the sketch."),
]
# A length left of or above the centre has a minus in front; 0 needs no unit.
Signed = Annotated[
    list[Annotated[str, Field(max_length=200)] | float],
    Field(min_length=2, max_length=2, description='[x, y] as signed lengths, ["3 in", "-1 in"], y down.'),
]
MarkId = Annotated[str, Field(max_length=200)]


def given(body: BaseModel) -> dict[str, Any]:
    """What was sent, as the actions read it."""
    return body.model_dump(exclude_unset=True)


class Sent(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid")


def example(**fields: Any) -> ConfigDict:
    return ConfigDict(strict=True, extra="forbid", json_schema_extra={"examples": [fields]})


class SignIn(Sent):
    model_config = example(email="name@example.com", password="a long pass phrase")  # noqa: S106  # an example
    email: Text
    password: Text
    code: Text = Field(default="", description="Of a second factor, or a recovery code, where there is one.")


class NewProject(Sent):
    model_config = example(name="North warehouse slab", units="us", time_zone="America/Chicago")
    name: Text
    units: Literal["us", "metric"] = Field(description="Each has numbers of its own.")
    time_zone: Text = Field(description="Region and city.")


class Sourced(Sent):
    """A number and where it comes from."""

    value: Annotated[str, Field(max_length=200)]
    source: Text = ""


class SourcedWords(Sent):
    """Words chosen and where the choice comes from."""

    value: Annotated[list[Text], Field(max_length=50)]
    source: Text = ""


class SourcedFlag(Sent):
    """Yes or no, and where it comes from."""

    value: bool
    source: Text = ""


Number = Annotated[str, Field(max_length=200)] | Sourced
Words = Annotated[list[Text], Field(max_length=50)] | SourcedWords


def _no_default(schema: dict[str, Any]) -> None:
    schema.pop("default", None)


def left_out(**more: Any) -> Any:
    """A field that may be left out and then changes nothing: it has no default to describe."""
    return Field(default=None, json_schema_extra=_no_default, **more)


class SheetChange(Sent):
    """Any of the sheet's numbers: bare text, or `value` and `source`. What is left out stays as it is."""

    model_config = example(
        patch_overlap={"value": "8 in", "source": "project specification, section 3.4"}, cut_allowance="1 in"
    )
    patch_overlap: Number = left_out()
    lap: Number = left_out()
    tape_width: Number = left_out()
    collar_width: Number = left_out()
    collar_length_factor: Number = left_out(description='A plain number as text: "1.5".')
    mastic_up_to: Number = left_out()
    cut_allowance: Number = left_out()
    station_every: Number = left_out(description="How far apart laps are measured on a seam, or none.")
    tape_temperature: Number = left_out(description='The film\'s least temperature for taping: "40 F".')
    film_class: Number = left_out(description="The least class of ASTM E1745: A, B, C or none.")
    film_thickness: Number = left_out(description='"10 mil", "0.25 mm" or none.')
    most_permeance: Number = left_out(description='"0.1 perm", "5.7 ng/(Pa s m2)" or none.')
    repair_methods: Words = left_out(description=listed(REPAIR_METHODS))
    second_look: bool | SourcedFlag = left_out()
    gate_demands: Words = left_out(description=listed(GATE_DEMANDS))
    hold_points: list[Text] = left_out(
        max_length=50, description="In time order: the nine of the trade, and the project's own among them."
    )
    sets: list[Text] = left_out(
        max_length=50,
        description="Keys of ready-made sets. They govern laps, patches, repairs and film; other fields sent "
        "beside them come after.",
    )


class Invitation(Sent):
    model_config = example(email="name@example.com", role="crew lead")
    email: Text
    role: Text = Field(description=listed(ROLES))


class ScaleSet(Sent):
    model_config = example(**{"from": [100, 100], "to": [1100, 100], "distance": "100 ft"})
    from_: Place = Field(alias="from")
    to: Place
    distance: Length


class NewZone(Sent):
    model_config = example(letter="B", name="North bay", outline=[[100, 100], [900, 100], [900, 700]])
    letter: Text = Field(description="One or two letters, used once on a project.")
    name: Text = ""
    outline: Annotated[list[Place], Field(max_length=2_000, description="The corners in order.")]
    place_at: Text | None = Field(default=None, description="Planned placing time, RFC 3339.")


class WalkFinished(Sent):
    model_config = example(note="All of it, after the steel went in")
    note: Text = ""


class NewWall(Sent):
    model_config = example(**{"from": [100, 100], "to": [900, 100]})
    from_: Place = Field(alias="from")
    to: Place


class NewHold(Sent):
    model_config = example(cause="standing water", reason="Two inches in the north-east corner")
    cause: Text = Field(description=listed(HOLD_CAUSES))
    reason: Text


class WithReason(Sent):
    model_config = example(reason="Entered twice")
    reason: Text


class Circle(Sent):
    shape: Literal["circle"]
    diameter: Length


class Rectangle(Sent):
    """`length` lies along u and `width` along v, before the turn."""

    shape: Literal["rectangle"]
    length: Length
    width: Length
    angle_deg: Degrees | None = None


class Slit(Sent):
    """`opening` may be left out: a closed cut."""

    shape: Literal["slit"]
    length: Length
    opening: Length | None = None
    angle_deg: Degrees | None = None


class Polygon(Sent):
    shape: Literal["polygon"]
    points: Annotated[list[Signed], Field(max_length=500, description="Corners from the mark's centre.")]
    angle_deg: Degrees | None = None


Outline = Annotated[Circle | Rectangle | Slit | Polygon, Field(discriminator="shape")]


class PatchCircle(Circle):
    offset: Signed | None = None


class PatchRectangle(Rectangle):
    offset: Signed | None = None


class PatchSlit(Slit):
    offset: Signed | None = None


class PatchPolygon(Polygon):
    offset: Signed | None = None


PatchOutline = Annotated[
    PatchCircle | PatchRectangle | PatchSlit | PatchPolygon, Field(discriminator="shape")
]


class NewDefect(Sent):
    model_config = example(
        kind="tear", at=[300, 300], note="by the steel", cause="steel",
        outline={"shape": "rectangle", "length": "4 in", "width": "2 in", "angle_deg": 20},
    )  # fmt: skip
    kind: Text = Field(description=listed(KINDS))
    at: Place
    outline: Outline
    note: Text = ""
    cause: Text = Field(default="", description=f"What it likely came from. {listed(CAUSES)}")


class Sides(Sent):
    """Four tape readings past the damage, or `wall` where the patch is sealed to a drawn wall."""

    left: Length
    right: Length
    near: Length
    far: Length
    angle_deg: Degrees | None = None


class Cut(Sent):
    length: Length
    width: Length


class NewPatch(Sent):
    """`outline` or `sides`, not both. `cleaned`, `dry`, `edges_taped` and `tape_width` must be answered."""

    model_config = example(
        sides={"left": "6 in", "right": "6 1/2 in", "near": "6 in", "far": "7 in"},
        cleaned=True, dry=True, edges_taped=True, tape_width="4 in", lot="R-2231",
    )  # fmt: skip
    outline: PatchOutline | None = None
    sides: Sides | None = None
    angle_deg: Degrees | None = Field(
        default=None, description="The readings' angle, where `sides` holds none; else the damage's."
    )
    cut: Cut | None = None
    cleaned: bool
    dry: bool
    edges_taped: bool
    tape_width: Length
    method: Text | None = Field(default=None, description=listed((SHEET_PATCH, TAPE_ONLY)))
    lot: Text | None = None
    film_temperature: Text | None = None
    note: Text | None = None
    also: Annotated[list[MarkId], Field(max_length=50)] | None = Field(
        default=None, description="Ids of other marks under the same piece."
    )


class NewRelease(Sent):
    model_config = example(digest="1:5f3c...", statement="I have seen every mark of this zone.")
    digest: Text = Field(description="The digest the gate told: exactly these facts are released.")
    statement: Text


class Placed(Sent):
    """Both may be left out: placed now, volume not noted."""

    model_config = example(at="2026-11-26T06:30:00Z", volume="60 cu yd")
    at: Text | None = Field(default=None, description="RFC 3339, with its offset from UTC.")
    volume: Text | None = Field(default=None, description='"60 cu yd" or "46 m3".')


class PlacingStarted(Sent):
    """May be left out: it starts now."""

    model_config = example(at="2026-11-26T06:10:00Z")
    at: Text | None = Field(
        default=None, description="RFC 3339, with its offset from UTC; not before the release."
    )


class OverlapAsked(Sent):
    model_config = example(
        damage={"shape": "rectangle", "length": "4 in", "width": "2 in"},
        patches=[{"shape": "rectangle", "length": "18 in", "width": "16 in", "offset": ["1/2 in", "0 in"]}],
        minimum="6 in",
    )
    damage: Outline
    patches: Annotated[list[PatchOutline], Field(max_length=20)]
    minimum: Length
