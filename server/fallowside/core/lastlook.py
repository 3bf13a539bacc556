"""A station's part of the plan, kept while nothing it stands on has changed; what was noted there last."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from fallowside.core.entries import Entry, spec
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
    _fields: dict[str, tuple[Entry, dict[str, object]]] = field(default_factory=dict)
    """What each of the newest entries says, by its id."""

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

    def values(self, entries: Sequence[Entry]) -> dict[str, object]:
        """Give the newest value of each field, as entered: `kind.field`, with the side where there is one."""
        before, self._fields = self._fields, {}
        last: dict[str, object] = {}
        for entry in entries:
            told = before.get(entry.id)
            if told is None or told[0] is not entry:
                told = entry, _fields(entry)
            self._fields[entry.id] = told
            last.update(told[1])
        return dict(sorted(last.items()))


def _fields(entry: Entry) -> dict[str, object]:
    prefix = f"{entry.kind}.{entry.side}." if entry.side else f"{entry.kind}."
    return {
        prefix + name: value
        for name, value in entry.data.items()
        if value is not None and name not in _ENVELOPE
    }


_ENVELOPE = frozenset(spec()["envelope"])
