"""What was seen at a bed, and how likely it is under what a draw of the bed's unknowns expects there."""

from collections.abc import Sequence
from math import sqrt
from typing import NamedTuple

from fallowside.core import rotation, sources
from fallowside.core.numeric import exp, log, log1p
from fallowside.core.worms.bedlog import FIRST, SECOND, Act, Count


class Sight(NamedTuple):
    """Something seen that speaks for some draws and against others.

    `count`: worms of either side per clump, and litres scooped. `depth`, `harvest`: logarithm of what
    was measured, and its spread. `leftover`: share left (0 none, 0.5 some, 1 most).
    """

    what: str
    side: int
    values: tuple[float, ...]


class Pull(NamedTuple):
    """How a sight's log likelihood bends with what was expected there: its slope, the expected curvature."""

    slope: float
    curvature: float


def sights(acts: Sequence[Act], count: Count | None, clumping: float) -> tuple[Sight, ...]:
    """Give what one day's acts and scoops tell; of a side looked at twice, the last look."""
    found = []
    if count is not None:
        found.append(Sight("count", FIRST, _clumps(count, clumping)))
    last = {(act.what, act.side): act for act in acts}
    for act in last.values():
        if act.what == "depth" and act.value > 0.0:
            found.append(Sight("depth", act.side, (log(act.value), _SPREAD_DEPTH)))
        elif act.what == "leftover":
            found.append(Sight("leftover", act.side, (act.value,)))
        elif act.what == "harvest" and act.dry_kg > 0.0:
            spread = sqrt(_SPREAD_CASTINGS * _SPREAD_CASTINGS + act.spread * act.spread)
            found.append(Sight("harvest", act.side, (log(act.dry_kg), spread)))
    return tuple(found)


def _clumps(count: Count, clumping: float) -> tuple[float, ...]:
    """Give both sides' worms per clump, weakened as scoops never stand for a whole side."""
    first, second = (rotation.total(scoops) / clumping for scoops in count.counts)
    total = first + second
    share = (first + 0.5) / (total + 1.0)
    weight = 1.0 / (1.0 + total * share * (1.0 - share) * _SPREAD_PLACES * _SPREAD_PLACES)
    return (first * weight, second * weight, count.litres[FIRST], count.litres[SECOND])


def likelihood(sight: Sight, expected: float) -> float:
    """Give the logarithm of how likely a sight is where a draw expects something, up to a constant.

    `expected` is the log odds of a worm coming from the first side (count), the share left (leftover),
    or the logarithm of the depth or dry mass. Counts are binomial; measurements are Student t with 4
    degrees of freedom about the expected logarithm, so that one slip does not rule; leftovers are an
    ordered logit with a share of slips.
    """
    what, _, values = sight
    if what == "leftover":
        value = values[0]
        if value == 0.0:
            chance = _none(expected)
        elif value == 1.0:
            chance = _most(expected)
        else:
            chance = 1.0 - _none(expected) - _most(expected)
        return log(_SURE * chance + _SLIP)
    if what == "count":
        share = _share(expected)
        return values[0] * log(share) + values[1] * log(1.0 - share)
    error = (values[0] - expected) / values[1]
    return -0.5 * (_TAIL + 1.0) * log1p(error * error / _TAIL)


def pull(sight: Sight, expected: float) -> Pull:
    """Give the slope and the expected curvature of `likelihood` in what was expected."""
    if sight.what == "count":
        first, second = sight.values[0], sight.values[1]
        share, total = _share(expected), first + second
        return Pull(first - total * share, total * share * (1.0 - share))
    if sight.what == "leftover":
        return _called(sight.values[0], expected)
    measured, spread = sight.values
    error = (measured - expected) / spread
    return Pull(
        (_TAIL + 1.0) * error / ((_TAIL + error * error) * spread),
        (_TAIL + 1.0) / ((_TAIL + 3.0) * spread * spread),
    )


def _called(value: float, left: float) -> Pull:
    """Judge the call none (0), some (0.5) or most (1) of a feed of which a share is left."""
    none, most = _none(left), _most(left)
    fall, rise = -none * (1.0 - none) / _SCALE_LEFT, most * (1.0 - most) / _SCALE_LEFT
    chances = (none, 1.0 - none - most, most)
    slopes = (fall, -fall - rise, rise)
    curvature = 0.0
    for chance, slope in zip(chances, slopes, strict=True):
        curvature += _SURE * slope * _SURE * slope / (_SURE * chance + _SLIP)
    at = 0 if value == 0.0 else 2 if value == 1.0 else 1
    return Pull(_SURE * slopes[at] / (_SURE * chances[at] + _SLIP), curvature)


def _none(left: float) -> float:
    return 1.0 / (1.0 + exp((left - _LEFT_NONE) / _SCALE_LEFT))


def _most(left: float) -> float:
    return 1.0 / (1.0 + exp((_LEFT_MOST - left) / _SCALE_LEFT))


def _share(odds: float) -> float:
    return 1.0 / (1.0 + exp(-min(max(odds, -_FAR), _FAR)))


_TAIL = 4.0
_FAR = 12.0
_LOGIT_SPREAD = 1.8137993642342178
"""pi / sqrt(3): standard deviation of the standard logistic distribution."""
_LAPSE = sources.value("worms.lapse")
_SURE, _SLIP = 1.0 - _LAPSE, _LAPSE / 3.0
_SCALE_LEFT = sources.value("worms.spread_left") / _LOGIT_SPREAD
_LEFT_NONE = sources.value("worms.left_none")
_LEFT_MOST = sources.value("worms.left_most")
_SPREAD_DEPTH = sources.value("worms.spread_depth")
_SPREAD_CASTINGS = sources.value("worms.spread_castings")
_SPREAD_PLACES = sources.value("worms.spread_places")
