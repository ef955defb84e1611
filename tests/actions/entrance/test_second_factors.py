"""Second factors: codes of RFC 6238, once each, and what asks for them before a sign-in."""

from __future__ import annotations

import base64
import threading
from collections.abc import Callable
from contextlib import suppress
from datetime import UTC, datetime

import pyotp
import pytest
from sqlmodel import select

from service.actions.entrance import accounts, factor_setup, resets, second_step
from service.actions.entrance.accounts import HALF, PAGE, PROGRAM, SET_UP
from service.actions.entrance.second_factors import RECOVERY_CODES, code_at, step_of
from service.actions.frame.desk import Desk
from service.actions.people import people
from service.domain.words.refusals import BadInput, Conflict, NotFound, NotSignedIn, SlowDown
from service.storage.tables.factors import RecoveryCodeRow, SecondFactorRow
from tests.cast import PASSWORD, Cast, Clock

HERE = "10.0.0.1"
# RFC 6238, appendix B: of SHA-1, whose seed is "12345678901234567890"; eight digits there, the last six here.
SEED = base64.b32encode(b"12345678901234567890").decode()
VECTORS = [
    (59, "94287082"), (1111111109, "07081804"), (1111111111, "14050471"), (1234567890, "89005924"),
    (2000000000, "69279037"), (20000000000, "65353130"),
]  # fmt: skip


@pytest.mark.parametrize(("seconds", "code"), VECTORS)
def test_codes_are_those_of_rfc_6238(seconds: int, code: str) -> None:
    assert code_at(SEED, seconds // 30) == code[-6:]
    assert step_of(SEED, code[-6:], datetime.fromtimestamp(seconds, UTC), 0) == seconds // 30


@pytest.mark.parametrize(("off", "taken"), [(-60, False), (-30, True), (0, True), (30, True), (60, False)])
def test_a_code_is_taken_one_step_before_and_after_its_own(off: int, taken: bool) -> None:
    now = 1_234_567_890
    code = code_at(SEED, now // 30)
    found = step_of(SEED, code, datetime.fromtimestamp(now + off, UTC), 0)
    assert (found is not None) == taken


@pytest.fixture
def secret(desk: Desk, cast: Cast) -> str:
    """What the manager's codes are made from."""
    return set_up(desk, cast)[0]


def set_up(desk: Desk, cast: Cast) -> tuple[str, list[str]]:
    token, _ = accounts.open_sign_in(desk, cast.manager.id)
    new = factor_setup.start_codes(desk, cast.manager, PASSWORD, HERE)
    proven = factor_setup.prove_codes(
        desk, cast.manager, shown(new.secret, desk.clock), "my phone", token=token, address=HERE, device=""
    )
    return new.secret, proven.recovery


def shown(secret: str, clock: Callable[[], datetime], steps: int = 0) -> str:
    """The code an app shows now, by the library and not by the service."""
    return pyotp.TOTP(secret).at(int(clock().timestamp()), counter_offset=steps)


def half(desk: Desk, cast: Cast) -> str:
    begun = accounts.begin(desk, cast.manager.email, PASSWORD, HERE)
    assert begun.kind == HALF
    return begun.token


def finish(desk: Desk, token: str, code: str) -> str:
    return second_step.finish_by_code(desk, token, code, HERE, "phone").token


def test_the_password_alone_opens_nothing_where_there_is_a_second_factor(
    desk: Desk, cast: Cast, secret: str
) -> None:
    token = half(desk, cast)
    assert [accounts.person_for(desk, token, kind) for kind in (PAGE, PROGRAM, SET_UP)] == [None] * 3


def test_password_and_code_sign_in_with_a_new_token(
    desk: Desk, cast: Cast, secret: str, clock: Clock
) -> None:
    token = half(desk, cast)
    clock.go_on(seconds=30)
    whole = finish(desk, token, shown(secret, clock))
    assert whole != token
    assert accounts.person_for(desk, whole) == cast.manager
    assert accounts.person_for(desk, token, HALF) is None, "the half one is used up"


def test_a_code_works_once(desk: Desk, cast: Cast, secret: str, clock: Clock) -> None:
    clock.go_on(seconds=30)
    code = shown(secret, clock)
    finish(desk, half(desk, cast), code)
    with pytest.raises(BadInput) as refusal:
        finish(desk, half(desk, cast), code)
    assert list(refusal.value.fields) == ["code"]


@pytest.mark.parametrize("which", ["code", "recovery code"])
def test_many_sendings_of_one_code_at_once_sign_in_once(
    desk: Desk, cast: Cast, clock: Clock, which: str
) -> None:
    secret, recovery = set_up(desk, cast)
    clock.go_on(seconds=30)
    code = shown(secret, clock) if which == "code" else recovery[0]
    halves = [half(desk, cast) for _ in range(8)]
    together, done = threading.Barrier(8), []

    def attempt(token: str) -> None:
        together.wait()
        with suppress(BadInput):
            done.append(finish(desk.fresh(), token, code))

    threads = [threading.Thread(target=attempt, args=(token,)) for token in halves]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(done) == 1


def test_the_code_that_proved_them_signs_nobody_in(desk: Desk, cast: Cast, secret: str, clock: Clock) -> None:
    with pytest.raises(BadInput):
        finish(desk, half(desk, cast), shown(secret, clock))


def test_a_code_of_before_the_last_one_is_not_taken_any_more(
    desk: Desk, cast: Cast, secret: str, clock: Clock
) -> None:
    clock.go_on(seconds=60)
    finish(desk, half(desk, cast), shown(secret, clock))
    with pytest.raises(BadInput):
        finish(desk, half(desk, cast), shown(secret, clock, -1))


def test_codes_are_throttled_like_passwords(desk: Desk, cast: Cast, secret: str, clock: Clock) -> None:
    """NIST SP 800-63B-4 section 3.2.2: far below 100 failures in a row."""
    token = half(desk, cast)
    for _ in range(10):
        with pytest.raises(BadInput):
            finish(desk, token, "000000")
    clock.go_on(seconds=30)
    with pytest.raises(SlowDown):
        finish(desk, token, shown(secret, clock))


def test_what_is_half_done_ends_after_ten_minutes(desk: Desk, cast: Cast, secret: str, clock: Clock) -> None:
    token = half(desk, cast)
    clock.go_on(minutes=10)
    with pytest.raises(NotSignedIn):
        finish(desk, token, shown(secret, clock))


def test_a_program_is_told_that_a_code_is_needed_and_signs_in_with_it(
    desk: Desk, cast: Cast, secret: str, clock: Clock
) -> None:
    clock.go_on(seconds=30)
    for code, told in (("", "second-factor-needed"), ("000000", "wrong-code")):
        with pytest.raises(NotSignedIn) as refusal:
            accounts.sign_in(desk, cast.manager.email, PASSWORD, HERE, PROGRAM, code)
        assert refusal.value.code == told
    token, _ = accounts.sign_in(desk, cast.manager.email, PASSWORD, HERE, PROGRAM, shown(secret, clock))
    assert accounts.person_for(desk, token, PROGRAM) == cast.manager


def test_who_has_a_second_factor_is_told_to_nobody_without_the_password(
    desk: Desk, cast: Cast, secret: str
) -> None:
    with pytest.raises(NotSignedIn) as refusal:
        accounts.sign_in(desk, cast.manager.email, "not the password", HERE, PROGRAM)
    assert refusal.value.code == "wrong-password"


def test_a_link_for_a_new_password_does_not_go_round_the_second_factor(
    desk: Desk, cast: Cast, secret: str
) -> None:
    token = resets.make_reset_for_email(desk, cast.manager.email)
    person = resets.use_reset(desk, token, "four plain grey doors")
    assert accounts.begun(desk, person.id).kind == HALF


def test_whoever_runs_the_service_takes_a_lost_one_away(desk: Desk, cast: Cast, secret: str) -> None:
    resets.make_reset_for_email(desk, cast.manager.email, factor_lost=True)
    assert accounts.begin(desk, cast.manager.email, PASSWORD, HERE).kind == PAGE


# --- recovery codes --------------------------------------------------------------------------------------


def test_ten_recovery_codes_come_with_the_first_factor_and_each_works_once(desk: Desk, cast: Cast) -> None:
    _, codes = set_up(desk, cast)
    assert len(set(codes)) == RECOVERY_CODES == 10
    finish(desk, half(desk, cast), codes[3].upper().replace("-", " "))
    with pytest.raises(BadInput):
        finish(desk, half(desk, cast), codes[3])
    finish(desk, half(desk, cast), codes[4])


def test_recovery_codes_hold_more_than_112_bits_and_only_their_hash_is_kept(desk: Desk, cast: Cast) -> None:
    """ASVS 5.0.0, 6.5.2: below 112 bits a code needs a hash like a password. 32 signs are 5 bits."""
    _, codes = set_up(desk, cast)
    plain = codes[0].replace("-", "")
    assert len(plain) * 5 >= 112
    with desk.reading() as session:
        kept = " ".join(session.exec(select(RecoveryCodeRow.code_sha256)))
    assert plain not in kept and codes[0] not in kept


def test_new_recovery_codes_take_the_place_of_the_old(desk: Desk, cast: Cast) -> None:
    _, old = set_up(desk, cast)
    new = factor_setup.new_recovery(desk, cast.manager, PASSWORD, HERE)
    with pytest.raises(BadInput):
        finish(desk, half(desk, cast), old[0])
    finish(desk, half(desk, cast), new[0])


# --- setting up ------------------------------------------------------------------------------------------


def test_the_secret_is_sealed_with_a_key_outside_the_database(desk: Desk, cast: Cast, secret: str) -> None:
    with desk.reading() as session:
        kept = session.exec(select(SecondFactorRow.secret)).one()
    assert secret not in kept
    assert base64.b32decode(secret) not in base64.urlsafe_b64decode(kept)
    assert len(base64.b32decode(secret)) * 8 >= 160, "RFC 4226, section 4, R6"


def test_setting_up_asks_for_the_password(desk: Desk, cast: Cast) -> None:
    with pytest.raises(BadInput) as refusal:
        factor_setup.start_codes(desk, cast.manager, "not the password", HERE)
    assert list(refusal.value.fields) == ["password"]


def test_codes_that_nobody_proved_are_not_asked_for(desk: Desk, cast: Cast) -> None:
    factor_setup.start_codes(desk, cast.manager, PASSWORD, HERE)
    assert accounts.begin(desk, cast.manager.email, PASSWORD, HERE).kind == PAGE


def test_a_second_factor_ends_every_other_sign_in(desk: Desk, cast: Cast) -> None:
    other, _ = accounts.open_sign_in(desk, cast.manager.id)
    set_up(desk, cast)
    assert accounts.person_for(desk, other) is None


def test_one_is_taken_away_by_its_own_person_with_the_password(desk: Desk, cast: Cast, secret: str) -> None:
    token, _ = accounts.open_sign_in(desk, cast.manager.id)
    (one,) = factor_setup.my_factors(desk, cast.manager, token).factors
    with pytest.raises(NotFound):
        factor_setup.remove(desk, cast.inspector, one.id, PASSWORD, token=token, address=HERE)
    with pytest.raises(BadInput):
        factor_setup.remove(desk, cast.manager, one.id, "not the password", token=token, address=HERE)
    factor_setup.remove(desk, cast.manager, one.id, PASSWORD, token=token, address=HERE)
    assert accounts.begin(desk, cast.manager.email, PASSWORD, HERE).kind == PAGE
    assert factor_setup.my_factors(desk, cast.manager, token).recovery_left == 0


# --- where one is asked of everybody in the office -------------------------------------------------------


@pytest.fixture
def strict(desk: Desk) -> Desk:
    desk.asks_factor = True
    return desk


def test_office_and_inspector_set_one_up_before_anything_else_and_a_crew_lead_does_not(
    strict: Desk, cast: Cast
) -> None:
    kinds = [
        accounts.begin(strict, one.email, PASSWORD, HERE).kind
        for one in (cast.manager, cast.inspector, cast.lead)
    ]
    assert kinds == [SET_UP, SET_UP, PAGE]


def test_setting_it_up_makes_the_waiting_sign_in_a_whole_one(strict: Desk, cast: Cast) -> None:
    token = accounts.begin(strict, cast.manager.email, PASSWORD, HERE).token
    assert accounts.person_for(strict, token) is None
    assert factor_setup.setter_up(strict, token) == cast.manager
    new = factor_setup.start_codes(strict, cast.manager, PASSWORD, HERE)
    proven = factor_setup.prove_codes(
        strict, cast.manager, shown(new.secret, strict.clock), "", token=token, address=HERE, device=""
    )
    assert proven.begun is not None
    assert accounts.person_for(strict, proven.begun.token) == cast.manager
    assert factor_setup.setter_up(strict, token) is None


def test_a_program_is_told_to_have_one_set_up_first(strict: Desk, cast: Cast) -> None:
    with pytest.raises(NotSignedIn) as refusal:
        accounts.sign_in(strict, cast.manager.email, PASSWORD, HERE, PROGRAM)
    assert refusal.value.code == "second-factor-missing"


def test_the_last_one_is_not_taken_away_there(strict: Desk, cast: Cast) -> None:
    set_up(strict, cast)
    token, _ = accounts.open_sign_in(strict, cast.manager.id)
    (one,) = factor_setup.my_factors(strict, cast.manager, token).factors
    with pytest.raises(Conflict):
        factor_setup.remove(strict, cast.manager, one.id, PASSWORD, token=token, address=HERE)


def test_somebody_made_project_manager_meanwhile_is_asked_at_the_next_sign_in(
    strict: Desk, cast: Cast
) -> None:
    people.change_role(strict, cast.manager.id, cast.project_id, cast.lead.id, "project manager")
    assert accounts.begin(strict, cast.lead.email, PASSWORD, HERE).kind == SET_UP
