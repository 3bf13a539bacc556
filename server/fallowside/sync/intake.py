"""Takes a call in: one transaction that accepts, holds, lets held entries in, and hands out.

`entries.problem` judges. The fast path is a call whose entries are new and good: they are judged
in one loop and written by one `executemany`; only if an id turns out to be taken is anything looked
up. Every other case takes the slower path to the same result.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any
from zlib import crc32

import msgspec

from fallowside.core import entries
from fallowside.core.entries import FUTURE_US, Known, Problem
from fallowside.store import held, log
from fallowside.store.database import Database, Hand
from fallowside.store.models import SETUP_KINDS
from fallowside.sync import known
from fallowside.sync.call import Call, parsed
from fallowside.sync.content import own_bytes, same_content

MOST_HANDED_OUT = 2000
"""Entries handed out by one call."""
_TAKEN = "id_taken"


@dataclass(frozen=True, slots=True)
class Refused:
    """An entry of the call that was held. `ref` names it in the store, also where `id` is None."""

    id: str | None
    index: int
    ref: str
    problem: Problem


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a call: `new` of the accepted were not in the log; `let_in` were held earlier."""

    log_name: str
    accepted: Sequence[str]
    new: int
    held: Sequence[Refused]
    let_in: Sequence[str]
    lines: Sequence[log.Line]
    cursor: int
    more: bool
    now_us: int
    skew_us: int | None


@dataclass(frozen=True, slots=True)
class _Arrival:
    """The circumstances all entries of one call share."""

    place: log.OpenPlace
    device_n: int
    now_us: int
    skew_ms: int | None

    @property
    def device_now_us(self) -> int:
        """The device's clock at receipt: what its entries' times are judged by."""
        return self.now_us - (self.skew_ms or 0) * 1000


@dataclass(slots=True)
class _Sorted:
    """A call's entries after judging."""

    accepted: list[str]
    rows: list[log.Row]
    setups: list[Mapping[str, Any]]
    bad: list[tuple[int, Problem]]


class Intake:
    """The door of one place. Remembers what is set up there between calls."""

    def __init__(self, database: Database, place_name: str = log.ONLY_PLACE) -> None:
        self.database = database
        self.place_name = place_name
        self._knowledge = known.nothing()

    def take(self, call: Call, now_us: int, *, hand_out: bool = True) -> Outcome:
        """Take a call in; when this returns, what it accepted is on the disk.

        Args:
            call: What a device sent.
            now_us: The server's clock. [microseconds]
            hand_out: Whether entries after the call's cursor are wanted.
        """
        skew_us = None if call.sent_us is None else now_us - call.sent_us
        if not call.bodies:
            with self.database.read() as hand:
                place_n = log.place_number(hand, self.place_name)
                if place_n is not None:
                    return self._only_hand_out(hand, call, now_us, skew_us, place_n)
        with self.database.write() as hand:
            place = log.open_place(hand, now_us, self.place_name)
            skew_ms = None if skew_us is None else round(skew_us / 1000)
            device_n = log.device_number(hand, place.n, call.device, now_us, skew_ms)
            arrival = _Arrival(place, device_n, now_us, skew_ms)
            self._knowledge = _refreshed(hand, place.n, self._knowledge)
            found = _append(hand, arrival, call, self._knowledge)
            refused = _hold(hand, arrival, call, found.bad)
            _settle_mended(hand, arrival, found.rows)
            let_in: list[log.Row] = []
            if found.setups or held.ripe(hand, place.n, now_us):
                knowledge = known.learnt(self._knowledge, found.setups, place.last_seq)
                let_in = _let_in(hand, arrival, knowledge, place.last_seq + len(found.rows))
            lines: list[log.Line] = []
            cursor, more = call.cursor, False
            if hand_out:
                last = place.last_seq + len(found.rows) + len(let_in)
                own = set(found.accepted)
                cursor = _start(call, place.log, last)
                lines, cursor, more = _after(hand, place.n, cursor, place.last_seq, own)
                if not more:
                    lines += [log.Line(row[1], row[2], row[5], row[8]) for row in let_in if row[2] not in own]
                    cursor = max(cursor, last)
        return Outcome(
            place.log,
            found.accepted,
            len(found.rows),
            refused,
            [row[2] for row in let_in],
            lines,
            cursor,
            more,
            now_us,
            skew_us,
        )

    def _only_hand_out(
        self, hand: Hand, call: Call, now_us: int, skew_us: int | None, place_n: int
    ) -> Outcome:
        name: str = hand.value("SELECT log FROM place WHERE n = ?", place_n)
        last = log.last_seq(hand, place_n)
        lines, cursor, more = _after(hand, place_n, _start(call, name, last), last, set())
        return Outcome(name, [], 0, [], [], lines, cursor, more, now_us, skew_us)


# -- handing out ---------------------------------------------------------------------------------


def _start(call: Call, log_name: str, last: int) -> int:
    """Give where a reader goes on: at the head, if its cursor belongs to another log."""
    other = call.log is not None and call.log != log_name
    return 0 if other or call.cursor > last else call.cursor


def _after(
    hand: Hand, place_n: int, cursor: int, last: int, own: set[str]
) -> tuple[list[log.Line], int, bool]:
    if cursor >= last:
        return [], cursor, False
    lines = log.after(hand, place_n, cursor, last, MOST_HANDED_OUT + 1)
    more = len(lines) > MOST_HANDED_OUT
    lines = lines[:MOST_HANDED_OUT]
    return [line for line in lines if line.id not in own], lines[-1].seq if lines else cursor, more


# -- accepting -----------------------------------------------------------------------------------


def _refreshed(hand: Hand, place_n: int, knowledge: known.Knowledge) -> known.Knowledge:
    """Learn the set-ups other calls and other programs have brought."""
    found = log.setup_bodies(hand, place_n, knowledge.upto)
    if not found:
        return knowledge
    return known.learnt(knowledge, [msgspec.json.decode(body) for _, body in found], found[-1][0])


def _append(hand: Hand, arrival: _Arrival, call: Call, knowledge: known.Knowledge) -> _Sorted:
    ids = [name for doc in call.docs if isinstance(name := _id(doc), str)]
    setups = [index for index, doc in enumerate(call.docs) if _kind(doc) in SETUP_KINDS]
    plain = not setups and not call.flaws and len(set(ids)) == len(call.docs)
    if plain and not log.bodies_of(hand, arrival.place.n, ids[:1]):
        found = _judged(arrival, call, knowledge.known, {})
        if not found.bad and log.append(hand, found.rows):
            return found
    present = log.bodies_of(hand, arrival.place.n, ids)
    judge_by = knowledge.known
    if setups:
        new = [index for index in setups if _id(call.docs[index]) not in present]
        good = _judged(arrival, _part(call, new), judge_by, dict(present)).setups
        judge_by = known.learnt(knowledge, good, 0).known
    found = _judged(arrival, call, judge_by, present)
    if not log.append(hand, found.rows):
        raise RuntimeError("an id was taken while the writer's turn was held")
    return found


def _judged(arrival: _Arrival, call: Call, judge_by: Known, present: dict[str, bytes]) -> _Sorted:
    """Sort a call's entries; `present` are bodies by id that the log holds, and it grows as entries pass."""
    found = _Sorted([], [], [], [])
    seq, place_n, device_n = arrival.place.last_seq, arrival.place.n, arrival.device_n
    now_us, skew_ms, device_now_us = arrival.now_us, arrival.skew_ms, arrival.device_now_us
    for index, (body, doc) in enumerate(zip(call.bodies, call.docs, strict=True)):
        name = _id(doc)
        if name is not None and (there := present.get(name)) is not None:
            if there == body or same_content(there, doc):
                found.accepted.append(name)
            else:
                found.bad.append((index, _taken(name)))
            continue
        if doc is None and index in call.flaws:
            found.bad.append((index, call.flaws[index]))
            continue
        flaw = entries.problem(doc, now_us=device_now_us, known=judge_by)
        if flaw is None and call.flaws:
            flaw = call.flaws.get(index)
        if flaw is not None:
            found.bad.append((index, flaw))
            continue
        if "seq" in doc or "received_at" in doc:
            body = own_bytes(doc)
        seq += 1
        present[name] = body
        found.accepted.append(name)
        found.rows.append((place_n, seq, name, doc["kind"], device_n, now_us, skew_ms, crc32(body), body))
        if doc["kind"] in SETUP_KINDS:
            found.setups.append(doc)
    return found


def _part(call: Call, indices: Sequence[int]) -> Call:
    flaws = {new: call.flaws[old] for new, old in enumerate(indices) if old in call.flaws}
    return replace(
        call, bodies=[call.bodies[n] for n in indices], docs=[call.docs[n] for n in indices], flaws=flaws
    )


def _id(doc: Any) -> Any:
    """Give an entry's id if it has a usable one."""
    if isinstance(doc, dict):
        name = doc.get("id")
        if isinstance(name, str) and entries.is_name(name):
            return name
    return None


def _kind(doc: Any) -> Any:
    kind = doc.get("kind") if isinstance(doc, dict) else None
    return kind if isinstance(kind, str) else None


def _taken(name: str) -> Problem:
    return Problem(
        _TAKEN,
        "id",
        "another entry has this id already; both are kept, send this one under a new id",
        {"id": name},
    )


# -- holding -------------------------------------------------------------------------------------


def _hold(hand: Hand, arrival: _Arrival, call: Call, bad: Sequence[tuple[int, Problem]]) -> list[Refused]:
    if not bad:
        return []
    place_n = arrival.place.n
    names = [name for index, _ in bad if (name := _id(call.docs[index])) is not None]
    crcs = [crc32(call.bodies[index]) for index, _ in bad if _id(call.docs[index]) is None]
    earlier = held.of_ids(hand, place_n, names) if names else []
    earlier += held.nameless(hand, place_n, crcs) if crcs else []
    refused = []
    for index, flaw in bad:
        name, body = _id(call.docs[index]), call.bodies[index]
        same = next((one for one in earlier if one.id == name and one.body == body), None)
        if same is None:
            one = held.Held(
                n=0,
                id=name,
                device_n=arrival.device_n,
                code=flaw.code,
                field=flaw.field,
                why=flaw.message,
                values=flaw.values,
                received_us=arrival.now_us,
                skew_ms=arrival.skew_ms,
                ripe_us=_ripe_us(flaw, call.docs[index], arrival.skew_ms),
                state=held.WAITING,
                body=body,
            )
            same = replace(one, n=held.put(hand, place_n, one, crc32(body)))
            replaced = [
                (old.n, None)
                for old in earlier
                if name is not None
                and old.id == name
                and old.device_n == arrival.device_n
                and old.state == held.WAITING
            ]
            held.settle(hand, replaced, held.MENDED, arrival.now_us)
            earlier = [old for old in earlier if (old.n, None) not in replaced] + [same]
        refused.append(Refused(name, index, name or f"~{same.n}", flaw))
    return refused


def _ripe_us(flaw: Problem, doc: Any, skew_ms: int | None) -> int | None:
    if flaw.code != "in_the_future":
        return None
    return entries.moment(doc["at"]).us - FUTURE_US + (skew_ms or 0) * 1000


def _settle_mended(hand: Hand, arrival: _Arrival, rows: Sequence[log.Row]) -> None:
    """Settle what waited under an id that the log has now.

    Entries held for a clash of ids wait on, unless their own device sent the one that was accepted.
    """
    if not rows or not held.any_waiting(hand, arrival.place.n):
        return
    by_id = {row[2]: row for row in rows}
    for one in held.of_ids(hand, arrival.place.n, list(by_id)):
        if one.state != held.WAITING or (one.code == _TAKEN and one.device_n != arrival.device_n):
            continue
        row = by_id[one.id or ""]
        if one.body == row[8]:
            held.settle(hand, [(one.n, row[1])], held.ACCEPTED, arrival.now_us)
        else:
            held.settle(hand, [(one.n, None)], held.MENDED, arrival.now_us)


def _let_in(hand: Hand, arrival: _Arrival, knowledge: known.Knowledge, last_seq: int) -> list[log.Row]:
    """Judge again what waits, and let in what is good now; what that sets up may let in more."""
    let_in: list[log.Row] = []
    while True:
        good: list[tuple[held.Held, Mapping[str, Any]]] = []
        for one in held.waiting(hand, arrival.place.n):
            (doc,), flaws = parsed([one.body])
            if one.code == _TAKEN or doc is None:
                continue
            now_us = arrival.now_us - (one.skew_ms or 0) * 1000
            flaw = entries.problem(doc, now_us=now_us, known=knowledge.known) or flaws.get(0)
            if flaw is None:
                good.append((one, doc))
            elif flaw.code != one.code or flaw.field != one.field:
                held.judged_again(hand, _for_reason(one, doc, flaw))
        present = log.bodies_of(hand, arrival.place.n, [doc["id"] for _, doc in good]) if good else {}
        setups = []
        rows: list[log.Row] = []
        for one, doc in good:
            there = present.get(doc["id"])
            if there is not None and not same_content(there, doc):
                held.judged_again(hand, _for_reason(one, doc, _taken(doc["id"])))
                continue
            if there is None:
                last_seq += 1
                rows.append(_row(arrival, one, doc, last_seq))
                present[doc["id"]] = rows[-1][8]
                if doc["kind"] in SETUP_KINDS:
                    setups.append(doc)
            held.settle(hand, [(one.n, last_seq if there is None else None)], held.ACCEPTED, arrival.now_us)
        if rows and not log.append(hand, rows):
            raise RuntimeError("an id was taken while the writer's turn was held")
        let_in += rows
        if not setups:
            return let_in
        knowledge = known.learnt(knowledge, setups, 0)


def _row(arrival: _Arrival, one: held.Held, doc: Mapping[str, Any], seq: int) -> log.Row:
    body = own_bytes(doc) if "seq" in doc or "received_at" in doc else one.body
    return (
        arrival.place.n,
        seq,
        doc["id"],
        doc["kind"],
        one.device_n,
        arrival.now_us,
        one.skew_ms,
        crc32(body),
        body,
    )


def _for_reason(one: held.Held, doc: Any, flaw: Problem) -> held.Held:
    return replace(
        one,
        code=flaw.code,
        field=flaw.field,
        why=flaw.message,
        values=flaw.values,
        ripe_us=_ripe_us(flaw, doc, one.skew_ms),
    )
