"""What can happen to film by material and lot, and to the hold points before it is covered.

Like `facts`: a published fact never changes its fields. Units as in `domain.installed`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar


@dataclass(frozen=True, slots=True)
class MaterialSubmitted:
    """A material as submitted; None where its maker states nothing."""

    type: ClassVar[str] = "material-submitted"
    material: str
    kind: str
    name: str
    claimed_class: str
    permeance_up: int | None
    thickness_nm: int | None
    tensile_mlbf_in: int | None
    puncture_g: int | None
    roll_width_nm: int | None
    roll_length_nm: int | None
    least_lap_nm: int | None
    least_patch_overlap_nm: int | None
    least_mf: int | None
    note: str


@dataclass(frozen=True, slots=True)
class MaterialWithdrawn:
    type: ClassVar[str] = "material-withdrawn"
    material: str
    name: str
    reason: str


@dataclass(frozen=True, slots=True)
class LotReceived:
    type: ClassVar[str] = "lot-received"
    lot: str
    material: str
    number: str
    rolls: int
    note: str


@dataclass(frozen=True, slots=True)
class LotWithdrawn:
    type: ClassVar[str] = "lot-withdrawn"
    lot: str
    material: str
    number: str
    reason: str


@dataclass(frozen=True, slots=True)
class LotLaid:
    """Which lot went where."""

    type: ClassVar[str] = "lot-laid"
    laying: str
    lot: str
    zone: str
    letter: str
    number: str
    note: str


@dataclass(frozen=True, slots=True)
class LayingWithdrawn:
    type: ClassVar[str] = "laying-withdrawn"
    laying: str
    lot: str
    zone: str
    letter: str
    number: str
    reason: str


@dataclass(frozen=True, slots=True)
class HoldPointSigned:
    """A hold point signed, or refused, for one zone."""

    type: ClassVar[str] = "hold-point-signed"
    signature: str
    zone: str
    letter: str
    step: str
    accepted: bool
    note: str
