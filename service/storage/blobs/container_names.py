"""The names in a ZIP from anybody: none may climb, surprise a file system, or pass for another."""

import re
import unicodedata
from collections.abc import Sequence

from service.history.verifying.findings import Unreadable
from service.storage.blobs.zip_structure import Member

_DRIVE = re.compile(r"[A-Za-z]:")
# Names that some systems take for a device, whatever their ending.
_DEVICES = re.compile(r"(?:con|prn|aux|nul|com[0-9]|lpt[0-9])(?:\..*)?", re.IGNORECASE)
LONGEST_NAME = 240


def check_names(members: Sequence[Member]) -> None:
    """Unreadable names the first name at fault, and why."""
    seen: dict[str, str] = {}
    folders: set[str] = set()
    for member in members:
        _check(member.name)
        plain = _plain(member.name.rstrip("/"))
        if plain in seen and not (member.folder and plain in folders):
            raise Unreadable("name-twice", _twice(seen[plain], member.name))
        seen[plain] = member.name
        if member.folder:
            folders.add(plain)
    _check_folders(seen, folders)


def _check_folders(seen: dict[str, str], folders: set[str]) -> None:
    """Nothing is a file and the folder of another at once."""
    for plain, name in seen.items():
        parts = plain.split("/")
        for end in range(1, len(parts)):
            above = "/".join(parts[:end])
            if above in seen and above not in folders:
                raise Unreadable("name-twice", _twice(seen[above], name))


def _plain(name: str) -> str:
    """What a file system that minds neither case nor how a letter is put together takes for the same name."""
    return unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", name).casefold())


def _twice(one: str, other: str) -> str:
    if one == other:
        return f"The ZIP holds {_shown(one)} twice."
    return f"The ZIP holds {_shown(one)} and {_shown(other)}, which one folder cannot hold both."


def _check(name: str) -> None:
    path = name[:-1] if name.endswith("/") else name
    parts = path.split("/")
    if "\\" in name or name.startswith("/") or _DRIVE.match(name) or ".." in parts:
        told = f"The ZIP holds {_shown(name)}: a path that climbs out of the folder it is unpacked to."
        raise Unreadable("path-climbs", told)
    if any(unicodedata.category(sign)[0] in "CZ" and sign != " " for sign in name):
        told = f"The ZIP holds a name with signs that are not seen: {_shown(name)}."
        raise Unreadable("name-unsafe", told)
    if len(name) > LONGEST_NAME or any(_odd(part) for part in parts):
        raise Unreadable(
            "name-unsafe", f"The ZIP holds a name that not every system can keep: {_shown(name)}."
        )


def _odd(part: str) -> bool:
    if part in ("", ".") or part[-1] in ". " or part[0] == " " or set(part) & set('<>:"|?*'):
        return True
    return _DEVICES.fullmatch(part) is not None


def _shown(name: str) -> str:
    """A name as it can be printed."""
    return ascii(name if len(name) <= 80 else f"{name[:77]}...")
