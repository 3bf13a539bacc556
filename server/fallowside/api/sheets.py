"""Sheets to print over HTTP: the hand-over sheet, a sticker for each station, and their stylesheet."""

from collections.abc import Callable
from typing import Annotated

from fastapi import APIRouter, Query, Request, Response
from starlette.concurrency import run_in_threadpool

from fallowside import words
from fallowside.api import clock, documents
from fallowside.api.problems import Refusal
from fallowside.api.reporting import Spoken
from fallowside.exchange import folded, sheets
from fallowside.store.database import Database

_ROOT = "/api/sheets"
_STYLE = f"{_ROOT}/sheets.css"
_STYLE_AGE_S = 300


def router(database: Database, now_us: Callable[[], int]) -> APIRouter:
    """Give the routes of sheets."""
    routes = APIRouter(tags=["sheets"])
    page = documents.file_responses("text/html")

    @routes.get(f"{_ROOT}/stickers.html", responses=page, response_class=Response)
    async def read_stickers(
        request: Request,
        language: Spoken,
        url: Annotated[
            str | None, Query(description="address phones reach this server at; the one asked, if left out")
        ] = None,
    ) -> Response:
        """Give a sticker for each station, with a code that opens it on a phone."""
        plan = await run_in_threadpool(folded.plan_of, database, clock.local_text(now_us()))
        try:
            with words.speaking(language):
                return _page(sheets.stickers(plan, url or str(request.base_url)), language)
        except sheets.BadAddress as error:
            raise Refusal(422, error.code, str(error), "url") from error

    @routes.get(f"{_ROOT}/handover.html", responses=page, response_class=Response)
    async def read_handover(language: Spoken) -> Response:
        """Give the sheet that goes from one pair of hands to the next."""
        at = clock.local_text(now_us())
        plan = await run_in_threadpool(folded.plan_of, database, at)
        asked = await run_in_threadpool(sheets.unanswered, database, at)
        with words.speaking(language):
            return _page(sheets.handover(plan, asked), language)

    style = documents.file_responses("text/css")

    @routes.get(_STYLE, responses=style, response_class=Response)
    async def read_style() -> Response:
        """Give the stylesheet of the sheets."""
        headers = {"Cache-Control": f"max-age={_STYLE_AGE_S}"}
        return Response(sheets.STYLE.read_text(encoding="utf-8"), headers=headers, media_type="text/css")

    return routes


def _page(sheet: sheets.Sheet, language: str) -> Response:
    headers = {"Content-Language": language, "Vary": "Accept-Language"}
    return Response(sheets.page(sheet, _STYLE), headers=headers, media_type="text/html")
