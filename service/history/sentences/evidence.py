"""Facts about the history itself as English sentences."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from service.domain.words.measures import Units
from service.domain.words.speech import later, tr
from service.history.facts import evidence as e
from service.history.proofs.checkpoints import fingerprint, in_fours, public_key

OPERATOR = "operator"  # who acts at the command line of the service itself: a role and an id, never a person
OPERATOR_NAME = later("The operator of the service")
_WAYS = {
    "download": later("kept a checkpoint of the history up to here"),
    "certificate": later("was given a checkpoint of the history up to here, on the certificate"),
    "timestamp": later("sent a checkpoint of the history up to here to a timestamp authority"),
}


def short_key(key: str) -> str:
    """The first 16 hex digits of a key's fingerprint, in fours."""
    return in_fours(fingerprint(public_key(key))[:16])


def _given(fact: e.CheckpointGiven, names: Mapping[str, str], units: Units) -> str:
    otherwise = later("took a checkpoint of the history up to here")
    return tr(_WAYS.get(fact.way, otherwise))


def _record(fact: e.RecordMade, names: Mapping[str, str], units: Units) -> str:
    return tr(
        "took a record of everything up to entry {entry}, with a checkpoint up to here", entry=fact.up_to
    )


def _key(fact: e.KeyChanged, names: Mapping[str, str], units: Units) -> str:
    before, now = short_key(fact.before), short_key(fact.key)
    return tr("changed the key that signs the history from {before} to {now}", before=before, now=now)


def _erased(fact: e.NameErased, names: Mapping[str, str], units: Units) -> str:
    return tr("erased the name of a person; what that person did stays")


def _link_made(fact: e.PasswordLinkMade, names: Mapping[str, str], units: Units) -> str:
    who = names.get(fact.person, tr("a person no longer named"))
    return tr("made a link with which {person} can choose a new password, once, within an hour", person=who)


def _link_used(fact: e.PasswordLinkUsed, names: Mapping[str, str], units: Units) -> str:
    return tr("chose a new password by a link")


def _stamped(fact: e.TimestampReceived, names: Mapping[str, str], units: Units) -> str:
    return tr("received a timestamp of the checkpoint of entry {entry} from an authority", entry=fact.size)


def _opened(fact: e.ReadyListOpened, names: Mapping[str, str], units: Units) -> str:
    return tr("opened a ready list by link for {label}", label=fact.label)


def _closed(fact: e.ReadyListWithdrawn, names: Mapping[str, str], units: Units) -> str:
    why = fact.reason.removesuffix(".")
    return tr('withdrew the ready list for {label}: "{reason}"', label=fact.label, reason=why)


TELL: dict[type, Callable[[Any, Mapping[str, str], Units], str]] = {
    e.CheckpointGiven: _given,
    e.RecordMade: _record,
    e.KeyChanged: _key,
    e.NameErased: _erased,
    e.PasswordLinkMade: _link_made,
    e.PasswordLinkUsed: _link_used,
    e.TimestampReceived: _stamped,
    e.ReadyListOpened: _opened,
    e.ReadyListWithdrawn: _closed,
}
