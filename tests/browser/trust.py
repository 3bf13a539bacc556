"""Lets a Chromium on Linux trust a certificate authority, as a person does once in its settings.

Chromium takes such authorities from the NSS database under the home folder of who runs it. Its own
libraries write it, so the test needs no tool more than the browser does.
"""

import ctypes
import ssl
from pathlib import Path

FOR_SITES = b"C,,"
"""NSS's word for: trusted to vouch for servers, for nothing else."""


class _Trust(ctypes.Structure):
    _fields_ = (("ssl", ctypes.c_uint), ("email", ctypes.c_uint), ("signing", ctypes.c_uint))


def trust(home: Path, authority: Path) -> None:
    """Make an NSS database in a home folder that trusts an authority (PEM)."""
    folder = home / ".pki" / "nssdb"
    folder.mkdir(parents=True)
    nss, package = ctypes.CDLL("libnss3.so"), ctypes.CDLL("libsmime3.so")
    for function in (
        package.CERT_DecodeCertFromPackage,
        nss.PK11_GetInternalKeySlot,
        nss.CERT_GetDefaultCertDB,
    ):
        function.restype = ctypes.c_void_p
    der = ssl.PEM_cert_to_DER_cert(authority.read_text(encoding="ascii"))
    wanted = _Trust()
    _done(nss.NSS_InitReadWrite(f"sql:{folder}".encode()))
    slot = ctypes.c_void_p(nss.PK11_GetInternalKeySlot())
    certificate = ctypes.c_void_p(package.CERT_DecodeCertFromPackage(der, len(der)))
    _done(nss.PK11_InitPin(slot, None, b""))
    _done(nss.PK11_ImportCert(slot, certificate, ctypes.c_ulong(0), b"at home", 0))
    _done(nss.CERT_DecodeTrustString(ctypes.byref(wanted), FOR_SITES))
    database = ctypes.c_void_p(nss.CERT_GetDefaultCertDB())
    _done(nss.CERT_ChangeCertTrust(database, certificate, ctypes.byref(wanted)))
    nss.CERT_DestroyCertificate(certificate)
    nss.PK11_FreeSlot(slot)
    _done(nss.NSS_Shutdown())


def _done(status: int) -> None:
    if status != 0:
        raise OSError("NSS could not write its database")
