"""Brings a sealed message to a push service: over https, to public addresses only, following nobody.

An endpoint is whatever a browser told us, so it is treated as a stranger's: the name is resolved
once, every address it has must be a public one, and the connection goes to the address that was
looked at, so that a name can't point elsewhere a moment later.
"""

import http.client
import ipaddress
import socket
import ssl
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from urllib.parse import urlsplit

from fallowside.remind.push import BadSubscription

PATIENCE_S = 10.0
"""For each step of bringing a message."""
LONGEST_S = 30.0
"""For all of it: an answer that drips byte by byte must not hold up everybody else's messages."""
_KEEP_S = 86_400
"""A push service keeps a message for a phone that is away this long, and then forgets it."""
_LONGEST = 2000
_LONGEST_LABEL = 63
"""Of a part of a name (RFC 1035, 2.3.4). Looking up a longer or an empty one raises what nobody expects."""
_PORT = 443
_TRANSLATED = ipaddress.IPv6Network("64:ff9b::/96")
"""Behind these stand addresses of the older kind (RFC 6052)."""
GONE = frozenset({404, 410})
"""What a push service answers when a browser no longer takes messages (RFC 8030, 7.3)."""


def is_public(address: str) -> bool:
    """Tell whether an address is one of the public network.

    >>> [is_public(one) for one in ("192.168.1.7", "127.0.0.1", "169.254.169.254", "::1", "64:ff9b::a00:1")]
    [False, False, False, False, False]
    >>> is_public("9.9.9.9")
    True
    """
    read = ipaddress.ip_address(address.partition("%")[0])
    if isinstance(read, ipaddress.IPv6Address):
        inner = read.ipv4_mapped or read.sixtofour or (read.teredo[1] if read.teredo else None)
        if inner is None and read in _TRANSLATED:
            inner = ipaddress.IPv4Address(int(read) & 0xFFFFFFFF)
        if inner is not None:
            return is_public(str(inner))
    return read.is_global and not read.is_multicast


def checked(endpoint: str) -> str:
    """Give an endpoint back if it may be one: https, a name, no port or user of its own.

    Raises:
        BadSubscription: it may not.
    """
    try:
        parts = urlsplit(endpoint)
        port = parts.port
    except ValueError as error:
        raise BadSubscription("this is no address of a push service") from error
    host = parts.hostname or ""
    plain = endpoint.isascii() and endpoint.isprintable() and " " not in endpoint
    if parts.scheme != "https" or not plain or len(endpoint) > _LONGEST:
        raise BadSubscription("messages go over https only, to an address of ordinary length")
    if parts.username is not None or parts.password is not None or port not in (None, _PORT):
        raise BadSubscription("an address of a push service has no user and no port of its own")
    labels = host.split(".")
    if len(labels) < 2 or not all(0 < len(one) <= _LONGEST_LABEL for one in labels) or _is_address(host):
        raise BadSubscription("a push service is called by its name")
    return endpoint


def _is_address(host: str) -> bool:
    try:
        ipaddress.ip_address(host)
    except ValueError:
        # Numbers alone are an address to some systems: 0x7f.1, 2130706433.
        return host.rsplit(".", 1)[-1][:1].isdigit()
    return True


@dataclass(frozen=True, slots=True)
class Carrier:
    """How messages are brought. The fields are there for tests; they change nothing of the manner.

    Attributes:
        trusted: Whose certificates are believed.
        may_reach: Says whether an address may be called.
        port: Where push services listen.
        longest_s: How long bringing one message may take in all. [s]
    """

    trusted: ssl.SSLContext = field(default_factory=ssl.create_default_context)
    may_reach: Callable[[str], bool] = is_public
    port: int = _PORT
    longest_s: float = LONGEST_S

    def bring(self, endpoint: str, headers: dict[str, str], body: bytes) -> int:
        """Bring a message, and give the status the push service answers with.

        Raises:
            BadSubscription: the endpoint may not be called.
            OSError: nobody answers.
        """
        parts = urlsplit(checked(endpoint))
        host = parts.hostname or ""
        connection = http.client.HTTPSConnection(host, self.port, timeout=PATIENCE_S)
        try:
            plain = self._connected(host)
            secure = self.trusted.wrap_socket(plain, server_hostname=host, do_handshake_on_connect=False)
            connection.sock = secure
            with _no_longer_than(self.longest_s, secure):
                secure.do_handshake()
                path = parts.path + (f"?{parts.query}" if parts.query else "")
                connection.request("POST", path or "/", body, {**headers, "Host": host})
                answer = connection.getresponse()
                answer.read(_LONGEST)
            return answer.status
        except http.client.HTTPException as error:
            raise OSError(f"the push service at {host} answers oddly") from error
        finally:
            connection.close()

    def _connected(self, host: str) -> socket.socket:
        found = socket.getaddrinfo(host, self.port, type=socket.SOCK_STREAM)
        addresses = list(dict.fromkeys(str(one[4][0]) for one in found))
        if not addresses or not all(map(self.may_reach, addresses)):
            raise BadSubscription("this push service has an address that isn't of the public network")
        return socket.create_connection((addresses[0], self.port), PATIENCE_S)


@contextmanager
def _no_longer_than(longest_s: float, secure: ssl.SSLSocket) -> Iterator[None]:
    """Cut a connection off that is still open after so long."""

    def cut() -> None:
        with suppress(OSError):
            # Not the secure one's own, after which what is written would go out in the clear.
            socket.socket.shutdown(secure, socket.SHUT_RDWR)

    waiting = threading.Timer(longest_s, cut)
    waiting.daemon = True
    waiting.start()
    try:
        yield
    finally:
        waiting.cancel()


def headers(authorization: str) -> dict[str, str]:
    """Give the headers of a message (RFC 8030, 5; RFC 8291, 4)."""
    return {
        "Authorization": authorization,
        "Content-Encoding": "aes128gcm",
        "Content-Type": "application/octet-stream",
        "TTL": str(_KEEP_S),
        "Urgency": "normal",
    }
