"""The list of paired phones, for hosts: who was seen when, and ending one at once."""

from collections.abc import Callable
from typing import Annotated

from fastapi import APIRouter, Path
from pydantic import BaseModel, Field

from fallowside.access import pairing, sessions
from fallowside.api import problems, signing
from fallowside.api.problems import Refusal
from fallowside.store import log
from fallowside.store.database import Database
from fallowside.sync import reply

Number = Annotated[int, Path(ge=1, le=2**31 - 1, description="the number of the phone in the list")]


class PhoneLine(BaseModel):
    """A paired phone."""

    n: int
    person: str = Field(description="whose it is; '' for a host who isn't set up yet")
    device: str = Field(description="its name in the log")
    kind: str
    paired_at: str
    seen_at: str
    mine: bool = Field(description="it is the one that asks")
    clock_skew_s: int = Field(
        description="server's clock minus its own when it last sent; 0 where that is two minutes or less"
    )


class AlarmLine(BaseModel):
    """Something a host should know."""

    what: str
    source: str
    times: int
    first_at: str
    last_at: str


class PhoneList(BaseModel):
    """The phones that are let in, the one seen last first; and what a host should know."""

    phones: list[PhoneLine]
    alarms: list[AlarmLine]


class PutAway(BaseModel):
    """How many alarms were put away."""

    put_away: int


class Ended(BaseModel):
    """A phone that is no longer let in."""

    n: int


def router(database: Database, now_us: Callable[[], int]) -> APIRouter:
    """Give the routes of phones."""
    routes = APIRouter(tags=["phones"])

    @routes.get("/api/phones", responses=problems.documented(401, 403, 503))
    def phones(signed: signing.Caller) -> PhoneList:
        """List the phones that are let in."""
        now = now_us()
        with database.read() as hand:
            place_n = log.place_number(hand)
            found = sessions.phones(hand, place_n) if place_n is not None else []
            alarms = pairing.alarms(hand, place_n) if place_n is not None else []
        return PhoneList(
            phones=[_line(one, signed.session) for one in found if one.is_live(now)],
            alarms=[
                AlarmLine(
                    what=one.what,
                    source=one.source,
                    times=one.times,
                    first_at=reply.instant(one.first_us),
                    last_at=reply.instant(one.last_us),
                )
                for one in alarms
            ],
        )

    @routes.post("/api/phones/{n}/end", responses=problems.documented(401, 403, 404, 422, 503, 507))
    def end(n: Number) -> Ended:
        """Let a phone in no longer, from this moment on."""
        with database.write() as hand:
            now = now_us()
            ended = sessions.end(hand, log.open_place(hand, now).n, n, now)
        if not ended:
            raise Refusal(404, "no_phone", "no phone of this number is let in", "n")
        return Ended(n=n)

    @routes.post("/api/alarms/seen", responses=problems.documented(401, 403, 503, 507))
    def seen() -> PutAway:
        """Put the alarms away."""
        with database.write() as hand:
            now = now_us()
            place = log.open_place(hand, now)
            found = len(pairing.alarms(hand, place.n))
            pairing.put_away(hand, place.n, now)
        return PutAway(put_away=found)

    return routes


def _line(one: sessions.Phone, mine: int | None) -> PhoneLine:
    return PhoneLine(
        n=one.n,
        person=one.person,
        device=one.device,
        kind=one.label,
        paired_at=reply.instant(one.made_us),
        seen_at=reply.instant(one.seen_us),
        mine=one.n == mine,
        clock_skew_s=reply.shown_skew_s((one.skew_ms or 0) * 1000),
    )
