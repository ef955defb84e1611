"""Every way the rules say no: a stable code and a plain sentence, with no HTTP in it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass

from service.domain.words.speech import tr


class Refusal(Exception):
    """Something that cannot be recorded. `code` is stable; the message is for people."""

    code = "refused"

    def __init__(
        self, message: str, *, fields: Mapping[str, str] | None = None, code: str | None = None
    ) -> None:
        super().__init__(message)
        self.message = message
        self.fields = dict(fields or {})
        if code is not None:
            self.code = code


class NotFound(Refusal):
    """Not there, or not yours: the two are told apart by nobody."""

    code = "not-found"

    def __init__(self) -> None:
        super().__init__(tr("Nothing here, or nothing that is yours to see."))


class NotAllowed(Refusal):
    """Yours to see, not yours to do."""

    code = "role-too-low"


class NotSignedIn(Refusal):
    code = "not-signed-in"


class BadInput(Refusal):
    """What was typed cannot be read, or cannot be true. `fields` names each field at fault."""

    code = "bad-input"


class Conflict(Refusal):
    """The rules say no as things stand."""

    code = "conflict"


class NoScale(Conflict):
    code = "no-scale"

    def __init__(self) -> None:
        super().__init__(tr("Set the sketch's scale first: without it nothing on it has a size."))


@dataclass(frozen=True, slots=True)
class Theirs:
    """What somebody else recorded meanwhile: a sentence, their name, when (RFC 3339), the entry, its page."""

    what: str
    by: str
    at: str
    seq: int
    href: str

    def told(self) -> dict[str, str | int]:
        return asdict(self)


class MovedSince(Conflict):
    """What was made on a phone rests on something that others changed before it came."""

    code = "moved-since"

    def __init__(self, message: str, theirs: Theirs) -> None:
        super().__init__(message)
        self.theirs = theirs


class FactsMoved(Conflict):
    code = "facts-moved"

    def __init__(self) -> None:
        super().__init__(tr("Something changed since you looked. Look again, then decide."))


class ZoneHeld(Conflict):
    """The gate's blockers travel with the refusal, so that every answer can list them."""

    code = "zone-held"

    def __init__(self, message: str, blockers: tuple[object, ...]) -> None:
        super().__init__(message)
        self.blockers = blockers


class TooLarge(Refusal):
    code = "too-large"


class SlowDown(Refusal):
    """Too many tries. `after_s`: seconds to wait."""

    code = "slow-down"

    def __init__(self, message: str, after_s: int) -> None:
        super().__init__(message)
        self.after_s = after_s


class StillUnderWay(Conflict):
    code = "still-under-way"

    def __init__(self) -> None:
        super().__init__(tr("The same request is still being worked on. Ask again in a moment."))


class KeyReused(BadInput):
    code = "key-reused"

    def __init__(self) -> None:
        super().__init__(tr("This Idempotency-Key was used with another body."))
