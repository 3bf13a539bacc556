"""Sums of masses that are known more or less well.

What was weighed adds up as it is. An estimate has two errors: one of its own (the level read, the
day's packing), which averages out, so these add as squares; and one it shares with all estimates of
its origin (the weighing of the container, the published density), which does not, however many there
are: so these add up first, and only then, origin by origin, as squares. What is taken off again from
the same container takes its shared error with it.
"""

from collections.abc import Callable, Iterable, Sequence
from math import sqrt

from fallowside.core.place import Doubt, Mass
from fallowside.core.shapes import Spread, figure
from fallowside.core.span import Span


class Sum:
    """A running sum of masses, with what was measured and what was estimated kept apart. [kg]"""

    __slots__ = ("_own", "_shared", "estimated", "kg", "measured")

    def __init__(self) -> None:
        self.kg = 0.0
        self.measured = 0.0
        self.estimated = 0.0
        self._own = 0.0
        self._shared: dict[Doubt, float] = {}

    def add(self, mass: Mass, sign: float = 1.0) -> None:
        """Take a mass in, or off with sign -1."""
        kg = sign * mass.kg
        self.kg += kg
        if mass.how == "weighed":
            self.measured += kg
            return
        self.estimated += kg
        self._own += mass.own_kg * mass.own_kg
        if mass.doubt.origin:
            self._shared[mass.doubt] = self._shared.get(mass.doubt, 0.0) + kg

    def take(self, other: "Sum", sign: float = 1.0) -> None:
        """Take another sum in, or off."""
        self.kg += sign * other.kg
        self.measured += sign * other.measured
        self.estimated += sign * other.estimated
        self._own += other._own
        for doubt, kg in other._shared.items():
            self._shared[doubt] = self._shared.get(doubt, 0.0) + sign * kg

    def copy(self) -> "Sum":
        """Give the same sum, to be carried on by itself."""
        found = Sum()
        found.take(self)
        return found

    def part(self, share: float, more: Sequence[Doubt]) -> "Sum":
        """Give a part of all of it, its dry matter say, known as far as the share is. [kg]"""
        found = Sum()
        found.kg, found.measured, found.estimated = (
            share * self.kg,
            share * self.measured,
            share * self.estimated,
        )
        found._own = share * share * self._own
        found._shared = {doubt: share * kg for doubt, kg in self._shared.items()}
        for doubt in more:
            found._shared[doubt] = found._shared.get(doubt, 0.0) + found.kg
        return found

    def span(self, least: float | None = None) -> Span:
        """Give the sum with its 80 % range; nothing below `least` is believed."""
        below, above = self._own, self._own
        for doubt, kg in self._shared.items():
            low, high = (doubt.low, doubt.high) if kg >= 0.0 else (doubt.high, doubt.low)
            below += (kg * low) * (kg * low)
            above += (kg * high) * (kg * high)
        bottom = self.kg - sqrt(below)
        return Span(bottom if least is None else max(least, bottom), self.kg, self.kg + sqrt(above))


def spread(span: Span, written: Callable[[float], float] = figure) -> Spread:
    """Write a figure with its range, rounded once."""
    return {"low": written(span.low), "mid": written(span.mid), "high": written(span.high)}


def scaled(span: Span, factor: Span) -> Span:
    """Multiply two figures that may be off independently: relative errors add as squares.

    >>> found = scaled(Span(8.0, 10.0, 12.0), Span(0.3, 0.5, 0.7))
    >>> found.mid, round(found.low, 3), round(found.high, 3)
    (5.0, 2.764, 7.236)
    """
    mid = span.mid * factor.mid
    if not mid:
        return Span(0.0, 0.0, 0.0)
    below = _together(1.0 - span.low / span.mid, 1.0 - factor.low / factor.mid)
    above = _together(span.high / span.mid - 1.0, factor.high / factor.mid - 1.0)
    return Span(max(0.0, mid * (1.0 - below)), mid, mid * (1.0 + above))


def added(spans: Iterable[Span]) -> Span:
    """Add figures that may all be off the same way: their ends add up.

    >>> added([Span(1.0, 2.0, 3.0), Span(0.0, 1.0, 4.0)])
    Span(low=1.0, mid=3.0, high=7.0)
    """
    low = mid = high = 0.0
    for one in spans:
        low, mid, high = low + one.low, mid + one.mid, high + one.high
    return Span(low, mid, high)


def independent(spans: Iterable[Span]) -> Span:
    """Add figures each of which is off by itself: their errors add as squares.

    >>> independent([Span(7.0, 10.0, 14.0), Span(16.0, 20.0, 23.0)])
    Span(low=25.0, mid=30.0, high=35.0)
    """
    mid = below = above = 0.0
    for one in spans:
        mid += one.mid
        below += (one.mid - one.low) * (one.mid - one.low)
        above += (one.high - one.mid) * (one.high - one.mid)
    return Span(mid - sqrt(below), mid, mid + sqrt(above))


def _together(one: float, other: float) -> float:
    return sqrt(one * one + other * other)
