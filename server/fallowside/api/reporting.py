"""Reports over HTTP: a page to print, its stylesheet, the ledger as CSV and the whole as a workbook."""

from collections.abc import Callable
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Header, Query, Response
from starlette.concurrency import run_in_threadpool

from fallowside import words
from fallowside.api import clock, documents
from fallowside.api.plans import period
from fallowside.exchange import pages, reports, spreadsheets
from fallowside.exchange.report_tables import Report
from fallowside.store.database import Database

Since = Annotated[str | None, Query(alias="from", description="first day, such as 2026-01-01")]
Until = Annotated[str | None, Query(alias="to", description="last day, included")]

_ROOT = "/api/report"
_STYLE_AGE_S = 300


def spoken(
    language: Annotated[str, Query(description="such as fr; where it is not said, as the browser asks")] = "",
    accept_language: Annotated[str, Header()] = "",
) -> str:
    """Give the language of an answer."""
    return words.preferred(language or accept_language)


Spoken = Annotated[str, Depends(spoken)]


def router(database: Database, now_us: Callable[[], int]) -> APIRouter:
    """Give the routes of reports; periods as for the tally, the whole log unless said."""
    routes = APIRouter(tags=["report"])

    async def gathered(since: str | None, until: str | None) -> Report:
        first, last = period(since, until)
        at = clock.local_text(now_us())
        return await run_in_threadpool(reports.report_of, database, at, first, last)

    @routes.get(f"{_ROOT}.html", responses=documents.file_responses("text/html"), response_class=Response)
    async def read_page(language: Spoken, since: Since = None, until: Until = None) -> Response:
        """Give one page to print, for a council, a landlord or a visitors' board."""
        report = await gathered(since, until)
        asked = urlencode({"from": report.tally["since"], "to": report.tally["until"], "language": language})
        links = {
            "style": f"{_ROOT}.css",
            "page": f"{_ROOT}.html",
            "csv": f"{_ROOT}.csv?{asked}",
            "xlsx": f"{_ROOT}.xlsx?{asked}",
        }
        with words.speaking(language):
            content = pages.page(report, links)
        return Response(content, headers=_said_in(language), media_type="text/html")

    @routes.get(f"{_ROOT}.css", responses=documents.file_responses("text/css"), response_class=Response)
    async def read_style() -> Response:
        """Give the stylesheet of the page."""
        headers = {"Cache-Control": f"max-age={_STYLE_AGE_S}"}
        return Response(pages.STYLE.read_text(encoding="utf-8"), headers=headers, media_type="text/css")

    @routes.get(f"{_ROOT}.csv", responses=documents.file_responses("text/csv"), response_class=Response)
    async def read_csv(language: Spoken, since: Since = None, until: Until = None) -> Response:
        """Give the ledger: a row for each month, station, person, material and what became of it."""
        report = await gathered(since, until)
        with words.speaking(language):
            content = reports.csv_text(report).encode()
        return _file(report, "csv", content, "text/csv; charset=utf-8", language)

    @routes.get(
        f"{_ROOT}.xlsx", responses=documents.file_responses(spreadsheets.MEDIA_TYPE), response_class=Response
    )
    async def read_xlsx(language: Spoken, since: Since = None, until: Until = None) -> Response:
        """Give the whole report as a workbook: figures, months with a chart, nutrients, balance, sources."""
        report = await gathered(since, until)
        with words.speaking(language):
            content = await run_in_threadpool(spreadsheets.xlsx, report)
        return _file(report, "xlsx", content, spreadsheets.MEDIA_TYPE, language)

    return routes


def _file(report: Report, suffix: str, content: bytes, media_type: str, language: str) -> Response:
    headers = {"Content-Disposition": f'attachment; filename="{reports.filename(report, suffix)}"'}
    return Response(content, headers=headers | _said_in(language), media_type=media_type)


def _said_in(language: str) -> dict[str, str]:
    return {"Content-Language": language, "Vary": "Accept-Language"}
