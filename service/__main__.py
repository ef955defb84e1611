"""The command line: reads arguments, calls actions, prints what came of it. No rules."""

from __future__ import annotations

import argparse
import os
import signal
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeAlias

from service import upkeep
from service.actions.record import verifying
from service.domain.words.refusals import Refusal
from service.settings import DEFAULT_HOST, DEFAULT_PORT, Settings, calm_collector

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
    check = _command(commands, "check", words, upkeep.check)
    check.add_argument(
        "--pictures", action="store_true", help="read every picture too: are its bytes its own?"
    )
    _add_verify(commands)
    words = "back up into a new data directory while the service goes on; the signing key is not in it"
    back_up = _command(commands, "backup", words, upkeep.back_up)
    back_up.add_argument("--to", type=Path, required=True, metavar="FOLDER")
    words = "move everything to an empty database, SQLite or PostgreSQL; stop the service first"
    move = _command(commands, "move", words, upkeep.move)
    move.add_argument("--to", required=True, metavar="DATABASE_URL")
    words = "move pictures too: s3://bucket/prefix?endpoint=..., or a data directory"
    move.add_argument("--to-blobs", metavar="WHERE", help=words)
    _command(commands, "tell", "tell what turned to who asked, once: for a timer", upkeep.tell)
    _add_people(commands)
    keys = _command(commands, "keys", "tell of the key that signs histories, or change it", upkeep.keys)
    keys.add_argument("what", nargs="?", choices=("rotate",), help="put a new key in the place of this one")
    return parser


def _add_people(commands: Commands) -> None:
    people = commands.add_parser("people", help="people and their passwords").add_subparsers(
        required=True, metavar="COMMAND"
    )
    add = _command(people, "add", "make an account", upkeep.people_add)
    add.add_argument("email", metavar="EMAIL")
    add.add_argument("--name", required=True)
    words = "read the password from standard input"
    add.add_argument("--password-stdin", action="store_true", required=True, help=words)
    words = "print a link that lets a person choose a new password"
    reset = _command(people, "reset", words, upkeep.people_reset)
    reset.add_argument("email", metavar="EMAIL")
    _add_address(reset)
    reset.add_argument("--second-factor", action="store_true", help="it was lost: take that away as well")
    erase = _command(people, "erase", "erase a person's name; what they did stays", upkeep.people_erase)
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


def _serve(told: argparse.Namespace) -> int:
    from service.actions.entrance import accounts
    from service.app import be_watched, make_app

    settings = Settings.read(told.data, host=told.host, port=told.port)
    if told.workers > 1 and settings.database_url.startswith("sqlite"):
        print("More workers need PostgreSQL, named by LAPTIGHT_DATABASE_URL.", file=sys.stderr)
        return 1
    be_watched(settings)
    app = make_app(settings)  # with several workers this one only brings the database up to date
    print(f"Laptight is at {upkeep.address(settings)}", flush=True)
    if accounts.nobody_yet(app.state.desk):
        print("Nobody has an account yet: laptight people add EMAIL --name NAME --password-stdin --data DIR")
    os.environ["LAPTIGHT_DATA"] = str(told.data)  # for further workers
    _run(app if told.workers == 1 else "service.app:from_environment", settings, told.workers)
    return 0


def _demo(told: argparse.Namespace) -> int:
    from service.actions.demo import demo
    from service.app import make_app

    settings = Settings.read(told.data, host=told.host, port=told.port)
    app = make_app(settings)
    filled = demo.fill(app.state.desk.fresh())
    print(f"\nLaptight is at {upkeep.address(settings)}\n\nSign in as one of the invented people:")
    for email, password, role in filled.people:
        print(f"  {role:<16} {email:<28} password: {password}")
    if filled.ready:
        print("\nThe ready list of those who place concrete, shown this once, needs no signing in:")
        print(f"  {upkeep.address(settings)}/ready/{filled.ready}")
    print(flush=True)
    _run(app, settings)
    return 0


def _run(app: object, settings: Settings, workers: int = 1) -> None:
    import uvicorn
    from uvicorn.config import LOGGING_CONFIG

    calm_collector()
    # Told to stop, uvicorn ends what is under way and then raises the signal anew: its default action would
    # have a service that stopped well end as one that was killed.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(0))
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
