"""Pairing over HTTP: a host invites, a phone redeems the invitation; who am I; and leaving."""

import logging
from collections.abc import Callable
from typing import Annotated

import segno
from fastapi import APIRouter, Request, Response
from pydantic import BaseModel, Field
from starlette.concurrency import run_in_threadpool

from fallowside.access import pairing, sessions, tokens
from fallowside.access.people import People
from fallowside.access.sessions import Signed
from fallowside.api import problems, signing
from fallowside.api.pace import source_of
from fallowside.api.problems import Refusal
from fallowside.store import log
from fallowside.store.database import Database
from fallowside.sync import reply

_log = logging.getLogger("fallowside")
_NAME = r"^([0-9A-Za-z][0-9A-Za-z_.:-]{0,63})?$"
_KINDS = (("iPhone", "iPhone"), ("iPad", "iPad"), ("Android", "Android"), ("Mobile", "phone"))

Name = Annotated[str, Field(pattern=_NAME)]


class Redeemed(BaseModel):
    """What a phone sends to be paired."""

    code: str = Field(description="as shown by a host", max_length=64)
    device: Name = Field("", description="the phone's name for itself")


class Wanted(BaseModel):
    """Whom a phone is to be paired for."""

    person: Name = Field("", description="a person of the place; none for a host who isn't set up yet")


class Me(BaseModel):
    """Who is calling."""

    person: str
    role: str
    device: str
    here: bool = Field(description="whether their stay goes on; after it a phone may only hand in")
    last_day: str | None
    open: bool = Field(description="the server lets only its own machine in, and needs no session")


class Invited(BaseModel):
    """An invitation, shown only now."""

    code: str
    link: str
    until: str
    squares: list[str] = Field(description="the link as a code for a camera: a row a line, 1 is dark")
    trust_address: str | None = Field(
        description="where a phone that was never here learns to trust the server's own certificate"
    )
    trust_squares: list[str] = Field(description="that address as a code for a camera; none without one")


def router(
    database: Database, people: People, now_us: Callable[[], int], trust_address: str = ""
) -> APIRouter:
    """Give the routes of pairing."""
    routes = APIRouter(tags=["pairing"])
    guesses = pairing.Guesses()

    @routes.post("/api/pair", responses=problems.documented(403, 413, 422, 429, 503, 507))
    async def pair(request: Request, answer: Response, wanted: Redeemed) -> Me:
        """Trade an invitation, once, for a session in a cookie."""
        source, now = source_of(request.client.host if request.client else ""), now_us()
        locked_us = guesses.locked_for_us(source, now)
        if locked_us:
            raise Refusal(
                429, "locked", f"too many wrong codes; wait {-(-locked_us // 60_000_000)} minutes", "code"
            )
        paired = await run_in_threadpool(
            pairing.redeem,
            database,
            wanted.code,
            wanted.device,
            kind_of(request.headers.get("user-agent", "")),
            now,
            instead_of=signing.token_of(request),
        )
        if paired is None:
            locked: list[tuple[int, int]] = []
            guesses.wrong(source, now, lambda times, first: locked.append((times, first)))
            for times, first in locked:
                _log.warning("%d wrong pairing codes from %s: locked out for a while", times, source)
                await run_in_threadpool(pairing.raise_alarm, database, source, times, first, now)
            raise Refusal(403, "bad_code", "this code is wrong, used, or older than ten minutes", "code")
        guesses.forgive(source)
        signing.give_cookie(request, answer, paired.token)
        found = await run_in_threadpool(sessions.find, database, people, paired.token, now)
        assert found is not None
        return me_of(found)

    @routes.get("/api/me", responses=problems.documented(401, 403, 503))
    def me(signed: signing.Caller) -> Me:
        """Say who is calling."""
        return me_of(signed)

    @routes.post("/api/leave", responses=problems.documented(401, 403, 503, 507))
    def leave(request: Request, answer: Response, signed: signing.Caller) -> Me:
        """End the session of this phone."""
        with database.write() as hand:
            sessions.end_token(hand, signing.token_of(request), now_us())
        signing.give_cookie(request, answer, "")
        return me_of(signed)

    @routes.post("/api/invitations", responses=problems.documented(401, 403, 404, 413, 422, 503, 507))
    def invite(request: Request, wanted: Wanted, signed: signing.Caller) -> Invited:
        """Invite a phone: a code for ten minutes that works once."""
        now = now_us()
        with database.write() as hand:
            place = log.open_place(hand, now)
            person = people.of(hand, place.n).get(wanted.person)
            if wanted.person and person is None:
                raise Refusal(404, "unknown_person", "this person isn't set up here (yet)", "person")
            made = pairing.invite(hand, place.n, wanted.person, person.role if person else "host", now)
        link = pairing_link(str(request.base_url), made.code)
        return Invited(
            code=tokens.spaced(made.code),
            link=link,
            until=reply.instant(made.until_us),
            squares=squares(link),
            trust_address=trust_address or None,
            trust_squares=squares(trust_address) if trust_address else [],
        )

    return routes


def pairing_link(base: str, code: str) -> str:
    """Give the link that pairs a phone. What follows # stays in the browser: no log or proxy sees it."""
    return f"{base.rstrip('/')}/#/pair/{tokens.spaced(code)}"


def squares(text: str) -> list[str]:
    """Give a text as a code for a camera, with no edge: a row a line, 1 is dark."""
    return ["".join("1" if dark else "0" for dark in row) for row in segno.make(text, micro=False).matrix]


def kind_of(agent: str) -> str:
    """Say coarsely what kind of phone this is; no more of what it tells about itself is kept."""
    return next((kind for mark, kind in _KINDS if mark in agent), "computer")


def me_of(signed: Signed) -> Me:
    """Describe who is calling."""
    return Me(
        person=signed.person,
        role=signed.role,
        device=signed.device,
        here=signed.here,
        last_day=signed.last_day.isoformat() if signed.last_day else None,
        open=signed.session is None,
    )
