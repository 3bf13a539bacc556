"""What every answer carries, and what never reaches a route.

Two plain rules keep other pages of the same browser out: the server answers only to its own names (a
foreign page can't reach it under a name of its own), and a call that changes something is refused if
another site's page made it. Two limits keep one caller from taking all: calls a minute, and the size
of a body (sync has a larger one of its own).
"""

import ipaddress
from collections.abc import Collection
from math import ceil

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from fallowside.api import problems
from fallowside.api.pace import Pace, source_of
from fallowside.store.photos import MOST_BYTES

CONTENT_POLICY = "; ".join(
    (
        "default-src 'self'",
        # The fold runs as WebAssembly on the phone.
        "script-src 'self' 'wasm-unsafe-eval'",
        "worker-src 'self'",
        "img-src 'self' data: blob:",
        "object-src 'none'",
        "base-uri 'none'",
        "form-action 'self'",
        "frame-ancestors 'none'",
    )
)
_HEADERS = {
    "Content-Security-Policy": CONTENT_POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
}
SMALL_BYTES = 64 * 1024
"""Of a body of any route but sync and photos."""
_SYNC = "/api/sync"
_PHOTOS = "/api/photos/"
_PROBE, PROBE_BYTES = "/api/probe", 512 * 1024
_SAFE = frozenset({"GET", "HEAD", "OPTIONS"})


class Guard:
    """Wraps the application: checks who calls, adds the headers."""

    def __init__(self, app: ASGIApp, hosts: Collection[str], pace: Pace | None) -> None:
        self.app = app
        self.pace = pace
        self.hosts = frozenset(host.lower() for host in hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a call on, or refuse it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    headers.setdefault(name, value)
                if scope["path"].startswith("/api/"):
                    headers.setdefault("Cache-Control", "no-store")
            await send(message)

        headers = Headers(scope=scope)
        host = headers.get("host", "")
        if not self._is_ours(host):
            refusal = problems.answer(
                400, "unknown_host", f"this server isn't called {host!r}; add the name to FALLOWSIDE_HOSTS"
            )
            await refusal(scope, receive, with_headers)
        elif scope["method"] not in _SAFE and _from_elsewhere(headers, host):
            refusal = problems.answer(
                403, "other_site", "a page of another site may not change anything here"
            )
            await refusal(scope, receive, with_headers)
        elif wait_s := self._wait_s(scope):
            refusal = problems.answer(429, "too_fast", "too many calls at once; wait a little")
            refusal.headers["Retry-After"] = str(ceil(wait_s))
            await refusal(scope, receive, with_headers)
        elif scope["method"] in _SAFE or scope["path"] == _SYNC:
            await self.app(scope, receive, with_headers)
        else:
            most = _most_bytes(scope["path"])
            body = await _small_body(headers, receive, most)
            if body is None:
                refusal = problems.answer(413, "too_large", f"the body is larger than {most} bytes")
                await refusal(scope, receive, with_headers)
            else:
                await self.app(scope, _given(body, receive), with_headers)

    def _wait_s(self, scope: Scope) -> float:
        if self.pace is None or not scope["path"].startswith("/api/"):
            return 0.0
        return self.pace.wait_s(source_of(scope["client"][0] if scope.get("client") else ""))

    def _is_ours(self, host: str) -> bool:
        """Tell whether a name is ours: an address can't be a foreign page's name, so all are."""
        name = host.rsplit(":", 1)[0] if not host.endswith("]") else host
        name = name.strip("[]").lower()
        if name in self.hosts or name == "localhost" or name.endswith((".localhost", ".local")):
            return True
        try:
            ipaddress.ip_address(name)
        except ValueError:
            return False
        return True


async def _small_body(headers: Headers, receive: Receive, most: int) -> bytes | None:
    """Read a body; None if it is too large."""
    if int(headers.get("content-length", "0")) > most:
        return None
    body = b""
    while True:
        message = await receive()
        if message["type"] != "http.request":
            return body
        part: bytes = message.get("body", b"")
        body += part
        if len(body) > most:
            return None
        if not message.get("more_body", False):
            return body


def _given(body: bytes, receive: Receive) -> Receive:
    """Hand on a body that was read, then whatever else comes."""
    rest: list[Message] = [{"type": "http.request", "body": body, "more_body": False}]

    async def given() -> Message:
        return rest.pop() if rest else await receive()

    return given


def _most_bytes(path: str) -> int:
    """Give how large the body of a call other than sync may be."""
    if path.startswith(_PHOTOS):
        return MOST_BYTES
    return PROBE_BYTES if path == _PROBE else SMALL_BYTES


def _from_elsewhere(headers: Headers, host: str) -> bool:
    site = headers.get("sec-fetch-site")
    if site is not None:
        return site not in ("same-origin", "none")
    origin = headers.get("origin")
    return origin is not None and origin.split("://", 1)[-1] != host
