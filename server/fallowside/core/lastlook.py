"""A station's part of the plan, kept while nothing that it stands on has changed."""

from collections.abc import Sequence
from dataclasses import dataclass

from fallowside.core.entries import Entry
from fallowside.core.place import Place, Station
from fallowside.core.shapes import StationPlan


@dataclass(slots=True)
class LastLook:
    """The last look at a station.

    `at` is the day looked at, or the instant where that bears on the look; `seen` the entry that shows
    that somebody was there last. Entries are compared one by one, which is quick: those of one log are
    the very same objects.
    """

    _station: Station | None = None
    _place: Place | None = None
    _at: int = 0
    _entries: Sequence[Entry] = ()
    _seen: Entry | None = None
    _plan: StationPlan | None = None

    def plan(
        self, station: Station, entries: Sequence[Entry], seen: Entry | None, place: Place, at: int
    ) -> StationPlan | None:
        """Give what that look gave, if this one would give the same."""
        same = self._station is station and self._place is place and self._at == at and self._seen == seen
        return self._plan if same and self._entries == entries else None

    def keep(
        self,
        plan: StationPlan,
        station: Station,
        entries: Sequence[Entry],
        seen: Entry | None,
        place: Place,
        at: int,
    ) -> None:
        """Keep what a look gave."""
        self._station, self._place, self._at, self._seen = station, place, at, seen
        self._entries, self._plan = list(entries), plan
