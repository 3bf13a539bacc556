"""The log of a place, folded: its plan and tally as the core makes them from what the store holds."""

import gc
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import date

import msgspec

from fallowside.core import plan, tally
from fallowside.core.bucketshapes import Route
from fallowside.core.entries import Entry, moment
from fallowside.core.place import Place
from fallowside.core.shapes import Plan, Tally
from fallowside.store import log
from fallowside.store.database import Database


@contextmanager
def uncollected() -> Iterator[None]:
    """Let the collector of cycles rest: a fold makes many small things, keeps them, and ties no cycles.

    It saves a fifth of the time of a long log. Two folds at once may wake it early; that only costs time.
    """
    awake = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if awake:
            gc.enable()


def plan_of(database: Database, at: str) -> Plan:
    """Give the plan of a place at an instant."""
    with uncollected():
        return plan.plan(log.entries(database), at)


def plan_text(database: Database, at: str) -> str:
    """Give the plan of a place at an instant as JSON, the same text on every host."""
    with uncollected():
        return plan.plan_json(log.entries(database), at)


class Kept:
    """The log of a place kept folded between questions, so that one more entry costs little."""

    def __init__(self, database: Database) -> None:
        self.database = database
        self._turn = threading.Lock()
        self._fold = plan.Fold()
        self._log_name, self._upto = "", 0

    def plan_text(self, at: str) -> str:
        """Give the plan at an instant as JSON; the same text as `plan_text` gives."""
        with self._turn, uncollected():
            self._catch_up()
            return self._fold.plan_json(at)

    def route(self, bucket: Sequence[object], at: str, freezer_kg: float | None = None) -> Route:
        """Say where a bucket goes at an instant, by the log as it is now."""
        with self._turn, uncollected():
            self._catch_up()
            return self._fold.route(bucket, at, freezer_kg)

    def _catch_up(self) -> None:
        with self.database.read() as hand:
            place = log.look_up(hand)
            if place is None:
                return
            if place.log != self._log_name or place.last_seq < self._upto:
                self._fold = plan.Fold()
                self._log_name, self._upto = place.log, 0
            while page := log.after(hand, place.n, self._upto, place.last_seq, log.PAGE):
                self._fold.add(msgspec.json.decode(line.body) for line in page)
                self._upto = page[-1].seq


def day(text: str) -> int:
    """Read a day such as 2026-03-01. [ordinal]

    Raises:
        ValueError: not such a day, or in a year no entry can be of; its text goes on from a name.

    >>> day("2026-03-01") - day("2026-02-01")
    28
    """
    try:
        found = date.fromisoformat(text)
    except ValueError as error:
        raise ValueError(f"is a day such as 2026-03-01, not {text[:40]!r}") from error
    try:
        moment(f"{found.isoformat()}T00:00Z")
    except ValueError as error:
        raise ValueError(f"can't be used: {error}") from error
    return found.toordinal()


def read(database: Database, at: str) -> tuple[Sequence[Entry], Place]:
    """Give the entries of a place up to an instant, corrected and in order, and the place they leave."""
    return plan.read(log.entries(database), at)


def period(
    entries: Sequence[Entry], at: str, since_day: int | None, until_day: int | None
) -> tuple[int, int]:
    """Give the days of a period, where an end is open those of the first and last entry. [ordinal]"""
    days = [entry.day for entry in entries] or [moment(at).day]
    since = min(days) if since_day is None else since_day
    until = max(days) if until_day is None else until_day
    return (since, max(since, until)) if until_day is None else (min(since, until), until)


def tally_of(
    database: Database,
    at: str,
    since_day: int | None,
    until_day: int | None,
) -> Tally:
    """Tally a period by what is known at an instant.

    Args:
        database: Where the log is.
        at: The instant, RFC 3339 with offset.
        since_day: First local day; None for the day of the first entry. [ordinal]
        until_day: Last local day, included; None for the day of the last entry. [ordinal]
    """
    entries, place = read(database, at)
    return tally.tally(entries, place, *period(entries, at, since_day, until_day))
