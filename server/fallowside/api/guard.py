"""What every answer carries, and what never reaches a route.

Two plain rules keep other pages of the same browser out: the server answers only to its own names (a
foreign page can't reach it under a name of its own), and a call that changes something is refused if
another site's page made it. Two limits keep one caller from taking all: calls a minute, and the size
of a body. Routes that take more than a small body read it themselves, once they know who calls, so that
a stranger has nothing large kept here even for a moment.
"""

import ipaddress
from collections.abc import Collection
from math import ceil

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from fallowside.api import problems
from fallowside.api.pace import Pace, source_of

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
"""Of a body of any route but those that read theirs later."""
_READ_LATER = ("/api/sync", "/api/photos/", "/api/probe")
"""Routes that read their bodies themselves, within limits of their own."""
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
        elif scope["path"].startswith("/api/") and (refused := too_fast(self.pace, scope)):
            await refused(scope, receive, with_headers)
        elif scope["method"] in _SAFE or scope["path"].startswith(_READ_LATER):
            await self.app(scope, receive, with_headers)
        else:
            body = await _small_body(headers, receive)
            if body is None:
                refusal = problems.answer(413, "too_large", f"the body is larger than {SMALL_BYTES:,} bytes")
                await refusal(scope, receive, with_headers)
            else:
                await self.app(scope, _given(body, receive), with_headers)

    def _is_ours(self, host: str) -> bool:
        """Tell whether a name is ours: an address can't be a foreign page's name, so all are.

        Of `.local` names only the machine's own, which are among `hosts`: anybody in the network may
        give another one this machine's address.
        """
        name = host.rsplit(":", 1)[0] if not host.endswith("]") else host
        name = name.strip("[]").lower()
        if name in self.hosts or name == "localhost" or name.endswith(".localhost"):
            return True
        try:
            ipaddress.ip_address(name)
        except ValueError:
            return False
        return True


def too_fast(pace: Pace | None, scope: Scope) -> Response | None:
    """Count a call; give the refusal of one that comes too soon after others of its source."""
    wait_s = pace.wait_s(source_of(scope["client"][0] if scope.get("client") else "")) if pace else 0.0
    if not wait_s:
        return None
    refusal = problems.answer(429, "too_fast", "too many calls at once; wait a little")
    refusal.headers["Retry-After"] = str(ceil(wait_s))
    return refusal


async def _small_body(headers: Headers, receive: Receive) -> bytes | None:
    """Read a body; None if it is too large."""
    if int(headers.get("content-length", "0")) > SMALL_BYTES:
        return None
    body = b""
    while True:
        message = await receive()
        if message["type"] != "http.request":
            return body
        part: bytes = message.get("body", b"")
        body += part
        if len(body) > SMALL_BYTES:
            return None
        if not message.get("more_body", False):
            return body


def _given(body: bytes, receive: Receive) -> Receive:
    """Hand on a body that was read, then whatever else comes."""
    rest: list[Message] = [{"type": "http.request", "body": body, "more_body": False}]

    async def given() -> Message:
        return rest.pop() if rest else await receive()

    return given


def _from_elsewhere(headers: Headers, host: str) -> bool:
    site = headers.get("sec-fetch-site")
    if site is not None:
        return site not in ("same-origin", "none")
    origin = headers.get("origin")
    return origin is not None and origin.split("://", 1)[-1] != host
