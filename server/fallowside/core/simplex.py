"""A small linear programme: the most of a sum under upper limits, by the simplex method.

Dense, in plain floats with + − × ÷ only, so that every host walks the same corners. Meant for a few
dozen unknowns. Method: G. B. Dantzig's tableau, largest gain first; while it stands still, R. G.
Bland's rule (Mathematics of Operations Research 2:103, 1977), which cannot go in circles.
"""

from collections.abc import Sequence

from fallowside.core.errors import OutOfRange, require

_ZERO = 1e-11
_LARGEST = 1e12


def maximise(gains: Sequence[float], rows: Sequence[Sequence[float]], limits: Sequence[float]) -> list[float]:
    """Give the x >= 0 with the largest gains · x among those with rows · x <= limits.

    Args:
        gains: What a unit of each unknown is worth.
        rows: One row of coefficients a limit, of a size near 1.
        limits: Each >= 0, so that x = 0 is allowed.

    Returns:
        One corner that is best; of several always the same one.

    Raises:
        OutOfRange: a limit below zero, or gains that grow without end.

    >>> maximise([3.0, 2.0], [[1.0, 1.0], [1.0, 3.0], [1.0, 0.0]], [4.0, 6.0, 3.0])
    [3.0, 1.0]
    """
    count = len(gains)
    table = [
        [
            *map(float, row),
            *(1.0 if i == j else 0.0 for j in range(len(rows))),
            require("limit", b, 0.0, _LARGEST, "1"),
        ]
        for i, (row, b) in enumerate(zip(rows, limits, strict=True))
    ]
    price = [-gain for gain in gains] + [0.0] * (len(rows) + 1)
    basis = [count + i for i in range(len(rows))]
    still = 0
    while (enter := _entering(price, careful=still > 0)) is not None:
        leave = _leaving(table, basis, enter)
        if leave is None:
            raise OutOfRange("gain", _LARGEST * 2.0, 0.0, _LARGEST, "1")
        before = price[-1]
        _pivot(table, price, leave, enter)
        basis[leave] = enter
        still = 0 if price[-1] > before else still + 1
    found = [0.0] * (count + len(rows))
    for i, unknown in enumerate(basis):
        found[unknown] = max(table[i][-1], 0.0)
    return found[:count]


def _entering(price: list[float], careful: bool) -> int | None:
    """Choose the unknown to bring in: the most rewarding, or the first when going carefully."""
    best, chosen = -_ZERO, None
    for j, one in enumerate(price[:-1]):
        if one < best:
            if careful:
                return j
            best, chosen = one, j
    return chosen


def _leaving(table: list[list[float]], basis: list[int], enter: int) -> int | None:
    """Choose the limit met first; of several, the one whose unknown comes first."""
    chosen, least = None, 0.0
    for i, row in enumerate(table):
        if row[enter] > _ZERO:
            reach = row[-1] / row[enter]
            if chosen is None or reach < least or (reach == least and basis[i] < basis[chosen]):
                chosen, least = i, reach
    return chosen


def _pivot(table: list[list[float]], price: list[float], leave: int, enter: int) -> None:
    pivot = table[leave][enter]
    lead = [one / pivot for one in table[leave]]
    table[leave] = lead
    marked = [j for j, one in enumerate(lead) if one != 0.0]
    for row in (*table, price):
        if row is not lead and (factor := row[enter]) != 0.0:
            for j in marked:
                row[j] -= factor * lead[j]
            row[enter] = 0.0
