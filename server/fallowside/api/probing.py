"""Readings of probes over HTTP: made into entries, and judged, held and stored as anybody's."""

import hashlib
from collections.abc import Callable, Mapping
from typing import Annotated, Any

import msgspec
from fastapi import APIRouter, Header, Request
from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel, ConfigDict, Field, ValidationError
from starlette.concurrency import run_in_threadpool

from fallowside.access import probes
from fallowside.api import body, documents, problems
from fallowside.api.problems import Refusal
from fallowside.store.database import Database
from fallowside.sync import reply
from fallowside.sync.allowed import Allowed
from fallowside.sync.call import MOST_ENTRIES, Call
from fallowside.sync.holding import TOO_MANY_HELD, Refused
from fallowside.sync.intake import Intake

MOST_BYTES = 512 * 1024
"""Of what a probe sends at once."""
_ID_LETTERS = 24
MOST_HELD = 20
"""Readings of one station's probes that are kept waiting: enough to see what is wrong with a probe."""
_ALLOWED = Allowed(set_up=False, read=False, asked=False, most_held=MOST_HELD)


class Measured(BaseModel):
    """A number and its unit."""

    value: float
    unit: str = Field(max_length=20, description="degC, degF, cm …")


class Reading(BaseModel):
    """What a probe read at one instant; at least one figure."""

    model_config = ConfigDict(extra="forbid")

    at: str | None = Field(None, max_length=40, description="when, RFC 3339 with offset; now, if left out")
    side: str | None = Field(None, max_length=8, description="of a bed: a or b")
    temperature: Measured | None = None
    air_temperature: Measured | None = None
    moisture_pct: float | None = None
    ph: float | None = None
    depth: Measured | None = None


class Readings(BaseModel):
    """What a probe sends."""

    readings: list[Reading] = Field(min_length=1, max_length=MOST_ENTRIES)


class HeldReading(BaseModel):
    """A reading that can't be used as it is, or not before a host has looked at it."""

    index: int
    code: str
    why: str
    field: str


class Taken(BaseModel):
    """What became of what a probe sent."""

    accepted: int = Field(description="readings that are in the log now, new or sent before")
    new: int = Field(description="how many of them were not in it before")
    held: list[HeldReading] = Field(description="kept aside, for a host to look at")
    left_out: list[HeldReading] = Field(
        description=f"not kept, for {MOST_HELD} of this station's are held already: the probe needs a look"
    )


def router(database: Database, intake: Intake, now_us: Callable[[], int]) -> APIRouter:
    """Give the route of probes."""
    routes = APIRouter(tags=["probes"])

    @routes.post(
        "/api/probe",
        responses=problems.documented(400, 401, 413, 422, 503, 507),
        openapi_extra=documents.sends(Readings),
    )
    async def take(
        request: Request,
        authorization: Annotated[
            str, Header(max_length=200, description="Bearer, and the station's token")
        ] = "",
    ) -> Taken:
        """Take readings of one station in; the token says which."""
        token = authorization.removeprefix("Bearer ").strip()
        station = await run_in_threadpool(probes.station_of, database, token) if token else None
        if station is None:
            raise Refusal(
                401, "no_probe", "no station has this token (any more); make one: fallowside probe STATION"
            )
        received = await body.limited(request, MOST_BYTES)
        if received is None:
            raise Refusal(413, "too_large", f"a probe sends at most {MOST_BYTES:,} bytes at once; send fewer")
        return await run_in_threadpool(taken, station, received)

    def taken(station: str, received: bytes) -> Taken:
        try:
            sent = Readings.model_validate_json(received)
        except ValidationError as error:
            raise RequestValidationError(error.errors()) from error
        now = now_us()
        docs = [entry(station, one.model_dump(exclude_none=True), now) for one in sent.readings]
        call = Call(f"probe-{station}"[:64], 0, [msgspec.json.encode(doc) for doc in docs])
        found = intake.take(call, now, hand_out=False, allowed=_ALLOWED)
        full = [one for one in found.held if one.problem.code == TOO_MANY_HELD]
        return Taken(
            accepted=len(found.accepted),
            new=found.new,
            held=[_told(one) for one in found.held if one not in full],
            left_out=[_told(one) for one in full],
        )

    return routes


def _told(one: Refused) -> HeldReading:
    flaw = one.problem
    return HeldReading(index=one.index, code=flaw.code, why=flaw.message, field=flaw.field)


def entry(station: str, reading: Mapping[str, Any], now_us: int) -> dict[str, Any]:
    """Make an entry of a reading.

    Its id comes from what it says, so that a reading that is sent again is the same entry.

    >>> entry("bed", {"at": "2026-03-01T07:30:00Z", "ph": 7.0}, 0)["id"]
    'probe-9cf5cf3e61a1f4d2f3a42cc7'
    """
    made = {"kind": "reading", "station": station, "at": reply.instant(now_us), **reading, "by": ""}
    made["device"] = f"probe-{station}"
    digest = hashlib.sha256(msgspec.json.encode(made, order="sorted")).hexdigest()
    return {"id": f"probe-{digest[:_ID_LETTERS]}", **made}
