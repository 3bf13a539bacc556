"""A message sealed for one browser and signed as ours: RFC 8291, RFC 8188 and RFC 8292.

The message is encrypted to the browser's own key, so that the push service which carries it reads
nothing. A signed token says who sends, so that nobody else can send to a browser that let us.
"""

import base64
import json
import os
import struct
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

from cryptography.exceptions import InvalidKey
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import decode_dss_signature
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

from fallowside.store.errors import StoreProblem, Unreachable

RECORD_BYTES = 4096
MOST_BYTES = RECORD_BYTES - 17 - 86
"""Of a message, so that the whole body is one record every push service carries (RFC 8030, 7.2)."""
_LAST_RECORD = b"\x02"
_SALT_BYTES, _SECRET_BYTES, _POINT_BYTES, _NUMBER_BYTES = 16, 16, 65, 32
_GOOD_FOR_S = 12 * 3600
"""A token is good for this long; RFC 8292, 2, allows a day."""
_CURVE = ec.SECP256R1()


class BadSubscription(StoreProblem):
    """Keys of a browser that can't be used."""

    code = "bad_subscription"


@dataclass(frozen=True, slots=True)
class Browser:
    """Where a browser takes messages, and the keys it gave.

    Attributes:
        endpoint: The address at its push service.
        key: Its public key, an uncompressed point of P-256. [65 bytes]
        secret: What it shares with us alone. [16 bytes]
    """

    endpoint: str
    key: bytes
    secret: bytes


def seal(
    message: bytes, browser: Browser, own: ec.EllipticCurvePrivateKey | None = None, salt: bytes | None = None
) -> bytes:
    """Encrypt a message for a browser, as one record of `aes128gcm` (RFC 8291, 3; RFC 8188, 2).

    Args:
        message: At most `MOST_BYTES`.
        browser: Whom it is for.
        own: A key for this one message; drawn, if left out.
        salt: Likewise. [16 bytes]

    Raises:
        BadSubscription: the browser's key is no point of the curve.
        ValueError: the message is too long.
    """
    if len(message) > MOST_BYTES:
        raise ValueError(f"a message holds at most {MOST_BYTES} bytes, not {len(message)}")
    own = own or ec.generate_private_key(_CURVE)
    salt = salt or os.urandom(_SALT_BYTES)
    own_point = point_of(own.public_key())
    shared = own.exchange(ec.ECDH(), _public(browser.key))
    keying = _derived(shared, browser.secret, b"WebPush: info\0" + browser.key + own_point, _NUMBER_BYTES)
    key = _derived(keying, salt, b"Content-Encoding: aes128gcm\0", 16)
    nonce = _derived(keying, salt, b"Content-Encoding: nonce\0", 12)
    header = salt + struct.pack(">IB", RECORD_BYTES, len(own_point)) + own_point
    return header + AESGCM(key).encrypt(nonce, message + _LAST_RECORD, None)


def _derived(secret: bytes, salt: bytes, info: bytes, length: int) -> bytes:
    return HKDF(hashes.SHA256(), length, salt, info).derive(secret)


def _public(point: bytes) -> ec.EllipticCurvePublicKey:
    try:
        return ec.EllipticCurvePublicKey.from_encoded_point(_CURVE, point)
    except (ValueError, InvalidKey) as error:
        raise BadSubscription("this browser's key is no point of the curve; let it subscribe anew") from error


def browser(endpoint: str, key: str, secret: str) -> Browser:
    """Read what a browser gave, and refuse keys that can't be used.

    Raises:
        BadSubscription: not such keys.
    """
    try:
        read = Browser(endpoint, decoded(key), decoded(secret))
    except ValueError as error:
        raise BadSubscription("keys are written in base64url") from error
    if len(read.key) != _POINT_BYTES or len(read.secret) != _SECRET_BYTES:
        raise BadSubscription(f"the key has {_POINT_BYTES} bytes, the secret {_SECRET_BYTES}; these have not")
    _public(read.key)
    return read


def token(endpoint: str, own: ec.EllipticCurvePrivateKey, contact: str, now_us: int) -> str:
    """Give the header `Authorization` that says who sends (RFC 8292, 2 and 3).

    Args:
        endpoint: Where the message goes; the token is good for this push service only.
        own: Our key, the one the browser was given.
        contact: How a push service reaches whoever runs this: `mailto:` or `https:`.
        now_us: The clock. [microseconds]
    """
    parts = urlsplit(endpoint)
    claims = {
        "aud": f"{parts.scheme}://{parts.netloc}",
        "exp": now_us // 1_000_000 + _GOOD_FOR_S,
        "sub": contact,
    }
    head = encoded(_json({"typ": "JWT", "alg": "ES256"}))
    signed = f"{head}.{encoded(_json(claims))}"
    r, s = decode_dss_signature(own.sign(signed.encode(), ec.ECDSA(hashes.SHA256())))
    signature = r.to_bytes(_NUMBER_BYTES, "big") + s.to_bytes(_NUMBER_BYTES, "big")
    return f"vapid t={signed}.{encoded(signature)}, k={encoded(point_of(own.public_key()))}"


def own_key(file: Path) -> ec.EllipticCurvePrivateKey:
    """Give our key, made once and kept where only its owner may read it.

    Raises:
        Unreachable: the file can't be read or written, or is no such key.
    """
    try:
        try:
            key = serialization.load_pem_private_key(file.read_bytes(), password=None)
        except FileNotFoundError:
            key = ec.generate_private_key(_CURVE)
            secret = key.private_bytes(
                serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
            )
            number = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            with os.fdopen(number, "wb") as out:
                out.write(secret)
    except (OSError, ValueError) as error:
        raise Unreachable(f"the key for messages to phones, {file}, can't be used: {error}") from error
    if not isinstance(key, ec.EllipticCurvePrivateKey):
        raise Unreachable(f"{file} is not a key for messages to phones; move it away and start again")
    return key


def point_of(key: ec.EllipticCurvePublicKey) -> bytes:
    """Give a public key as an uncompressed point. [65 bytes]"""
    return key.public_bytes(serialization.Encoding.X962, serialization.PublicFormat.UncompressedPoint)


def encoded(content: bytes) -> str:
    """Write bytes in base64url with no padding.

    >>> encoded(b"When I grow up")
    'V2hlbiBJIGdyb3cgdXA'
    """
    return base64.urlsafe_b64encode(content).rstrip(b"=").decode()


def decoded(text: str) -> bytes:
    """Read base64url, padded or not.

    Raises:
        ValueError: not base64url.
    """
    return base64.b64decode(text + "=" * (-len(text) % 4), altchars=b"-_", validate=True)


def _json(content: object) -> bytes:
    return json.dumps(content, separators=(",", ":")).encode()
