"""Puts the application together."""

from collections.abc import Callable, Collection
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric import ec
from fastapi import Depends, FastAPI

import fallowside
from fallowside.api import (
    calendars,
    clock,
    documents,
    health,
    holding,
    pairing,
    phones,
    photos,
    plans,
    probing,
    problems,
    pushing,
    reporting,
    routing,
    rules,
    sheets,
    syncing,
)
from fallowside.api.guard import Guard
from fallowside.api.pace import Pace
from fallowside.api.signing import Door
from fallowside.api.site import Missing, Site, built_app
from fallowside.exchange import folded
from fallowside.store.database import Database
from fallowside.sync.intake import Intake


def build_app(
    database: Database,
    *,
    hosts: Collection[str] = (),
    sign_in: bool = False,
    pace: Pace | None = None,
    trust_address: str = "",
    web: Path | None = None,
    push_key: ec.EllipticCurvePrivateKey | None = None,
    now_us: Callable[[], int] = clock.now_us,
) -> FastAPI:
    """Give the application that serves one database.

    Args:
        database: Open, and closed by whoever opened it.
        hosts: Names it answers to beside localhost and addresses.
        sign_in: Whether callers need a session; without, whoever reaches the server is its host.
        pace: How many calls one source may make; without, as many as it likes.
        trust_address: Where a phone learns to trust a certificate the server made itself, if it did.
        web: Folder of the built web app; the one found, if left out.
        push_key: Our own key for messages to phones; without, there are none.
        now_us: The clock. [microseconds]
    """
    door = Door(database, now_us, sign_in=sign_in)
    app = FastAPI(
        title="Fallowside",
        version=fallowside.__version__,
        summary="A log of scraps and what becomes of them; its plan.",
        # Given by a route of its own, which has a rule like any other.
        openapi_url=None,
        # The usual documentation pages fetch their scripts from elsewhere.
        docs_url=None,
        redoc_url=None,
        dependencies=[Depends(door.check)],
    )
    problems.install(app)
    intake = Intake(database)
    kept = folded.Kept(database)
    routers = (
        syncing.router(database, intake, now_us),
        plans.router(database, kept, now_us),
        routing.router(kept, now_us),
        reporting.router(database, now_us),
        sheets.router(database, now_us),
        holding.router(database, intake, now_us),
        health.router(database),
        probing.router(database, intake, now_us),
        pairing.router(database, door.people, now_us, trust_address),
        phones.router(database, now_us),
        photos.router(database, now_us),
        calendars.router(database, kept, door.people, now_us),
        pushing.router(database, door.people, push_key, now_us),
        documents.router(app),
    )
    rules.complete(routers)
    app.state.kept = kept
    for router in routers:
        app.include_router(router)
    folder = web or built_app()
    app.mount("/", Site(directory=folder, html=True) if folder else Missing())
    app.add_middleware(Guard, hosts=hosts, pace=pace)
    documents.describe(app)
    return app
