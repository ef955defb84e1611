"""Taking an invitation back before anybody has used its link."""

from __future__ import annotations

from service.actions.frame.desk import Desk
from service.actions.frame.doing import project_to_change, record
from service.domain.words.refusals import NotFound
from service.history.facts.facts import InvitationWithdrawn
from service.storage.accounts import invitations


def withdraw_invitation(desk: Desk, by: str, project_id: str, invitation_id: str) -> None:
    """The link stops working. NotFound when it is not this project's, was used, or has run out."""
    with desk.writing() as session:
        seen, site = project_to_change(session, by, project_id, "invite people")
        now = desk.clock()
        found = [one for one in invitations.open_ones(session, project_id, now) if one.id == invitation_id]
        if not found or not invitations.spend(session, invitation_id, now):
            raise NotFound
        record(desk, session, site, by, seen.role, InvitationWithdrawn(invitation_id, found[0].role))
