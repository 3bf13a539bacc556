"""The diversion ledger: which moves count, summed once into cells from which any grouping is made.

Counted is what was fed to a bed, a bin or any other station but a pond, and would have gone to
landfill. Taken off is what left a bed or bin for landfill out of counted scraps: rejects of counted
streams and a bin's residue, in the month in which they left. What was never counted (bedding, feed,
solids of the pond, what goes straight from pond or hive) is listed apart, never taken off.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import NamedTuple

from fallowside.core.accounts.moves import Move, Way
from fallowside.core.accounts.sums import Sum
from fallowside.core.materials import Material
from fallowside.core.place import Doubt


class Cell(NamedTuple):
    """The finest heading of the ledger."""

    month: str
    station: str
    person: str
    stream: str
    material: str
    way: Way


Cells = Mapping[Cell, Sum]


def cells(moves: Iterable[Move]) -> dict[Cell, Sum]:
    """Sum moves into cells, in the order in which they were moved."""
    found: dict[Cell, Sum] = {}
    take(found, moves)
    return found


def take(cells: dict[Cell, Sum], moves: Iterable[Move]) -> set[Cell]:
    """Sum further moves into cells; give those that changed."""
    changed: set[Cell] = set()
    for move in moves:
        route = move.route
        if not route.way:
            continue
        cell = Cell(move.month, route.station, move.person, route.stream, route.material, route.way)
        total = cells.get(cell)
        if total is None:
            total = cells[cell] = Sum()
        total.add(move.mass)
        changed.add(cell)
    return changed


def grouped(cells: Cells, key: Callable[[Cell], str], way: Way) -> dict[str, Sum]:
    """Sum cells of one way by any heading."""
    found: dict[str, Sum] = {}
    for cell, total in cells.items():
        if cell.way == way:
            found.setdefault(key(cell), Sum()).take(total)
    return dict(sorted(found.items()))


def whole(cells: Cells, way: Way) -> Sum:
    """Sum all cells of one way."""
    total = Sum()
    for cell, one in cells.items():
        if cell.way == way:
            total.take(one)
    return total


def dry(
    cells: Cells, part: Callable[[Cell], Sum], way: Way, sign: float = 1.0, into: Sum | None = None
) -> Sum:
    """Sum the dry matter of cells of one way; `part` gives that of each. [kg]"""
    total = Sum() if into is None else into
    for cell in cells:
        if cell.way == way:
            total.take(part(cell), sign)
    return total


def dry_share(material: Material) -> tuple[float, Sequence[Doubt]]:
    """Give the dry share of a material's wet mass, and how far it may be off."""
    share = (100.0 - material.moisture_pct) / 100.0
    low, high = material.ranges.get("moisture_pct", (material.moisture_pct, material.moisture_pct))
    return share, doubts("moisture", material.name, share, (100.0 - high) / 100.0, (100.0 - low) / 100.0)


def doubts(what: str, name: str, value: float, low: float, high: float) -> Sequence[Doubt]:
    """Give the doubt of a figure of a material from its range; none where it has no size."""
    if value <= 0.0:
        return ()
    return (Doubt(f"{what} {name}", 1.0 - low / value, high / value - 1.0),)


def kept_pct(gross_kg: float, rejected_kg: float, other_landfill_kg: float = 0.0) -> float | None:
    """Give the diversion rate: net diverted of all that was generated.

    Args:
        gross_kg: Fed to the stations. [kg]
        rejected_kg: What left them again for landfill. [kg]
        other_landfill_kg: What went to landfill without passing a station. [kg]

    Returns:
        100 (gross - rejected) / (gross + other), the net-of-rejects rule; below zero where more left
        than came in, None where nothing came. [%]

    Source: US EPA 1997, Measuring Recycling: diverted over generated; net of rejects, since final
    destination counts (FLW Standard 2016).

    >>> kept_pct(120.0, 12.0, 80.0)
    54.0
    """
    generated = gross_kg + other_landfill_kg
    return 100.0 * (gross_kg - rejected_kg) / generated if generated > 0.0 else None
