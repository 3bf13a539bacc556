"""The page that says how a phone learns to trust a server at home; nothing else is served beside it.

It comes over plain http, since the phone can't trust anything yet. Whoever wants to be sure compares
the fingerprint with the one at the host's terminal.
"""

import base64
import hashlib
from html import escape
from pathlib import Path

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from fallowside import words
from fallowside.access.authority import as_download

DOWNLOAD = "/fallowside-authority.crt"
_KINDS = (("android", 5), ("iphone", 5), ("computer", 4))
"""Kinds of phone, and how many steps each takes."""
_STYLE = """
:root { color-scheme: light dark; }
body { font: 1.15rem/1.55 system-ui, sans-serif; margin: 0 auto; max-width: 38rem; padding: 1.2rem; }
h1 { font-size: 1.6rem; line-height: 1.25; }
summary { cursor: pointer; font-weight: 600; padding: .9rem 0; }
details { border-top: 1px solid color-mix(in srgb, currentColor 25%, transparent); }
ol { padding-left: 1.4rem; }
li { margin: .5rem 0; }
a.press { border: 2px solid; border-radius: .6rem; color: inherit; display: block; font-weight: 600;
  margin: 1.2rem 0; padding: .9rem; text-align: center; text-decoration: none; }
code { font-size: .85rem; overflow-wrap: anywhere; }
small { opacity: .8; }
"""


_STYLE_HASH = base64.b64encode(hashlib.sha256(_STYLE.encode()).digest()).decode()
_HEADERS = {
    "Content-Security-Policy": f"default-src 'none'; style-src 'sha256-{_STYLE_HASH}'; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-store",
}


def build_page(authority: Path, fingerprint: str, app_address: str) -> Starlette:
    """Give the small application: one page, and the authority's certificate.

    Args:
        authority: The file of its certificate.
        fingerprint: Of that, to compare.
        app_address: Where the app itself is served.
    """

    async def help_page(request: Request) -> Response:
        language = words.preferred(request.headers.get("accept-language", ""))
        with words.speaking(language):
            text = page(fingerprint, app_address)
        return HTMLResponse(
            text, headers={**_HEADERS, "Content-Language": language, "Vary": "Accept-Language"}
        )

    async def download(request: Request) -> Response:
        headers = {**_HEADERS, "Content-Disposition": 'attachment; filename="fallowside-authority.crt"'}
        return Response(as_download(authority), headers=headers, media_type="application/x-x509-ca-cert")

    return Starlette(routes=[Route("/", help_page), Route(DOWNLOAD, download)])


def page(fingerprint: str, app_address: str) -> str:
    """Write the page, in the language spoken."""
    kinds = "".join(
        f"<details><summary>{_said(f'trust.{kind}')}</summary><ol>"
        + "".join(f"<li>{_said(f'trust.{kind}.{step}')}</li>" for step in range(1, steps + 1))
        + "</ol></details>"
        for kind, steps in _KINDS
    )
    return (
        f'<!doctype html><html lang="{words.spoken()}"><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{_said('trust.title')}</title><style>{_STYLE}</style>"
        f"<main><h1>{_said('trust.title')}</h1><p>{_said('trust.why')}</p>"
        f'<a class="press" href="{DOWNLOAD}">{_said("trust.download")}</a>'
        f"<p>{_said('trust.then')}</p>{kinds}"
        f'<a class="press" href="{escape(app_address, quote=True)}">{_said("trust.open")}</a>'
        f"<p>{_said('trust.pair')}</p>"
        f"<p><small>{_said('trust.limits')}</small></p>"
        f"<p><small>{_said('trust.compare')}<br><code>{escape(fingerprint)}</code></small></p></main></html>"
    )


def _said(key: str) -> str:
    return escape(words.say(key))
