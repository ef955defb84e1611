"""Accounts: who gets in, who is slowed down, and what a changed password ends."""

from __future__ import annotations

import hashlib
import threading

import pytest
from sqlmodel import select

from service.actions.entrance import accounts, passwords, resets
from service.actions.frame.desk import Desk
from service.actions.people import people
from service.actions.upkeep.checking import check_histories
from service.domain.nouns.roles import CREW_LEAD, INSPECTOR, PROJECT_MANAGER
from service.domain.words.refusals import BadInput, Conflict, NotAllowed, NotFound, NotSignedIn, SlowDown
from service.history.facts.evidence import PasswordLinkMade, PasswordLinkUsed
from service.history.facts.facts import PersonJoined
from service.history.sentences.evidence import OPERATOR
from service.storage.accounts.people import Person
from service.storage.history import books, slices
from service.storage.tables.tables import PersonRow, ResetRow, SignInRow
from tests.cast import PASSWORD, Cast, Clock, enter, start

HERE = "10.0.0.1"


def test_a_person_signs_in_and_is_known_by_the_token(desk: Desk, cast: Cast) -> None:
    token, _ = accounts.sign_in(desk, cast.lead.email.upper(), PASSWORD, HERE)
    assert accounts.person_for(desk, token) == cast.lead


def test_a_token_holds_at_least_128_bits_and_only_its_sha256_is_kept(desk: Desk, cast: Cast) -> None:
    """ASVS 5.0.0, 7.2.3: at least 128 bits. Base64 carries 6 bits a sign."""
    token, _ = accounts.sign_in(desk, cast.lead.email, PASSWORD, HERE)
    with desk.reading() as session:
        kept = [row.token_sha256 for row in session.exec(select(SignInRow))]
    assert len(token) * 6 >= 128
    assert kept == [hashlib.sha256(token.encode()).hexdigest()]


def test_the_password_is_kept_as_argon2id_with_at_least_the_advised_cost(desk: Desk) -> None:
    """OWASP Password Storage: argon2id with m=19456 (19 MiB), t=2, p=1 at the least."""
    accounts.make_person(desk, "new@example.com", "New", "four plain grey doors")
    with desk.reading() as session:
        kept = session.exec(select(PersonRow.password_hash)).one()
    assert kept.startswith("$argon2id$v=19$m=19456,t=2,p=1$")


def test_a_page_token_does_not_open_the_interface_for_programs(desk: Desk, cast: Cast) -> None:
    token, _ = accounts.sign_in(desk, cast.lead.email, PASSWORD, HERE)
    assert accounts.person_for(desk, token, accounts.PROGRAM) is None


def test_a_sign_in_ends_after_thirty_days(desk: Desk, cast: Cast, clock: Clock) -> None:
    token, ends_at = accounts.sign_in(desk, cast.lead.email, PASSWORD, HERE)
    clock.now = ends_at
    assert accounts.person_for(desk, token) is None
    clock.go_on(seconds=-1)
    assert accounts.person_for(desk, token) == cast.lead


def test_signing_out_ends_this_sign_in_and_no_other(desk: Desk, cast: Cast) -> None:
    gone, _ = accounts.sign_in(desk, cast.lead.email, PASSWORD, HERE)
    kept, _ = accounts.sign_in(desk, cast.lead.email, PASSWORD, HERE)
    accounts.sign_out(desk, gone)
    assert accounts.person_for(desk, gone) is None
    assert accounts.person_for(desk, kept) == cast.lead


def test_known_and_unknown_address_are_refused_in_the_same_words(desk: Desk, cast: Cast) -> None:
    told = []
    for email in (cast.lead.email, "nobody@example.com"):
        with pytest.raises(NotSignedIn) as refusal:
            accounts.sign_in(desk, email, "not the password", HERE)
        told.append((refusal.value.message, refusal.value.code))
    assert told[0] == told[1]


def test_an_unknown_address_costs_one_hash_like_a_known_one(
    desk: Desk, cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    worked: list[str] = []
    fits = passwords.fits

    def counted(password_hash: str, password: str) -> bool:
        worked.append(password_hash[:30])
        return fits(password_hash, password)

    monkeypatch.setattr(passwords, "fits", counted)
    for email in (cast.lead.email, "nobody@example.com"):
        with pytest.raises(NotSignedIn):
            accounts.sign_in(desk, email, "not the password", HERE)
    assert len(worked) == 2
    assert worked[0] == worked[1], "same kind, same cost"


def test_ten_failures_in_a_quarter_hour_slow_the_account_down(desk: Desk, cast: Cast, clock: Clock) -> None:
    for count in range(10):
        with pytest.raises(NotSignedIn):
            accounts.sign_in(desk, cast.lead.email, "not the password", f"10.0.1.{count}")
    with pytest.raises(SlowDown) as slow:
        accounts.sign_in(desk, cast.lead.email, PASSWORD, "10.0.2.1")
    assert slow.value.after_s == 15 * 60
    clock.go_on(minutes=15)
    accounts.sign_in(desk, cast.lead.email, PASSWORD, "10.0.2.1")


def test_thirty_failures_a_minute_slow_an_address_down_and_not_the_next_one(desk: Desk, cast: Cast) -> None:
    for count in range(30):
        with pytest.raises(NotSignedIn):
            accounts.sign_in(desk, f"{count}@example.com", "x", HERE)
    with pytest.raises(SlowDown):
        accounts.sign_in(desk, cast.lead.email, PASSWORD, HERE)
    accounts.sign_in(desk, cast.lead.email, PASSWORD, "10.0.0.2")


def test_a_password_that_fits_is_not_counted_as_a_failure(desk: Desk, cast: Cast) -> None:
    for _ in range(12):
        accounts.sign_in(desk, cast.lead.email, PASSWORD, HERE)


def test_tries_sent_all_at_once_cannot_slip_past_the_count(desk: Desk, cast: Cast) -> None:
    together, told = threading.Barrier(16), []

    def attempt() -> None:
        together.wait()
        try:
            accounts.sign_in(desk.fresh(), cast.lead.email, "not the password", HERE)
        except (NotSignedIn, SlowDown) as refusal:
            told.append(type(refusal))

    threads = [threading.Thread(target=attempt) for _ in range(16)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert (told.count(NotSignedIn), told.count(SlowDown)) == (10, 6)


@pytest.mark.parametrize(
    "password",
    [
        "password", "Password1!", "12345678", "87654321", "aaaaaaaa", "abababab", "qwertyuiop", "letmein123",
        "concrete2026", "drowssap", "1q2w3e4r", "abcdabcd", "laptight1",
    ],
)  # fmt: skip
def test_the_first_passwords_anybody_would_guess_are_refused(desk: Desk, password: str) -> None:
    with pytest.raises(BadInput) as refusal:
        accounts.make_person(desk, "new@example.com", "New", password)
    assert list(refusal.value.fields) == ["password"]


@pytest.mark.parametrize("password", ["new.person@example.com", "new.person", "Newton Person"])
def test_ones_own_name_and_address_are_no_password(desk: Desk, password: str) -> None:
    with pytest.raises(BadInput):
        accounts.make_person(desk, "new.person@example.com", "Newton Person", password)


@pytest.mark.parametrize(
    "password",
    ["blue gate", "nur kleine buchstaben", "x" * 32 + "y" * 31 + "z", "ünïcödé wörds", "a b " * 250],
)
def test_no_kinds_of_signs_are_asked_for_and_long_ones_are_taken(desk: Desk, password: str) -> None:
    """ASVS 5.0.0, 6.2.5 and 6.2.9: no composition rules; 64 signs and more are taken."""
    accounts.make_person(desk, "new@example.com", "New", password)
    accounts.sign_in(desk, "new@example.com", password, HERE)


@pytest.mark.parametrize("password", ["7 signs", "q" + "wxyz" * 250])
def test_too_short_and_too_long_are_told(desk: Desk, password: str) -> None:
    with pytest.raises(BadInput):
        accounts.make_person(desk, "new@example.com", "New", password)


def test_one_address_has_one_account(desk: Desk, cast: Cast) -> None:
    with pytest.raises(Conflict):
        accounts.make_person(desk, f" {cast.lead.email.upper()} ", "Again", "four plain grey doors")


@pytest.mark.parametrize(
    "email", ["", "name", "a@", "@b", "a b@c", "a@b@c", "a@b\nBcc: c@d", "a" * 255 + "@b"]
)
def test_what_cannot_be_an_address_is_refused(desk: Desk, email: str) -> None:
    with pytest.raises(BadInput):
        accounts.make_person(desk, email, "New", "four plain grey doors")


# --- changing it -----------------------------------------------------------------------------------------


def test_a_new_password_ends_every_other_sign_in(desk: Desk, cast: Cast) -> None:
    mine, _ = accounts.sign_in(desk, cast.lead.email, PASSWORD, HERE)
    other, _ = accounts.sign_in(desk, cast.lead.email, PASSWORD, HERE, accounts.PROGRAM)
    accounts.change_password(
        desk, cast.lead.id, PASSWORD, "four plain grey doors", address=HERE, keep_token=mine
    )
    assert accounts.person_for(desk, mine) == cast.lead
    assert accounts.person_for(desk, other, accounts.PROGRAM) is None
    with pytest.raises(NotSignedIn):
        accounts.sign_in(desk, cast.lead.email, PASSWORD, HERE)
    accounts.sign_in(desk, cast.lead.email, "four plain grey doors", HERE)


def test_changing_asks_for_the_present_password(desk: Desk, cast: Cast) -> None:
    with pytest.raises(BadInput) as refusal:
        accounts.change_password(desk, cast.lead.id, "wrong one", "four plain grey doors", address=HERE)
    assert list(refusal.value.fields) == ["old_password"]
    accounts.sign_in(desk, cast.lead.email, PASSWORD, HERE)


# --- reset links -----------------------------------------------------------------------------------------


def _joined_by_themselves(desk: Desk, project_id: str, person: Person, role: str) -> None:
    with desk.writing() as session:
        site = slices.project_site(session, project_id)
        fact = PersonJoined(person.id, role)
        books.append(session, site, project_id, desk.clock(), person.id, role, fact)


def test_a_reset_link_works_once_and_signs_everybody_out(desk: Desk, cast: Cast) -> None:
    old, _ = accounts.sign_in(desk, cast.lead.email, PASSWORD, HERE)
    token = resets.make_reset_for_email(desk, cast.lead.email)
    assert resets.reset_shown(desk, token) == cast.lead
    assert resets.reset_shown(desk, token) == cast.lead, "looking uses nothing up"
    resets.use_reset(desk, token, "four plain grey doors")
    assert accounts.person_for(desk, old) is None
    accounts.sign_in(desk, cast.lead.email, "four plain grey doors", HERE)
    with pytest.raises(NotFound):
        resets.use_reset(desk, token, "five plain grey doors")


def test_a_reset_link_ends_after_an_hour(desk: Desk, cast: Cast, clock: Clock) -> None:
    token = resets.make_reset_for_email(desk, cast.lead.email)
    clock.go_on(minutes=60)
    assert resets.reset_shown(desk, token) is None
    with pytest.raises(NotFound):
        resets.use_reset(desk, token, "four plain grey doors")


def test_using_one_reset_link_ends_the_others(desk: Desk, cast: Cast) -> None:
    first, second = (resets.make_reset_for_email(desk, cast.lead.email) for _ in range(2))
    resets.use_reset(desk, first, "four plain grey doors")
    assert resets.reset_shown(desk, second) is None


def test_only_the_sha256_of_a_reset_link_is_kept(desk: Desk, cast: Cast) -> None:
    token = resets.make_reset_for_email(desk, cast.lead.email)
    with desk.reading() as session:
        assert session.exec(select(ResetRow.token_sha256)).one() == hashlib.sha256(token.encode()).hexdigest()


def test_a_refused_password_does_not_use_the_link_up(desk: Desk, cast: Cast) -> None:
    token = resets.make_reset_for_email(desk, cast.lead.email)
    with pytest.raises(BadInput):
        resets.use_reset(desk, token, "password")
    assert resets.reset_shown(desk, token) == cast.lead


def test_many_uses_of_one_link_at_once_change_the_password_once(desk: Desk, cast: Cast) -> None:
    token = resets.make_reset_for_email(desk, cast.lead.email)
    together, done = threading.Barrier(12), []

    def use(number: int) -> None:
        together.wait()
        try:
            resets.use_reset(desk.fresh(), token, f"four plain grey doors {number}")
        except NotFound:
            return
        done.append(number)

    threads = [threading.Thread(target=use, args=(number,)) for number in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(done) == 1
    accounts.sign_in(desk, cast.lead.email, f"four plain grey doors {done[0]}", HERE)


def test_a_project_manager_makes_a_link_for_somebody_of_their_project(desk: Desk, cast: Cast) -> None:
    _joined_by_themselves(desk, cast.project_id, cast.lead, CREW_LEAD)
    token = resets.make_reset(desk, cast.manager.id, cast.lead.id)
    assert resets.reset_shown(desk, token) == cast.lead


def test_not_for_somebody_who_is_on_a_project_of_another_manager_too(desk: Desk, cast: Cast) -> None:
    _joined_by_themselves(desk, cast.project_id, cast.lead, CREW_LEAD)
    _joined_by_themselves(desk, cast.other_project_id, cast.lead, CREW_LEAD)
    with pytest.raises(NotAllowed):
        resets.make_reset(desk, cast.manager.id, cast.lead.id)


def test_not_by_anybody_but_a_project_manager(desk: Desk, cast: Cast) -> None:
    _joined_by_themselves(desk, cast.project_id, cast.lead, CREW_LEAD)
    with pytest.raises(NotAllowed):
        resets.make_reset(desk, cast.inspector.id, cast.lead.id)


def test_a_stranger_is_not_there_for_a_manager(desk: Desk, cast: Cast) -> None:
    for stranger in (cast.outsider.id, cast.other_manager.id, "no such id"):
        with pytest.raises(NotFound):
            resets.make_reset(desk, cast.manager.id, stranger)


def test_putting_a_stranger_on_a_project_does_not_give_their_account_away(desk: Desk, cast: Cast) -> None:
    thief = enter(desk, "Thea Thief")
    trap = start(desk, "A trap", {thief: PROJECT_MANAGER})
    people.invite(desk, thief.id, trap, cast.outsider.email, CREW_LEAD)
    with pytest.raises(NotAllowed):
        resets.make_reset(desk, thief.id, cast.outsider.id)


def told_of_links(desk: Desk, project_id: str) -> list[tuple[str, str, str]]:
    """What a history says of password links: which, of whom, by whom."""
    with desk.reading() as session:
        entries = books.of_types(session, project_id, (PasswordLinkMade.type, PasswordLinkUsed.type))
    assert check_histories(desk).faults == ()
    return [(entry.type, entry.fact.person, entry.by) for entry in entries]  # type: ignore[union-attr]


def test_the_history_says_who_made_a_link_that_lets_them_act_as_another_and_that_it_was_used(
    desk: Desk, cast: Cast
) -> None:
    _joined_by_themselves(desk, cast.project_id, cast.inspector, INSPECTOR)
    token = resets.make_reset(desk, cast.manager.id, cast.inspector.id)
    made = ("password-link-made", cast.inspector.id, cast.manager.id)
    assert told_of_links(desk, cast.project_id) == [made]
    resets.use_reset(desk, token, "four plain grey doors")
    used = ("password-link-used", cast.inspector.id, cast.inspector.id)
    assert told_of_links(desk, cast.project_id) == [made, used]


def test_a_link_made_by_whoever_runs_the_service_stands_in_every_history_of_that_person(
    desk: Desk, cast: Cast
) -> None:
    _joined_by_themselves(desk, cast.other_project_id, cast.lead, CREW_LEAD)
    resets.make_reset_for_email(desk, cast.lead.email)
    for project_id in (cast.project_id, cast.other_project_id):
        assert told_of_links(desk, project_id) == [("password-link-made", cast.lead.id, OPERATOR)]


def test_a_link_that_is_refused_leaves_no_word_in_any_history(desk: Desk, cast: Cast) -> None:
    with pytest.raises(NotAllowed):
        resets.make_reset(desk, cast.inspector.id, cast.lead.id)
    assert told_of_links(desk, cast.project_id) == []
