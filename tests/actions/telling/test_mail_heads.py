"""A mail's head holds what the service puts there and nothing that somebody typed a line break into."""

from __future__ import annotations

import email
import email.policy
from dataclasses import replace
from typing import Any

import pytest

from service.actions.frame.desk import Desk
from service.actions.telling import sending_told
from service.actions.telling.sending_told import send_due
from tests.actions.telling.test_telling import mail_server, reached_by_mail, turned_clear
from tests.cast import Cast, Clock


@pytest.mark.sqlite_only("about mail, which is the same whatever the database")
@pytest.mark.parametrize("between", ["\r\n", "\n", "\r", "\n\n", "\u2028", "\x0b"])
def test_no_name_makes_a_line_of_a_mails_head(
    desk: Desk, cast: Cast, clock: Clock, monkeypatch: pytest.MonkeyPatch, between: str
) -> None:
    """ASVS 5.0.0, 1.3.11. No field lets one into a project's name; here one has got in all the same."""
    real = sending_told._in_words

    def named(due: Any, project: Any, zone: Any) -> Any:
        return real(due, replace(project, name=f"Slab{between}Bcc: canary@example.com"), zone)

    monkeypatch.setattr(sending_told, "_in_words", named)
    with mail_server() as box:
        turned_clear(desk, cast, clock)
        assert send_due(desk.fresh(), reached_by_mail(box)) == 1
    (raw,) = box.mails
    mail = email.message_from_bytes(raw, policy=email.policy.default)
    assert mail["To"] == cast.manager.email and mail["Bcc"] is None
    assert str(mail["Subject"]).endswith("Slab Bcc: canary@example.com")
