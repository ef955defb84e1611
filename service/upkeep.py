"""The commands that serve nobody: people, the signing key, and what is kept. Each prints what came of it and
gives an exit status."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING

from service.domain.words.refusals import NotFound
from service.settings import Settings

if TYPE_CHECKING:
    from service.actions.frame.desk import Desk

# What a command needs it brings in itself: to verify a record, a stranger waits for no web framework.


def desk_of(settings: Settings) -> Desk:
    """Of a command that serves nobody."""
    from service.app import make_desk

    return make_desk(settings, serving=False)


def address(settings: Settings) -> str:
    if settings.base_url:
        return settings.base_url
    host = "127.0.0.1" if settings.host in ("0.0.0.0", "::", "") else settings.host  # noqa: S104 # compared only
    return f"http://{f'[{host}]' if ':' in host else host}:{settings.port}"


def people_add(told: argparse.Namespace) -> int:
    from service.actions.entrance import accounts

    password = sys.stdin.readline().rstrip("\r\n")
    desk = desk_of(Settings.read(told.data))
    person = accounts.make_person(desk, told.email, told.name, password)
    print(f"{person.name} can sign in as {person.email}.")
    return 0


def people_reset(told: argparse.Namespace) -> int:
    from service.actions.entrance import resets

    settings = Settings.read(told.data, host=told.host, port=told.port)
    try:
        token = resets.make_reset_for_email(desk_of(settings), told.email, told.second_factor)
    except NotFound:
        print("There is no account for this address.", file=sys.stderr)
        return 1
    print(f"{address(settings)}/reset/{token}")
    print("It works once, for 60 minutes. Give it to nobody else: it lets its holder sign in as this person.")
    return 0


def people_erase(told: argparse.Namespace) -> int:
    from service.actions.evidence import signing
    from service.actions.people import erasing

    desk = desk_of(Settings.read(told.data))
    if trouble := signing.key_told(desk).trouble:
        print(trouble, file=sys.stderr)
        return 1
    try:
        histories = erasing.erase_person(desk, told.email)
    except NotFound:
        print("There is no account for this address.", file=sys.stderr)
        return 1
    print(f"Erased. {many(histories, 'history says', 'histories say')} so; what they did stays there.")
    if not desk.database.leave_nothing_behind():
        print("The service was reading all the while: its log may hold the name until it is stopped once.")
    print("Notes that people typed were not searched, and backups and records handed out keep the name.")
    return 0


def keys(told: argparse.Namespace) -> int:
    from service.actions.evidence import signing

    desk = desk_of(Settings.read(told.data))
    before = signing.key_told(desk)
    if told.what == "rotate":
        histories = signing.rotate(desk)
        now = signing.key_told(desk)
        print(f"Changed the key from {before.fingerprint or 'none'}\nto {now.fingerprint}")
        print(f"{many(histories, 'history says', 'histories say')} so. Back up {now.file} now.")
        return 0
    if before.trouble:
        print(before.trouble, file=sys.stderr)
        return 1
    if not before.fingerprint:
        print(f"There is no key yet: the first start of the service makes it, as {before.file}.")
        return 0
    since = f" since {before.since:%d %b %Y %H:%M} UTC, when it took another's place" if before.since else ""
    print(f"The key that signs histories is {before.fingerprint}")
    print(f"It signs {many(before.histories, 'history', 'histories')}{since}.")
    print(f"It lies in {before.file}, apart from the database. Back it up apart from the database, too.")
    return 0


def many(count: int, one: str, more: str) -> str:
    return f"{count:,} {one if count == 1 else more}"


def _said(faults: Sequence[str]) -> bool:
    """Whether there is anything to say of what was looked through; it is said."""
    for words in faults:
        print(words, file=sys.stderr)
    return bool(faults)


def check(told: argparse.Namespace) -> int:
    from service.actions.upkeep import checking, checking_pictures

    desk = desk_of(Settings.read(told.data))
    found = checking.check_histories(desk)
    faults = found.faults + checking_pictures.lost_pictures(desk, desk.blobs)
    if told.pictures:
        faults += checking_pictures.spoiled_pictures(desk)
    if _said(faults):
        return 1
    projects = many(found.projects, "project", "projects")
    print(f"The tables say what the history says: {found.entries:,} entries of {projects} replayed.")
    return 0


def back_up(told: argparse.Namespace) -> int:
    from service.actions.upkeep import backing_up

    made = backing_up.back_up(desk_of(Settings.read(told.data)), told.to)
    if _said(made.faults):
        return 1
    entries, pictures = many(made.entries, "entry", "entries"), many(made.pictures, "picture", "pictures")
    print(f"Backed up {entries} and {pictures} in {told.to}: its tables say what its histories say.")
    print("The signing key is not in it. To restore, serve that folder, or move it to another database.")
    return int(_said(made.lost))


def move(told: argparse.Namespace) -> int:
    from service.actions.upkeep import moving
    from service.app import blobs_at

    blobs = blobs_at(told.data, told.to_blobs) if told.to_blobs else None
    moved = moving.move(desk_of(Settings.read(told.data)), told.to, blobs)
    if _said(moved.faults):
        return 1
    print(f"Moved {many(moved.rows, 'row', 'rows')}; {moved.entries:,} entries replayed there, and equal.")
    print("Start the service with LAPTIGHT_DATABASE_URL set to it from now on. The old one is as it was.")
    return int(_said(moved.lost))


def tell(told: argparse.Namespace) -> int:
    from service.actions.telling.sending_told import tick
    from service.app import outside_of

    settings = Settings.read(told.data)
    turned, sent = tick(desk_of(settings), outside_of(settings))
    print(f"{many(turned, 'turn', 'turns')} to tell, {many(sent, 'message', 'messages')} sent.")
    return 0
