"""The diary of the demo place: the entries as its people's phones would have made them."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta, timezone
from hashlib import sha256
from typing import Any, Literal
from uuid import UUID

from fallowside.exchange.demo_truth import Dice

OFFSET = timezone(timedelta(hours=2))
"""The demo's clock. Its last round ends early in the day, so it lies in the past wherever it is read."""

Raw = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Stay:
    """Somebody's time at the place, in days before today; a day below 0 is still to come."""

    id: str
    name: str
    comes: int
    goes: int
    goes_after_all: int | None = None
    scale: Literal["kg", "lb"] = "kg"
    thermometer: Literal["degC", "degF"] = "degC"
    walks: tuple[str, ...] = ()
    """Days of the week on which the round is theirs."""


@dataclass(slots=True)
class Diary:
    """The log of the demo as it grows.

    Attributes:
        today: The day after the last one written about.
        seed: Which invented history this is; part of every id.
    """

    today: date
    seed: int
    written: list[Raw] = field(default_factory=list)
    _numbers: dict[int, int] = field(default_factory=dict)

    def write(
        self,
        kind: str,
        ago: int,
        minute: float,
        by: str,
        *,
        station: str = "",
        side: str = "",
        note: str = "",
        typed_later: float = 0.0,
        **fields: Any,
    ) -> Raw:
        """Write one entry and give it back.

        Args:
            kind: Kind of entry.
            ago: Days before `today`.
            minute: When in the day it happened. [min after midnight]
            by: Who.
            station: Where, if the kind has a station.
            side: Side of the bed, if it has one.
            note: A remark in the writer's words.
            typed_later: How long after it happened it was typed. [min]
            **fields: The kind's own fields.
        """
        at = self.time(ago, minute)
        noted = self.time(ago, minute + typed_later)
        raw: Raw = {"id": self._id(ago, noted), "kind": kind}
        if station:
            raw["station"] = station
        if side:
            raw["side"] = side
        raw |= {"at": at, "noted_at": noted, "by": by, "device": f"phone-{by}"}
        if note:
            raw["note"] = note
        raw |= fields
        self.written.append(raw)
        return raw

    def correct(self, wrong: Raw, ago: int, minute: float, by: str, change: Mapping[str, Any] | None) -> Raw:
        """Mend an entry with the fields of `change`, or take it back if there are none."""
        if change is None:
            return self.write("correction", ago, minute, by, of=wrong["id"], action="retract")
        raw = self.write("correction", ago, minute, by, of=wrong["id"], action="replace")
        raw["with"] = dict(change)
        return raw

    def ago(self, raw: Mapping[str, Any]) -> int:
        """Say how many days before `today` an entry happened."""
        return (self.today - date.fromisoformat(raw["at"][:10])).days

    def time(self, ago: int, minute: float) -> str:
        """Write a time of a day in RFC 3339, to the second."""
        day = self.today - timedelta(days=ago)
        start = datetime(day.year, day.month, day.day, tzinfo=OFFSET)
        return (start + timedelta(seconds=round(60.0 * minute))).isoformat()

    def _id(self, ago: int, noted: str) -> str:
        """Make an id in the manner of a UUID of version 7, its chance part from seed, day and number."""
        number = self._numbers.get(ago, 0)
        self._numbers[ago] = number + 1
        chance = int.from_bytes(sha256(f"{self.seed}/{ago}/{number}".encode()).digest()[:10], "big")
        since = datetime.fromisoformat(noted).astimezone(UTC) - datetime(1970, 1, 1, tzinfo=UTC)
        milliseconds = since // timedelta(milliseconds=1)
        bits = milliseconds << 80 | 7 << 76 | (chance >> 64 & 0xFFF) << 64 | 2 << 62 | chance & (1 << 62) - 1
        return str(UUID(int=bits))


@dataclass(slots=True)
class Walk:
    """One round as it is walked: who walks, which day, and the minute the hand is at."""

    diary: Diary
    dice: Dice
    ago: int
    by: str
    minute: float
    scale: Literal["kg", "lb"] = "kg"
    thermometer: Literal["degC", "degF"] = "degC"
    late: float = 0.0
    """Typed this much later. [min]"""
    passed: list[str] = field(default_factory=list)

    def note(self, kind: str, station: str, *, side: str = "", note: str = "", **fields: Any) -> Raw:
        """Write an entry now and walk on a little."""
        self.minute += self.dice.between(0.6, 2.4)
        return self.diary.write(
            kind,
            self.ago,
            self.minute,
            self.by,
            station=station,
            side=side,
            note=note,
            typed_later=self.late,
            **fields,
        )
