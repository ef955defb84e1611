"""The papers that go into a record: the closeout, and the certificate of every release."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from service.actions.closeout.certificates import History, certificates_of
from service.actions.closeout.paper import paper_of
from service.domain.nouns.site import Site
from service.history.certificate.told import FELL_AWAY, PLACED_UNDER, PULLED_BACK, STANDS
from service.history.facts.entries import Entry
from service.papers.record.index_page import Link
from service.papers.setting.times import moment

CLOSEOUT = "closeout.pdf"
BECAME = {
    PULLED_BACK: "It was pulled back.",
    FELL_AWAY: "It fell away: what it released is no longer what is there.",
    PLACED_UNDER: "The zone was placed under it.",
    STANDS: "It stood when this was told.",
}


def papers(
    site: Site, entries: Sequence[Entry], names: Mapping[str, str], history: History, key: str
) -> Iterator[tuple[Link, bytes]]:
    """Each paper as a PDF with how it is told, from these entries alone. `key`: the signing one, base64."""
    yield (
        Link(CLOSEOUT, "the closeout", "what lies under the slab, with drawings true to scale"),
        paper_of(site, entries, names, key=key),
    )
    for found in certificates_of(history):
        told = found.told
        words = (
            f"Certificate of the release of zone {told.zone.letter}, {moment(told.act.at, told.time_zone)}"
        )
        yield Link(f"certificates/{told.name}.pdf", words, BECAME[told.since.word]), found.pdf()
