"""The host's own hand on the door, at the machine itself: invite, list, end."""

from collections.abc import Mapping

from fallowside.access import pairing, sessions
from fallowside.access.pairing import Alarm, Invitation
from fallowside.access.people import People, Person, Role
from fallowside.access.sessions import Phone
from fallowside.store import log
from fallowside.store.database import Database
from fallowside.store.errors import StoreProblem


class NoPerson(StoreProblem):
    """Nobody of this name is set up."""

    code = "unknown_person"


def invite(database: Database, name: str | None, now_us: int) -> tuple[Invitation, str]:
    """Invite a phone for a person, by name or id; None takes the first host who is here.

    Returns:
        The invitation, and the person's id: '' where no host is set up yet.

    Raises:
        NoPerson: nobody is called so.
    """
    known = people(database)
    who = named(known, name) if name else _first_host(known, now_us)
    role: Role = who.role if who else "host"
    person = who.id if who else ""
    with database.write() as hand:
        made = pairing.invite(hand, log.open_place(hand, now_us).n, person, role, now_us)
    return made, person


def people(database: Database) -> Mapping[str, Person]:
    """Give the people of the place."""
    with database.read() as hand:
        place_n = log.place_number(hand)
        return People().of(hand, place_n) if place_n is not None else {}


def phones(database: Database, now_us: int) -> list[Phone]:
    """Give the phones that are let in, the one seen last first."""
    with database.read() as hand:
        place_n = log.place_number(hand)
        found = sessions.phones(hand, place_n) if place_n is not None else []
    return [one for one in found if one.is_live(now_us)]


def alarms(database: Database) -> list[Alarm]:
    """Give what a host hasn't put away yet."""
    with database.read() as hand:
        place_n = log.place_number(hand)
        return pairing.alarms(hand, place_n) if place_n is not None else []


def unpair(database: Database, n: int, now_us: int) -> bool:
    """End a phone's session at once; False if there is none of this number."""
    with database.write() as hand:
        return sessions.end(hand, log.open_place(hand, now_us).n, n, now_us)


def named(known: Mapping[str, Person], text: str) -> Person:
    """Find a person by their id, or by their name however it is written.

    Raises:
        NoPerson: nobody is called so, or more than one is.
    """
    if text in known:
        return known[text]
    wanted = text.strip().casefold()
    found = [one for one in known.values() if wanted in (one.id.casefold(), one.name.strip().casefold())]
    if len(found) > 1:
        ids = ", ".join(one.id for one in found)
        raise NoPerson(f"{len(found)} people are called {text!r}; say whom by their id: {ids}")
    if not found:
        listed = ", ".join(one.name for one in known.values()) or "nobody yet"
        raise NoPerson(f"nobody is called {text!r} here; set up: {listed}")
    return found[0]


def _first_host(known: Mapping[str, Person], now_us: int) -> Person | None:
    return next((one for one in known.values() if one.role == "host" and one.is_here(now_us)), None)
