"""Held entries over HTTP: what waits, and setting one aside for good."""

from collections.abc import Callable

from fastapi import APIRouter, Path

from fallowside.api import documents, problems
from fallowside.api.problems import Refusal
from fallowside.store import held, log
from fallowside.store.database import Database
from fallowside.sync import reply, slices

_REF = r"^(~[0-9]{1,9}|[0-9A-Za-z][0-9A-Za-z_.:-]{0,63})$"


def router(database: Database, now_us: Callable[[], int]) -> APIRouter:
    """Give the routes of held entries."""
    routes = APIRouter(tags=["held"])

    @routes.get("/api/held", responses=problems.documented(503))
    def waiting() -> documents.HeldList:
        """Entries set aside and waiting to be mended, oldest first."""
        with database.read() as hand:
            place_n = log.place_number(hand)
            found = held.waiting(hand, place_n) if place_n is not None else []
            names = log.device_names(hand, place_n) if place_n is not None else {}
        return documents.HeldList(held=[_shown(one, names[one.device_n]) for one in found])

    @routes.post("/api/held/{ref}/drop", responses=problems.documented(404, 422, 503, 507))
    def drop(ref: str = Path(pattern=_REF, description="an entry's id, or its `ref`")) -> documents.Dropped:
        """Set a held entry aside for good; it stays in the store, marked so."""
        with database.write() as hand:
            now = now_us()
            found = held.by_ref(hand, log.open_place(hand, now).n, ref)
            held.settle(hand, [(one.n, None) for one in found], held.DROPPED, now)
        if not found:
            raise Refusal(
                404, "not_held", f"nothing is held under {ref!r}; it may have been mended already", "ref"
            )
        return documents.Dropped(dropped=len(found))

    return routes


def _shown(one: held.Held, device: str) -> documents.WaitingEntry:
    read = slices.strict(one.body)
    return documents.WaitingEntry(
        ref=one.ref,
        id=one.id,
        device=device,
        code=one.code,
        why=one.why,
        field=one.field,
        values=dict(one.values),
        received_at=reply.instant(one.received_us),
        entry=one.body.decode(errors="replace") if read is None else read,
    )
