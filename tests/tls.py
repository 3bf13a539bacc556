"""Greets a server over TLS of one version only, as OpenSSL has it."""

import socket
import ssl
import warnings
from pathlib import Path


def greeted(port: int, name: str, trusted: Path, version: ssl.TLSVersion) -> str | None:
    """Greet a server on loopback; give the version spoken.

    Raises:
        ssl.SSLError: it doesn't speak this version.
    """
    context = ssl.create_default_context(cafile=trusted)
    # OpenSSL itself speaks the old ones only if it is told to put up with them.
    context.set_ciphers("DEFAULT@SECLEVEL=0")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        context.minimum_version = context.maximum_version = version
    with (
        socket.create_connection(("127.0.0.1", port), timeout=20) as plain,
        context.wrap_socket(plain, server_hostname=name) as secure,
    ):
        return secure.version()
