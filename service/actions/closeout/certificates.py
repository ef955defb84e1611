"""The certificate of every release: told as it stood at the release, with its proof and what came since.

One walk over the entries tells them all, so a record writes every certificate at the cost of one replay.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from sqlmodel import Session

from service.actions.closeout.acts import Acts, lap_asked
from service.actions.closeout.marks import Marks
from service.actions.closeout.zones import Telling, zone_told
from service.actions.evidence.signing import CERTIFICATE
from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow
from service.domain.nouns.rules import RuleSheet, source_of
from service.domain.nouns.site import Project, Release, Site
from service.domain.patches.repair import Verdict
from service.domain.rule_sheet.effective import sheet_in
from service.domain.rule_sheet.floor_tests import Said
from service.domain.rule_sheet.rule_texts import TITLES, say_rule
from service.domain.words.measures import Units
from service.domain.words.speech import later, tr, trc
from service.history.certificate.proof import code_text
from service.history.certificate.told import Certificate, Happened, Proven, Since
from service.history.closeout.told import Act, MarkTold, PlacedTold, StartedTold, Undone
from service.history.facts import facts as f
from service.history.facts.entries import Entry, read_entry
from service.history.facts.evidence import CheckpointGiven, RecordMade
from service.history.facts.placing import PlacingStarted
from service.history.proofs.checkpoints import checkpoint_in, public_key
from service.history.proofs.merkle import Tree
from service.history.proofs.tlog_proof import EntryProof
from service.history.replay.standing import GATES, Standing, standing_of
from service.history.replay.touching import Move, step, touching
from service.history.sentences.sentences import sentence, who_did
from service.papers.certificate import certificate_pdf
from service.papers.drawing.scale_drawing import ScaleDrawing, draw_to_scale
from service.papers.setting.qr import qr_modules
from service.storage.history import books, trees
from service.storage.history.seen import SeenZone, names_in, release_seen_by, zone_seen_by

Names = Mapping[str, str]
TALLEST_MM = 127.0  # of the drawing: it stands on the first page below what is stated
# (number of the entry, size of the tree) to the hashes from the leaf's sibling up.
Prove = Callable[[int, int], Sequence[bytes]]
Wanted = Callable[[f.ZoneReleased], bool]


@dataclass(frozen=True)
class Certified:
    """A release's certificate, and the zone drawn true to scale as it stood then (None: no scale)."""

    told: Certificate
    drawing: ScaleDrawing | None

    @property
    def code(self) -> tuple[str, int]:
        """The QR code's dark modules as a path in modules, and how many a side has."""
        return qr_modules(code_text(self.told))

    def pdf(self) -> bytes:
        """The certificate on paper."""
        return certificate_pdf(self.told, self.drawing)


@dataclass(frozen=True)
class History:
    """Entries 1 to the last as a certificate is told from them: the bytes as they are kept and their hashes
    as they were recorded; `kept`: size and note of the checkpoints that left, the smallest first."""

    contents: Sequence[bytes]
    leaves: Sequence[bytes]
    names: Names
    kept: Sequence[tuple[int, str]]


@dataclass(frozen=True)
class CertificateView:
    """A release's certificate as somebody sees it. `others`: the zone's other releases, the newest first."""

    seen: SeenZone
    found: Certified
    others: tuple[Release, ...]


def certificate(desk: Desk, by: str, release_id: str) -> CertificateView:
    """One release's certificate as of now. NotFound when this person may not see it."""
    with desk.reading() as session:
        seen, _ = release_seen_by(session, by, release_id)
        allow(seen, "read the history")
        walk = _walked(session, seen.project.id, lambda fact: fact.release == release_id)
    own = (release for release in walk.site.releases.values() if release.zone_id == seen.zone.id)
    others = sorted((r for r in own if r.id != release_id), key=lambda release: -release.seq)
    [found] = walk.done()
    return CertificateView(seen, found, tuple(others))


def zone_certificates(desk: Desk, by: str, zone_id: str) -> tuple[SeenZone, list[Certified]]:
    """The certificates of all releases of a zone, the newest first."""
    with desk.reading() as session:
        seen = zone_seen_by(session, by, zone_id)
        allow(seen, "read the history")
        walk = _walked(session, seen.project.id, lambda fact: fact.zone == zone_id)
    return seen, walk.done()[::-1]


def certificates_of(history: History) -> list[Certified]:
    """The certificates of all releases in their order, told from these entries alone."""
    return _walk(history, lambda fact: True).done()


def _walk(history: History, wanted: Wanted) -> _Walk:
    """Proofs come from the leaves that were read anyhow: however many releases, nothing more is asked."""
    tree = Tree(history.leaves)
    return _Walk(history, lambda seq, size: tree.inclusion(seq - 1, size), wanted)


def _walked(session: Session, project_id: str, wanted: Wanted) -> _Walk:
    """The walk over a project's history as it is kept."""
    kept = books.contents(session, project_id)
    history = History(
        contents=[content for content, _ in kept],
        leaves=[leaf for _, leaf in kept],
        names=names_in(session, project_id),
        kept=trees.kept(session, project_id),
    )
    return _walk(history, wanted)


# --- the walk ---------------------------------------------------------------------------------------------


@dataclass
class _Watched:
    """A release told as it stood, and what came since as far as was read. `stood`: nothing took it yet.
    `goes_on`: concrete is being placed, begun under it."""

    release: Release
    told: Certificate
    drawing: ScaleDrawing | None
    since: Since
    stood: bool = True
    goes_on: bool = False


class _Walk:
    """Reads the entries once, tells each release the moment it is made, and watches what becomes of it."""

    def __init__(self, history: History, prove: Prove, wanted: Wanted) -> None:
        self.history, self.prove, self.wanted = history, prove, wanted
        self.entries = [read_entry(content) for content in history.contents]
        self.site, self.watched = Site(), list[_Watched]()
        self.laps: dict[tuple[str, str], int] = {}
        for entry in self.entries:
            self._take(entry)

    def _take(self, entry: Entry) -> None:
        """The next entry: put it into the site, and see what it is to each release watched."""
        moves, fact = step(self.site, entry), entry.fact
        self.laps |= lap_asked(self.site, entry)
        for watched in self.watched:
            self._follow(watched, entry, moves)
        if isinstance(fact, f.ZoneReleased) and self.wanted(fact):
            release = self.site.releases[fact.release]
            told = self._told(release, entry)
            drawing = draw_to_scale(self.site, release.zone_id, height_mm=TALLEST_MM)
            self.watched.append(_Watched(release, told, drawing, told.since))

    def done(self) -> list[Certified]:
        """The certificates, in the order of the releases, as of the last entry."""
        last = self.entries[-1]
        for watched in self.watched:
            self._end(watched, last.seq)
        return [
            Certified(
                replace(watched.told, since=replace(watched.since, up_to=last.seq, at=last.at)),
                watched.drawing,
            )
            for watched in self.watched
        ]

    def _follow(self, watched: _Watched, entry: Entry, moves: Sequence[Move]) -> None:
        zone, since = watched.release.zone_id, watched.since
        match entry.fact:
            case PlacingStarted(release=id) as fact if id == watched.release.id:
                began = StartedTold(fact.started_at, self._act(entry))
                watched.since, watched.goes_on = replace(since, started=began), True
            case f.ReleasePulledBack(release=id, reason=reason) if id == watched.release.id:
                since = self._end(watched, entry.seq)
                watched.since = replace(since, pulled_back=Undone(self._act(entry), reason))
                watched.stood = False
            case f.ZonePlaced(zone=placed) as fact if placed == zone:
                since = self._end(watched, entry.seq)
                told = PlacedTold(
                    fact.placed_at, fact.volume, fact.without_release, fact.blockers, self._act(entry)
                )
                watched.since = replace(since, placed=told, under=watched.stood)
                watched.stood = False
            case f.ZoneReleased(zone=again) if again == zone and since.later is None:
                since = self._end(watched, entry.seq)
                watched.since = replace(since, later=self._act(entry))
                watched.stood = False
            case _ if watched.stood and self._moved(watched, entry, moves):
                happened = Happened(self._sentence(entry), entry.at, entry.seq)
                watched.since, watched.stood = replace(since, fell=happened), False

    def _end(self, watched: _Watched, seq: int) -> Since:
        """What was found while placing went on, told once: when it ends, or as of the last entry."""
        since = watched.since
        if watched.goes_on and since.started is not None:
            site, standing = self.site, standing_of(self.site, watched.release.zone_id)
            assert site.project is not None, "a release in its project"
            marks = Marks(site, Acts(self.entries[:seq], self.history.names, site.project.units), self.laps)
            own = marks.of(standing.zone, standing.verdicts)
            told = (*own, *_reaching_in(site, standing, marks))
            new = tuple(mark for mark in told if mark.act.seq > since.started.act.seq and mark.undone is None)
            watched.since, watched.goes_on = replace(since, found=new), False
        return watched.since

    def _moved(self, watched: _Watched, entry: Entry, moves: Sequence[Move]) -> bool:
        """Whether this entry took the release's force: only what can touch the zone is asked about."""
        zone = watched.release.zone_id
        if isinstance(entry.fact, f.ZoneWithdrawn) and entry.fact.zone == zone:
            return True
        return bool(touching(self.site, zone, moves)) and standing_of(self.site, zone).fallen

    # --- telling one release ------------------------------------------------------------------------------

    def _told(self, release: Release, entry: Entry) -> Certificate:
        project, fact = self.site.project, entry.fact
        assert project is not None and isinstance(fact, f.ZoneReleased), "a release in its project"
        standing = standing_of(self.site, release.zone_id)
        standing = replace(standing, verdicts=_verdicts(self.site, release, standing))
        acts = Acts(self.entries[: entry.seq], self.history.names, project.units)
        marks = Marks(self.site, acts, self.laps)
        content = self.history.contents[entry.seq - 1]
        return Certificate(
            release=release.id,
            project=project.id,
            project_name=project.name,
            units=project.units,
            time_zone=project.time_zone,
            act=self._act(entry),
            statement=release.statement,
            version=release.version,
            digest=release.digest,
            numbers=numbers_in_force(sheet_in(self.site, standing.zone), project),
            not_asked=release.not_asked_for,
            withdrawn=fact.withdrawn,
            zone=zone_told(Telling(self.site, acts, marks, self.laps), standing),
            reaching_in=_reaching_in(self.site, standing, marks),
            entry=content.decode(),
            leaf=self.history.leaves[entry.seq - 1].hex(),
            proof=self._proof(entry.seq),
            since=Since(entry.seq, entry.at),
        )

    def _proof(self, seq: int) -> Proven | None:
        """The earliest kept checkpoint that covers the entry, with the way to its root."""
        covering = next(((size, note) for size, note in self.history.kept if size >= seq), None)
        if covering is None or covering[0] > len(self.entries):
            return None
        size, note = covering
        given = self.entries[size - 1].fact
        assert isinstance(given, CheckpointGiven | RecordMade), "what leaves is an entry first"
        hashes, content = tuple(self.prove(seq, size)), self.history.contents[seq - 1]
        return Proven(
            proof=EntryProof(seq - 1, hashes, note, content),
            checkpoint=checkpoint_in(note),
            with_release=size == seq + 1 and getattr(given, "way", "") == CERTIFICATE,
            key=public_key(given.key),
        )

    def _act(self, entry: Entry) -> Act:
        return Act(who_did(entry.by, self.history.names), entry.role, entry.at, entry.seq)

    def _sentence(self, entry: Entry) -> str:
        assert self.site.project is not None, "a history starts with its project"
        return sentence(entry, self.history.names, self.site.project.units)


def _verdicts(site: Site, release: Release, standing: Standing) -> dict[str, Verdict]:
    """How each mark stood, by the gate that judged the release."""
    gate = GATES.get(release.version)
    return standing.verdicts if gate is None else gate.decide(gate.gather(site, release.zone_id))[1]


def _reaching_in(site: Site, standing: Standing, marks: Marks) -> tuple[MarkTold, ...]:
    """Neighbours' marks that reach into the zone, told as its own are."""
    here = [site.defects[facts.id] for facts in standing.facts.defects]
    ids = {mark.id for mark in here if mark.zone_id != standing.zone.id}
    zones = sorted({site.defects[id].zone_id for id in ids}, key=lambda id: site.zones[id].letter)
    return tuple(
        told for zone in zones for told in marks.of(site.zones[zone], standing.verdicts) if told.id in ids
    )


MORE_WORDS = {"collar_length_factor": later("{number} times the circumference")}


def numbers_in_force(sheet: RuleSheet, project: Project) -> tuple[Said, ...]:
    """Every number that holds in a zone and every choice made, each with where it comes from."""
    units: Units = project.units
    numbers = [
        Said(
            tr(title),
            tr(MORE_WORDS.get(name, "{number}"), number=say_rule(sheet, name, units)),
            tr(getattr(sheet, name).source),
        )
        for name, title in TITLES.items()
    ]
    choices = (
        (tr("Repair that counts"), "repair_methods", ", ".join(map(tr, sheet.repair_methods)) or tr("none")),
        (
            tr("Second look"),
            "second_look",
            tr("asked for on every patch") if sheet.second_look else tr("not asked for"),
        ),
        (
            tr("Asked of the gate besides"),
            "gate_demands",
            ", ".join(map(tr, sheet.gate_demands)) or trc("demands", "nothing"),
        ),
    )
    return (*numbers, *(Said(title, words, tr(source_of(sheet, name))) for title, name, words in choices))
