"""Turning a bed from side to side: share moved, scoops to count, phases, and when a switch is due.

No published study measures the share of composting worms that cross a bed's divide against time.
The first-order law here is a working assumption; its time constant is learned from the place's own
scoop counts and is to be shown as 'learned from your own counts, not validated by published data'.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from fallowside.core import sources
from fallowside.core.errors import CannotMeet, require
from fallowside.core.numeric import beta_quantile, exp
from fallowside.core.span import Span

Phase = Literal["feeding", "resting", "fit_to_harvest", "harvested", "bedded"]
"""The cycle of a side: feeding, resting, fit_to_harvest, harvested, bedded, feeding again."""

DueReason = Literal["depth", "castings", "backlog"]

_JEFFREYS = 0.5
_MOST_SCOOPS = 500
_MOST_CLUMPED = 100.0
_KEPT = 1024
"""Answers kept, since one more entry asks for the same shares again."""


# -- share on the feeding side -------------------------------------------------------------------


def share(
    feeding_counts: Sequence[int],
    resting_counts: Sequence[int],
    level: float = 0.8,
    *,
    dispersion: float = 1.0,
    volume_ratio: float = 1.0,
) -> Span:
    """Estimate the share of worms on the feeding side from scoops counted on both sides.

    Two Poisson counts, one given their sum, make a binomial; with the Jeffreys prior the share is
    Beta(a/psi + 1/2, b/psi + 1/2). Worms clump, so the counts are divided by the dispersion psi.
    For unequal volumes or effort the share p of worms follows from the share t of scooped worms by
    p = t w / (t w + 1 - t), which keeps the order of the ends.

    Args:
        feeding_counts: Worms in each scoop of the side being fed. [1], >= 0
        resting_counts: Worms in each scoop of the resting side. [1], >= 0
        level: Probability inside the interval. 0 to 1, both excluded
        dispersion: Variance over mean of single scoops, psi. [1], 1 to 100
        volume_ratio: Volume that one scoop stands for on the feeding side over that on the resting
            side, w = (V_F/n_F)/(V_R/n_R). Equal halves and equally many scoops give 1. [1], > 0

    Returns:
        Ends of the interval and the median.

    Raises:
        OutOfRange: a count below 0, or a level, dispersion or ratio outside its range.

    Source: Beta quantiles are exact; clumping: Zirbes and others 2012, PLoS ONE 7(3):e32564.
    Error: it is the share that is there now; it equals 'moved' while few are born or die.

    >>> found = share([20, 26], [3, 1], 0.95)
    >>> round(found.low, 3), round(found.mid, 3), round(found.high, 3)
    (0.821, 0.917, 0.972)
    """
    require("level", level, 1e-6, 1.0 - 1e-6, "of the probability")
    require("dispersion", dispersion, 1.0, _MOST_CLUMPED, "times the mean")
    require("volume ratio", volume_ratio, 1e-6, 1e6, "")
    for count in (*feeding_counts, *resting_counts):
        require("worms in a scoop", count, 0, 1e9, "worms")
    shape_fed = total(feeding_counts) / dispersion + _JEFFREYS
    shape_resting = total(resting_counts) / dispersion + _JEFFREYS
    return _beta_span(shape_fed, shape_resting, level, volume_ratio)


def clumping(groups: Sequence[Sequence[int]]) -> float:
    """Estimate how strongly worms clump from single scoops: variance over mean, never below 1.

    Pearson's statistic over its degrees of freedom, pooled over all groups of scoops (one side, one
    day each) and over an assumed value that counts for a few scoops, since few scoops tell little.

    Args:
        groups: Groups of counts; a group of one scoop, or with no worm, adds nothing.

    Source: `worms.clumping`, `worms.clumping_scoops`: common practice, no source.

    >>> clumping([]), clumping([[10, 10, 10, 10, 10, 10, 10, 10, 10]])
    (2.5, 1.0)
    """
    squares = _CLUMPING * _CLUMPING_SCOOPS
    freedom = _CLUMPING_SCOOPS
    for counts in groups:
        worms = total(counts)
        if len(counts) < 2 or worms == 0:
            continue
        mean = worms / len(counts)
        for count in counts:
            squares += (count - mean) * (count - mean) / mean
        freedom += len(counts) - 1
    return min(max(squares / freedom, 1.0), _MOST_CLUMPED)


def scoops_needed(
    feeding_mean: float,
    resting_mean: float,
    width: float,
    level: float = 0.8,
    *,
    dispersion: float = 1.0,
    volume_ratio: float = 1.0,
) -> int:
    """Give how many scoops a side make the share's interval at most `width` wide, if they go on alike.

    Args:
        feeding_mean: Worms in a mean scoop of the feeding side. [1], >= 0
        resting_mean: The same of the resting side. [1], >= 0
        width: Interval wanted. [share], 0.01 to 1
        level: Probability inside the interval.
        dispersion: As in `share`.
        volume_ratio: As in `share`.

    Raises:
        CannotMeet: more than 500 scoops, or no worms at all.

    >>> scoops_needed(8.0, 1.0, 0.2), scoops_needed(8.0, 1.0, 0.2, dispersion=3.0)
    (2, 6)
    """
    require("width", width, 0.01, 1.0, "of the share")
    require("level", level, 1e-6, 1.0 - 1e-6, "of the probability")
    return _enough(feeding_mean, resting_mean, width, level, dispersion, volume_ratio)


@lru_cache(maxsize=_KEPT)
def _enough(
    feeding_mean: float, resting_mean: float, width: float, level: float, dispersion: float, ratio: float
) -> int:
    tail = 0.5 * (1.0 - level)

    def wide(scoops: int) -> float:
        fed = feeding_mean * scoops / dispersion + _JEFFREYS
        resting = resting_mean * scoops / dispersion + _JEFFREYS
        low, high = beta_quantile(fed, resting, tail), beta_quantile(fed, resting, 1.0 - tail)
        return _reweighed(high, ratio) - _reweighed(low, ratio)

    few, enough = 0, 1
    while wide(enough) > width:
        if enough == _MOST_SCOOPS or feeding_mean + resting_mean <= 0.0:
            raise CannotMeet(
                f"not even {_MOST_SCOOPS} scoops a side make the share known to within {width:g}"
            )
        few, enough = enough, min(2 * enough, _MOST_SCOOPS)
    while enough - few > 1:
        middle = (few + enough) // 2
        if wide(middle) <= width:
            enough = middle
        else:
            few = middle
    return enough


@lru_cache(maxsize=_KEPT)
def _beta_span(shape_fed: float, shape_resting: float, level: float, ratio: float) -> Span:
    tail = 0.5 * (1.0 - level)
    low, mid, high = (beta_quantile(shape_fed, shape_resting, at) for at in (tail, 0.5, 1.0 - tail))
    return Span(_reweighed(low, ratio), _reweighed(mid, ratio), _reweighed(high, ratio))


def _reweighed(scooped: float, ratio: float) -> float:
    return scooped * ratio / (scooped * ratio + 1.0 - scooped)


def total(counts: Sequence[int]) -> int:
    """Give the worms in all scoops of a side."""
    found = 0
    for count in counts:
        found += count
    return found


# -- migration -----------------------------------------------------------------------------------


def still_resting(warm_days: float, migration_days: float, stayers: float) -> float:
    """Give the share of the worms that has not crossed yet: stay + (1 - stay) exp(-d / tau).

    Args:
        warm_days: Days since the switch, each counted by `wormbed.Conditions.crossing`. [d at 20 degC]
        migration_days: Time constant at 20 degC. [d], > 0; published guidance spans 4.5 to 23
        stayers: Share that never leaves. [1], 0 to 1

    Source: no published data; see the head of this module.

    >>> round(still_resting(0.0, 10.0, 0.1), 6), round(still_resting(10.0, 10.0, 0.0), 6)
    (1.0, 0.367879)
    """
    return stayers + (1.0 - stayers) * exp(-warm_days / migration_days)


# -- phases --------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Standing:
    """What the log says about one side.

    Attributes:
        fed: It is the side being fed.
        harvested_day: Last day castings were taken in full since it rests, or None.
        bedded_day: Last day bedding or scraps were laid after that harvest, or None.
        fit: Both goals are met: enough worms moved, castings finished.
    """

    fed: bool
    harvested_day: int | None
    bedded_day: int | None
    fit: bool


def phase(standing: Standing) -> Phase:
    """Say where in the cycle a side stands.

    >>> phase(Standing(fed=False, harvested_day=None, bedded_day=None, fit=True))
    'fit_to_harvest'
    """
    if standing.fed:
        return "feeding"
    if standing.bedded_day is not None:
        return "bedded"
    if standing.harvested_day is not None:
        return "harvested"
    return "fit_to_harvest" if standing.fit else "resting"


def due_reason(
    depth_m: float,
    castings_m: float,
    backlog_days: float,
    scraps_kg_per_m2: float,
    depth_full_m: float | None = None,
) -> DueReason | None:
    """Say why the feeding side should rest now, or None if it should not yet.

    Any one is enough: it is full; its castings alone make a layer worth taking; what lies there is
    worth too many days of work, and more than a thick layer.

    Args:
        depth_m: Depth of the side. [m]
        castings_m: Depth its castings alone would have. [m]
        backlog_days: Undecomposed scraps over what goes in a day at comfortable warmth. [d]
        scraps_kg_per_m2: Undecomposed dry matter. [kg/m2]
        depth_full_m: Depth at which this side is full, if not the usual one. [m]

    Source: `worms.depth_full`, `worms.castings_layer`, `worms.backlog_days`, `worms.backlog_least`;
    the last two are common practice, no source. At usual feeding a side holds its layer of castings
    after two to three months, which is how often beds are turned in practice.

    >>> due_reason(0.3, 0.01, 10.0, 9.0), due_reason(0.1, 0.04, 10.0, 2.0), due_reason(0.05, 0.01, 70.0, 1.0)
    ('depth', 'castings', None)
    """
    if depth_m >= (DEPTH_FULL_M if depth_full_m is None else depth_full_m):
        return "depth"
    if castings_m >= CASTINGS_LAYER_M:
        return "castings"
    return "backlog" if backlog_days >= BACKLOG_DAYS and scraps_kg_per_m2 >= BACKLOG_LEAST else None


DEPTH_FULL_M = sources.value("worms.depth_full")
CASTINGS_LAYER_M = sources.value("worms.castings_layer")
BACKLOG_LEAST = sources.value("worms.backlog_least")
BACKLOG_DAYS = sources.value("worms.backlog_days")
MOVED_GOAL = sources.value("worms.moved_goal")
UNFINISHED_GOAL = sources.value("worms.unfinished_goal")
_CLUMPING = sources.value("worms.clumping")
_CLUMPING_SCOOPS = sources.value("worms.clumping_scoops")
