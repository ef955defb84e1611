"""Web push by the open standards: who this service is (RFC 8292), and messages that only one phone can read
(RFC 8291 over RFC 8188)."""

import base64
import hashlib
import hmac
import json
import os
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import decode_dss_signature
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
    load_pem_private_key,
)

from service.storage.doors.keys import NoSuchKey, write_once

FILE = "push-key.pem"
RECORD, POINT, AUTH, SALT = 4096, 65, 16, 16  # octets: RFC 8188 section 2.1, RFC 8291 sections 3.1 and 4
LONGEST = RECORD - 86 - 16 - 1  # what fits into one record beside header, tag and delimiter
TOKEN_LASTS = timedelta(hours=12)  # RFC 8292 section 2: at most 24 hours


@dataclass(frozen=True)
class PushKey:
    """The P-256 key this service is known by at push services."""

    private: ec.EllipticCurvePrivateKey

    @property
    def public_text(self) -> str:
        """What a browser subscribes with: the uncompressed point in base64url."""
        return to_text(_point(self.private.public_key()))

    def authorization(self, origin: str, contact: str, now: datetime) -> str:
        """The Authorization header for a push service of this origin. `contact`: mailto:, https: or empty."""
        claims: dict[str, object] = {"aud": origin, "exp": int((now + TOKEN_LASTS).timestamp())}
        if contact:
            claims["sub"] = contact
        head = {"typ": "JWT", "alg": "ES256"}
        told = ".".join(to_text(json.dumps(part, separators=(",", ":")).encode()) for part in (head, claims))
        r, s = decode_dss_signature(self.private.sign(told.encode(), ec.ECDSA(SHA256())))
        signature = to_text(r.to_bytes(32, "big") + s.to_bytes(32, "big"))
        return f"vapid t={told}.{signature}, k={self.public_text}"


def push_key(folder: Path) -> PushKey:
    """The key in this folder, beside the one that signs histories; made when there is none."""
    path = folder / FILE
    if not path.exists():
        private = ec.generate_private_key(ec.SECP256R1())
        write_once(path, private.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()))
    found = load_pem_private_key(path.read_bytes(), None)
    if not isinstance(found, ec.EllipticCurvePrivateKey) or not isinstance(found.curve, ec.SECP256R1):
        raise NoSuchKey(f"{FILE} is no P-256 key")
    return PushKey(found)


def sealed(
    message: bytes,
    p256dh: str,
    auth: str,
    *,
    salt: bytes | None = None,
    sender: ec.EllipticCurvePrivateKey | None = None,
) -> bytes:
    """The message as the body of a push to the phone with these keys, one record of `aes128gcm`.

    `salt` and `sender` are drawn anew for every message; a test gives them. ValueError for keys that are none
    or a message that is too long.
    """
    if len(message) > LONGEST:
        raise ValueError("the message is too long for a push")
    phone, secret = read_keys(p256dh, auth)
    sender = sender or ec.generate_private_key(ec.SECP256R1())
    salt = os.urandom(SALT) if salt is None else salt
    here, there = _point(sender.public_key()), _point(phone)
    shared = sender.exchange(ec.ECDH(), phone)
    ikm = _derived(secret, shared, b"WebPush: info\x00" + there + here, 32)
    key = _derived(salt, ikm, b"Content-Encoding: aes128gcm\x00", 16)
    nonce = _derived(salt, ikm, b"Content-Encoding: nonce\x00", 12)
    head = salt + RECORD.to_bytes(4, "big") + bytes([len(here)]) + here
    return head + AESGCM(key).encrypt(nonce, message + b"\x02", None)


def read_keys(p256dh: str, auth: str) -> tuple[ec.EllipticCurvePublicKey, bytes]:
    """A phone's public key and its secret. ValueError where they are none."""
    point, secret = from_text(p256dh), from_text(auth)
    if len(point) != POINT or len(secret) != AUTH:
        raise ValueError("no keys of a phone")
    return ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), point), secret


def _derived(salt: bytes, secret: bytes, info: bytes, length: int) -> bytes:
    """HKDF with SHA-256 (RFC 5869), of no more than one block."""
    key = hmac.new(salt, secret, hashlib.sha256).digest()
    return hmac.new(key, info + b"\x01", hashlib.sha256).digest()[:length]


def _point(public: ec.EllipticCurvePublicKey) -> bytes:
    return public.public_bytes(Encoding.X962, PublicFormat.UncompressedPoint)


def to_text(plain: bytes) -> str:
    return base64.urlsafe_b64encode(plain).rstrip(b"=").decode()


def from_text(text: str) -> bytes:
    """base64url without padding, read strictly. ValueError."""
    if not text.isascii():
        raise ValueError("not base64url")
    return base64.b64decode(text.encode() + b"=" * (-len(text) % 4), altchars=b"-_", validate=True)
