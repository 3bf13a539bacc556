"""What every answer carries, and whom the server listens to.

There is no sign-in yet, so two plain rules keep other pages of the same browser out: the server
answers only to its own names (a foreign page can't reach it under a name of its own), and a call
that changes something is refused if another site's page made it.
"""

import ipaddress
from collections.abc import Collection

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from fallowside.api import problems

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
    "Permissions-Policy": "camera=(self), geolocation=(), microphone=()",
}
_SAFE = frozenset({"GET", "HEAD", "OPTIONS"})


class Guard:
    """Wraps the application: checks who calls, adds the headers."""

    def __init__(self, app: ASGIApp, hosts: Collection[str]) -> None:
        self.app = app
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
        else:
            await self.app(scope, receive, with_headers)

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


def _from_elsewhere(headers: Headers, host: str) -> bool:
    site = headers.get("sec-fetch-site")
    if site is not None:
        return site not in ("same-origin", "none")
    origin = headers.get("origin")
    return origin is not None and origin.split("://", 1)[-1] != host
