"""Held entries over HTTP: what waits, and setting one aside for good."""

from collections.abc import Callable
from typing import Annotated

from fastapi import APIRouter, Path

from fallowside.api import documents, problems, signing
from fallowside.api.problems import Refusal
from fallowside.store import held, log
from fallowside.store.database import Database
from fallowside.sync import reply, slices
from fallowside.sync.intake import Intake

_REF = r"^(~[0-9]{1,9}|[0-9A-Za-z][0-9A-Za-z_.:-]{0,63})$"
Ref = Annotated[str, Path(pattern=_REF, description="an entry's id, or its `ref`")]


def router(database: Database, intake: Intake, now_us: Callable[[], int]) -> APIRouter:
    """Give the routes of held entries."""
    routes = APIRouter(tags=["held"])

    @routes.get("/api/held", responses=problems.documented(401, 403, 503))
    def waiting() -> documents.HeldList:
        """Entries set aside and waiting to be mended, oldest first."""
        with database.read() as hand:
            place_n = log.place_number(hand)
            found = held.waiting(hand, place_n) if place_n is not None else []
            names = log.device_names(hand, place_n) if place_n is not None else {}
        return documents.HeldList(held=[_shown(one, names[one.device_n]) for one in found])

    @routes.post("/api/held/{ref}/drop", responses=problems.documented(401, 403, 404, 422, 503, 507))
    def drop(ref: Ref, signed: signing.Caller) -> documents.Dropped:
        """Set a held entry aside for good; it stays in the store, marked so. Helpers: only their own."""
        with database.write() as hand:
            now = now_us()
            place_n = log.open_place(hand, now).n
            found = held.by_ref(hand, place_n, ref)
            if not signed.is_host:
                names = log.device_names(hand, place_n)
                found = [one for one in found if names[one.device_n] == signed.device]
            held.settle(hand, [(one.n, None) for one in found], held.DROPPED, now)
        if not found:
            raise Refusal(
                404, "not_held", f"nothing is held under {ref!r}; it may have been mended already", "ref"
            )
        return documents.Dropped(dropped=len(found))

    @routes.post("/api/held/{ref}/allow", responses=problems.documented(401, 403, 404, 422, 503, 507))
    def allow(ref: Ref) -> documents.LetIn:
        """Let in an entry that waits for a host, and what it makes good."""
        let_in = intake.allow(ref, now_us())
        if let_in is None:
            raise Refusal(404, "not_held", f"nothing waits for a host under {ref!r}", "ref")
        return documents.LetIn(let_in=let_in)

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
