"""The people of a place as it is set up: who is host, who helps, and until when."""

import threading
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Literal

import msgspec

from fallowside.core import corrections, place
from fallowside.core.entries import Entry
from fallowside.core.place import Item
from fallowside.store import log
from fallowside.store.database import Hand

Role = Literal["host", "helper"]


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who lives or helps at a place. `last_day` is None for one who stays."""

    id: str
    name: str
    role: Role
    last_day: date | None

    def is_here(self, now_us: int) -> bool:
        """Tell whether the stay goes on; its last day belongs to it, by the server's calendar."""
        return self.last_day is None or local_day(now_us) <= self.last_day


class People:
    """Knows the people of each place; reads the set-up anew only when something was set up."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._known: dict[int, tuple[int, Mapping[str, Person]]] = {}

    def of(self, hand: Hand, place_n: int) -> Mapping[str, Person]:
        """Give the people of a place by their id."""
        kinds = ", ".join(f"'{kind}'" for kind in log.SETUP_KINDS)
        newest = hand.value(f"SELECT max(seq) FROM entry WHERE place_n = ? AND kind IN ({kinds})", place_n)
        with self._lock:
            upto, people = self._known.get(place_n, (-1, {}))
        if upto != (newest or 0):
            people = _read([msgspec.json.decode(body) for _, body in log.setup_bodies(hand, place_n, 0)])
            with self._lock:
                self._known[place_n] = (newest or 0, people)
        return people


def local_day(now_us: int) -> date:
    """Give the day of an instant on the server's own calendar."""
    return datetime.fromtimestamp(now_us // 1_000_000).astimezone().date()


def _read(docs: Sequence[Mapping[str, Any]]) -> dict[str, Person]:
    amended = corrections.amendments(doc for doc in docs if doc["kind"] == "correction")
    standing = (amended.examine(doc, lambda _, __: None) for doc in docs if doc["kind"] == "setup")
    folded = place.fold(entry for entry in standing if isinstance(entry, Entry))
    return {name: _person(item) for name, item in folded.people.items()}


def _person(item: Item) -> Person:
    day = item.text("last_day")
    return Person(
        id=item.id,
        name=item.text("name", item.id),
        role="host" if item.text("role") == "host" else "helper",
        last_day=date.fromisoformat(day) if day else None,
    )
