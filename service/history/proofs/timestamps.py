"""Timestamps (RFC 3161): an authority's word that a checkpoint was there at a moment, checked as of then.

What is stamped is the signed note of a checkpoint, byte for byte, by its SHA-256. A certificate that has run
out since does not matter, which is why its chain is kept beside the token.
"""

from __future__ import annotations

from datetime import UTC, datetime

from asn1crypto import tsp
from cryptography import x509
from rfc3161_client import (
    TimeStampResponse,
    Verifier,
    VerifierBuilder,
    decode_timestamp_response,
)

MOST_BYTES = 256 * 1024
SHA256_OID = "2.16.840.1.101.3.4.2.1"


class BadStamp(ValueError):
    """The answer is no timestamp of this checkpoint by this authority; the message says why."""


def check_stamp(response: bytes, chain: bytes, note: bytes, nonce: int | None = None) -> datetime:
    """The moment of a stamp, UTC. `response`: DER of the authority's whole answer; `chain`: PEM of the
    certificates up to the root, from elsewhere than the answer; `note`: what was stamped.

    BadStamp when anything does not fit as of the stamp's own moment.
    """
    told = _read(response)
    try:
        _verifier(chain, nonce).verify_message(told, note)
        if told.tst_info.message_imprint.hash_algorithm != x509.ObjectIdentifier(SHA256_OID):
            raise BadStamp("the stamp is over another hash than SHA-256")
        return told.tst_info.gen_time.astimezone(UTC)
    except BadStamp:
        raise
    except Exception as bad:  # whatever a foreign token makes the libraries raise, it is no stamp
        raise BadStamp(f"the stamp does not verify: {str(bad).rstrip('.')}") from bad


def _read(response: bytes) -> TimeStampResponse:
    if len(response) > MOST_BYTES:
        raise BadStamp("the answer is too long for a timestamp")
    try:
        return decode_timestamp_response(_in_order(response))
    except Exception as bad:  # as above
        raise BadStamp("the answer is no timestamp") from bad


def _in_order(response: bytes) -> bytes:
    """The answer with its certificates in DER's order. Authorities send the chain as it comes, as RFC 5652
    allows, and nothing that is signed is touched."""
    found = tsp.TimeStampResp.load(response, strict=True)["time_stamp_token"]["content"]["certificates"]
    whole, each = found.dump(), [one.dump() for one in found]
    head = whole[: len(whole) - sum(map(len, each))]
    return response.replace(whole, head + b"".join(sorted(each)), 1)


def read_chain(chain: bytes) -> list[x509.Certificate]:
    """The certificates of a PEM file. BadStamp when there is none, or none that signs itself."""
    try:
        found = x509.load_pem_x509_certificates(chain)
    except ValueError as bad:
        raise BadStamp("the authority's chain is no PEM file of certificates") from bad
    if not any(one.issuer == one.subject for one in found):
        raise BadStamp("the authority's chain holds no root")
    return found


def _verifier(chain: bytes, nonce: int | None) -> Verifier:
    found = read_chain(chain)
    return VerifierBuilder(
        roots=[one for one in found if one.issuer == one.subject],
        intermediates=[one for one in found if one.issuer != one.subject],
        nonce=nonce,
    ).build()
