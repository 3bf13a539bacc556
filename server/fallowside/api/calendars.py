"""Calendars over HTTP: the feed behind its secret address, and making, listing and ending addresses."""

from collections.abc import Callable
from typing import Annotated

from fastapi import APIRouter, Path, Query, Request, Response
from pydantic import BaseModel, Field
from starlette.concurrency import run_in_threadpool

from fallowside.access import tokens
from fallowside.access.people import People
from fallowside.access.sessions import Signed
from fallowside.api import documents, here, problems, signing
from fallowside.api.pairing import Name, squares
from fallowside.api.problems import Refusal
from fallowside.exchange import folded
from fallowside.remind import addresses, calendar, clocks
from fallowside.store import log
from fallowside.store.database import Database, Hand
from fallowside.sync import reply

FEED = "/api/calendar/{token}.ics"
MEDIA_TYPE = "text/calendar"
Token = Annotated[str, Path(max_length=64, description="the secret part of the address")]
Language = Annotated[str, Query(pattern=r"^[a-z]{2}$", description="of the words")]


class WhoseCalendar(BaseModel):
    """Whose calendar; left out: the caller's own."""

    person: Name = Field("", description="a person of the place; only a host names others than themselves")


class CalendarLine(BaseModel):
    """A calendar that is in use."""

    person: str
    made_at: str
    fetched_at: str | None = Field(description="when a program last fetched it")


class CalendarList(BaseModel):
    """The calendars in use: for hosts everybody's, for helpers their own."""

    calendars: list[CalendarLine]


class NewAddress(BaseModel):
    """The secret address of a calendar, shown only now."""

    person: str
    address: str
    squares: list[str] = Field(description="the address as a code for a camera: a row a line, 1 is dark")


class EndedCalendar(BaseModel):
    """A calendar whose address works no more."""

    person: str


def router(database: Database, kept: folded.Kept, people: People, now_us: Callable[[], int]) -> APIRouter:
    """Give the routes of calendars."""
    routes = APIRouter(tags=["reminders"])

    @routes.get(
        FEED,
        response_class=Response,
        responses={**documents.file_responses(MEDIA_TYPE), **problems.documented(404)},
    )
    async def read_calendar(request: Request, token: Token, language: Language = "en") -> Response:
        """Give a person's reminders for the calendar program they use; the address itself is the key."""
        content = await run_in_threadpool(
            feed, database, kept, token, now_us(), str(request.base_url), language
        )
        if content is None:
            raise Refusal(404, "no_calendar", "this address is not in use (any more); ask for a new one")
        return Response(content, media_type=f"{MEDIA_TYPE}; charset=utf-8")

    @routes.get("/api/calendars", responses=problems.documented(401, 403, 503))
    def calendars(signed: signing.Caller) -> CalendarList:
        """List the calendars in use; their addresses can't be shown again."""
        with database.read() as hand:
            place_n = log.place_number(hand)
            found = addresses.listed(hand, place_n) if place_n is not None else []
        return CalendarList(
            calendars=[_line(one) for one in found if signed.is_host or one.person == signed.person]
        )

    @routes.post("/api/calendars", responses=problems.documented(401, 403, 404, 413, 422, 503, 507))
    def start(request: Request, wanted: WhoseCalendar, signed: signing.Caller) -> NewAddress:
        """Make a new secret address for a calendar; the one before it ends."""
        token, now = tokens.drawn(), now_us()
        with database.write() as hand:
            place = log.open_place(hand, now)
            person = whose(hand, place.n, people, wanted.person, signed)
            addresses.start(hand, place.n, person, tokens.hashed(token), now)
        address = address_of(str(request.base_url), token)
        return NewAddress(person=person, address=address, squares=squares(address))

    @routes.post("/api/calendars/end", responses=problems.documented(401, 403, 404, 413, 422, 503, 507))
    def end(wanted: WhoseCalendar, signed: signing.Caller) -> EndedCalendar:
        """End the address of a calendar at once."""
        with database.write() as hand:
            now = now_us()
            place = log.open_place(hand, now)
            person = whose(hand, place.n, people, wanted.person, signed)
            if not addresses.end(hand, place.n, person, now):
                raise Refusal(404, "no_calendar", "nobody has such a calendar", "person")
        return EndedCalendar(person=person)

    return routes


def feed(
    database: Database, kept: folded.Kept, token: str, now_us: int, base: str, language: str = "en"
) -> bytes | None:
    """Write the calendar of a secret address; None if it is in nobody's use.

    Writes only when an event has changed since the last time, to count it.
    """
    key = tokens.hashed(token)
    with database.read() as hand:
        place = log.look_up(hand)
        person = addresses.owner(hand, place.n, key) if place else None
    if place is None or person is None:
        return None
    plan = here.plan_now(kept, now_us)
    who = calendar.person_of(plan, person)
    if who is None:
        return None
    planned = calendar.planned(plan, who, place.log, language)
    with database.write() as hand:
        addresses.fetched(hand, place.n, key, now_us)
        began = addresses.starts(hand, place.n, person)
        events = calendar.in_time(planned, began, who, clocks.now_at(plan, now_us))
        revised = addresses.revise(hand, place.n, person, events, now_us)
    return calendar.written(plan, events, lambda event: revised[event.uid], base, language)


def remade(database: Database, person: str, now_us: int, *, end: bool = False) -> str | None:
    """Make a person's address anew, or only end the one they have; for whoever sits at the machine.

    Returns:
        The secret part of the new address; None if there is none now.
    """
    with database.write() as hand:
        place = log.open_place(hand, now_us)
        if end:
            addresses.end(hand, place.n, person, now_us)
            return None
        token = tokens.drawn()
        addresses.start(hand, place.n, person, tokens.hashed(token), now_us)
    return token


def whose(hand: Hand, place_n: int, people: People, wanted: str, signed: Signed) -> str:
    """Say whose matter this is: the caller's own, or for a host anybody's.

    Raises:
        Refusal: nobody of that name, or not theirs to ask.
    """
    person = wanted or signed.person
    if not person:
        raise Refusal(422, "no_person", "say for whom: this phone is nobody's in particular", "person")
    if person != signed.person and not signed.is_host:
        raise Refusal(403, "host_only", "only a host may do this for somebody else", "person")
    if person not in people.of(hand, place_n):
        raise Refusal(404, "unknown_person", "this person isn't set up here (yet)", "person")
    return person


def address_of(base: str, token: str) -> str:
    """Give the address a calendar program is told."""
    return base.rstrip("/") + FEED.replace("{token}", token)


def _line(one: addresses.Address) -> CalendarLine:
    return CalendarLine(
        person=one.person,
        made_at=reply.instant(one.made_us),
        fetched_at=None if one.fetched_us is None else reply.instant(one.fetched_us),
    )
