"""A browser that opens what was sealed for it, by the standard's own steps and another HKDF than ours."""

import hashlib
import hmac
import os
import struct
from dataclasses import dataclass, field

from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from fallowside.remind.push import encoded, point_of


@dataclass(frozen=True)
class OtherBrowser:
    """The far end: a key pair, a secret, and the steps of RFC 8188, 2, and RFC 8291, 3, backwards."""

    private: ec.EllipticCurvePrivateKey = field(
        default_factory=lambda: ec.generate_private_key(ec.SECP256R1())
    )
    secret: bytes = field(default_factory=lambda: os.urandom(16))

    @property
    def point(self) -> bytes:
        return point_of(self.private.public_key())

    def keys(self) -> dict[str, str]:
        """Give what a page hands to the service."""
        return {"p256dh": encoded(self.point), "auth": encoded(self.secret)}

    def opened(self, body: bytes) -> bytes:
        """Decrypt a body of one record."""
        salt, (size, length) = body[:16], struct.unpack(">IB", body[16:21])
        sender = body[21 : 21 + length]
        assert len(body) - 21 - length <= size
        shared = self.private.exchange(
            ec.ECDH(), ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), sender)
        )
        keying = _expanded(_hmac(self.secret, shared), b"WebPush: info\0" + self.point + sender, 32)
        extracted = _hmac(salt, keying)
        key = _expanded(extracted, b"Content-Encoding: aes128gcm\0", 16)
        nonce = _expanded(extracted, b"Content-Encoding: nonce\0", 12)
        padded = AESGCM(key).decrypt(nonce, body[21 + length :], None).rstrip(b"\0")
        assert padded.endswith(b"\x02")
        return padded[:-1]


def _hmac(key: bytes, content: bytes) -> bytes:
    return hmac.new(key, content, hashlib.sha256).digest()


def _expanded(key: bytes, info: bytes, length: int) -> bytes:
    """Expand by one block: RFC 5869, 2.3, where at most 32 bytes are wanted."""
    return _hmac(key, info + b"\x01")[:length]
