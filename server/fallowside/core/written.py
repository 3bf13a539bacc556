"""A plan's JSON and the constants its workings name, kept part by part.

One entry touches one station, so most of a plan is the very same objects as in the plan before. Such a
part keeps its text and the names found in it. So a part of a plan is never changed once it is made: what
comes out otherwise is another object.
"""

import json
from collections.abc import Callable, Iterable, Mapping
from typing import Any, Generic, TypeVar

from fallowside.core import sources
from fallowside.core.shapes import ConstantPlan, Plan

_Made = TypeVar("_Made")
_ROWS = frozenset({"stations", "circles"})
"""Lists of a plan whose rows are parted, each into its values."""
_PARTED = _ROWS | {"tally"}
_NO_WORKINGS = frozenset({"last", "series"})
"""Parts of a station that hold what was entered, and rows of numbers."""
_HOLDS = frozenset({dict, list})
_json: Callable[[object], str] = json.JSONEncoder(
    ensure_ascii=False, allow_nan=False, separators=(",", ":")
).encode


class Written:
    """What was written of the last plan; the next one comes out as if it were the first, only sooner."""

    def __init__(self) -> None:
        self._texts, self._names = _Kept(_json), _Kept(names)
        self._told: tuple[frozenset[str], dict[str, ConstantPlan]] = frozenset(), {}

    def constants(self, plan: Plan) -> dict[str, ConstantPlan]:
        """Collect every constant that a working of a plan names."""
        self._names.turn()
        told: Mapping[str, Any] = {name: part for name, part in plan.items() if name in _PARTED}
        found = [
            self._names.of(f"{name} {at} {key}", value)
            for name, part in told.items()
            for at, row in enumerate(part if name in _ROWS else [part])
            for key, value in row.items()
            if key not in _NO_WORKINGS
        ]
        named = frozenset().union(*found)
        if named != self._told[0]:
            self._told = named, constants(named)
        return self._told[1]

    def text(self, plan: Plan) -> str:
        """Write a plan as JSON, the same text on every host."""
        self._texts.turn()
        return _object((name, self._text(name, part)) for name, part in plan.items())

    def _text(self, name: str, part: Any) -> str:
        if name in _ROWS:
            return f"[{','.join(self._row(f'{name} {at}', row) for at, row in enumerate(part))}]"
        return self._row(name, part) if name in _PARTED else self._texts.of(name, part)

    def _row(self, name: str, row: Mapping[str, object]) -> str:
        return _object((key, self._texts.of(f"{name} {key}", value)) for key, value in row.items())


class _Kept(Generic[_Made]):
    """What was made of each part, kept as long as the part is the very same object."""

    def __init__(self, make: Callable[[object], _Made]) -> None:
        self._make = make
        self._before: dict[str, tuple[object, _Made]] = {}
        self._now: dict[str, tuple[object, _Made]] = {}

    def turn(self) -> None:
        """Begin another plan: what it has no more is let go after it."""
        self._before, self._now = self._now, {}

    def of(self, name: str, part: object) -> _Made:
        there = self._before.get(name)
        if there is None or there[0] is not part:
            there = part, self._make(part)
        self._now[name] = there
        return there[1]


def _object(texts: Iterable[tuple[str, str]]) -> str:
    inner = ",".join(f'"{key}":{text}' for key, text in texts)
    return f"{{{inner}}}"


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
