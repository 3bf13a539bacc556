"""A station's part of the plan, kept while nothing that it stands on has changed."""

from collections.abc import Sequence
from dataclasses import dataclass

from fallowside.core.entries import Entry
from fallowside.core.place import Place, Station
from fallowside.core.shapes import StationPlan


@dataclass(slots=True)
class LastLook:
    """The last look at a station, for rooms to which an instant is only its day.

    Entries are compared one by one, which is quick: those of one log are the very same objects.
    """

    _station: Station | None = None
    _place: Place | None = None
    _day: int = 0
    _entries: Sequence[Entry] = ()
    _plan: StationPlan | None = None

    def plan(self, station: Station, entries: Sequence[Entry], place: Place, day: int) -> StationPlan | None:
        """Give a copy of what that look gave, if this one would give the same."""
        same = self._station is station and self._place is place and self._day == day
        if self._plan is None or not same or self._entries != entries:
            return None
        return self._plan.copy()

    def keep(
        self, plan: StationPlan, station: Station, entries: Sequence[Entry], place: Place, day: int
    ) -> StationPlan:
        """Keep a copy of what a look gave; give the plan on."""
        self._station, self._place, self._day = station, place, day
        self._entries, self._plan = list(entries), plan.copy()
        return plan
