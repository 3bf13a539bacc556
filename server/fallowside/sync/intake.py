"""Takes a call in: one transaction that accepts, holds, lets held entries in, and hands out."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

import msgspec

from fallowside.store import held, log
from fallowside.store.database import Database, Hand
from fallowside.store.errors import Taken
from fallowside.sync import accepting, holding, known
from fallowside.sync.allowed import BARRED, EVERYTHING, Allowed
from fallowside.sync.arrival import Arrival
from fallowside.sync.call import Call
from fallowside.sync.holding import Refused

MOST_HANDED_OUT = 2000
"""Entries handed out by one call."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a call.

    Attributes:
        log_name: The log the cursor belongs to.
        accepted: Ids of the call that are in the log now.
        new: How many of them were not in it before.
        held: What was set aside, and why.
        let_in: Ids held earlier that are in the log now.
        lines: Entries after the call's cursor that it did not carry itself.
        cursor: Everything up to this `seq` has been seen, once this answer is.
        more: Whether there is more after it.
        now_us: The server's clock. [microseconds]
        skew_us: Server's clock minus the device's, if the device told it. [microseconds]
    """

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


class Intake:
    """The door of the database's place. Remembers what is set up there between calls."""

    def __init__(self, database: Database) -> None:
        self.database = database
        self._knowledge = known.nothing()

    def take(
        self, call: Call, now_us: int, *, hand_out: bool = True, allowed: Allowed = EVERYTHING
    ) -> Outcome:
        """Take a call in; when this returns, what it accepted is on the disk.

        Args:
            call: What a device sent.
            now_us: The server's clock. [microseconds]
            hand_out: Whether entries after the call's cursor are wanted.
            allowed: What the caller may bring and see.
        """
        hand_out = hand_out and allowed.read
        skew_us = None if call.sent_us is None else now_us - call.sent_us
        if not call.bodies and hand_out:
            with self.database.read() as hand:
                place = log.look_up(hand)
                if place is not None:
                    lines, cursor, more = _after(hand, place, call, place.last_seq, frozenset(), 0)
                    return Outcome(place.log, [], 0, [], [], lines, cursor, more, now_us, skew_us)
        taken_in = partial(self._taken_in, call, now_us, skew_us, hand_out, allowed)
        try:
            return taken_in(accepting.append)
        except Taken:
            return taken_in(accepting.append_with_care)

    def _taken_in(
        self,
        call: Call,
        now_us: int,
        skew_us: int | None,
        hand_out: bool,
        allowed: Allowed,
        append: accepting.Append,
    ) -> Outcome:
        with self.database.write() as hand:
            arrival = self._arrival(hand, call, now_us, skew_us)
            place = arrival.place
            knowledge = self._refreshed(hand, place.n)
            found = accepting.Sorted()
            if call.bodies:
                found = append(hand, arrival, call, knowledge, allowed)
            refused = holding.hold(hand, arrival, call, found.bad, allowed)
            holding.settle_mended(hand, arrival, found.rows)
            last_seq = place.last_seq + len(found.rows)
            let_in: list[log.Row] = []
            if found.setups or held.ripe(hand, place.n, now_us):
                with_setups = known.learnt(knowledge, found.setups, knowledge.upto)
                let_in = holding.let_in(hand, arrival, with_setups, last_seq)
                found.accepted, refused = _after_all(call, found.accepted, refused, let_in)
            lines: list[log.Line] = []
            cursor, more = call.cursor, False
            if hand_out:
                own = frozenset(found.accepted)
                lines, cursor, more = _after(hand, place, call, last_seq + len(let_in), own, len(found.rows))
        return Outcome(
            place.log,
            found.accepted,
            len(found.rows),
            refused,
            [row[1] for row in let_in],
            lines,
            cursor,
            more,
            now_us,
            skew_us,
        )

    def allow(self, ref: str, now_us: int) -> list[str] | None:
        """Let in what waits under a `ref` for a host, and what it makes good; give their ids, or None.

        What isn't good for another reason goes on waiting, for that reason.
        """
        with self.database.write() as hand:
            place = log.open_place(hand, now_us)
            barred = [one for one in held.by_ref(hand, place.n, ref) if one.code in BARRED]
            if not barred:
                return None
            arrival = Arrival(place, barred[0].device_n, now_us, None)
            freed = frozenset(one.n for one in barred)
            rows = holding.let_in(hand, arrival, self._refreshed(hand, place.n), place.last_seq, freed)
        return [row[1] for row in rows]

    def _arrival(self, hand: Hand, call: Call, now_us: int, skew_us: int | None) -> Arrival:
        place = log.open_place(hand, now_us)
        skew_ms = None if skew_us is None else round(skew_us / 1000)
        return Arrival(place, log.device_number(hand, place.n, call.device, now_us, skew_ms), now_us, skew_ms)

    def _refreshed(self, hand: Hand, place_n: int) -> known.Knowledge:
        """Learn the set-ups that other calls and other programs have brought; all are committed."""
        found = log.setup_bodies(hand, place_n, self._knowledge.upto)
        if found:
            docs = [msgspec.json.decode(body) for _, body in found]
            self._knowledge = known.learnt(self._knowledge, docs, found[-1][0])
        return self._knowledge


def _after_all(
    call: Call, accepted: list[str], refused: list[Refused], let_in: Sequence[log.Row]
) -> tuple[list[str], list[Refused]]:
    """Take out of what was refused what this very call let in: it is in the log, so it is accepted."""
    there = {row[1]: row[4] for row in let_in}
    good = [one for one in refused if one.id in there and there[one.id] == call.bodies[one.index]]
    if not good:
        return accepted, refused
    return accepted + [one.id for one in good if one.id], [one for one in refused if one not in good]


def _after(
    hand: Hand, place: log.OpenPlace, call: Call, last: int, own: frozenset[str], new: int
) -> tuple[list[log.Line], int, bool]:
    """Give the next entries a reader has not seen, its new cursor, and whether there are more.

    A cursor of another log, or beyond the end of this one, means that a reader starts at the head.
    """
    other = call.log is not None and call.log != place.log
    cursor = 0 if other or call.cursor > last else call.cursor
    if cursor == place.last_seq and last == cursor + new:
        # The call's own new entries are all there is after its cursor.
        return [], last, False
    lines = log.after(hand, place.n, cursor, last, MOST_HANDED_OUT + 1)
    more = len(lines) > MOST_HANDED_OUT
    lines = lines[:MOST_HANDED_OUT]
    cursor = lines[-1].seq if lines else cursor
    return [line for line in lines if line.id not in own], cursor, more
