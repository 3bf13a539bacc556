"""Sessions: what a paired phone shows to be let in. Only the hash of its token is kept.

A session is found by the hash of its token, ends at once when a host ends it, and lapses when its
phone hasn't called for half a year. Whose it is decides what it may: the role stands in the set-up of the
place, so a person who becomes a host, or whose stay ends, needs no new session.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from fallowside.access import tokens
from fallowside.access.people import People, Person, Role
from fallowside.store.database import Database, Hand
from fallowside.sync.allowed import EVERYTHING, Allowed

DAY_US = 86_400_000_000
LAPSE_US = 180 * DAY_US
"""A phone that hasn't called for this long is no longer let in. [microseconds]"""
_NOTED_US = 300_000_000
"""Last seen is written down again after this long, not at each call. [microseconds]"""


@dataclass(frozen=True, slots=True)
class Signed:
    """Who is calling.

    Attributes:
        person: Their id in the set-up; '' for a host who has no name there yet.
        role: What they are at this place.
        device: The name of their phone in the log; '' on the host's own machine.
        place: The name of the place.
        here: Whether their stay goes on; after it a phone may only hand in what it has.
        last_day: The last day of their stay, if it has one.
        session: The number of their session; None on the host's own machine, which needs none.
    """

    person: str
    role: Role
    device: str
    place: str
    here: bool = True
    last_day: date | None = None
    session: int | None = None

    @property
    def allowed(self) -> Allowed:
        """Say what they may bring to sync, and whether they see what others brought."""
        if self.role == "host":
            return EVERYTHING if self.here else Allowed(set_up=False, until_day=self._until(), read=False)
        return Allowed(set_up=False, until_day=self._until(), read=self.here, own=self.person)

    def _until(self) -> int | None:
        return self.last_day.toordinal() if self.last_day else None

    @property
    def is_host(self) -> bool:
        """Tell whether they may set up, export and pair."""
        return self.role == "host" and self.here


@dataclass(frozen=True, slots=True)
class Phone:
    """A session as a host sees it in the list of phones.

    `skew_ms` is the server's clock minus the phone's when it last sent entries, if it told its own. [ms]
    """

    n: int
    person: str
    device: str
    label: str
    made_us: int
    seen_us: int
    ended_us: int | None
    skew_ms: int | None

    def is_live(self, now_us: int) -> bool:
        """Tell whether it is still let in."""
        return self.ended_us is None and now_us - self.seen_us <= LAPSE_US


def on_this_machine(place: str) -> Signed:
    """Give who calls a server that only its own machine can reach: its host."""
    return Signed(person="", role="host", device="", place=place)


def find(database: Database, people: People, token: str, now_us: int) -> Signed | None:
    """Find who holds a token; None if nobody does, or no longer.

    Notes that their phone was seen.
    """
    key = tokens.hashed(token)
    with database.read() as hand:
        found = hand.rows(
            "SELECT session.n, hash, person, role, device, seen_us, ended_us, place_n, place.name "
            "FROM session JOIN place ON place.n = session.place_n WHERE hash = ?",
            key,
        )
        if not found or not tokens.same(found[0][1], key):
            return None
        n, _, person, role, device, seen_us, ended_us, place_n, place = found[0]
        known = people.of(hand, place_n) if person else {}
    if ended_us is not None or now_us - seen_us > LAPSE_US:
        return None
    if now_us - seen_us > _NOTED_US:
        with database.write() as hand:
            hand.run("UPDATE session SET seen_us = ? WHERE n = ?", now_us, n)
    return _signed(n, person, role, device, place, known, now_us)


def start(
    hand: Hand, place_n: int, person: str, role: Role, device: str, label: str, now_us: int
) -> tuple[str, str]:
    """Start a session; give its token, seen only now, and the name of its phone in the log.

    A phone keeps the name it gave itself, unless a phone that is let in has that name already.
    """
    if not device or hand.value(
        "SELECT 1 FROM session WHERE place_n = ? AND device = ? AND ended_us IS NULL", place_n, device
    ):
        device = f"phone-{tokens.drawn_code().lower()}"
    token = tokens.drawn()
    hand.run(
        "INSERT INTO session (place_n, hash, person, role, device, label, made_us, seen_us) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        place_n,
        tokens.hashed(token),
        person,
        role,
        device,
        label,
        now_us,
        now_us,
    )
    return token, device


def end(hand: Hand, place_n: int, n: int, now_us: int) -> bool:
    """End a session at once; False if there is none of this number that goes on."""
    found = hand.value(
        "UPDATE session SET ended_us = ? WHERE place_n = ? AND n = ? AND ended_us IS NULL RETURNING n",
        now_us,
        place_n,
        n,
    )
    return found is not None


def end_token(hand: Hand, token: str, now_us: int) -> None:
    """End the session of a token, if there is one."""
    hand.run(
        "UPDATE session SET ended_us = ? WHERE hash = ? AND ended_us IS NULL", now_us, tokens.hashed(token)
    )


def phones(hand: Hand, place_n: int) -> list[Phone]:
    """Give every session of a place, the one seen last first."""
    found = hand.rows(
        "SELECT session.n, person, device, label, made_us, seen_us, ended_us, skew_ms FROM session "
        "LEFT JOIN device ON device.place_n = session.place_n AND device.name = session.device "
        "WHERE session.place_n = ? ORDER BY seen_us DESC, session.n DESC",
        place_n,
    )
    return [Phone(*row) for row in found]


def _signed(
    n: int, person: str, role: Role, device: str, place: str, known: Mapping[str, Person], now_us: int
) -> Signed:
    if not person:
        return Signed("", role, device, place, session=n)
    who = known.get(person)
    if who is None:
        # Taken out of the set-up: nobody's guest any more, but what the phone holds is still welcome.
        return Signed(person, "helper", device, place, here=False, session=n)
    return Signed(person, who.role, device, place, who.is_here(now_us), who.last_day, n)
