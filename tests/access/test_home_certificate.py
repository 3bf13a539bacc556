"""The certificate at home: what it vouches for, how long, who may read its key; checked by OpenSSL."""

import asyncio
import ipaddress
import ssl
import stat
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID
from starlette.testclient import TestClient

from fallowside.access import authority
from fallowside.access.authority import Certificate
from fallowside.api import trusting
from fallowside.api.home_certificate import HomeCertificate

NOW = datetime.now(UTC)
NAMES = ("192.168.1.7", "fd00::7", "shed.local", "localhost", "127.0.0.1")
LONGEST_DAYS = 825
"""Apple, "Requirements for trusted certificates in iOS 13 and macOS 10.15", support page 103769: certificates
of servers hold for 825 days or fewer, name the server in the subject alternative name, are signed with
SHA-2 and say `serverAuth`; also where a person added the authority."""


@pytest.fixture
def made(tmp_path: Path) -> Certificate:
    return authority.certificate(tmp_path / "certificates", NAMES, NOW)


def leaf(made: Certificate) -> x509.Certificate:
    return x509.load_pem_x509_certificate(made.certificate.read_bytes())


def greeted(made: Certificate, name: str, files: tuple[Path, Path] | None = None) -> None:
    """Greet a server over TLS, in memory, as a client that trusts the authority (OpenSSL checks)."""
    client = ssl.create_default_context(cafile=made.authority)
    server = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    server.load_cert_chain(*(files or (made.certificate, made.key)))
    up, down = ssl.MemoryBIO(), ssl.MemoryBIO()
    one = client.wrap_bio(down, up, server_hostname=name)
    other = server.wrap_bio(up, down, server_side=True)
    for _ in range(4):
        for side in (one, other):
            with suppress(ssl.SSLWantReadError):
                side.do_handshake()
    assert one.version() == "TLSv1.3"


@pytest.mark.parametrize("name", NAMES)
def test_a_phone_that_trusts_the_authority_trusts_the_server_by_every_name(
    made: Certificate, name: str
) -> None:
    greeted(made, name)


def test_by_another_name_it_is_not_trusted(made: Certificate) -> None:
    with pytest.raises(ssl.SSLCertVerificationError):
        greeted(made, "192.168.1.8")


@pytest.mark.parametrize("name", ["bank.example", "203.0.113.9"])
def test_even_with_its_key_the_authority_can_not_vouch_for_the_world(
    made: Certificate, tmp_path: Path, name: str
) -> None:
    signer = x509.load_pem_x509_certificate(made.authority.read_bytes())
    key = authority._key(made.authority.with_suffix(".key"))
    forged_key = ec.generate_private_key(ec.SECP256R1())
    forged = (
        authority._begun(authority._named(name), signer.subject, forged_key.public_key(), NOW, 30)
        .add_extension(x509.SubjectAlternativeName([authority._alternative(name)]), critical=False)
        .sign(key, hashes.SHA256())
    )
    files = tmp_path / "forged.pem", tmp_path / "forged.key"
    files[0].write_bytes(forged.public_bytes(serialization.Encoding.PEM))
    files[1].write_bytes(authority._secret(forged_key))
    with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree"):
        greeted(made, name, files)


def test_it_is_what_phones_ask_of_a_server(made: Certificate) -> None:
    found = leaf(made)
    life = found.not_valid_after_utc - found.not_valid_before_utc
    assert timedelta(days=authority.RENEW_DAYS) < life <= timedelta(days=LONGEST_DAYS)
    usage = found.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    assert list(usage) == [ExtendedKeyUsageOID.SERVER_AUTH]
    names = found.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    assert names.get_values_for_type(x509.DNSName) == ["shed.local", "localhost"]
    assert names.get_values_for_type(x509.IPAddress) == [
        ipaddress.ip_address(one) for one in ("192.168.1.7", "fd00::7", "127.0.0.1")
    ]
    assert isinstance(found.signature_hash_algorithm, hashes.SHA256)


def test_keys_are_for_their_owner_only(made: Certificate) -> None:
    for file in made.key.parent.iterdir():
        assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert stat.S_IMODE(made.key.parent.stat().st_mode) == 0o700


def test_the_authority_is_made_once_and_the_certificate_renewed_in_time(made: Certificate) -> None:
    folder = made.key.parent
    before_due = NOW + timedelta(days=authority.LEAF_DAYS - authority.RENEW_DAYS - 1)
    assert not authority.certificate(folder, NAMES, before_due).renewed
    later = authority.certificate(folder, NAMES, before_due + timedelta(days=2))
    assert later.renewed
    assert later.until > made.until
    assert later.fingerprint == made.fingerprint


def test_a_new_address_is_vouched_for(made: Certificate) -> None:
    moved = authority.certificate(made.key.parent, ("192.168.1.99",), NOW)
    assert moved.renewed
    greeted(moved, "192.168.1.99")


def test_a_name_it_may_not_vouch_for_does_not_make_it_renew_for_ever(made: Certificate) -> None:
    folder = made.key.parent
    authority.certificate(folder, (*NAMES, "garden.example", "203.0.113.9", "other-bare-name"), NOW)
    assert not authority.certificate(folder, (*NAMES, "other-bare-name"), NOW).renewed


def test_a_running_server_takes_the_renewed_certificate(tmp_path: Path) -> None:
    clock = [NOW]
    home = HomeCertificate(tmp_path / "certificates", lambda: ["localhost"], lambda: clock[0])
    loaded: list[Path] = []

    class Context:
        def load_cert_chain(self, certificate: Path, key: Path) -> None:
            loaded.append(certificate)

    async def run() -> None:
        keeping = asyncio.create_task(home.keep_fresh(Context(), 0.001))  # type: ignore[arg-type]
        await asyncio.sleep(0.1)
        assert loaded == []
        clock[0] += timedelta(days=authority.LEAF_DAYS)
        while not loaded:
            await asyncio.sleep(0.01)
        keeping.cancel()

    asyncio.run(run())
    assert loaded[0].name == "server.pem"


# -- the page that says how to trust it ----------------------------------------------------------


def test_the_help_page_serves_the_certificate_and_nothing_else(made: Certificate) -> None:
    page = TestClient(trusting.build_page(made.authority, made.fingerprint, "https://192.168.1.7:8000"))
    answer = page.get(trusting.DOWNLOAD)
    assert answer.headers["content-type"] == "application/x-x509-ca-cert"
    assert x509.load_der_x509_certificate(answer.content).fingerprint(hashes.SHA256()).hex(":").upper() == (
        made.fingerprint
    )
    assert b"PRIVATE" not in answer.content
    for path in ("/authority.key", "/certificates/authority.key", "/../authority.key", "/api/health"):
        assert page.get(path).status_code == 404


def test_the_help_page_names_the_steps_and_asks_nobody_else(made: Certificate) -> None:
    page = TestClient(trusting.build_page(made.authority, made.fingerprint, 'https://h/"><script>'))
    answer = page.get("/")
    for words in ("Android", "iPhone", "A computer", made.fingerprint):
        assert words in answer.text
    assert "<script>" not in answer.text
    assert "default-src 'none'" in answer.headers["content-security-policy"]
    assert answer.text.count("<main>") == answer.text.count("</main></html>") == 1
    assert "unsafe" not in answer.headers["content-security-policy"]


@pytest.mark.parametrize(
    ("asked", "language", "said"),
    [("de-AT,de;q=0.9,en;q=0.5", "de", "Zertifikat"), ("ja", "ja", "証明書"), ("xx", "en", "certificate")],
)
def test_the_help_page_speaks_the_phones_language(
    made: Certificate, asked: str, language: str, said: str
) -> None:
    page = TestClient(trusting.build_page(made.authority, made.fingerprint, "https://192.168.1.7:8000"))
    answer = page.get("/", headers={"Accept-Language": asked})
    assert f'<html lang="{language}">' in answer.text
    assert said in answer.text
    assert answer.headers["content-language"] == language
