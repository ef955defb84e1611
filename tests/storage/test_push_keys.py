"""Messages for one phone, held to the example that RFC 8291 works through."""

from __future__ import annotations

import pytest
from cryptography.hazmat.primitives.asymmetric import ec

from service.storage.doors.push_keys import LONGEST, from_text, sealed, to_text

# RFC 8291, section 5 and appendix A, letter by letter.
PLAIN = b"When I grow up, I want to be a watermelon"
PHONE = "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4"
AUTH = "BTBZMqHH6r4Tts7J_aSIgg"
SENDER = "yfWPiYE-n46HLnH0KqZOF1fJJU3MYrct3AELtAQ-oRw"
SALT = "DGv6ra1nlYgDCS1FRnbzlw"
BODY = (
    "DGv6ra1nlYgDCS1FRnbzlwAAEABBBP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8w"
    "EqKK6PBru3jl7A_yl95bQpu6cVPTpK4Mqgkf1CXztLVBSt2Ks3oZwbuwXPXLWyouBWLVWGNWQexSgSxsj_Qulcy4a-fN"
)


def test_the_example_of_the_standard_comes_out_byte_for_byte() -> None:
    sender = ec.derive_private_key(int.from_bytes(from_text(SENDER), "big"), ec.SECP256R1())
    assert to_text(sealed(PLAIN, PHONE, AUTH, salt=from_text(SALT), sender=sender)) == BODY


def test_no_two_messages_share_a_salt_or_a_key() -> None:
    first, second = (sealed(PLAIN, PHONE, AUTH) for _ in range(2))
    assert first[:16] != second[:16] and first[21:86] != second[21:86]


def test_one_message_fits_one_record_of_4096_octets_and_not_one_more() -> None:
    """RFC 8291 section 4: push services need not take more than 4096 octets."""
    assert len(sealed(b"x" * LONGEST, PHONE, AUTH)) <= 4096
    with pytest.raises(ValueError):
        sealed(b"x" * (LONGEST + 1), PHONE, AUTH)


@pytest.mark.parametrize(
    ("phone", "auth"), [("", AUTH), (PHONE[:-2], AUTH), (PHONE, "BTBZ"), ("é" * 87, AUTH)]
)
def test_keys_that_are_none_are_refused(phone: str, auth: str) -> None:
    with pytest.raises(ValueError):
        sealed(PLAIN, phone, auth)
