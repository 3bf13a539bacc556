"""A certificate of our own for a machine at home, and the local authority that vouches for it.

The authority is made once; a phone that trusts it trusts every certificate it signs later. So that its
key, should it be stolen, is of little use, it can vouch only for names and addresses of a home network,
and its certificate says so itself. What it signs lasts a season and is renewed long before its end.
"""

import ipaddress
import os
import socket
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from fallowside.store.errors import Unreachable

AUTHORITY_DAYS = 3650
LEAF_DAYS = 90
RENEW_DAYS = 30
"""A certificate with fewer days left is renewed."""
_EARLIER = timedelta(days=1)
"""Valid a little before it is made: the clock of a phone may be behind."""

_HOME_NAMES = ("localhost", "local", "home.arpa", "internal", "lan", "home")
_HOME_NETWORKS = (
    "10.0.0.0/8",
    "172.16.0.0/12",
    "192.168.0.0/16",
    "169.254.0.0/16",
    "127.0.0.0/8",
    "fc00::/7",
    "fe80::/10",
    "::1/128",
)


@dataclass(frozen=True, slots=True)
class Certificate:
    """Where the files of a server's certificate are, and what a person may compare.

    Attributes:
        certificate: The server's own.
        key: Its secret key.
        authority: The authority's certificate, which phones are to trust.
        fingerprint: SHA-256 of that, as phones show it.
        names: Names and addresses it holds for.
        until: Its last moment.
        renewed: Whether it was made just now.
    """

    certificate: Path
    key: Path
    authority: Path
    fingerprint: str
    names: tuple[str, ...]
    until: datetime
    renewed: bool


def certificate(folder: Path, names: Sequence[str], now: datetime) -> Certificate:
    """Give the certificate of a machine; made or renewed where that is due.

    Args:
        folder: Where it is kept, made if it isn't there; nobody else may read it.
        names: Names and addresses the machine is reached by; those that aren't of a home are left out.
        now: The instant.

    Raises:
        Unreachable: the folder can't be written.
    """
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        authority_file, authority_key = folder / "authority.pem", folder / "authority.key"
        if not (authority_file.is_file() and authority_key.is_file()):
            _make_authority(authority_file, authority_key, now)
        authority = x509.load_pem_x509_certificate(authority_file.read_bytes())
        wanted = tuple(dict.fromkeys(filter(is_of_a_home, names)))
        file, key = folder / "server.pem", folder / "server.key"
        renewed = not _still_good(file, key, authority, wanted, now)
        if renewed:
            _make_leaf(file, key, authority, _key(authority_key), wanted, now)
        made = x509.load_pem_x509_certificate(file.read_bytes())
    except OSError as error:
        raise Unreachable(f"certificates can't be kept in {folder}: {error.strerror}") from error
    seen = authority.fingerprint(hashes.SHA256()).hex(":").upper()
    return Certificate(file, key, authority_file, seen, _names_of(made), made.not_valid_after_utc, renewed)


def is_of_a_home(name: str) -> bool:
    """Tell whether the authority may vouch for a name or address.

    >>> [is_of_a_home(name) for name in ("192.168.1.7", "potting-shed", "potting-shed.local")]
    [True, True, True]
    >>> [is_of_a_home(name) for name in ("203.0.113.9", "garden.example")]
    [False, False]
    """
    try:
        address = ipaddress.ip_address(name)
    except ValueError:
        return "." not in name or name.rsplit(".", 1)[-1] in _HOME_NAMES or name.endswith(".home.arpa")
    return any(address in ipaddress.ip_network(network) for network in _HOME_NETWORKS)


def as_download(authority: Path) -> bytes:
    """Give the authority's certificate as phones take it: its bare bytes (DER)."""
    made = x509.load_pem_x509_certificate(authority.read_bytes())
    return made.public_bytes(serialization.Encoding.DER)


# -- making --------------------------------------------------------------------------------------


def _make_authority(file: Path, key_file: Path, now: datetime) -> None:
    key = ec.generate_private_key(ec.SECP256R1())
    name = _named(f"Fallowside at home, {now:%B %Y}")
    public = key.public_key()
    permitted: list[x509.GeneralName] = [x509.DNSName(one) for one in _HOME_NAMES]
    permitted += [x509.IPAddress(ipaddress.ip_network(one)) for one in _HOME_NETWORKS]
    permitted += [x509.DNSName(one) for one in _bare_names()]
    made = (
        _begun(name, name, public, now, AUTHORITY_DAYS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs=True), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(public), critical=False)
        .add_extension(x509.NameConstraints(permitted, None), critical=True)
        .sign(key, hashes.SHA256())
    )
    _write(key_file, _secret(key))
    _write(file, made.public_bytes(serialization.Encoding.PEM))


def _make_leaf(
    file: Path,
    key_file: Path,
    authority: x509.Certificate,
    authority_key: ec.EllipticCurvePrivateKey,
    names: Sequence[str],
    now: datetime,
) -> None:
    key = ec.generate_private_key(ec.SECP256R1())
    alternatives = [_alternative(name) for name in names if _permits(authority, name)]
    made = (
        _begun(_named("Fallowside"), authority.subject, key.public_key(), now, LEAF_DAYS)
        .add_extension(x509.SubjectAlternativeName(alternatives), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_public_key(authority_key.public_key()), critical=False
        )
        .sign(authority_key, hashes.SHA256())
    )
    _write(key_file, _secret(key))
    _write(file, made.public_bytes(serialization.Encoding.PEM))


def _begun(
    subject: x509.Name, issuer: x509.Name, public: ec.EllipticCurvePublicKey, now: datetime, days: int
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(public)
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - _EARLIER)
        .not_valid_after(now + timedelta(days=days))
    )


def _usage(*, signs: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs,
        key_cert_sign=signs,
        crl_sign=signs,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _named(text: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, text)])


def _alternative(name: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        return x509.DNSName(name)


def _bare_names() -> list[str]:
    """Give this machine's own name, if it is one without a domain."""
    name = socket.gethostname().lower()
    return [name] if name and "." not in name and name not in _HOME_NAMES else []


# -- what is there -------------------------------------------------------------------------------


def _still_good(
    file: Path, key: Path, authority: x509.Certificate, wanted: Sequence[str], now: datetime
) -> bool:
    if not (file.is_file() and key.is_file()):
        return False
    made = x509.load_pem_x509_certificate(file.read_bytes())
    covered = {name for name in wanted if _permits(authority, name)} <= set(_names_of(made))
    fresh = made.not_valid_after_utc - now.astimezone(UTC) > timedelta(days=RENEW_DAYS)
    return covered and fresh and made.issuer == authority.subject


def _permits(authority: x509.Certificate, name: str) -> bool:
    """Tell whether an authority's own certificate lets it vouch for a name."""
    limits = authority.extensions.get_extension_for_class(x509.NameConstraints).value.permitted_subtrees or []
    try:
        address = ipaddress.ip_address(name)
    except ValueError:
        pass
    else:
        networks = [
            ipaddress.ip_network(limit.value) for limit in limits if isinstance(limit, x509.IPAddress)
        ]
        return any(address in network for network in networks)
    domains = [limit.value for limit in limits if isinstance(limit, x509.DNSName)]
    return any(name == domain or name.endswith(f".{domain}") for domain in domains)


def _names_of(made: x509.Certificate) -> tuple[str, ...]:
    found = made.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return tuple(str(one.value) for one in found)


def _key(file: Path) -> ec.EllipticCurvePrivateKey:
    key = serialization.load_pem_private_key(file.read_bytes(), password=None)
    if not isinstance(key, ec.EllipticCurvePrivateKey):
        raise Unreachable(f"{file} is not the authority's key; move its folder away and start again")
    return key


def _secret(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )


def _write(file: Path, content: bytes) -> None:
    """Write a file that only its owner may read, whole or not at all."""
    unfinished = file.with_suffix(".new")
    unfinished.unlink(missing_ok=True)
    number = os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(number, "wb") as out:
        out.write(content)
    unfinished.replace(file)
