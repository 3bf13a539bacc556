"""Bodies on the wire: reads a call's within limits, packs an answer's if it is worth it."""

import gzip
import zlib

from starlette.requests import ClientDisconnect, Request
from starlette.responses import Response

from fallowside.api.problems import Refusal

MOST_BYTES = 10 * 1024 * 1024
"""Of a body, packed or unpacked."""
_DRAINED_BYTES = 64 * 1024 * 1024
"""Of a body too large this much is still read, so that its sender hears the answer."""
_GZIP_WINDOW = 31
_WORTH_PACKING_BYTES = 1024
_PACKING_LEVEL = 5
_GZIP_MAGIC = b"\x1f\x8b"


async def received(request: Request) -> bytes:
    """Give the body of a call, unpacked.

    Raises:
        Refusal: too large, packed in an unknown way, or broken.
    """
    packing = request.headers.get("content-encoding", "identity").strip().lower()
    if packing not in ("identity", "gzip", ""):
        raise Refusal(415, "unknown_encoding", f"the body is packed as {packing!r}; use gzip or nothing")
    body = await limited(request, MOST_BYTES)
    if body is None:
        raise _too_large()
    return unpacked(body) if packing == "gzip" else body


async def limited(request: Request, most: int) -> bytes | None:
    """Give the body of a call as it comes; None if it is larger than `most` bytes.

    Raises:
        Refusal: it was cut off.
    """
    chunks: list[bytes] = []
    size = 0
    try:
        async for chunk in request.stream():
            size += len(chunk)
            if size <= most:
                chunks.append(chunk)
            elif size > _DRAINED_BYTES:
                break
    except ClientDisconnect as error:
        raise Refusal(400, "cut_off", "the call was cut off; send it again") from error
    return b"".join(chunks) if size <= most else None


def unpacked(body: bytes) -> bytes:
    """Unpack gzip, never to more than the limit."""
    unpacker = zlib.decompressobj(_GZIP_WINDOW)
    try:
        found = unpacker.decompress(body, MOST_BYTES + 1)
    except zlib.error as error:
        raise Refusal(400, "broken_gzip", "the body is not gzip, or it is broken; send it again") from error
    if len(found) > MOST_BYTES:
        raise _too_large()
    if not unpacker.eof or unpacker.unused_data:
        raise Refusal(400, "broken_gzip", "the gzip body is cut off or has a tail; send it again")
    return found


def _too_large() -> Refusal:
    return Refusal(
        413,
        "too_large",
        f"the body is larger than {MOST_BYTES // 1024 // 1024} MiB; send fewer entries at once",
    )


def takes_gzip(request: Request) -> bool:
    """Tell whether the caller can unpack gzip."""
    return "gzip" in request.headers.get("accept-encoding", "")


def packed(content: bytes) -> bytes:
    """Pack an answer that is large enough to be worth it; give any other as it is."""
    return (
        gzip.compress(content, _PACKING_LEVEL, mtime=0) if len(content) >= _WORTH_PACKING_BYTES else content
    )


def answer(content: bytes, headers: dict[str, str] | None = None) -> Response:
    """Give an answer of JSON that `packed` may have packed."""
    headers = {"Vary": "Accept-Encoding", **(headers or {})}
    if content.startswith(_GZIP_MAGIC):
        headers["Content-Encoding"] = "gzip"
    return Response(content, headers=headers, media_type="application/json")
