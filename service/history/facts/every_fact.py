"""The closed list of everything that can happen: replay knows every one, and the history takes no other."""

from __future__ import annotations

from typing import get_args

from service.history.facts import evidence as e
from service.history.facts import facts as f
from service.history.facts import film as h
from service.history.facts import installed as g
from service.history.facts import placing as p

Fact = (
    f.ProjectStarted
    | f.RuleSheetChanged
    | f.PersonInvited
    | f.InvitationWithdrawn
    | f.PersonJoined
    | f.PersonLeft
    | f.SketchAdded
    | f.SketchRevised
    | f.ScaleSet
    | f.GridLaid
    | f.ZoneOutlined
    | f.ZoneChanged
    | f.ZoneWithdrawn
    | f.WallDrawn
    | f.WallWithdrawn
    | f.DefectMarked
    | f.DefectWithdrawn
    | f.PatchLogged
    | f.PatchWithdrawn
    | f.WalkFinished
    | f.ZoneHeld
    | f.HoldLifted
    | f.ZoneReleased
    | f.ReleasePulledBack
    | f.ZonePlaced
    | f.PhotoAdded
    | g.NumbersRaised
    | g.CauseTold
    | g.RepairLogged
    | g.RepairWithdrawn
    | g.PatchLookedAt
    | g.RepairLookedAt
    | g.PenetrationsPlaced
    | g.PenetrationWithdrawn
    | g.SealLogged
    | g.SealWithdrawn
    | g.SeamDrawn
    | g.SeamWalked
    | g.SeamWithdrawn
    | g.TerminationDescribed
    | g.TerminationSealed
    | g.EdgeSealWithdrawn
    | g.TerminationWithdrawn
    | g.NoneHereStated
    | h.MaterialSubmitted
    | h.MaterialWithdrawn
    | h.LotReceived
    | h.LotWithdrawn
    | h.LotLaid
    | h.LayingWithdrawn
    | h.HoldPointSigned
    | e.CheckpointGiven
    | e.RecordMade
    | e.KeyChanged
    | e.NameErased
    | e.PasswordLinkMade
    | e.PasswordLinkUsed
    | e.TimestampReceived
    | e.ReadyListOpened
    | e.ReadyListWithdrawn
    | p.LayoutKept
    | p.LayoutWithdrawn
    | p.SheetsLaid
    | p.SheetsLaidWithdrawn
    | p.OrderPlanned
    | p.PlacingPlanned
    | p.ReadingsTaken
    | p.ReadingsWithdrawn
    | p.ThicknessMeasured
    | p.ThicknessWithdrawn
    | p.PlacingStarted
)

FACTS: dict[str, type[Fact]] = {kind.type: kind for kind in get_args(Fact)}
