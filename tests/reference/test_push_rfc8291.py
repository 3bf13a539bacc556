"""Sealing against the worked example of the standard.

Source: M. Thomson, "Message Encryption for Web Push", RFC 8291 (2017), section 5 and appendix A
(https://www.rfc-editor.org/rfc/rfc8291): all values below, as the editors' own text of it has them.
"""

from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

from fallowside.remind import push
from fallowside.remind.push import Browser, decoded, encoded

PLAINTEXT = "V2hlbiBJIGdyb3cgdXAsIEkgd2FudCB0byBiZSBhIHdhdGVybWVsb24"
SENDER_PUBLIC = "BP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8wEqKK6PBru3jl7A8"
SENDER_PRIVATE = "yfWPiYE-n46HLnH0KqZOF1fJJU3MYrct3AELtAQ-oRw"
BROWSER_PUBLIC = "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4"
BROWSER_PRIVATE = "q1dXpw3UpT5VOmu_cf_v6ih07Aems3njxI-JWgLcM94"
SALT = "DGv6ra1nlYgDCS1FRnbzlw"
SECRET = "BTBZMqHH6r4Tts7J_aSIgg"
SHARED = "kyrL1jIIOHEzg3sM2ZWRHDRB62YACZhhSlknJ672kSs"
KEYING = "S4lYMb_L0FxCeq0WhDx813KgSYqU26kOyzWUdsXYyrg"
KEY, NONCE = "oIhVW04MRdy2XN9CiKLxTg", "4h_95klXJ5E_qnoN"
HEADER = (
    "DGv6ra1nlYgDCS1FRnbzlwAAEABBBP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6Tlz"
    "AC8wEqKK6PBru3jl7A8"
)
SEALED = "8pfeW0KbunFT06SuDKoJH9Ql87S1QUrdirN6GcG7sFz1y1sqLgVi1VhjVkHsUoEsbI_0LpXMuGvnzQ"


def private(scalar: str) -> ec.EllipticCurvePrivateKey:
    return ec.derive_private_key(int.from_bytes(decoded(scalar), "big"), ec.SECP256R1())


def test_the_example_is_sealed_to_the_same_bytes() -> None:
    browser = Browser("https://push.example", decoded(BROWSER_PUBLIC), decoded(SECRET))
    body = push.seal(decoded(PLAINTEXT), browser, private(SENDER_PRIVATE), decoded(SALT))
    assert body == decoded(HEADER) + decoded(SEALED)
    assert len(decoded(HEADER)) == 86


def test_the_keys_of_the_example_belong_together() -> None:
    """Guards the values themselves: a slip in copying one would show here."""
    assert encoded(push.point_of(private(SENDER_PRIVATE).public_key())) == SENDER_PUBLIC
    assert encoded(push.point_of(private(BROWSER_PRIVATE).public_key())) == BROWSER_PUBLIC
    both = private(BROWSER_PRIVATE).exchange(ec.ECDH(), private(SENDER_PRIVATE).public_key())
    assert encoded(both) == SHARED
    info = b"WebPush: info\0" + decoded(BROWSER_PUBLIC) + decoded(SENDER_PUBLIC)
    assert encoded(HKDF(hashes.SHA256(), 32, decoded(SECRET), info).derive(both)) == KEYING


def test_a_browser_of_the_standard_opens_it() -> None:
    """Section 3.4 from the browser's side, with the key and nonce the appendix gives."""
    from cryptography.hazmat.primitives.ciphers.aead import AESGCM

    opened = AESGCM(decoded(KEY)).decrypt(decoded(NONCE), decoded(SEALED), None)
    assert opened == decoded(PLAINTEXT) + b"\x02"
