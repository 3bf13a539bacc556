"""Ranges of a number seen in several ways: each way gives a gamma distribution and how likely it is."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import fsum, sqrt

from fallowside.core import numeric

_SHARES = (0.1, 0.5, 0.9)
_EIGHTY = numeric.normal_quantile(0.9)
_TAIL = 12.0
"""No 90 % point lies this many standard deviations above the mean."""
_HALVINGS = 26
_SLIGHTLY = 1.0 / (1 << 29)
"""How far beyond a point is aimed, beside the width that is halved: an eighth of the last half."""
_TRIES, _EDGE = 12, 1e-9
_SLIGHT = 1e-4
"""A way less likely than this is left out of a range."""


@dataclass(frozen=True, slots=True)
class Part:
    """One way to see the number: how likely it is, the mean and the relative variance it gives."""

    weight: float
    mean: float
    variance: float


def points(parts: Sequence[Part], stretch: float) -> tuple[float, float, float]:
    """Give the 10, 50 and 90 % points of a mixture of gamma distributions, by halving.

    >>> low, mid, high = points([Part(1.0, 100.0, 1.0)], 1.0)  # exponential: -100 ln 0.9, ln 2, ln 10
    >>> round(low, 1), round(mid, 1), round(high, 1)
    (10.5, 69.3, 230.3)
    """
    top = max(part.mean * (1.0 + _TAIL * sqrt(part.variance * stretch)) for part in parts)
    tried = [(at, below(parts, stretch, at)) for at in quick_points(parts, stretch)]
    low, mid, high = (_point(parts, stretch, share, top, tried) for share in _SHARES)
    return low, mid, high


def _point(
    parts: Sequence[Part], stretch: float, share: float, top: float, tried: Sequence[tuple[float, float]]
) -> float:
    under, over = _bracket(parts, stretch, share, top, tried)
    low, high = 0.0, top
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        # Only between the two is it worth asking on which side of the point the middle lies.
        if middle <= under or (middle < over and below(parts, stretch, middle) < share):
            low = middle
        else:
            high = middle
    return (low + high) / 2.0


def _bracket(
    parts: Sequence[Part], stretch: float, share: float, top: float, tried: Sequence[tuple[float, float]]
) -> tuple[float, float]:
    """Give two counts with a point between them, most often close together.

    By secants on the scale on which a normal distribution is a straight line, aimed a little beyond the
    point, so that it is enclosed from both sides. `tried` are counts near it with the chance below each.
    """
    goal, slight = numeric.normal_quantile(share), top * _SLIGHTLY
    under = max((at for at, chance in tried if chance < share), default=0.0)
    over = min((at for at, chance in tried if chance >= share), default=top)
    known = sorted(((at, _normal(chance)) for at, chance in tried), key=lambda one: -abs(one[1] - goal))
    (before, was), (last, now) = known[-2:]
    for _ in range(_TRIES):
        if over - under <= 4.0 * slight:
            break
        rise = (now - was) / (last - before) if last != before else 0.0
        at = last + (goal - now) / rise + (slight if now < goal else -slight) if rise > 0.0 else under
        if not under < at < over:
            at = (under + over) / 2.0
        chance = below(parts, stretch, at)
        under, over = (at, over) if chance < share else (under, at)
        before, was, last, now = last, now, at, _normal(chance)
    return under, over


def _normal(chance: float) -> float:
    return numeric.normal_quantile(min(max(chance, _EDGE), 1.0 - _EDGE))


def below(parts: Sequence[Part], stretch: float, count: float) -> float:
    """Give the chance that the number lies below a count.

    Args:
        parts: The ways to see it; weights add up to 1.
        stretch: Factor on every relative variance. [1], above 0
        count: The count. [1], 0 or more
    """
    shares = []
    for part in parts:
        if part.weight > _SLIGHT:
            shape = 1.0 / (part.variance * stretch)
            shares.append(part.weight * numeric.gamma_cdf(shape, shape * count / part.mean))
    return fsum(shares)


def quick_points(parts: Sequence[Part], stretch: float) -> tuple[float, float, float]:
    """Give the same points for a chart: one gamma of the mixture's mean and variance, cube root normal.

    Wilson, Hilferty 1931, PNAS 17:684-688 (recalled); within 2 % of the gamma's points for shapes
    above 1, and 0 where it would fall below.
    """
    mean = fsum(part.weight * part.mean for part in parts)
    square = fsum(part.weight * part.mean * part.mean * (1.0 + part.variance * stretch) for part in parts)
    ninth = max(square / (mean * mean) - 1.0, 0.0) / 9.0
    middle, off = 1.0 - ninth, _EIGHTY * sqrt(ninth)
    low, mid, high = max(0.0, middle - off), max(0.0, middle), max(0.0, middle + off)
    return mean * low * low * low, mean * mid * mid * mid, mean * high * high * high
