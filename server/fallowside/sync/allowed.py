"""What a caller may bring and see. Sync is told; who is behind it, others know."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from fallowside.core.entries import Problem, moment
from fallowside.core.place import OWN_HOURS
from fallowside.sync.unusual import UNUSUAL, unusual

HOST_ONLY, AFTER_STAY = "host_only", "after_stay"
BARRED = frozenset({HOST_ONLY, AFTER_STAY, UNUSUAL})
"""Entries held for these reasons wait for a host to let them in, however good they are."""


@dataclass(frozen=True, slots=True)
class Allowed:
    """What a caller may do.

    Attributes:
        set_up: Whether they may set things up.
        until_day: The last day they may write of; None if there is no end. [ordinal]
        read: Whether entries are handed out to them.
        own: Who they are: of themselves they may set when they are reminded. '' for nobody in particular.
        asked: Whether they were asked about unusual figures before they sent them.
        most_held: How many of their entries are kept waiting at once; None if there is no end.
    """

    set_up: bool = True
    until_day: int | None = None
    read: bool = True
    own: str = ""
    asked: bool = True
    most_held: int | None = None

    @property
    def any_record(self) -> bool:
        """Tell whether good entries that set nothing up need no second look."""
        return self.until_day is None and self.asked

    def problem(self, doc: Mapping[str, Any], touches_setup: Callable[[str], bool]) -> Problem | None:
        """Say why an entry that is otherwise good has to wait for a host, or None.

        Args:
            doc: A good entry.
            touches_setup: Tells whether to correct an entry, by its id, is to set something up.
        """
        kind = doc["kind"]
        if not (self.set_up or self._own_hours(doc)) and (
            kind == "setup" or (kind == "correction" and touches_setup(doc["of"]))
        ):
            return Problem(HOST_ONLY, "", "only a host sets things up; a host can let this in", {})
        if self.until_day is not None and moment(doc["at"]).day > self.until_day:
            last = date.fromordinal(self.until_day).isoformat()
            said = f"the stay ended on {last}; a host can let this in"
            return Problem(AFTER_STAY, "at", said, {"last": last})
        return None if self.asked else unusual(doc)

    def _own_hours(self, doc: Mapping[str, Any]) -> bool:
        """Tell whether an entry sets nothing but when its writer is reminded."""
        return (
            doc["kind"] == "setup"
            and self.own != ""
            and (doc["what"], doc["item"]) == ("person", self.own)
            and doc["set"].keys() <= OWN_HOURS
        )


EVERYTHING = Allowed()
