"""The closeout: what lies under the slab, who did what and when, and what tests its floor will need."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from service.actions.closeout.acts import Acts, laps_asked
from service.actions.closeout.film import materials_of, stray_lots
from service.actions.closeout.floor import CAUTIONS, floor_told
from service.actions.closeout.marks import Marks
from service.actions.closeout.zones import Telling, zone_told
from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow
from service.domain.gate.site_parts import SiteParts
from service.domain.nouns.rules import RuleSheet, not_asked_for, source_of
from service.domain.nouns.site import Site
from service.domain.rule_sheet.floor_tests import Said
from service.domain.rule_sheet.rule_sets import set_of
from service.domain.rule_sheet.rule_texts import TITLES, say_rule
from service.domain.words.measures import Units
from service.domain.words.speech import later, tr, trc
from service.history.closeout.whole import Closeout, Head, NumbersChanged, Somebody
from service.history.facts import evidence as e
from service.history.facts import facts as f
from service.history.facts import installed as g
from service.history.facts.entries import Entry
from service.history.proofs.checkpoints import fingerprint, in_fours, public_key
from service.history.replay.replay import replay
from service.history.replay.standing import standings_of
from service.history.sentences.sentences import sentence, who_did
from service.storage.history import books
from service.storage.history.seen import SeenProject, names_in, project_seen_by

MORE_WORDS = {"collar_length_factor": later("{number} times the circumference")}


@dataclass(frozen=True, slots=True)
class Read:
    """What a closeout is told from: the project as this person sees it, its entries, names and key."""

    seen: SeenProject
    entries: list[Entry]
    names: dict[str, str]
    key: str


def read_for_closeout(desk: Desk, by: str, project_id: str) -> Read:
    with desk.reading() as session:
        seen = project_seen_by(session, by, project_id)
        allow(seen, "read the history")
        entries = books.entries(session, project_id)
        names = names_in(session, project_id)
    return Read(seen, entries, names, desk.database.keys.current().public_text)


def closeout(desk: Desk, by: str, project_id: str) -> Closeout:
    """The closeout as the history stands now."""
    read = read_for_closeout(desk, by, project_id)
    return closeout_of(replay(read.entries), read.entries, read.names, key=read.key)


def closeout_of(site: Site, entries: Sequence[Entry], names: Mapping[str, str], *, key: str = "") -> Closeout:
    """The closeout of a site told from exactly these entries, 1 to the last. Reads nothing else.

    `site`: their replay. `names`: person id to name as it is told today; who is not in it is told as no
    longer named. `key`: the signing key in base64, for a history whose entries name none yet.
    """
    assert site.project is not None and entries, "a closeout of a project"
    units = site.project.units
    acts, laps = Acts(entries, names, units), laps_asked(entries)
    order = sorted(site.zones.values(), key=lambda z: (z.withdrawn is not None, len(z.letter), z.letter))
    telling = Telling(site, acts, Marks(site, acts, laps), laps)
    standings = standings_of(site, [zone.id for zone in order])
    parts = SiteParts(site)
    zones = tuple(
        zone_told(replace(telling, site=parts.of(id)), standing) for id, standing in standings.items()
    )
    head = _head(site, entries, key)
    return Closeout(
        head=head,
        numbers=tuple(_numbers(site.project.sheet, units)),
        numbers_changed=_changed(entries, acts),
        not_asked=not_asked_for(site.project.sheet),
        people=_people(entries, names),
        materials=materials_of(site, acts),
        stray_lots=stray_lots(site),
        zones=zones,
        releases=tuple(
            sorted((r for zone in zones for r in zone.releases), key=lambda release: release.act.seq)
        ),
        floor=floor_told(site, [zone for zone in order if zone.withdrawn is None], units),
        cautions=CAUTIONS,
        proof=_proof(head),
    )


def _head(site: Site, entries: Sequence[Entry], key: str) -> Head:
    assert site.project is not None, "a closeout of a project"
    given, last = 0, entries[-1]
    for entry in entries:
        if isinstance(entry.fact, e.CheckpointGiven | e.RecordMade):
            given, key = entry.seq, entry.fact.key
        elif isinstance(entry.fact, e.KeyChanged):
            key = entry.fact.key
    return Head(
        project=site.project.id,
        name=site.project.name,
        units=site.project.units,
        time_zone=site.project.time_zone,
        started=entries[0].at,
        up_to=last.seq,
        at=last.at,
        key=fingerprint(public_key(key)) if key else "",
        given=given,
    )


def _numbers(sheet: RuleSheet, units: Units) -> list[Said]:
    """Every number of the rule sheet and every choice on it, each with where it comes from."""
    told = [
        Said(
            tr(title),
            tr(MORE_WORDS.get(name, "{number}"), number=say_rule(sheet, name, units)),
            tr(getattr(sheet, name).source),
        )
        for name, title in TITLES.items()
    ]
    choices = [
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
        (tr("Hold points"), "hold_points", "; ".join(map(tr, sheet.hold_points)) or trc("steps", "none")),
    ]
    if sheet.sets:
        choices.append(
            (tr("Ready-made sets"), "sets", "; ".join(tr(set_of(name).name) for name in sheet.sets))
        )
    return [*told, *(Said(title, words, tr(source_of(sheet, name))) for title, name, words in choices)]


def _changed(entries: Sequence[Entry], acts: Acts) -> tuple[NumbersChanged, ...]:
    """Every change of the numbers since the project was started, in order."""
    return tuple(
        NumbersChanged(sentence(entry, acts.names, acts.units), acts.of(entry))
        for entry in entries
        if isinstance(entry.fact, f.RuleSheetChanged | g.NumbersRaised)
    )


def _people(entries: Sequence[Entry], names: Mapping[str, str]) -> tuple[Somebody, ...]:
    """Everybody who ever was on the project, in the order they came; the operator is nobody of it."""
    did: dict[str, int] = {}
    found: dict[str, Somebody] = {}
    for entry in entries:
        did[entry.by] = did.get(entry.by, 0) + 1
        match entry.fact:
            case f.PersonJoined(person=person, role=role):
                came = found[person].came if person in found else entry.at
                found[person] = Somebody(who_did(person, names), role, came, None, 0)
            case f.PersonLeft(person=person) if person in found:
                was = found[person]
                found[person] = Somebody(was.name, was.role, was.came, entry.at, 0)
    return tuple(
        Somebody(was.name, was.role, was.came, was.left, did.get(person, 0)) for person, was in found.items()
    )


def _proof(head: Head) -> tuple[str, ...]:
    """Where the proof of all this is, in sentences."""
    key = (
        tr("The key has the fingerprint {hash} (SHA-256 of the public key as DER).", hash=in_fours(head.key))
        if head.key
        else tr("No signing key is named in this history yet.")
    )
    given = (
        tr(
            "The newest checkpoint that had left the building by then is that of entry {seq}.",
            seq=f"{head.given:,}",
        )
        if head.given
        else tr("No checkpoint had left the building by then. Take one and keep it elsewhere.")
    )
    return (
        tr(
            "Told from the {n} entries of the history, which only grows: each entry is hashed into a "
            "tree (RFC 6962), and the tree's head is signed. {key}",
            n=f"{head.up_to:,}",
            key=key,
        ),
        tr(
            "{given} A checkpoint that somebody else has kept shows that nothing before it was changed "
            "since.",
            given=given,
        ),
        tr(
            "The proof itself is in the project's record, a ZIP: entries.jsonl holds every entry as its "
            "exact bytes, checkpoint the signed head, and verify.py checks all of it with no network."
        ),
        tr("This is a reading of the history. Where it and the history differ, the history stands."),
    )
