"""Facts about the history itself as English sentences."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from service.domain.measures import Units
from service.history import facts_evidence as e
from service.history.checkpoints import fingerprint, in_fours, public_key

OPERATOR = "operator"  # who acts at the command line of the service itself: a role and an id, never a person
OPERATOR_NAME = "The operator of the service"
_WAYS = {
    "download": "kept a checkpoint of the history up to here",
    "certificate": "was given a checkpoint of the history up to here, on the certificate",
    "timestamp": "sent a checkpoint of the history up to here to a timestamp authority",
}


def short_key(key: str) -> str:
    """The first 16 hex digits of a key's fingerprint, in fours."""
    return in_fours(fingerprint(public_key(key))[:16])


def _given(fact: e.CheckpointGiven, names: Mapping[str, str], units: Units) -> str:
    return _WAYS.get(fact.way, "took a checkpoint of the history up to here")


def _record(fact: e.RecordMade, names: Mapping[str, str], units: Units) -> str:
    return f"took a record of everything up to entry {fact.up_to}, with a checkpoint up to here"


def _key(fact: e.KeyChanged, names: Mapping[str, str], units: Units) -> str:
    return f"changed the key that signs the history from {short_key(fact.before)} to {short_key(fact.key)}"


def _erased(fact: e.NameErased, names: Mapping[str, str], units: Units) -> str:
    return "erased the name of a person; what that person did stays"


def _stamped(fact: e.TimestampReceived, names: Mapping[str, str], units: Units) -> str:
    return f"received a timestamp of the checkpoint of entry {fact.size} from an authority"


def _opened(fact: e.ReadyListOpened, names: Mapping[str, str], units: Units) -> str:
    return f"opened a ready list by link for {fact.label}"


def _closed(fact: e.ReadyListWithdrawn, names: Mapping[str, str], units: Units) -> str:
    return f'withdrew the ready list for {fact.label}: "{fact.reason.removesuffix(".")}"'


TELL: dict[type, Callable[[Any, Mapping[str, str], Units], str]] = {
    e.CheckpointGiven: _given,
    e.RecordMade: _record,
    e.KeyChanged: _key,
    e.NameErased: _erased,
    e.TimestampReceived: _stamped,
    e.ReadyListOpened: _opened,
    e.ReadyListWithdrawn: _closed,
}
