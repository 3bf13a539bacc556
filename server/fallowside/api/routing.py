"""Where a bucket goes, over HTTP: asked with what is in it, answered by the log as it is now."""

from collections.abc import Callable

from fastapi import APIRouter, Response
from starlette.concurrency import run_in_threadpool

from fallowside.api import body, clock, documents
from fallowside.api.problems import Refusal
from fallowside.core.errors import BadBucket
from fallowside.exchange import folded


def router(kept: folded.Kept, now_us: Callable[[], int]) -> APIRouter:
    """Give the route that answers where a bucket goes; it changes nothing."""
    routes = APIRouter(tags=["plan"])

    @routes.post("/api/route", responses=documents.route_responses(), response_class=Response)
    async def read_route(call: documents.RouteCall) -> Response:
        """Say where a bucket goes: how much to each station, with the reason, and what waits."""
        at = clock.local_text(now_us())
        try:
            found = await run_in_threadpool(kept.route, call.bucket, at, call.freezer_kg)
        except BadBucket as error:
            raise Refusal(422, error.code, str(error), error.field) from error
        return body.answer(documents.as_json(found), {"Cache-Control": "no-store"})

    return routes
