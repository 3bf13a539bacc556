"""The built web app as static files: packed, cached as far as is right, deep links to its one page."""

import gzip
import mimetypes
from functools import lru_cache
from pathlib import Path

from starlette.datastructures import Headers
from starlette.exceptions import HTTPException
from starlette.responses import Response
from starlette.staticfiles import NotModifiedResponse, StaticFiles
from starlette.types import Scope

from fallowside import words

_PACKAGED = Path(__file__).parents[1] / "web"
_CHECKOUT = Path(__file__).parents[3] / "web" / "dist"

_PACKED_TYPES = (
    "text/",
    "application/javascript",
    "application/json",
    "application/wasm",
    "image/svg+xml",
    "application/manifest+json",
)
_WORTH_PACKING_BYTES = 1024
_FOREVER = "public, max-age=31536000, immutable"
_ASK_FIRST = "no-cache"
_PAGE = frozenset({"", ".", "index.html"})

mimetypes.add_type("application/manifest+json", ".webmanifest")
mimetypes.add_type("application/javascript", ".mjs")
mimetypes.add_type("application/wasm", ".wasm")

_MISSING = """<!doctype html><html lang="en"><meta charset="utf-8"><title>Fallowside</title>
<h1>The server runs, but its web app isn't built</h1>
<p>In a checkout, type <code>make setup</code>, then start the server again.</p>
<p>The log can be used meanwhile: <a href="/api/health">/api/health</a>.</p></html>"""


def built_app() -> Path | None:
    """Find the built web app: of the installed package, else of the checkout."""
    return next((folder for folder in (_PACKAGED, _CHECKOUT) if (folder / "index.html").is_file()), None)


class Site(StaticFiles):
    """Serves the web app of a folder."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        """Answer with a file; with the app's page if a person follows a link into the app."""
        headers = Headers(scope=scope)
        try:
            found = await super().get_response(path, scope)
        except HTTPException as error:
            is_page = "." not in Path(path).name and Path(path).parts[:1] != ("api",)
            if error.status_code != 404 or not is_page:
                raise
            path = "index.html"
            found = await super().get_response(path, scope)
        found.headers["Cache-Control"] = _FOREVER if path.startswith("assets/") else _ASK_FIRST
        if path in _PAGE:
            self._with_words(headers, found)
        return self._packed(path, scope, headers, found)

    def _with_words(self, headers: Headers, page: Response) -> None:
        """Name with the page the words it will ask for, which its script knows a round trip later.

        The page is the same in all languages and is asked for each time, so it doesn't say that it varies:
        a browser would not find it again where it is kept for the time without signal.
        """
        language = words.preferred(headers.get("accept-language", ""))
        full, _ = self.lookup_path("assets")
        for file in Path(full).glob(f"{language}-*.js"):
            page.headers["Link"] = f"</assets/{file.name}>; rel=modulepreload"

    def _packed(self, path: str, scope: Scope, headers: Headers, found: Response) -> Response:
        kind = found.headers.get("content-type", "")
        if not kind.startswith(_PACKED_TYPES):
            return found
        found.headers["Vary"] = "Accept-Encoding"
        full, _ = self.lookup_path("index.html" if path in _PAGE else path)
        accepted = headers.get("accept-encoding", "")
        if isinstance(found, NotModifiedResponse) or scope["method"] != "GET" or "range" in headers:
            return found
        for name, suffix in (("br", ".br"), ("gzip", ".gz")):
            beside = Path(full + suffix)
            if name in accepted and beside.is_file():
                return _with_body(found, beside.read_bytes(), name)
        if "gzip" not in accepted:
            return found
        file = Path(full)
        stat = file.stat()
        if stat.st_size < _WORTH_PACKING_BYTES:
            return found
        return _with_body(found, _gzipped(file, stat.st_mtime_ns), "gzip")


class Missing:
    """Says how to build the web app where there is none."""

    async def __call__(self, scope, receive, send) -> None:  # type: ignore[no-untyped-def]
        """Answer every page so."""
        await Response(_MISSING, 503, media_type="text/html")(scope, receive, send)


@lru_cache(maxsize=128)
def _gzipped(file: Path, changed_ns: int) -> bytes:
    return gzip.compress(file.read_bytes(), mtime=0)


def _with_body(found: Response, body: bytes, encoding: str) -> Response:
    kept = {
        name: value
        for name, value in found.headers.items()
        if name in ("etag", "last-modified", "cache-control", "vary", "link", "content-type")
    }
    return Response(body, found.status_code, {**kept, "Content-Encoding": encoding})
