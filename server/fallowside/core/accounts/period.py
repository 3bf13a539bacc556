"""A period's moves summed, and what was told of them, kept: one more move is read on in.

What no new move bears on is told again as it was told: the very same objects.
"""

from collections.abc import Callable, Sequence
from typing import Any, TypeVar

from fallowside.core.accounts import ledger, recovered
from fallowside.core.accounts.ledger import Cell
from fallowside.core.accounts.moves import Move
from fallowside.core.accounts.sums import Sum
from fallowside.core.place import Place

_Told = TypeVar("_Told")
Heading = Callable[[Cell], str]


class Period:
    """The moves of a period, and their sums.

    Attributes:
        during: The moves, in order.
        by_month: The same, by month as written.
        cells: The ledger of them.
        passed: Products taken out, and what of them went back in.
    """

    def __init__(self, place: Place) -> None:
        self.place = place
        self.during: list[Move] = []
        self.by_month: dict[str, list[Move]] = {}
        self.cells: dict[Cell, Sum] = {}
        self.passed = recovered.Passed()
        self._dry: dict[Cell, Sum] = {}
        self._counted: dict[str, Any] = {}
        self._grouped: dict[Heading, dict[str, Any]] = {}
        self._months: dict[str, Any] = {}

    def read(self, moves: Sequence[Move]) -> None:
        """Read on; what these moves bear on will be told anew."""
        self.during.extend(moves)
        for move in moves:
            self.by_month.setdefault(move.month, []).append(move)
            self._months.pop(move.month, None)
        if self.passed.read(moves, self.place):
            self._counted.clear()
        for cell in ledger.take(self.cells, moves):
            self._counted.clear()
            self._dry.pop(cell, None)
            for heading, kept in self._grouped.items():
                kept.pop(heading(cell), None)

    def dry(self, cell: Cell) -> Sum:
        """Give the dry matter of a cell. [kg]"""
        found = self._dry.get(cell)
        if found is None:
            share = ledger.dry_share(self.place.material(cell.material))
            found = self._dry[cell] = self.cells[cell].part(*share)
        return found

    def counted(self, what: str, tell: Callable[[], _Told]) -> _Told:
        """Tell something of the whole ledger."""
        return _once(self._counted, what, tell)

    def grouped(self, heading: Heading, name: str, tell: Callable[[], _Told]) -> _Told:
        """Tell something of the cells of one name under a heading."""
        return _once(self._grouped.setdefault(heading, {}), name, tell)

    def of_month(self, name: str, tell: Callable[[], _Told]) -> _Told:
        """Tell something of a month."""
        return _once(self._months, name, tell)


def _once(kept: dict[str, Any], name: str, tell: Callable[[], _Told]) -> _Told:
    if name not in kept:
        kept[name] = tell()
    found: _Told = kept[name]
    return found
