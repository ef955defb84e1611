"""Timestamps by an authority: OpenSSL signs them here, and OpenSSL verifies what was kept, years on."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from service.actions.evidence import signing, timestamping
from service.actions.frame.desk import Authority, Desk
from service.actions.upkeep.checking import check_histories
from service.domain.words.refusals import Conflict, NotAllowed
from service.history.facts.evidence import CheckpointGiven, TimestampReceived
from service.history.proofs.timestamps import BadStamp, check_stamp, read_chain
from service.storage.history import books
from tests import authority
from tests.authority import Running, openssl
from tests.cast import Cast

pytestmark = pytest.mark.skipif(shutil.which("openssl") is None, reason="openssl is not on this machine")


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    with authority.running(tmp_path_factory.mktemp("authority") / "ts") as told:
        yield told


@pytest.fixture
def stamped(desk: Desk, running: Running) -> Desk:
    """The desk of a service that is told of the authority."""
    running.says = None
    return replace(desk, authority=Authority(running.url, running.chain))


def note_of(desk: Desk, cast: Cast, size: int) -> bytes:
    return signing.kept_checkpoint(desk, cast.inspector.id, cast.project_id, size)[1].encode()


def test_a_stamp_is_kept_with_its_chain_and_told_in_the_history(stamped: Desk, cast: Cast) -> None:
    before = datetime.now(UTC) - timedelta(seconds=2)
    stamp = timestamping.stamp_checkpoint(stamped, cast.inspector.id, cast.project_id)
    with stamped.reading() as session:
        given, received = books.entries(session, cast.project_id)[-2:]
    assert isinstance(given.fact, CheckpointGiven) and given.fact.way == "timestamp"
    assert received.fact == TimestampReceived(given.seq, stamp.token_sha256, stamp.chain_sha256, stamp.at)
    assert before <= stamp.at <= datetime.now(UTC) + timedelta(seconds=2)
    token, chain = stamped.blobs.read(stamp.token_sha256), stamped.blobs.read(stamp.chain_sha256)
    assert check_stamp(token, chain, note_of(stamped, cast, stamp.size)) == stamp.at
    assert timestamping.stamps(stamped, cast.inspector.id, cast.project_id) == [stamp]
    assert check_histories(stamped).faults == ()


def test_a_checkpoint_that_was_given_already_is_the_one_that_is_stamped(stamped: Desk, cast: Cast) -> None:
    size = signing.keep_checkpoint(stamped, cast.inspector.id, cast.project_id)
    assert timestamping.stamp_checkpoint(stamped, cast.manager.id, cast.project_id).size == size


def test_nothing_new_is_not_stamped_again(stamped: Desk, cast: Cast, running: Running) -> None:
    timestamping.stamp_checkpoint(stamped, cast.inspector.id, cast.project_id)
    asked = len(running.asked)
    with pytest.raises(Conflict) as refused:
        timestamping.stamp_checkpoint(stamped, cast.inspector.id, cast.project_id)
    assert (refused.value.code, len(running.asked)) == ("stamped-already", asked)


def test_openssl_verifies_the_stamp_as_of_its_time_and_not_when_the_certificate_has_run_out(
    stamped: Desk, cast: Cast, tmp_path: Path
) -> None:
    """H5 of the figures to hold: with the clock five years on the token verifies as of its own time only."""
    stamp = timestamping.stamp_checkpoint(stamped, cast.inspector.id, cast.project_id)
    (tmp_path / "token.tsr").write_bytes(stamped.blobs.read(stamp.token_sha256))
    (tmp_path / "chain.pem").write_bytes(stamped.blobs.read(stamp.chain_sha256))
    (tmp_path / "checkpoint.txt").write_bytes(note_of(stamped, cast, stamp.size))
    verify = ("ts", "-verify", "-data", "checkpoint.txt", "-in", "token.tsr", "-CAfile", "chain.pem")
    then, later = stamp.at, stamp.at + timedelta(days=5 * 365)
    held = openssl(*verify, "-attime", str(int(then.timestamp())), folder=tmp_path)
    assert (held.returncode, held.stdout.strip()) == (0, "Verification: OK")
    run_out = openssl(*verify, "-attime", str(int(later.timestamp())), folder=tmp_path)
    assert run_out.returncode != 0 and "certificate has expired" in run_out.stderr
    (tmp_path / "checkpoint.txt").write_bytes(
        note_of(stamped, cast, stamp.size).replace(b"laptight", b"Laptight")
    )
    assert openssl(*verify, "-attime", str(int(then.timestamp())), folder=tmp_path).returncode != 0


@pytest.mark.parametrize("says", [b"", b"no stamp at all", 500, 302, b"x" * 300_000])
def test_an_answer_that_is_no_stamp_is_not_kept(
    stamped: Desk, cast: Cast, running: Running, says: bytes | int
) -> None:
    running.says = says
    with pytest.raises(Conflict) as refused:
        timestamping.stamp_checkpoint(stamped, cast.inspector.id, cast.project_id)
    assert refused.value.code in ("bad-stamp", "no-answer")
    assert timestamping.stamps(stamped, cast.inspector.id, cast.project_id) == []


def test_a_stamp_of_something_else_or_of_another_asking_is_refused(
    stamped: Desk, cast: Cast, running: Running
) -> None:
    stamp = timestamping.stamp_checkpoint(stamped, cast.inspector.id, cast.project_id)
    token = stamped.blobs.read(stamp.token_sha256)
    with pytest.raises(BadStamp, match="Mismatch"):
        check_stamp(token, running.chain, b"another note")
    with pytest.raises(BadStamp, match="Nonce"):
        check_stamp(token, running.chain, note_of(stamped, cast, stamp.size), nonce=7)
    running.says = token  # an old answer, played again
    signing.keep_checkpoint(stamped, cast.inspector.id, cast.project_id)
    with pytest.raises(Conflict) as refused:
        timestamping.stamp_checkpoint(stamped, cast.inspector.id, cast.project_id)
    assert refused.value.code == "bad-stamp"


def test_an_authority_that_nobody_named_is_not_believed(
    stamped: Desk, cast: Cast, running: Running, tmp_path: Path
) -> None:
    stamp = timestamping.stamp_checkpoint(stamped, cast.inspector.id, cast.project_id)
    other = authority.make_certificates(tmp_path / "other").read_bytes()
    with pytest.raises(BadStamp):
        check_stamp(stamped.blobs.read(stamp.token_sha256), other, note_of(stamped, cast, stamp.size))


@pytest.mark.parametrize("chain", [b"", b"-----BEGIN CERTIFICATE-----\nAAAA\n-----END CERTIFICATE-----\n"])
def test_a_chain_without_certificates_is_refused(chain: bytes) -> None:
    with pytest.raises(BadStamp):
        read_chain(chain)


def test_no_bit_of_a_stamp_can_be_changed_unseen(stamped: Desk, cast: Cast, running: Running) -> None:
    """Every fifth byte of the token: what still verifies says the same moment about the same note."""
    stamp = timestamping.stamp_checkpoint(stamped, cast.inspector.id, cast.project_id)
    token, note = stamped.blobs.read(stamp.token_sha256), note_of(stamped, cast, stamp.size)
    passed = []
    for place in range(0, len(token), 5):
        changed = bytearray(token)
        changed[place] ^= 1 << place % 8
        try:
            if check_stamp(bytes(changed), running.chain, note) != stamp.at:
                passed.append(place)
        except BadStamp:
            continue
    assert passed == []


def test_a_crew_lead_cannot_have_a_checkpoint_stamped(stamped: Desk, cast: Cast, running: Running) -> None:
    asked = len(running.asked)
    with pytest.raises(NotAllowed):
        timestamping.stamp_checkpoint(stamped, cast.lead.id, cast.project_id)
    assert len(running.asked) == asked


def test_a_service_that_is_told_of_no_authority_says_so(desk: Desk, cast: Cast) -> None:
    with pytest.raises(Conflict) as refused:
        timestamping.stamp_checkpoint(desk, cast.inspector.id, cast.project_id)
    assert refused.value.code == "no-authority"


def test_whoever_runs_the_service_has_every_history_stamped_once(stamped: Desk, cast: Cast) -> None:
    assert timestamping.stamp_all(stamped) == 2
    assert timestamping.stamp_all(stamped) == 0
    assert check_histories(stamped).faults == ()
