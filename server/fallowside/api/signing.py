"""Finds who is calling, and lets nobody past the rule of the route they ask for."""

from collections.abc import Callable
from typing import Annotated

from fastapi import Depends, Request, Response
from starlette.concurrency import run_in_threadpool

from fallowside.access import sessions
from fallowside.access.people import People
from fallowside.access.sessions import Signed
from fallowside.api import rules
from fallowside.api.problems import Refusal
from fallowside.store.database import Database

PLAIN_COOKIE = "fallowside"
SECURE_COOKIE = f"__Host-{PLAIN_COOKIE}"
"""By this name browsers take the cookie over https only, and from this very host."""
_HANDED_ON = frozenset({"forwarded", "x-forwarded-for", "x-forwarded-host", "x-real-ip"})
"""Headers that a proxy adds."""
_COOKIE_AGE_S = 34_560_000
"""As long as browsers keep one at most; the server ends sessions by its own clock."""


class Door:
    """Stands before every route of the application."""

    def __init__(self, database: Database, now_us: Callable[[], int], *, sign_in: bool) -> None:
        self.database = database
        self.now_us = now_us
        self.sign_in = sign_in
        self.people = People()

    async def check(self, request: Request) -> None:
        """Let a call pass to its route, and note who makes it; a dependency of every route.

        Raises:
            Refusal: no session, one that has ended, or not theirs to ask.
        """
        route = f"{request.method} {request.scope['route'].path}"
        who = rules.RULES[route]
        signed = await self.caller(request)
        request.state.signed = signed
        if who == "anyone":
            return
        if signed is None:
            raise _nobody(token_of(request) != "")
        if signed.place != self.database.place:
            raise Refusal(403, "other_place", "this phone belongs to another place")
        if not rules.lets_in(who, signed):
            raise _not_theirs(signed)

    async def caller(self, request: Request) -> Signed | None:
        """Find who makes a call."""
        if not self.sign_in:
            if not _HANDED_ON.isdisjoint(request.headers.keys()):
                raise Refusal(
                    403, "handed_on", "a proxy stands before an open server; start it with --behind-proxy"
                )
            return sessions.on_this_machine(self.database.place)
        token = token_of(request)
        if not token:
            return None
        return await run_in_threadpool(sessions.find, self.database, self.people, token, self.now_us())


async def signed_in(request: Request) -> Signed:
    """Give who is calling: the dependency of routes that want to know (not for `anyone`)."""
    signed: Signed | None = request.state.signed
    if signed is None:
        raise _nobody(False)
    return signed


Caller = Annotated[Signed, Depends(signed_in)]


def token_of(request: Request) -> str:
    """Give the token a call carries, or ''."""
    name = SECURE_COOKIE if request.url.scheme == "https" else PLAIN_COOKIE
    return request.cookies.get(name, "")


def give_cookie(request: Request, answer: Response, token: str) -> None:
    """Let a browser keep a token where no script can read it; '' takes it away."""
    secure = request.url.scheme == "https"
    answer.set_cookie(
        SECURE_COOKIE if secure else PLAIN_COOKIE,
        token,
        max_age=_COOKIE_AGE_S if token else 0,
        path="/",
        secure=secure,
        httponly=True,
        samesite="strict",
    )


def _nobody(had_one: bool) -> Refusal:
    if had_one:
        return Refusal(401, "signed_out", "this phone is no longer let in; ask a host to pair it again")
    return Refusal(401, "sign_in", "this phone isn't paired; ask a host for a pairing link")


def _not_theirs(signed: Signed) -> Refusal:
    if not signed.here:
        said = "the stay here is over: what was recorded is still taken in, but nothing is shown"
        return Refusal(403, "stay_over", said)
    return Refusal(403, "host_only", "only a host may do this")
