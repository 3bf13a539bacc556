"""Puts the application together."""

from collections.abc import Callable, Collection
from pathlib import Path

from fastapi import FastAPI

import fallowside
from fallowside.api import clock, documents, health, holding, plans, problems, reporting, syncing
from fallowside.api.guard import Guard
from fallowside.api.site import Missing, Site, built_app
from fallowside.store.database import Database


def build_app(
    database: Database,
    *,
    hosts: Collection[str] = (),
    web: Path | None = None,
    now_us: Callable[[], int] = clock.now_us,
) -> FastAPI:
    """Give the application that serves one database.

    Args:
        database: Open, and closed by whoever opened it.
        hosts: Names it answers to beside localhost, `.local` names and addresses.
        web: Folder of the built web app; the one found, if left out.
        now_us: The clock. [microseconds]
    """
    app = FastAPI(
        title="Fallowside",
        version=fallowside.__version__,
        summary="A log of scraps and what becomes of them; its plan.",
        openapi_url="/api/openapi.json",
        # The usual documentation pages fetch their scripts from elsewhere.
        docs_url=None,
        redoc_url=None,
    )
    problems.install(app)
    app.include_router(syncing.router(database, now_us))
    app.include_router(plans.router(database, now_us))
    app.include_router(reporting.router(database, now_us))
    app.include_router(holding.router(database, now_us))
    app.include_router(health.router(database))
    folder = web or built_app()
    app.mount("/", Site(directory=folder, html=True) if folder else Missing())
    app.add_middleware(Guard, hosts=hosts)
    documents.describe(app)
    return app
