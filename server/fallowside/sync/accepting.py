"""Sorts the entries of a call into those that are good and those that aren't, and appends the good.

`entries.problem` judges. Most calls hold new and good entries only: of these a first look at the bytes
is enough, and they are written together. Whatever else a call holds, it takes the careful way.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from operator import eq
from typing import Any, NamedTuple
from zlib import crc32

import msgspec

from fallowside.core import entries
from fallowside.core.entries import FUTURE_US, Known, Problem
from fallowside.store import log
from fallowside.store.database import Hand
from fallowside.sync import first_look, known
from fallowside.sync.allowed import EVERYTHING, Allowed
from fallowside.sync.arrival import Arrival
from fallowside.sync.call import Call, parsed
from fallowside.sync.content import SERVERS_FIELDS, own_bytes, same_content
from fallowside.sync.first_look import Seen

TAKEN = "id_taken"
Bar = Callable[[Mapping[str, Any]], Problem | None]


@dataclass(slots=True)
class Sorted:
    """A call's entries, judged: ids the log has now, rows appended, what is wrong with the rest."""

    accepted: list[str] = field(default_factory=list)
    rows: Sequence[log.Row] = ()
    setups: list[Mapping[str, Any]] = field(default_factory=list)
    bad: list[tuple[int, Problem]] = field(default_factory=list)


Append = Callable[[Hand, Arrival, Call, known.Knowledge, Allowed], Sorted]
"""A way to do so."""


class _Judged(NamedTuple):
    id: str
    kind: str


def append(
    hand: Hand, arrival: Arrival, call: Call, knowledge: known.Knowledge, allowed: Allowed = EVERYTHING
) -> Sorted:
    """Judge the entries of a call and append the good ones, as far as its caller may.

    Raises:
        Taken: some are in the log, which the common way doesn't look for; the transaction is to be given up,
            and `append_with_care` does it.
    """
    if not _begins_known(hand, arrival, call):
        rows = _all_new_and_good(arrival, call, knowledge.known, allowed)
        if rows:
            log.append(hand, arrival.came, rows)
            return Sorted([row[1] for row in rows], rows)
    elif names := _all_there(hand, arrival, call):
        return Sorted(names)
    return append_with_care(hand, arrival, call, knowledge, allowed)


def name_of(doc: Any) -> str | None:
    """Give an entry's id if it has a usable one."""
    name = doc.get("id") if isinstance(doc, dict) else None
    return name if entries.is_name(name) else None


def taken(name: str) -> Problem:
    """Say that an id belongs to another entry."""
    return Problem(
        TAKEN,
        "id",
        "another entry has this id already; both are kept, send this one under a new id",
        {"id": name},
    )


# -- the common way ------------------------------------------------------------------------------


def _begins_known(hand: Hand, arrival: Arrival, call: Call) -> bool:
    """Tell whether the first entry is in the log: then the call is most likely sent again."""
    names = first_look.names(call.bodies[:1])
    return names is not None and log.has(hand, arrival.place.n, names[0])


def _all_there(hand: Hand, arrival: Arrival, call: Call) -> list[str] | None:
    """Give the ids of a call that is in the log as it was sent, all of it, or None."""
    names = first_look.names(call.bodies)
    present = log.bodies_of(hand, arrival.place.n, names) if names else {}
    return names if names and all(map(eq, map(present.get, names), call.bodies)) else None


def _all_new_and_good(
    arrival: Arrival, call: Call, judge_by: Known, allowed: Allowed
) -> list[log.Row] | None:
    """Give the rows of a call without set-ups in which all is good, or None."""
    found: list[Seen | _Judged | None] = [None] * len(call.bodies)
    if allowed.any_record:
        found[:] = first_look.look(call.bodies, judge_by, arrival.device_now_us)
    if not all(found):
        untold = [index for index, one in enumerate(found) if one is None]
        docs, flaws = parsed([call.bodies[index] for index in untold])
        if flaws or not _all_good(docs, arrival, judge_by, allowed):
            return None
        for index, doc in zip(untold, docs, strict=True):
            found[index] = _Judged(doc["id"], doc["kind"])
    # A bytearray, for of every `bytes` Python's driver asks in vain how it is to be adapted, which takes as
    # long as writing three more columns.
    return [
        (seq, one.id, one.kind, crc32(body), bytearray(body))
        for seq, (one, body) in enumerate(zip(found, call.bodies, strict=True), arrival.place.last_seq + 1)
        if one is not None
    ]


def _all_good(docs: Sequence[Any], arrival: Arrival, judge_by: Known, allowed: Allowed) -> bool:
    """Tell whether entries are all good, none of them a set-up or one that came from the server."""
    if not all(isinstance(doc, dict) and SERVERS_FIELDS.isdisjoint(doc) for doc in docs):
        return False
    good, rest = entries.examine_all(entries.parted(docs), judge_by)
    problem, now_us = entries.problem, arrival.device_now_us
    if any(one.us > now_us + FUTURE_US for one in good):
        return False
    if any(problem(doc, now_us=now_us, known=judge_by) is not None for doc in rest):
        return False
    if not {doc["kind"] for doc in docs}.isdisjoint(log.SETUP_KINDS):
        return False
    return allowed.any_record or all(allowed.problem(doc, lambda _: False) is None for doc in docs)


# -- the careful way -----------------------------------------------------------------------------


def append_with_care(
    hand: Hand, arrival: Arrival, call: Call, knowledge: known.Knowledge, allowed: Allowed = EVERYTHING
) -> Sorted:
    """Do the same, whatever the call holds."""
    names = [name for doc in call.docs if (name := name_of(doc)) is not None]
    present = log.bodies_of(hand, arrival.place.n, names)
    bar = bar_of(hand, arrival, allowed, present)
    judge_by = knowledge.known
    setups = [n for n, doc in enumerate(call.docs) if _is_setup(doc) and name_of(doc) not in present]
    if setups:
        # Set-ups first, so that the rest of the call may point to what they set up.
        good = _sorted(arrival, _part(call, setups), judge_by, dict(present), bar).setups
        judge_by = known.learnt(knowledge, good, knowledge.upto).known
    found = _sorted(arrival, call, judge_by, present, bar)
    log.append(hand, arrival.came, found.rows)
    return found


def _sorted(
    arrival: Arrival, call: Call, judge_by: Known, present: dict[str, bytes], bar: Bar | None
) -> Sorted:
    """Sort a call's entries.

    `present` are bodies the log holds, by id; it grows as entries pass. `bar` says why an entry that is
    good, or may be once its day or its set-up has come, has to wait for a host.
    """
    found = Sorted()
    rows: list[log.Row] = []
    for index, (body, doc) in enumerate(zip(call.bodies, call.docs, strict=True)):
        name = name_of(doc)
        there = present.get(name) if name is not None else None
        if name is not None and there is not None:
            if there == body or same_content(there, doc):
                found.accepted.append(name)
            else:
                found.bad.append((index, taken(name)))
            continue
        flaw = _flaw(call, index, arrival.device_now_us, judge_by)
        # What lacks only its date, or what it points to, is let in by itself later: a bar comes first.
        if bar and (flaw is None or entries.problem(doc) is None):
            flaw = bar(doc) or flaw
        if flaw is not None:
            found.bad.append((index, flaw))
            continue
        seq = arrival.place.last_seq + len(rows) + 1
        rows.append(row(seq, doc, body))
        present[doc["id"]] = bytes(rows[-1][4])
        found.accepted.append(doc["id"])
        if _is_setup(doc):
            found.setups.append(doc)
    found.rows = rows
    return found


def bar_of(hand: Hand, arrival: Arrival, allowed: Allowed, present: Mapping[str, bytes]) -> Bar | None:
    """Give what holds good entries of a caller who may not do everything."""
    if allowed is EVERYTHING:
        return None

    def touches_setup(name: str) -> bool:
        """Follow corrections of corrections; what isn't in the log may yet become a set-up."""
        seen = set[str]()
        while name not in seen:
            seen.add(name)
            body = present.get(name) or log.bodies_of(hand, arrival.place.n, [name]).get(name)
            if body is None:
                return True
            doc = msgspec.json.decode(body)
            if doc["kind"] != "correction":
                return bool(doc["kind"] == "setup")
            name = doc["of"]
        return False

    return lambda doc: allowed.problem(doc, touches_setup)


def _flaw(call: Call, index: int, device_now_us: int, judge_by: Known) -> Problem | None:
    flaw = call.flaws.get(index)
    if flaw is not None and call.docs[index] is None:
        return flaw
    return entries.problem(call.docs[index], now_us=device_now_us, known=judge_by) or flaw


def row(seq: int, doc: Mapping[str, Any], body: bytes) -> log.Row:
    """Give the row of a good entry, without what only the server may say."""
    own = body if SERVERS_FIELDS.isdisjoint(doc) else own_bytes(doc)
    return seq, doc["id"], doc["kind"], crc32(own), own


def _is_setup(doc: Any) -> bool:
    return isinstance(doc, dict) and doc.get("kind") in log.SETUP_KINDS


def _part(call: Call, indices: Sequence[int]) -> Call:
    return replace(call, bodies=[call.bodies[n] for n in indices])
