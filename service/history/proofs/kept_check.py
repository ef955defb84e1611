"""An old checkpoint held against a history: what still holds, and what does not, each fault by its name."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from service.domain.words.speech import tr, trn
from service.history.proofs.checkpoints import Checkpoint, fingerprint, in_fours, read_checkpoint
from service.history.proofs.merkle import EMPTY_ROOT, bagged, grown
from service.history.proofs.notes import BadNote, Note, VerifierKey, read_note, signed_by

# What can be said. The history is at fault in CUT, REWRITTEN, KEPT_UNLIKE, OWN_HASH, FIRST and TREE.
NO_NOTE, OTHER_PROJECT, SIGNATURE, UNKNOWN_KEY = (
    "no-checkpoint", "other-project", "signature-does-not-fit", "unknown-key",
)  # fmt: skip
CUT, REWRITTEN, EMPTY, NO_WEIGHT = "history-cut", "history-rewritten", "covers-nothing", "no-weight"
KEPT_UNLIKE, OWN_HASH, FIRST, OTHER_LIST, TREE = (
    "kept-do-not-fit", "entry-hash-does-not-fit", "first-entry", "other-entries", "tree-does-not-fit",
)  # fmt: skip
SIGNED, SAME, GREW, ROOT_OURS, KEPT_FIT, LIST_FITS = (
    "signed", "same", "grew", "root-fits", "kept-fit", "entries-fit",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Point:
    """One thing that holds or does not, as a sentence; `code` is stable."""

    code: str
    holds: bool
    words: str


@dataclass(frozen=True, slots=True)
class Known:
    """What a history says of itself. `root_at(n)`: the root over its first n entries as they are now, n up to
    `size`; `keys`: 32 bytes each, all it was ever signed with; `kept`: sizes and notes of what left."""

    origin: str
    size: int
    keys: tuple[bytes, ...]
    kept: tuple[tuple[int, str], ...]
    root_at: Callable[[int], bytes]


@dataclass(frozen=True, slots=True)
class Verdict:
    """`points` in the order to be read. `between`: the first entry that does not fit is one of these, both
    inclusive; `first`: it is this one."""

    points: tuple[Point, ...]
    checkpoint: Checkpoint | None = None
    between: tuple[int, int] | None = None
    first: int | None = None

    @property
    def holds(self) -> bool:
        """Whether everything holds: a check that could not be made does not."""
        return all(point.holds for point in self.points)

    @property
    def codes(self) -> set[str]:
        return {point.code for point in self.points}

    @property
    def fits(self) -> bool:
        """Whether the history begins with exactly what the checkpoint covers."""
        return bool({SAME, GREW} & self.codes)

    def and_also(self, *points: Point, first: int | None = None) -> Verdict:
        known = self.first if first is None else first
        return replace(self, points=(*self.points, *points), first=known)


def roots_at(leaves: Iterable[bytes], sizes: Iterable[int]) -> dict[int, bytes]:
    """The roots over the first n leaf hashes, for each n asked that they come to, in one pass."""
    wanted, found, peaks = set(sizes), {}, list[bytes]()
    if 0 in wanted:
        found[0] = EMPTY_ROOT
    for size, leaf in enumerate(leaves):
        peaks, _ = grown(peaks, size, leaf)
        if size + 1 in wanted:
            found[size + 1] = bagged(peaks)
    return found


def plain(text: str) -> str:
    """A note as it was pasted or sent through a mail: line ends made ours, empty lines round it gone."""
    return text.removeprefix("\ufeff").replace("\r\n", "\n").strip("\n \t") + "\n"


def size_in(text: str) -> int | None:
    """How many entries a note says it covers, where it is a checkpoint at all."""
    try:
        return read_checkpoint(read_note(text).text).size
    except BadNote:
        return None


# --- the checkpoint --------------------------------------------------------------------------------------


def check(text: str, known: Known) -> Verdict:
    """What an old checkpoint says of the history as it is now. `text` as `plain` gives it."""
    try:
        note = read_note(text)
        old = read_checkpoint(note.text)
    except BadNote as bad:
        return Verdict((Point(NO_NOTE, False, tr("This is no checkpoint: {why}.", why=bad)),))
    if old.origin != known.origin:
        told = tr(
            "This is a checkpoint of {theirs}. This history is {ours}: another project.",
            theirs=old.origin,
            ours=known.origin,
        )
        return Verdict((Point(OTHER_PROJECT, False, told),), old)
    signature = _signature(note, known)
    at_issue = _signed(old, known) if signature.holds else _unsigned(old, known, signature.code)
    kept, between = _kept(old, known, at_issue.code == REWRITTEN)
    return Verdict((signature, at_issue, *kept), old, between)


def _signature(note: Note, known: Known) -> Point:
    try:
        signers = signed_by(note, [VerifierKey(known.origin, key) for key in known.keys])
    except BadNote:
        told = tr("Its signature does not fit: the checkpoint was changed after it was signed.")
        return Point(SIGNATURE, False, told)
    if signers:
        which = in_fours(fingerprint(signers[-1].public)[:16])
        return Point(
            SIGNED,
            True,
            tr("Its signature fits the key {key}, which signs or signed this history.", key=which),
        )
    ids = ", ".join(dict.fromkeys(one.key_id.hex() for one in note.signatures))
    told = tr(
        "It is signed by a key that this history never used (key id {ids}). Either it was not made here, or "
        "the history was written anew and signed with another key.",
        ids=ids,
    )
    return Point(UNKNOWN_KEY, False, told)


def _signed(old: Checkpoint, known: Known) -> Point:
    """What a checkpoint that we signed says."""
    if old.size == 0:
        return Point(EMPTY, False, tr("It covers no entry, so it proves nothing."))
    if old.size > known.size:
        gone = _entries(known.size + 1, old.size)
        told = tr(
            "It covers {n} entries, and the history has {size}: it was cut. {gone}",
            n=old.size,
            size=known.size,
            gone=gone,
        )
        return Point(CUT, False, told)
    if known.root_at(old.size) != old.root:
        told = tr(
            "The first {n} entries are not the ones it was signed over: the history was rewritten "
            "after this checkpoint left.",
            n=old.size,
        )
        return Point(REWRITTEN, False, told)
    if old.size == known.size:
        return Point(SAME, True, tr("The history is the same as then: {n} entries.", n=known.size))
    told = tr("The history only grew since: {then} entries then, {now} now.", then=old.size, now=known.size)
    return Point(GREW, True, told)


def _entries(first: int, last: int) -> str:
    if first == last:
        return tr("Entry {seq} is gone.", seq=first)
    return tr("Entries {first} to {last} are gone.", first=first, last=last)


def _unsigned(old: Checkpoint, known: Known, why: str) -> Point:
    """What a checkpoint that we cannot say we signed tells all the same: nothing against the history."""
    if old.size <= known.size and known.root_at(old.size) == old.root:
        told = tr(
            "Its size and its root are those of this history's first {n} entries all the same.", n=old.size
        )
        return Point(ROOT_OURS, True, told)
    told = tr(
        "Its size and its root are not this history's either. If it was handed out here, this history is not "
        "the one it was: hold the key's fingerprint that was noted then against the one told now."
    )
    if why == SIGNATURE:
        told = tr(
            "Its size and its root are not this history's either. What was changed after it was signed "
            "proves nothing about the history."
        )
    return Point(NO_WEIGHT, False, told)


# --- the checkpoints kept here ---------------------------------------------------------------------------


def _kept(old: Checkpoint, known: Known, rewritten: bool) -> tuple[list[Point], tuple[int, int] | None]:
    """What the checkpoints kept here say, and between which entries they put the first that does not fit."""
    fit = {size: _fits(size, note, known) for size, note in known.kept}
    wrong = sorted(size for size, holds in fit.items() if not holds)
    points = [_of_kept(len(fit), wrong)] if fit else []
    if not rewritten:
        return points, None
    if fit.get(old.size):
        told = tr(
            "The checkpoint of {n} entries kept here names another root, and is signed too: two "
            "histories were signed for one, and what is kept here does not help to find the entry.",
            n=old.size,
        )
        return [*points, Point(KEPT_UNLIKE, False, told)], None
    low = max((size for size, holds in fit.items() if holds and size < old.size), default=0)
    high = min((size for size in wrong if low < size), default=old.size)
    return points, (low + 1, min(high, old.size))


def _of_kept(count: int, wrong: Sequence[int]) -> Point:
    if not wrong:
        told = tr("All {count} checkpoints kept here fit the history.", count=count)
        told = tr("The one checkpoint kept here fits the history.") if count == 1 else told
        return Point(KEPT_FIT, True, told)
    told = trn(
        "Of {count} checkpoints kept here, {n} does not fit the history as it is now; the first of them "
        "covers {size} entries.",
        "Of {count} checkpoints kept here, {n} do not fit the history as it is now; the first of them "
        "covers {size} entries.",
        len(wrong),
        count=count,
        size=wrong[0],
    )
    return Point(KEPT_UNLIKE, False, told)


def _fits(size: int, text: str, known: Known) -> bool:
    try:
        note = read_note(text)
        told = read_checkpoint(note.text)
        signers = signed_by(note, [VerifierKey(known.origin, key) for key in known.keys])
    except BadNote:
        return False
    ours = size <= known.size and told == Checkpoint(known.origin, size, known.root_at(size))
    return bool(signers) and ours


# --- entries kept elsewhere ------------------------------------------------------------------------------


def compare(verdict: Verdict, theirs: Sequence[bytes], ours: Sequence[bytes]) -> Verdict:
    """The same verdict with the first entry named that does not fit. `theirs`: leaf hashes of an old record,
    from entry 1 on; `ours`: those of the history as it is now.

    A record's list ends some entries before its checkpoint; where ours complete it, it is shown to be of it.
    A list that does not lead to the checkpoint is none of it, and names nothing.
    """
    old = verdict.checkpoint
    if old is None or not theirs or {NO_NOTE, OTHER_PROJECT} & verdict.codes:
        return verdict
    listed = [*theirs[: old.size], *ours[len(theirs) : old.size]]
    if roots_at(listed, [old.size]).get(old.size) == old.root:
        return _named(verdict, old.size, first_unlike(listed, ours), len(ours))
    if len(theirs) >= old.size:
        told = tr(
            "The old record's entries do not lead to this checkpoint: they are of another one, or changed."
        )
        return verdict.and_also(Point(OTHER_LIST, False, told))
    return _short(verdict, old.size, first_unlike(theirs, ours), len(theirs))


def _named(verdict: Verdict, size: int, first: int | None, ours: int) -> Verdict:
    """With a list that leads to the checkpoint."""
    if first is None:
        told = tr("Each of the {n} entries is the one of the old record.", n=size)
        return verdict.and_also(Point(LIST_FITS, True, told))
    told = tr("Entry {seq} is the first that is not the one of the old record.", seq=first)
    if first > ours:
        told = tr("Entry {seq} is the first that is gone.", seq=first)
    return verdict.and_also(Point(FIRST, False, told), first=first)


def _short(verdict: Verdict, size: int, first: int | None, listed: int) -> Verdict:
    """With a list that ends before the checkpoint, and nothing shows that it is of it."""
    if first is None:
        told = tr(
            "The old record's list ends at entry {listed}, and all that it names are here. What does not "
            "fit comes after them, in entries {first} to {last}.",
            listed=listed,
            first=listed + 1,
            last=size,
        )
        low = max(listed + 1, verdict.between[0] if verdict.between else 0)
        return replace(verdict.and_also(Point(OTHER_LIST, False, told)), between=(low, size))
    told = tr(
        "By the old record's list entry {first} is the first that does not fit. The list ends at entry "
        "{listed}, before the checkpoint, so nothing shows that it is of it.",
        first=first,
        listed=listed,
    )
    return verdict.and_also(Point(OTHER_LIST, False, told), first=first)


def first_unlike(theirs: Sequence[bytes], ours: Sequence[bytes]) -> int | None:
    """The number, from 1, of the first of their entries that ours does not have in its place."""
    for place, leaf in enumerate(theirs):
        if place >= len(ours) or ours[place] != leaf:
            return place + 1
    return None


def own_hashes(verdict: Verdict, odd: Mapping[int, str]) -> Verdict:
    """The same verdict with what the history's own hashes say. `odd`: entries that are not what the hash kept
    beside them was made of, and what is wrong with each."""
    if not odd:
        return verdict
    first = min(odd)
    point = Point(OWN_HASH, False, tr("Entry {seq} {what}.", seq=first, what=tr(odd[first])))
    return verdict.and_also(point, first=verdict.first or first)
