"""What was told, told again as the very same object while what it stands on is equal.

That spares the telling, and the writing too: a part of a plan that is the very same keeps its text.
"""

from collections.abc import Callable, Hashable
from typing import Any, TypeVar

_Told = TypeVar("_Told")


class Told:
    """The last telling of each of some things."""

    def __init__(self) -> None:
        self._kept: dict[Hashable, tuple[object, Any]] = {}

    def of(self, what: Hashable, on: object, tell: Callable[[], _Told]) -> _Told:
        """Tell something, anew only where what it stands `on` is another than the last time."""
        kept = self._kept.get(what)
        if kept is None or (kept[0] is not on and kept[0] != on):
            kept = self._kept[what] = on, tell()
        found: _Told = kept[1]
        return found
