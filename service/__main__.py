"""The command line: reads arguments, calls actions, prints what came of it. No rules."""

from __future__ import annotations

import argparse
import gc
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

from service.actions import verifying
from service.domain.refusals import NotFound, Refusal
from service.settings import DEFAULT_HOST, DEFAULT_PORT, Settings

if TYPE_CHECKING:
    from service.actions.desk import Desk

DEMO_DATA = Path("laptight-demo")
GRACE_S = 30  # for requests under way to end once the service is told to stop
Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; the exit status. A refusal is told in its own sentence and exits with 1."""
    told = _parser().parse_args(arguments)
    try:
        status: int = told.run(told)
    except Refusal as refusal:
        for words in dict.fromkeys((refusal.message, *refusal.fields.values())):
            print(words, file=sys.stderr)
        return 1
    return status


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="laptight", description="The pre-pour punch list for film.")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    serve = _command(commands, "serve", "serve what is in a data directory", _serve)
    _add_address(serve)
    words = "processes that serve; more than one needs PostgreSQL"
    serve.add_argument("--workers", type=int, default=1, metavar="N", help=words)
    demo = _command(commands, "demo", "fill a directory with an invented site and serve it", _demo, DEMO_DATA)
    _add_address(demo)
    words = "replay every history, compare it with the tables, and see that its pictures are there"
    check = _command(commands, "check", words, _check)
    check.add_argument(
        "--pictures", action="store_true", help="read every picture too: are its bytes its own?"
    )
    _add_verify(commands)
    words = "back up into a new data directory while the service goes on; the signing key is not in it"
    back_up = _command(commands, "backup", words, _back_up)
    back_up.add_argument("--to", type=Path, required=True, metavar="FOLDER")
    words = "move everything to an empty database, SQLite or PostgreSQL; stop the service first"
    move = _command(commands, "move", words, _move)
    move.add_argument("--to", required=True, metavar="DATABASE_URL")
    words = "move pictures too: s3://bucket/prefix?endpoint=..., or a data directory"
    move.add_argument("--to-blobs", metavar="WHERE", help=words)
    _command(commands, "tell", "tell what turned to who asked, once: for a timer", _tell)
    _add_people(commands)
    keys = _command(commands, "keys", "tell of the key that signs histories, or change it", _keys)
    keys.add_argument("what", nargs="?", choices=("rotate",), help="put a new key in the place of this one")
    return parser


def _add_people(commands: Commands) -> None:
    people = commands.add_parser("people", help="people and their passwords").add_subparsers(
        required=True, metavar="COMMAND"
    )
    add = _command(people, "add", "make an account", _people_add)
    add.add_argument("email", metavar="EMAIL")
    add.add_argument("--name", required=True)
    words = "read the password from standard input"
    add.add_argument("--password-stdin", action="store_true", required=True, help=words)
    reset = _command(people, "reset", "print a link that lets a person choose a new password", _people_reset)
    reset.add_argument("email", metavar="EMAIL")
    _add_address(reset)
    reset.add_argument("--second-factor", action="store_true", help="it was lost: take that away as well")
    erase = _command(people, "erase", "erase a person's name; what they did stays", _people_erase)
    erase.add_argument("email", metavar="EMAIL")


def _command(
    commands: Commands,
    name: str,
    words: str,
    run: Callable[[argparse.Namespace], int],
    data: Path | None = None,
) -> argparse.ArgumentParser:
    parser = commands.add_parser(name, help=words, description=words)
    parser.add_argument("--data", type=Path, required=data is None, default=data, metavar="DIR")
    parser.set_defaults(run=run)
    return parser


def _add_address(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--host", default=DEFAULT_HOST)
    parser.add_argument("--port", type=int, default=DEFAULT_PORT)


def _add_verify(commands: Commands) -> None:
    words = "say what holds of a record and what does not (exit: 0 whole, 1 not whole, 2 cannot be read)"
    verify = commands.add_parser("verify", help=words, description=words)
    verify.add_argument("record", type=Path, metavar="RECORD.zip")
    verify.add_argument("--kept", type=Path, metavar="FILE", help="a checkpoint that was kept from before")
    verify.add_argument("--key", metavar="FINGERPRINT", help="of the key that signs, as a certificate has it")
    verify.set_defaults(run=_verify)


# What a command needs it brings in itself: to verify a record, a stranger waits for no web framework.


def _desk(settings: Settings) -> Desk:
    """Of a command that serves nobody."""
    from service.app import make_desk

    return make_desk(settings, serving=False)


def _serve(told: argparse.Namespace) -> int:
    from service.actions import accounts
    from service.app import be_watched, make_app

    settings = Settings.read(told.data, host=told.host, port=told.port)
    if told.workers > 1 and settings.database_url.startswith("sqlite"):
        print("More workers need PostgreSQL, named by LAPTIGHT_DATABASE_URL.", file=sys.stderr)
        return 1
    be_watched(settings)
    app = make_app(settings)  # with several workers this one only brings the database up to date
    print(f"Laptight is at {_address(settings)}", flush=True)
    if accounts.nobody_yet(app.state.desk):
        print("Nobody has an account yet: laptight people add EMAIL --name NAME --password-stdin --data DIR")
    os.environ["LAPTIGHT_DATA"] = str(told.data)  # for further workers
    _run(app if told.workers == 1 else "service.app:from_environment", settings, told.workers)
    return 0


def _demo(told: argparse.Namespace) -> int:
    from service.actions import demo
    from service.app import make_app

    settings = Settings.read(told.data, host=told.host, port=told.port)
    app = make_app(settings)
    filled = demo.fill(app.state.desk.fresh())
    print(f"\nLaptight is at {_address(settings)}\n\nSign in as one of the invented people:")
    for email, password, role in filled.people:
        print(f"  {role:<16} {email:<28} password: {password}")
    if filled.ready:
        print("\nThe ready list of those who place concrete, shown this once, needs no signing in:")
        print(f"  {_address(settings)}/ready/{filled.ready}")
    print(flush=True)
    _run(app, settings)
    return 0


def calm_collector() -> None:
    """Let Python look for cyclic garbage seldom: a page of many marks makes many objects and no cycles.

    With its own thresholds the gate over 100,000 defects takes four times as long a defect as over 1,000.
    """
    gc.set_threshold(100_000, 50, 100)


def _run(app: object, settings: Settings, workers: int = 1) -> None:
    import uvicorn
    from uvicorn.config import LOGGING_CONFIG

    calm_collector()
    # The access log would keep the tokens that stand in the addresses of links.
    uvicorn.run(
        app,  # type: ignore[arg-type]
        factory=isinstance(app, str),
        workers=workers,
        host=settings.host,
        port=settings.port,
        log_level="warning",
        log_config=None if settings.log_json else LOGGING_CONFIG,
        timeout_graceful_shutdown=GRACE_S,
        access_log=False,
        server_header=False,
    )


def _address(settings: Settings) -> str:
    if settings.base_url:
        return settings.base_url
    host = "127.0.0.1" if settings.host in ("0.0.0.0", "::", "") else settings.host  # noqa: S104 # compared only
    return f"http://{f'[{host}]' if ':' in host else host}:{settings.port}"


def _people_add(told: argparse.Namespace) -> int:
    from service.actions import accounts

    password = sys.stdin.readline().rstrip("\r\n")
    desk = _desk(Settings.read(told.data))
    person = accounts.make_person(desk, told.email, told.name, password)
    print(f"{person.name} can sign in as {person.email}.")
    return 0


def _people_reset(told: argparse.Namespace) -> int:
    from service.actions import accounts

    settings = Settings.read(told.data, host=told.host, port=told.port)
    try:
        token = accounts.make_reset_for_email(_desk(settings), told.email, told.second_factor)
    except NotFound:
        print("There is no account for this address.", file=sys.stderr)
        return 1
    print(f"{_address(settings)}/reset/{token}")
    print("It works once, for 60 minutes. Give it to nobody else: it lets its holder sign in as this person.")
    return 0


def _people_erase(told: argparse.Namespace) -> int:
    from service.actions import erasing, signing

    desk = _desk(Settings.read(told.data))
    if trouble := signing.key_told(desk).trouble:
        print(trouble, file=sys.stderr)
        return 1
    try:
        histories = erasing.erase_person(desk, told.email)
    except NotFound:
        print("There is no account for this address.", file=sys.stderr)
        return 1
    print(f"Erased. {_many(histories, 'history says', 'histories say')} so; what they did stays there.")
    if not desk.database.leave_nothing_behind():
        print("The service was reading all the while: its log may hold the name until it is stopped once.")
    print("Notes that people typed were not searched, and backups and records handed out keep the name.")
    return 0


def _keys(told: argparse.Namespace) -> int:
    from service.actions import signing

    desk = _desk(Settings.read(told.data))
    before = signing.key_told(desk)
    if told.what == "rotate":
        histories = signing.rotate(desk)
        now = signing.key_told(desk)
        print(f"Changed the key from {before.fingerprint or 'none'}\nto {now.fingerprint}")
        print(f"{_many(histories, 'history says', 'histories say')} so. Back up {now.file} now.")
        return 0
    if before.trouble:
        print(before.trouble, file=sys.stderr)
        return 1
    if not before.fingerprint:
        print(f"There is no key yet: the first start of the service makes it, as {before.file}.")
        return 0
    since = f" since {before.since:%d %b %Y %H:%M} UTC, when it took another's place" if before.since else ""
    print(f"The key that signs histories is {before.fingerprint}")
    print(f"It signs {_many(before.histories, 'history', 'histories')}{since}.")
    print(f"It lies in {before.file}, apart from the database. Back it up apart from the database, too.")
    return 0


def _many(count: int, one: str, more: str) -> str:
    return f"{count:,} {one if count == 1 else more}"


def _said(faults: Sequence[str]) -> bool:
    """Whether there is anything to say of what was looked through; it is said."""
    for words in faults:
        print(words, file=sys.stderr)
    return bool(faults)


def _check(told: argparse.Namespace) -> int:
    from service.actions import checking, checking_pictures

    desk = _desk(Settings.read(told.data))
    found = checking.check_histories(desk)
    faults = found.faults + checking_pictures.lost_pictures(desk, desk.blobs)
    if told.pictures:
        faults += checking_pictures.spoiled_pictures(desk)
    if _said(faults):
        return 1
    projects = _many(found.projects, "project", "projects")
    print(f"The tables say what the history says: {found.entries:,} entries of {projects} replayed.")
    return 0


def _back_up(told: argparse.Namespace) -> int:
    from service.actions import backing_up

    made = backing_up.back_up(_desk(Settings.read(told.data)), told.to)
    if _said(made.faults):
        return 1
    entries, pictures = _many(made.entries, "entry", "entries"), _many(made.pictures, "picture", "pictures")
    print(f"Backed up {entries} and {pictures} in {told.to}: its tables say what its histories say.")
    print("The signing key is not in it. To restore, serve that folder, or move it to another database.")
    return int(_said(made.lost))


def _move(told: argparse.Namespace) -> int:
    from service.actions import moving
    from service.app import blobs_at

    blobs = blobs_at(told.data, told.to_blobs) if told.to_blobs else None
    moved = moving.move(_desk(Settings.read(told.data)), told.to, blobs)
    if _said(moved.faults):
        return 1
    print(f"Moved {_many(moved.rows, 'row', 'rows')}; {moved.entries:,} entries replayed there, and equal.")
    print("Start the service with LAPTIGHT_DATABASE_URL set to it from now on. The old one is as it was.")
    return int(_said(moved.lost))


def _tell(told: argparse.Namespace) -> int:
    from service.actions.sending_told import tick
    from service.app import outside_of

    settings = Settings.read(told.data)
    turned, sent = tick(_desk(settings), outside_of(settings))
    print(f"{_many(turned, 'turn', 'turns')} to tell, {_many(sent, 'message', 'messages')} sent.")
    return 0


def _verify(told: argparse.Namespace) -> int:
    calm_collector()
    try:
        found = verifying.verify_record(told.record, told.kept, told.key)
    except Refusal as refusal:
        print(refusal.message, file=sys.stderr)
        return 2
    verifying.tell(found, lambda line: print(plain(line)))
    return 0 if found.whole else 1 if found.readable else 2


def plain(line: str) -> str:
    """Without what a record from anybody could tell a terminal to do."""
    return "".join(sign if sign.isprintable() else ascii(sign)[1:-1] for sign in line)


if __name__ == "__main__":
    sys.exit(main())
