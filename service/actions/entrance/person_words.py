"""A person's name and address as they are typed."""

from __future__ import annotations

import re

from service.domain.words.refusals import BadInput
from service.domain.words.speech import tr

LONGEST_NAME, LONGEST_EMAIL = 120, 254

_EMAIL = re.compile(r"[^\s@<>,;:\"()\[\]\\]+@[^\s@<>,;:\"()\[\]\\]+")


def read_email(text: str) -> str:
    """An address in lower case. BadInput on `email` when it cannot be one."""
    email = text.strip().lower()
    if not _EMAIL.fullmatch(email) or len(email) > LONGEST_EMAIL or not email.isprintable():
        told = tr("Write an email address, such as name@example.com.")
        raise BadInput(told, fields={"email": told})
    return email


def read_name(text: str) -> str:
    """A person's name. BadInput on `name`."""
    name = " ".join(text.split())
    told = tr("Write the name people on site know you by.") if not name else ""
    if len(name) > LONGEST_NAME:
        told = tr("Keep the name to {most} characters.", most=LONGEST_NAME)
    if not name.isprintable():
        told = tr("The name holds a character that cannot be shown.")
    if told:
        raise BadInput(told, fields={"name": told})
    return name
