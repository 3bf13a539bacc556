"""Who may call which route, all in one table. A route that isn't in it is refused to everybody.

anyone     no session needed
sender     whoever holds a session, also after the last day of their stay
reader     whoever holds a session and is here now
host       only a host
"""

from collections.abc import Iterable, Mapping
from typing import Literal

from fastapi import APIRouter
from fastapi.routing import APIRoute

from fallowside.access.sessions import Signed

Who = Literal["anyone", "sender", "reader", "host"]

RULES: Mapping[str, Who] = {
    "GET /api/health": "anyone",
    "POST /api/pair": "anyone",
    # A probe holds a token of its own, which lets in readings of its station and nothing else.
    "POST /api/probe": "anyone",
    "POST /api/sync": "sender",
    "POST /api/held/{ref}/drop": "sender",
    "PUT /api/photos/{name}": "sender",
    "GET /api/photos/{name}": "reader",
    "GET /api/me": "sender",
    "POST /api/leave": "sender",
    # Its address is a secret of its own, which only its person was shown.
    "GET /api/calendar/{token}.ics": "anyone",
    "GET /api/calendars": "reader",
    "POST /api/calendars": "reader",
    "POST /api/calendars/end": "reader",
    "GET /api/push": "reader",
    "POST /api/push": "reader",
    "POST /api/push/end": "sender",
    "GET /api/plan": "reader",
    "GET /api/tally": "reader",
    "POST /api/route": "reader",
    "GET /api/report.css": "reader",
    "GET /api/sheets/stickers.html": "reader",
    "GET /api/sheets/handover.html": "reader",
    "GET /api/sheets/sheets.css": "reader",
    "GET /api/openapi.json": "reader",
    "GET /api/report.html": "host",
    "GET /api/report.csv": "host",
    "GET /api/report.xlsx": "host",
    "GET /api/held": "host",
    "POST /api/held/{ref}/allow": "host",
    "POST /api/invitations": "host",
    "GET /api/phones": "host",
    "POST /api/phones/{n}/end": "host",
    "POST /api/alarms/seen": "host",
}


def names(routers: Iterable[APIRouter]) -> list[str]:
    """Name every route of some routers as the table does: `GET /api/health`."""
    routes = [route for router in routers for route in router.routes if isinstance(route, APIRoute)]
    return sorted(f"{method} {route.path}" for route in routes for method in route.methods or ())


def complete(routers: Iterable[APIRouter]) -> None:
    """See to it that every route has a rule, and every rule a route.

    Raises:
        RuntimeError: it isn't so; a server built wrongly doesn't start.
    """
    differing = sorted(set(names(routers)) ^ RULES.keys())
    if differing:
        raise RuntimeError(f"a route has no rule, or a rule no route: {', '.join(differing)}")


def lets_in(who: Who, signed: Signed) -> bool:
    """Tell whether a rule lets somebody with a session in."""
    return {
        "anyone": True,
        "sender": True,
        "reader": signed.here,
        "host": signed.is_host,
    }[who]
