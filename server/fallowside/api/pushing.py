"""Messages to phones over HTTP: our key, and browsers that take messages or take them no more."""

import logging
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Annotated

from cryptography.hazmat.primitives.asymmetric import ec
from fastapi import APIRouter, FastAPI
from pydantic import BaseModel, Field

from fallowside.access import sessions
from fallowside.access.people import People
from fallowside.api import clock, here, problems, signing
from fallowside.api.calendars import whose
from fallowside.api.pairing import Name
from fallowside.api.problems import Refusal
from fallowside.remind import carrier, phones, push
from fallowside.remind.carrier import Carrier
from fallowside.remind.ringing import Ringer
from fallowside.store import log
from fallowside.store.database import Database

_EVERY_S = 300.0
_STOP_S = 15.0
_log = logging.getLogger("fallowside")
Endpoint = Annotated[str, Field(max_length=2000, description="where the browser takes messages")]


class OwnKey(BaseModel):
    """What a browser needs to let us send."""

    key: str | None = Field(description="our public key, base64url; none where no messages are sent")


class BrowserKeys(BaseModel):
    """The keys a browser gives."""

    p256dh: str = Field(max_length=100)
    auth: str = Field(max_length=32)


class Subscribing(BaseModel):
    """A browser that will take messages."""

    endpoint: Endpoint
    keys: BrowserKeys
    language: str = Field("en", pattern=r"^[a-z]{2}$", description="of the words")
    person: Name = Field("", description="for whom; left out: the caller")


class Subscribed(BaseModel):
    """For whom a browser takes messages."""

    person: str


class Leaving(BaseModel):
    """A browser that takes no more messages."""

    endpoint: Endpoint


class Left(BaseModel):
    """It takes none now."""

    ended: bool


def router(
    database: Database,
    people: People,
    key: ec.EllipticCurvePrivateKey | None,
    now_us: Callable[[], int],
) -> APIRouter:
    """Give the routes of messages to phones."""
    routes = APIRouter(tags=["reminders"])

    @routes.get("/api/push", responses=problems.documented(401, 403, 503))
    def own_key() -> OwnKey:
        """Give our public key, if messages are sent at all."""
        return OwnKey(key=None if key is None else push.encoded(push.point_of(key.public_key())))

    @routes.post("/api/push", responses=problems.documented(401, 403, 404, 413, 422, 503, 507))
    def start(wanted: Subscribing, signed: signing.Caller) -> Subscribed:
        """Let a browser take messages for a person."""
        if key is None:
            raise Refusal(404, "no_messages", "this server sends no messages to phones")
        try:
            browser = push.browser(carrier.checked(wanted.endpoint), wanted.keys.p256dh, wanted.keys.auth)
        except push.BadSubscription as error:
            raise Refusal(422, error.code, str(error), "endpoint") from error
        with database.write() as hand:
            now = now_us()
            place = log.open_place(hand, now)
            person = whose(hand, place.n, people, wanted.person, signed)
            phones.start(hand, place.n, person, signed.session, browser, wanted.language, now)
        return Subscribed(person=person)

    @routes.post("/api/push/end", responses=problems.documented(401, 403, 413, 422, 503, 507))
    def end(wanted: Leaving) -> Left:
        """Let a browser take no more messages; whoever knows its address is that browser."""
        with database.write() as hand:
            phones.end(hand, log.open_place(hand, now_us()).n, wanted.endpoint)
        return Left(ended=True)

    return routes


@contextmanager
def ringing(
    app: FastAPI, database: Database, key: ec.EllipticCurvePrivateKey, contact: str
) -> Iterator[None]:
    """Look every few minutes for what is due, and send it, beside the server."""
    ringer = Ringer(
        database,
        lambda now_us: here.plan_now(app.state.kept, now_us),
        key,
        contact,
        Carrier().bring,
        sessions.LAPSE_US,
    )
    stop = threading.Event()

    def run() -> None:
        while not stop.wait(_EVERY_S):
            try:
                ringer.ring(clock.now_us())
            except Exception:
                # The next look may go better; the server goes on whatever happens here.
                _log.exception("looking for what is due failed")

    beside = threading.Thread(target=run, daemon=True)
    beside.start()
    try:
        yield
    finally:
        stop.set()
        beside.join(_STOP_S)
