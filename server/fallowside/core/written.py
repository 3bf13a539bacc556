"""A plan's JSON and the constants its workings name, kept part by part.

One entry touches one station, so most of a plan is the very same objects as in the plan before. Such a
part keeps its text and the names found in it. So a part of a plan is never changed once it is made: what
comes out otherwise is another object.
"""

import json
from collections.abc import Callable, Collection, Iterable, Mapping
from typing import Any, Final, Generic, TypeVar

from fallowside.core import sources
from fallowside.core.shapes import ConstantPlan, Plan

_Made = TypeVar("_Made")
_EACH: Final = ""
_PARTED: Final[Mapping[str, Any]] = {
    "stations": {_EACH: {"state": {}, "series": {_EACH: {}}}},
    "circles": {_EACH: {"arrows": {}, "nodes": {}}},
    "tally": {"balance": {"accounts": {}}, "months": {}},
    "limits": {},
    "reminders": {},
}
"""What of a plan is parted, and what of that again; the rest is kept whole. `_EACH` is any row of a list."""
_TELLING: Final = ("stations", "circles", "tally")
_NO_WORKINGS: Final = frozenset({"last", "series"})
"""Parts of a station that hold what was entered, and rows of numbers."""
_HOLDS = frozenset({dict, list})
_json: Callable[[object], str] = json.JSONEncoder(
    ensure_ascii=False, allow_nan=False, separators=(",", ":")
).encode


class Written:
    """What was written of the last plan; the next one comes out as if it were the first, only sooner."""

    def __init__(self) -> None:
        self._text = _Kept(_json, _joined)
        self._names = _Kept(names, _united, _NO_WORKINGS)
        self._told: tuple[frozenset[str], dict[str, ConstantPlan]] = frozenset(), {}

    def constants(self, plan: Plan) -> dict[str, ConstantPlan]:
        """Collect every constant that a working of a plan names."""
        whole: Mapping[str, Any] = plan
        named = self._names.of({name: whole[name] for name in _TELLING}, _PARTED)
        if named != self._told[0]:
            self._told = named, constants(named)
        return self._told[1]

    def text(self, plan: Plan) -> str:
        """Write a plan as JSON, the same text on every host."""
        return self._text.of(plan, _PARTED)


class _Kept(Generic[_Made]):
    """What was made of a part and of its own parts, kept as long as each is the very same object."""

    __slots__ = ("_below", "_join", "_made", "_make", "_part", "_without")

    def __init__(
        self,
        make: Callable[[object], _Made],
        join: Callable[[object, Collection[_Made]], _Made],
        without: Collection[str] = (),
    ) -> None:
        self._make, self._join, self._without = make, join, without
        self._below: dict[object, _Kept[_Made]] = {}
        self._part: object = None
        self._made: _Made | None = None

    def of(self, part: Any, parted: Mapping[str, Any] | None) -> _Made:
        if self._made is None or self._part is not part:
            self._part, self._made = part, self._anew(part, parted)
        return self._made

    def _anew(self, part: Any, parted: Mapping[str, Any] | None) -> _Made:
        if parted is None or part.__class__ not in _HOLDS:
            return self._make(part)
        before, self._below, made = self._below, {}, []
        named = part.__class__ is dict
        for key, value in part.items() if named else enumerate(part):
            if key not in self._without:
                kept = before.get(key) or _Kept(self._make, self._join, self._without)
                self._below[key] = kept
                made.append(kept.of(value, parted.get(key if named else _EACH)))
        return self._join(part, made)


def _joined(part: object, texts: Collection[str]) -> str:
    if not isinstance(part, dict):
        return f"[{','.join(texts)}]"
    inner = ",".join([f'"{key}":{text}' for key, text in zip(part, texts, strict=True)])
    return f"{{{inner}}}"


def _united(part: object, found: Collection[frozenset[str]]) -> frozenset[str]:
    return frozenset().union(*found)


def names(told: object) -> frozenset[str]:
    """Collect the names of every constant that a working among what is told names."""
    found: set[str] = set()
    waiting = [told]
    while waiting:
        one = waiting.pop()
        if isinstance(one, dict):
            for key, value in one.items():
                if key == "constants" and isinstance(value, list):
                    found.update(value)
                elif type(value) in _HOLDS:
                    waiting.append(value)
        elif isinstance(one, list) and not _HOLDS.isdisjoint(map(type, one)):
            waiting.extend(item for item in one if type(item) in _HOLDS)
    return frozenset(found)


def constants(named: Iterable[str]) -> dict[str, ConstantPlan]:
    """Tell of the constants of these names all that is known, in order of names."""
    return {name: _constant(name) for name in sorted(named)}


def _constant(name: str) -> ConstantPlan:
    found = sources.constant(name)
    return {
        "value": found.value,
        "unit": found.unit,
        "low": found.low,
        "high": found.high,
        "cite": found.cite,
        "where": found.where,
        "basis": found.basis,
        "confidence": found.confidence,
        "note": found.note,
    }
