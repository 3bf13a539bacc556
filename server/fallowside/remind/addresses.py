"""The secret addresses of calendars, and how often each of their events has changed.

Only the hash of an address is kept, so it is shown once; a new one ends the old.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from fallowside.remind.calendar import Planned, Revision
from fallowside.store.database import Hand


@dataclass(frozen=True, slots=True)
class Address:
    """An address in use: whose calendar, since when, and when it was last fetched."""

    person: str
    made_us: int
    fetched_us: int | None


def start(hand: Hand, place_n: int, person: str, hashed: str, now_us: int) -> None:
    """Give a person a new address; the one they had ends."""
    end(hand, place_n, person, now_us)
    hand.run(
        "INSERT INTO calendar_address (place_n, person, hash, made_us) VALUES (?, ?, ?, ?)",
        place_n,
        person,
        hashed,
        now_us,
    )


def end(hand: Hand, place_n: int, person: str, now_us: int) -> bool:
    """End a person's address at once; False if they had none."""
    found = hand.rows(
        "UPDATE calendar_address SET ended_us = ? WHERE place_n = ? AND person = ? AND ended_us IS NULL "
        "RETURNING n",
        now_us,
        place_n,
        person,
    )
    return bool(found)


def owner(hand: Hand, place_n: int, hashed: str) -> str | None:
    """Say whose address has this hash; None if nobody's, or no longer."""
    found: str | None = hand.value(
        "SELECT person FROM calendar_address WHERE place_n = ? AND hash = ? AND ended_us IS NULL",
        place_n,
        hashed,
    )
    return found


def listed(hand: Hand, place_n: int) -> list[Address]:
    """Give the addresses in use, by person."""
    found = hand.rows(
        "SELECT person, made_us, fetched_us FROM calendar_address "
        "WHERE place_n = ? AND ended_us IS NULL ORDER BY person",
        place_n,
    )
    return [Address(*row) for row in found]


def fetched(hand: Hand, place_n: int, hashed: str, now_us: int) -> None:
    """Note that a calendar was fetched."""
    hand.run(
        "UPDATE calendar_address SET fetched_us = ? WHERE place_n = ? AND hash = ?", now_us, place_n, hashed
    )


# -- revisions -----------------------------------------------------------------------------------


def revisions(hand: Hand, place_n: int, person: str) -> dict[str, tuple[str, Revision]]:
    """Give what is known of the events of a person's calendar, by UID: digest and revision."""
    found = hand.rows(
        "SELECT uid, digest, sequence, changed_us FROM calendar_event WHERE place_n = ? AND person = ?",
        place_n,
        person,
    )
    return {row[0]: (row[1], Revision(row[2], row[3])) for row in found}


def starts(hand: Hand, place_n: int, person: str) -> dict[str, int]:
    """Give when the events of a person's calendar were last said to begin, by UID. [microseconds]"""
    found = hand.rows(
        "SELECT uid, start_us FROM calendar_event WHERE place_n = ? AND person = ? AND start_us IS NOT NULL",
        place_n,
        person,
    )
    return dict(found)


def revise(
    hand: Hand, place_n: int, person: str, events: Sequence[Planned], now_us: int
) -> dict[str, Revision]:
    """Count the changes of the events of a calendar; give the revision of each by UID.

    An event that left and comes back goes on counting, as RFC 5546 wants of one UID, and rings anew.
    """
    known, began = revisions(hand, place_n, person), starts(hand, place_n, person)
    for uid in began.keys() - {event.uid for event in events}:
        hand.run(
            "UPDATE calendar_event SET start_us = NULL WHERE place_n = ? AND person = ? AND uid = ?",
            place_n,
            person,
            uid,
        )
    revised: dict[str, Revision] = {}
    for event in events:
        digest, there = known.get(event.uid, ("", Revision(-1, now_us)))
        if digest != event.digest or began.get(event.uid) != event.start_us:
            if digest != event.digest:
                there = Revision(there.sequence + 1, now_us)
            hand.run(
                "INSERT INTO calendar_event (place_n, person, uid, digest, sequence, changed_us, start_us) "
                "VALUES (?, ?, ?, ?, ?, ?, ?) ON CONFLICT (place_n, person, uid) DO UPDATE SET "
                "digest = excluded.digest, sequence = excluded.sequence, changed_us = excluded.changed_us, "
                "start_us = excluded.start_us",
                place_n,
                person,
                event.uid,
                event.digest,
                there.sequence,
                there.changed_us,
                event.start_us,
            )
        revised[event.uid] = there
    return revised
