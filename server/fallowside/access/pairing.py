"""Pairing: a host invites, a phone redeems the invitation once, within ten minutes.

Wrong guesses are counted by where they come from and in memory, so that a flood of them costs no
write and slows nobody else. Whoever guesses too often is locked out for a while, and the host is told.
"""

import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field, replace

from fallowside.access import sessions, tokens
from fallowside.access.people import Role
from fallowside.store import log
from fallowside.store.database import Database, Hand

OPEN_US = 600_000_000
"""An invitation is good for this long. [microseconds]"""
MOST_GUESSES = 10
"""Wrong guesses from one place before it is locked out."""
LOCKED_US = 900_000_000
"""For how long; also how long wrong guesses are remembered. [microseconds]"""
_MOST_SOURCES = 10_000
"""Places guesses come from that are kept in mind; the oldest go first."""
MOST_ALARMS = 100
"""Alarms a host hasn't put away that are kept."""
GUESSED = "guessed"


@dataclass(frozen=True, slots=True)
class Invitation:
    """What a host shows to one phone: the code is known only now."""

    code: str
    person: str
    until_us: int

    @property
    def spaced(self) -> str:
        """The code in groups, to be read and typed."""
        return tokens.spaced(self.code)


@dataclass(frozen=True, slots=True)
class Paired:
    """What became of a redeemed invitation."""

    token: str
    person: str
    role: Role
    device: str


@dataclass(frozen=True, slots=True)
class Alarm:
    """Something a host should know: how often it happened, from where, and when."""

    n: int
    what: str
    source: str
    times: int
    first_us: int
    last_us: int


def invite(hand: Hand, place_n: int, person: str, role: Role, now_us: int) -> Invitation:
    """Make an invitation for a person; '' for a host who isn't set up yet."""
    code = tokens.drawn_code()
    hand.run(
        "INSERT INTO invitation (place_n, hash, person, role, made_us, until_us) VALUES (?, ?, ?, ?, ?, ?)",
        place_n,
        tokens.hashed(code),
        person,
        role,
        now_us,
        now_us + OPEN_US,
    )
    return Invitation(code, person, now_us + OPEN_US)


def redeem(
    database: Database, code: str, device: str, label: str, now_us: int, *, instead_of: str = ""
) -> Paired | None:
    """Trade a code for a session, once; None if it is wrong, used or too old.

    Args:
        database: Where sessions are kept.
        code: As typed or scanned.
        device: The phone's name for itself.
        label: What kind of phone it is, for the host's list.
        now_us: The server's clock. [microseconds]
        instead_of: The token the phone has had so far, whose session ends.
    """
    key = tokens.hashed(tokens.typed(code))
    with database.read() as hand:
        # Asked first without a turn at writing, so that wrong guesses hold nobody up.
        # Only those of this place: another one's code is no use at this door, and stays good at its own.
        here = log.place_number(hand)
        open_here = "SELECT 1 FROM invitation WHERE place_n = ? AND hash = ? AND used_us IS NULL"
        if here is None or not hand.value(open_here, here, key):
            return None
    with database.write() as hand:
        found = hand.rows(
            "UPDATE invitation SET used_us = ? "
            "WHERE place_n = ? AND hash = ? AND used_us IS NULL AND until_us > ? "
            "RETURNING place_n, person, role",
            now_us,
            here,
            key,
            now_us,
        )
        if not found:
            return None
        place_n, person, role = found[0]
        if instead_of:
            sessions.end_token(hand, instead_of, now_us)
        token, device = sessions.start(hand, place_n, person, role, device, label, now_us)
    return Paired(token, person, role, device)


# -- wrong guesses -------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Tries:
    times: int
    first_us: int
    last_us: int


@dataclass(slots=True)
class Guesses:
    """Counts wrong guesses by where they come from, in memory only."""

    _lock: threading.Lock = field(default_factory=threading.Lock)
    _tries: OrderedDict[str, _Tries] = field(default_factory=OrderedDict)

    def locked_for_us(self, source: str, now_us: int) -> int:
        """Give how long a source is still locked out, 0 if it isn't. [microseconds]

        A try while locked out counts, and doesn't lengthen the lock.
        """
        with self._lock:
            tries = self._tries.get(source)
            if tries is None or tries.times < MOST_GUESSES:
                return 0
            left = tries.last_us + LOCKED_US - now_us
            if left <= 0:
                del self._tries[source]
                return 0
            self._tries[source] = replace(tries, times=tries.times + 1)
            return left

    def wrong(self, source: str, now_us: int, alarm: Callable[[int, int], None]) -> None:
        """Note a wrong guess; the one that locks its source out raises an alarm: times, since when."""
        with self._lock:
            tries = self._tries.pop(source, None)
            if tries is None or now_us - tries.last_us > LOCKED_US:
                tries = _Tries(0, now_us, now_us)
            tries = replace(tries, times=tries.times + 1, last_us=now_us)
            self._tries[source] = tries
            while len(self._tries) > _MOST_SOURCES:
                self._tries.popitem(last=False)
        if tries.times == MOST_GUESSES:
            alarm(tries.times, tries.first_us)

    def forgive(self, source: str) -> None:
        """Forget the wrong guesses of a source that guessed right."""
        with self._lock:
            self._tries.pop(source, None)

    def times(self, source: str) -> int:
        """Give how often a source has guessed wrong or knocked while locked out."""
        with self._lock:
            tries = self._tries.get(source)
            return tries.times if tries else 0


def raise_alarm(database: Database, source: str, times: int, first_us: int, now_us: int) -> None:
    """Write down for the host that somebody guessed codes.

    Who guesses on is added to what the host hasn't put away yet. Past `MOST_ALARMS` nothing is added:
    so many say all there is to say, and a guesser fills nobody's disk.
    """
    with database.write() as hand:
        place = log.open_place(hand, now_us)
        known = alarms(hand, place.n)
        before = next((one for one in known if one.source == source), None)
        if before is not None:
            hand.run(
                "UPDATE alarm SET times = times + ?, last_us = ? WHERE place_n = ? AND n = ?",
                times,
                now_us,
                place.n,
                before.n,
            )
        elif len(known) < MOST_ALARMS:
            hand.run(
                "INSERT INTO alarm (place_n, what, source, times, first_us, last_us) "
                "VALUES (?, ?, ?, ?, ?, ?)",
                place.n,
                GUESSED,
                source,
                times,
                first_us,
                now_us,
            )


def alarms(hand: Hand, place_n: int) -> list[Alarm]:
    """Give what a host hasn't put away yet, newest first."""
    found = hand.rows(
        "SELECT n, what, source, times, first_us, last_us FROM alarm WHERE place_n = ? AND seen_us IS NULL "
        "ORDER BY n DESC",
        place_n,
    )
    return [Alarm(*row) for row in found]


def put_away(hand: Hand, place_n: int, now_us: int) -> None:
    """Note that a host has seen every alarm."""
    hand.run("UPDATE alarm SET seen_us = ? WHERE place_n = ? AND seen_us IS NULL", now_us, place_n)
