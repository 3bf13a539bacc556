"""Sync over HTTP: the body is read raw and answered raw."""

from collections.abc import Callable
from dataclasses import replace

import anyio
from anyio import to_thread
from fastapi import APIRouter, Request, Response

from fallowside.access.sessions import Signed
from fallowside.api import body, documents, signing
from fallowside.store.database import Database
from fallowside.sync import call, reply
from fallowside.sync.intake import Intake

_POSTGRES_WRITERS = 8


def router(database: Database, intake: Intake, now_us: Callable[[], int]) -> APIRouter:
    """Give the route of sync."""
    routes = APIRouter(tags=["sync"])
    # SQLite has one writer: calls wait for their turn here, in order, rather than in the database.
    turns = anyio.CapacityLimiter(_POSTGRES_WRITERS if database.postgres else 1)

    def answered(received: bytes, pack: bool, signed: Signed) -> bytes:
        sent = call.read(received)
        if signed.device:
            # Whose session it is says which phone it is, whatever the call says.
            sent = replace(sent, device=signed.device)
        written = reply.written(intake.take(sent, now_us(), allowed=signed.allowed))
        return body.packed(written) if pack else written

    @routes.post(
        "/api/sync",
        responses=documents.sync_responses(),
        response_class=Response,
        openapi_extra=documents.sends_sync(),
    )
    async def sync(request: Request, signed: signing.Caller) -> Response:
        """Take entries in, hold what can't be used, hand out what the device hasn't seen."""
        received = await body.received(request)
        pack = body.takes_gzip(request)
        return body.answer(await to_thread.run_sync(answered, received, pack, signed, limiter=turns))

    return routes
