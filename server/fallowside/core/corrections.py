"""Corrections: what a log says once entries were taken back and mended."""

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fallowside.core.entries import Entry, Known, Problem, examine, moment


@dataclass(frozen=True, slots=True)
class Amendments:
    """What the corrections of a log say: ids of entries taken back, and corrections by what they mend."""

    gone: frozenset[str]
    mending: Mapping[str, Sequence[Mapping[str, Any]]]
    """Replacements by the id of the entry they change, earliest first."""
    touched: frozenset[str]
    """Ids of all entries some correction speaks of."""

    def examine(
        self, raw: Mapping[str, Any], refused: Callable[[str, Problem], None], known: Known | None = None
    ) -> Entry | Problem | None:
        """Judge and read an entry as it stands now; None if it was taken back.

        A replacement that would spoil a good entry is not applied but `refused`, by its own id.
        """
        if raw["id"] in self.gone:
            return None
        standing = examine(raw, known=known)
        for correction in self.mending.get(raw["id"], ()):
            changed = {**raw, **correction["with"], "id": raw["id"], "kind": raw["kind"]}
            found = examine(changed, known=known)
            if isinstance(found, Problem) and isinstance(standing, Entry):
                refused(correction["id"], found)
            else:
                raw, standing = changed, found
        return standing


def amendments(corrections: Iterable[Mapping[str, Any]]) -> Amendments:
    """Read `correction` entries in any order.

    A correction counts unless a later one takes it back; of several replacements of one entry the
    later wins field by field. Ties in time go by id.
    """
    gone: set[str] = set()
    mending: dict[str, list[Mapping[str, Any]]] = {}
    for raw in sorted(corrections, key=lambda one: (moment(one["at"]).us, one["id"]), reverse=True):
        if raw["id"] in gone:
            continue
        if raw["action"] == "retract":
            gone.add(raw["of"])
        else:
            mending.setdefault(raw["of"], []).insert(0, raw)
    return Amendments(frozenset(gone), mending, frozenset(gone) | frozenset(mending))


def first_of(one: Mapping[str, Any], other: Mapping[str, Any]) -> Mapping[str, Any]:
    """Choose between two entries that share an id and differ, whatever order they came in.

    The store never lets it happen; a log put together by hand may.
    """
    return min(one, other, key=lambda raw: json.dumps(raw, sort_keys=True, default=repr))
