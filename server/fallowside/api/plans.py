"""Plans and tallies over HTTP: made off the event loop, once for each state of the log."""

import asyncio
from collections import OrderedDict
from collections.abc import Callable
from typing import Annotated
from zlib import crc32

from fastapi import APIRouter, Query, Request, Response
from starlette.concurrency import run_in_threadpool

from fallowside.api import body, clock, documents
from fallowside.api.problems import Refusal
from fallowside.core import plan
from fallowside.core.entries import moment
from fallowside.exchange import folded
from fallowside.store import log
from fallowside.store.database import Database

_KEPT = 16
"""Answers kept for the next who asks the same of the same log."""

_Key = tuple[str, str, int]


class Answers:
    """Answers by question and state of the log; two who ask at once wait for the same work."""

    def __init__(self, database: Database) -> None:
        self.database = database
        self._kept: OrderedDict[_Key, asyncio.Task[bytes]] = OrderedDict()

    async def get(self, question: str, minute: str, work: Callable[[], bytes]) -> tuple[str, bytes]:
        """Give the tag of this state of the log, and the answer to a question about it."""
        log_name, seq = await run_in_threadpool(self._state)
        key = (f"{log_name} {question}", minute, seq)
        task = self._kept.get(key)
        if task is None or task.get_loop() is not asyncio.get_running_loop():
            task = self._kept[key] = asyncio.ensure_future(run_in_threadpool(work))
            while len(self._kept) > _KEPT:
                self._kept.popitem(last=False)
        self._kept.move_to_end(key)
        try:
            return f'"{plan.MODELS}.{seq}.{crc32(repr(key).encode()):x}"', await asyncio.shield(task)
        except Exception:
            self._kept.pop(key, None)
            raise

    def _state(self) -> tuple[str, int]:
        with self.database.read() as hand:
            place_n = log.place_number(hand)
            if place_n is None:
                return "", 0
            return str(hand.value("SELECT log FROM place WHERE n = ?", place_n)), log.last_seq(hand, place_n)


def router(database: Database, kept: folded.Kept, now_us: Callable[[], int]) -> APIRouter:
    """Give the routes of plan and tally; `kept` is the log kept folded."""
    routes = APIRouter(tags=["plan"])
    answers = Answers(database)

    @routes.get("/api/plan", responses=documents.plan_responses(), response_class=Response)
    async def read_plan(
        request: Request,
        at: Annotated[
            str | None, Query(description="instant, RFC 3339 with offset; now, if left out")
        ] = None,
    ) -> Response:
        """Say what to do today, what is ahead and what was achieved."""
        instant = clock.local_text(now_us()) if at is None else _instant(at)
        # Without `at` any plan of this minute and this log will do.
        minute = instant[:16] if at is None else instant
        tag, content = await answers.get("plan", minute, lambda: kept.plan_text(instant).encode())
        return _answer(request, tag, content)

    @routes.get("/api/tally", responses=documents.tally_responses(), response_class=Response)
    async def read_tally(
        request: Request,
        since: Annotated[str | None, Query(alias="from", description="first day, such as 2026-01-01")] = None,
        until: Annotated[str | None, Query(alias="to", description="last day, included")] = None,
    ) -> Response:
        """Say what was kept out of landfill in a period, and what came out."""
        first, last = period(since, until)
        instant = clock.local_text(now_us())
        tag, content = await answers.get(
            f"tally {first} {last}",
            instant[:16],
            lambda: documents.as_json(folded.tally_of(database, instant, first, last)),
        )
        return _answer(request, tag, content)

    return routes


def period(since: str | None, until: str | None) -> tuple[int | None, int | None]:
    """Read the ends of a period, days such as 2026-01-01; None is left open. [ordinal]

    Raises:
        Refusal: not a day, or the end before the start.
    """
    first, last = _day("from", since), _day("to", until)
    if first is not None and last is not None and first > last:
        raise Refusal(422, "bad_period", "`from` lies after `to`; swap them", "from")
    return first, last


def _answer(request: Request, tag: str, content: bytes) -> Response:
    headers = {"ETag": tag, "Cache-Control": "no-cache"}
    if request.headers.get("if-none-match") == tag:
        return Response(status_code=304, headers=headers)
    return body.answer(body.packed(content) if body.takes_gzip(request) else content, headers)


def _instant(text: str) -> str:
    # A + that was not escaped arrives as a space.
    text = text.strip().replace(" ", "+")
    try:
        return moment(text).text
    except ValueError as error:
        raise Refusal(422, "bad_time", f"`at`: {error}", "at") from error


def _day(name: str, text: str | None) -> int | None:
    if text is None:
        return None
    try:
        return folded.day(text)
    except ValueError as error:
        raise Refusal(422, "bad_time", f"`{name}` {error}", name) from error
