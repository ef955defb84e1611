"""Passwords: what is refused, and argon2id with at most four at work at once."""

from __future__ import annotations

import re
import threading
import unicodedata
from functools import cache

from argon2 import PasswordHasher
from argon2.exceptions import Argon2Error, InvalidHashError
from argon2.low_level import Type

from service.domain.words.refusals import BadInput
from service.domain.words.speech import tr

SHORTEST, LONGEST = 8, 1_000  # ASVS 5.0.0, 6.2.1 and 6.2.9: 8 at least, 64 and more allowed

# OWASP Password Storage: argon2id with m=19456 KiB, t=2, p=1 or more.
_HASHER = PasswordHasher(time_cost=2, memory_cost=19_456, parallelism=1, type=Type.ID)
# 19 MiB each: without a limit forty waiting sign-ins would take 760 MiB.
_AT_WORK = threading.BoundedSemaphore(4)

# The cores that people build most passwords on (common knowledge, no source): alone, doubled, or with a year,
# a count or a mark behind them they are guessed first.
_CORES = (
    "password", "passwort", "passw0rd", "p@ssword", "p@ssw0rd", "welcome", "letmein", "qwerty", "qwertz",
    "azerty", "qwertyuiop", "asdfgh", "asdfghjkl", "zxcvbn", "zxcvbnm", "1q2w3e4r", "1qaz2wsx", "qazwsx",
    "abc", "abcd", "abcdef", "abcdefgh", "admin", "administrator", "login", "master", "monkey", "dragon",
    "iloveyou", "sunshine", "princess", "football", "baseball", "superman", "batman", "trustno", "shadow",
    "michael", "changeme", "default", "secret", "hello", "freedom", "whatever", "summer", "winter", "spring",
    "autumn", "computer", "internet", "charlie", "starwars", "concrete", "builder", "construction", "vapor",
    "laptight",
)  # fmt: skip
_TAIL = re.compile(r"[\d!@#$%&*.?_-]*$")
_DIGITS = "01234567890123456789"


def plain(password: str) -> str:
    """One spelling for the signs that keyboards send in several (NFKC, as NIST 800-63B-4 advises)."""
    return unicodedata.normalize("NFKC", password)


def check(password: str, *own_words: str) -> None:
    """BadInput on `password` when it is too short, too long, or among the first that anybody would guess.

    `own_words`: the person's address and name. No rule about kinds of signs.
    """
    wrong = _why_not(plain(password), own_words)
    if wrong:
        raise BadInput(tr("Choose another password."), fields={"password": wrong})


def _why_not(password: str, own_words: tuple[str, ...]) -> str | None:
    if len(password) < SHORTEST:
        return tr(
            "Use at least {least} signs. Three or four words in a row are good and easy to keep.",
            least=SHORTEST,
        )
    if len(password) > LONGEST:
        return tr("Use at most {most} signs.", most=f"{LONGEST:,}")
    if is_common(password):
        return tr("This password is among the first that anybody would guess. Choose another.")
    lower = password.lower()
    own = {word.lower() for word in own_words} | {word.lower().partition("@")[0] for word in own_words}
    if lower in own:
        return tr("This is your own name or address. Choose another.")
    return None


def is_common(password: str) -> bool:
    """True for the passwords that are tried first: those most often seen in breaches, runs, repeats, and a
    well-known core with a short tail."""
    lower = password.lower()
    if lower in _leaked():
        return True
    if len(set(lower)) <= 2 or lower in _DIGITS or lower in _DIGITS[::-1]:
        return True
    half = len(lower) // 2
    if lower in _common() or (lower[:half] == lower[half:] and (lower[:half] in _common() or half <= 4)):
        return True
    return _TAIL.sub("", lower) in _common() and len(lower) <= 16


@cache
def _common() -> frozenset[str]:
    return frozenset((*_CORES, *(core[::-1] for core in _CORES)))


@cache
def _leaked() -> frozenset[str]:
    """The 30,000 passwords that stand most often in the breached lists behind zxcvbn (its
    `frequency_lists`), in lower case: more than the 3,000 of ASVS 5.0.0, 6.2.4."""
    from zxcvbn.frequency_lists import FREQUENCY_LISTS  # half a second of lists: read where one is chosen

    return frozenset(FREQUENCY_LISTS["passwords"])


def hashed(password: str) -> str:
    with _AT_WORK:
        return _HASHER.hash(plain(password))


def fits(password_hash: str, password: str) -> bool:
    """True when the password is the one behind the hash. One too long to be anybody's is not worked on."""
    if len(password) > LONGEST:
        password = ""
    with _AT_WORK:
        try:
            return _HASHER.verify(password_hash, plain(password))
        except (Argon2Error, InvalidHashError):
            return False


@cache
def nobodys_hash() -> str:
    """Verified where there is no account, so that an unknown address takes as long as a known one."""
    return hashed("a password that is nobody's")
