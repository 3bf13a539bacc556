"""Whether the server works."""

from fastapi import APIRouter, Request

import fallowside
from fallowside.api import documents, problems
from fallowside.core import plan
from fallowside.store import held, log
from fallowside.store.database import Database


def router(database: Database) -> APIRouter:
    """Give the route of health."""
    routes = APIRouter(tags=["health"])

    @routes.get("/api/health", responses=problems.documented(503))
    def health(request: Request) -> documents.Health:
        """Say that the server works; to whoever is let in, also how many entries it holds."""
        if request.state.signed is None:
            return documents.Health(
                ok=True, version=fallowside.__version__, models=None, entries=None, held=None, place=None
            )
        with database.read() as hand:
            place_n = log.place_number(hand)
            entries = log.last_seq(hand, place_n) if place_n is not None else 0
            waiting = held.count_waiting(hand, place_n) if place_n is not None else 0
        return documents.Health(
            ok=True,
            version=fallowside.__version__,
            models=plan.MODELS,
            entries=entries,
            held=waiting,
            place=database.place,
        )

    return routes
