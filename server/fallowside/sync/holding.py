"""Holds entries that can't be used, and lets them in once they can."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from operator import itemgetter
from typing import Any
from zlib import crc32

import msgspec

from fallowside.core import entries
from fallowside.core.entries import FUTURE_US, Problem
from fallowside.store import held, log
from fallowside.store.database import Hand
from fallowside.sync import known
from fallowside.sync.accepting import TAKEN, bar_of, name_of, row, taken
from fallowside.sync.allowed import BARRED, EVERYTHING, Allowed
from fallowside.sync.arrival import Arrival, by_device_clock
from fallowside.sync.call import Call, parsed
from fallowside.sync.content import same_content

TOO_MANY_HELD = "too_many_held"


@dataclass(frozen=True, slots=True)
class Refused:
    """An entry of a call that was held. `ref` names it in the store, also where `id` is None."""

    id: str | None
    index: int
    ref: str
    problem: Problem


def hold(
    hand: Hand,
    arrival: Arrival,
    call: Call,
    bad: Sequence[tuple[int, Problem]],
    allowed: Allowed = EVERYTHING,
) -> list[Refused]:
    """Set the bad entries of a call aside; one that is held already stays as it is.

    Of a device of which `most_held` wait already, no more are kept: a thing that is broken would fill the
    store.
    """
    if not bad:
        return []
    most = allowed.most_held
    room = None if most is None else most - held.count_of_device(hand, arrival.device_n)
    earlier = _earlier(hand, arrival, call, bad)
    refused = []
    for index, flaw in bad:
        name, body = name_of(call.docs[index]), call.bodies[index]
        same = next((one for one in earlier if one.id == name and one.body == body), None)
        if same is None and room is not None:
            if room <= 0:
                refused.append(Refused(name, index, "", _too_many(flaw)))
                continue
            room -= 1
        if same is None:
            same = _put(hand, arrival, call, index, flaw, allowed)
            replaced = [one for one in earlier if _is_replaced(one, same)]
            held.settle(hand, [(one.n, None) for one in replaced], held.MENDED, arrival.now_us)
            earlier = [one for one in earlier if one not in replaced] + [same]
        refused.append(Refused(name, index, same.ref, flaw))
    return refused


def settle_mended(hand: Hand, arrival: Arrival, rows: Sequence[log.Row]) -> None:
    """Settle what waited under an id that the log has now.

    Entries held for a clash of ids wait on, unless their own device sent the one that was accepted.
    """
    if not rows or not held.any_waiting(hand, arrival.place.n):
        return
    by_id = {one[1]: one for one in rows}
    for one in held.of_ids(hand, arrival.place.n, list(by_id)):
        if one.state != held.WAITING or (one.code == TAKEN and one.device_n != arrival.device_n):
            continue
        accepted = by_id[one.id or ""]
        if one.body == accepted[4]:
            held.settle(hand, [(one.n, accepted[0])], held.ACCEPTED, arrival.now_us)
        else:
            held.settle(hand, [(one.n, None)], held.MENDED, arrival.now_us)


def let_in(
    hand: Hand,
    arrival: Arrival,
    knowledge: known.Knowledge,
    last_seq: int,
    freed: frozenset[int] = frozenset(),
) -> list[log.Row]:
    """Judge again what waits, and append what is good now; what that sets up may let in more.

    What waits for a host is passed over, but for the `freed`, by their numbers.
    """
    every: list[log.Row] = []
    while True:
        good = _good_now(hand, arrival, knowledge, freed)
        rows, setups = _append(hand, arrival, good, last_seq + len(every))
        every += rows
        if not setups:
            return every
        knowledge = known.learnt(knowledge, setups, knowledge.upto)


# -- holding -------------------------------------------------------------------------------------


def _earlier(hand: Hand, arrival: Arrival, call: Call, bad: Sequence[tuple[int, Problem]]) -> list[held.Held]:
    """Find what is held already under the ids, or with the bytes, of bad entries."""
    names = [name for index, _ in bad if (name := name_of(call.docs[index])) is not None]
    nameless = [crc32(call.bodies[index]) for index, _ in bad if name_of(call.docs[index]) is None]
    found = held.of_ids(hand, arrival.place.n, names) if names else []
    return found + (held.nameless(hand, arrival.place.n, nameless) if nameless else [])


def _put(hand: Hand, arrival: Arrival, call: Call, index: int, flaw: Problem, allowed: Allowed) -> held.Held:
    one = held.Held(
        n=0,
        id=name_of(call.docs[index]),
        device_n=arrival.device_n,
        code=flaw.code,
        field=flaw.field,
        why=flaw.message,
        values=flaw.values,
        received_us=arrival.now_us,
        skew_ms=arrival.skew_ms,
        ripe_us=_ripe_us(flaw, call.docs[index], arrival.skew_ms),
        state=held.WAITING,
        body=call.bodies[index],
        rights=None if allowed is EVERYTHING else msgspec.json.encode(allowed).decode(),
    )
    return replace(one, n=held.put(hand, arrival.place.n, one, crc32(one.body)))


def _too_many(flaw: Problem) -> Problem:
    said = f"{flaw.message}; too many such wait already, so it was not kept: look at what sends them"
    return replace(flaw, code=TOO_MANY_HELD, message=said)


def _is_replaced(one: held.Held, by: held.Held) -> bool:
    """Tell whether the same device sent an entry of the same id in another form."""
    return (
        one.id is not None and one.id == by.id and one.device_n == by.device_n and one.state == held.WAITING
    )


def _ripe_us(flaw: Problem, doc: Any, skew_ms: int | None) -> int | None:
    """Give the instant, by the server's clock, at which a date in the future has come."""
    if flaw.code != "in_the_future":
        return None
    return entries.moment(doc["at"]).us - FUTURE_US + (skew_ms or 0) * 1000


# -- letting in ----------------------------------------------------------------------------------


def _good_now(
    hand: Hand, arrival: Arrival, knowledge: known.Knowledge, freed: frozenset[int]
) -> list[tuple[held.Held, Mapping[str, Any]]]:
    good: list[tuple[held.Held, Mapping[str, Any]]] = []
    for one in held.waiting(hand, arrival.place.n):
        (doc,), flaws = parsed([one.body])
        barred = one.code in BARRED and one.n not in freed
        if one.code == TAKEN or barred or doc is None:
            continue
        if one.n in freed:
            one = replace(one, rights=None)
        now_us = by_device_clock(arrival.now_us, one.skew_ms)
        flaw = entries.problem(doc, now_us=now_us, known=knowledge.known) or flaws.get(0)
        if flaw is None:
            flaw = _barred(hand, arrival, one, doc)
        if flaw is None:
            good.append((one, doc))
        elif (flaw.code, flaw.field) != (one.code, one.field):
            held.judged_again(hand, _for_reason(one, doc, flaw))
    return good


def _barred(hand: Hand, arrival: Arrival, one: held.Held, doc: Mapping[str, Any]) -> Problem | None:
    """Say why an entry that has become good has to wait for a host: its sender's rights go with it."""
    if one.rights is None:
        return None
    bar = bar_of(hand, arrival, msgspec.json.decode(one.rights, type=Allowed), {})
    return bar(doc) if bar is not None else None


def _append(
    hand: Hand, arrival: Arrival, good: Sequence[tuple[held.Held, Mapping[str, Any]]], last_seq: int
) -> tuple[list[log.Row], list[Mapping[str, Any]]]:
    present = log.bodies_of(hand, arrival.place.n, [doc["id"] for _, doc in good]) if good else {}
    came: list[log.Came] = []
    rows: list[log.Row] = []
    setups = []
    for one, doc in good:
        there = present.get(doc["id"])
        if there is not None and not same_content(there, doc):
            held.judged_again(hand, _for_reason(one, doc, taken(doc["id"])))
            continue
        seq = None
        if there is None:
            seq = last_seq + len(rows) + 1
            rows.append(row(seq, doc, one.body))
            came.append(replace(arrival, device_n=one.device_n, skew_ms=one.skew_ms).came)
            present[doc["id"]] = bytes(rows[-1][4])
            if doc["kind"] in log.SETUP_KINDS:
                setups.append(doc)
        held.settle(hand, [(one.n, seq)], held.ACCEPTED, arrival.now_us)
    for how, pairs in groupby(zip(came, rows, strict=True), itemgetter(0)):
        log.append(hand, how, [one for _, one in pairs])
    return rows, setups


def _for_reason(one: held.Held, doc: Any, flaw: Problem) -> held.Held:
    return replace(
        one,
        code=flaw.code,
        field=flaw.field,
        why=flaw.message,
        values=flaw.values,
        ripe_us=_ripe_us(flaw, doc, one.skew_ms),
    )
