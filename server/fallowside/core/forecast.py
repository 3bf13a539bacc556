"""What the log teaches about a bed's few unknowns, as weighted draws.

Four things differ from bed to bed more than all else: how fast scraps rot, how much its worms eat, how
fast they cross, and how many stay. Each is a published or believed range (the prior). A fixed set of
draws from these ranges is run through the bed's last cycles; a draw weighs as much as what was seen
is likely under it: scoops counted on both sides, leftovers, depths, castings weighed. The same log
gives the same draws and weights on every host.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from math import inf, sqrt
from typing import NamedTuple

from fallowside.core import rotation, sources
from fallowside.core.bedlog import FIRST, SECOND, Act, Count, Log
from fallowside.core.bedpast import Past
from fallowside.core.numeric import beta_quantile, exp, log1p, normal_cdf, normal_quantile
from fallowside.core.numeric import log as ln
from fallowside.core.span import Span
from fallowside.core.wormbed import CASTINGS_DENSITY, SCRAPS_DENSITY, Rates, decayed, digest

DRAWS = 64
DIMENSIONS = 6
"""Decay, appetite, migration, stayers; then, for what is to come, warmth and feeding."""

WINDOW_DAYS = 400
WINDOW_SWITCHES = 4
_LONGEST_STEP = 4


class Draw(NamedTuple):
    """One guess at a bed's unknowns, and the standard normal points it was made from.

    Attributes:
        rates: Parameters of the model under this guess.
        warmth: How much warmer the coming days are than expected, in standard deviations.
        feeding: The same of the feeding rate.
        point: The guess in standard normal coordinates.
    """

    rates: Rates
    warmth: float
    feeding: float
    point: tuple[float, ...]


class Bed(NamedTuple):
    """Both sides under one draw, without water and nitrogen. [kg]."""

    scraps: tuple[float, float]
    castings: tuple[float, float]
    worms: tuple[float, float]
    staying: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Belief:
    """Weighted draws with the bed each leads to today. Weights sum to 1."""

    draws: tuple[Draw, ...]
    weights: tuple[float, ...]
    beds: tuple[Bed, ...]
    base: Rates
    seen: int
    """Sights that taught something."""

    def span(self, values: Sequence[float]) -> Span:
        """Give the 10, 50 and 90 % points of one value per draw."""
        return Span(*quantiles(values, self.weights, (0.1, 0.5, 0.9)))

    def rates(self) -> Rates:
        """Give the parameters at the mean of the draws: geometric for rates and times."""
        point = tuple(
            self.mean([draw.point[at] for draw in self.draws]) for at in range(len(self.draws[0].point))
        )
        return draw_at(point, self.base).rates

    def mean(self, values: Sequence[float]) -> float:
        """Give the weighted mean of one finite value per draw."""
        total = 0.0
        for value, weight in zip(values, self.weights, strict=True):
            total += value * weight
        return total


def quantiles(values: Sequence[float], weights: Sequence[float], shares: Sequence[float]) -> list[float]:
    """Give quantiles of weighted values, on straight lines between the middles of their weights.

    `inf` stands for 'never': a quantile between a finite value and inf is inf.

    >>> quantiles([3.0, 1.0, 2.0], [0.2, 0.4, 0.4], [0.5])
    [1.75]
    """
    order = sorted(range(len(values)), key=lambda at: (values[at], at))
    found = []
    for share in shares:
        below = 0.0
        last_value = values[order[0]]
        last_middle = -1.0
        answer = values[order[-1]]
        for at in order:
            if weights[at] <= 0.0:
                continue
            middle = below + 0.5 * weights[at]
            if middle >= share:
                if last_middle < 0.0 or values[at] == last_value:
                    answer = values[at]
                elif values[at] == inf:
                    answer = inf
                else:
                    part = (share - last_middle) / (middle - last_middle)
                    answer = last_value + part * (values[at] - last_value)
                break
            below += weights[at]
            last_value, last_middle = values[at], middle
        found.append(answer)
    return found


# -- the bed's past in few steps -----------------------------------------------------------------


class Sight(NamedTuple):
    """Something seen that speaks for some draws and against others.

    `count`: worms per clump and litres scooped of either side. `depth`, `harvest`: logarithm of what
    was measured, and its spread. `leftover`: share left (0, 0.5, 1).
    """

    what: str
    side: int
    values: tuple[float, ...]


class Step(NamedTuple):
    """A few days without anything done but feeding; then acts and sights at its end."""

    days: float
    work: tuple[float, float]
    rot: tuple[float, float]
    crossing: float
    survival: tuple[float, float]
    inflow: tuple[float, float]
    restarts: tuple[bool, bool]
    acts: tuple[Act, ...]
    sights: tuple[Sight, ...]


def window_start(log: Log) -> int:
    """Give the day from which draws are run: the current and the last few cycles, at most 400 days."""
    earliest = max(log.first_day, log.today - WINDOW_DAYS)
    if len(log.switches) > WINDOW_SWITCHES:
        earliest = max(earliest, log.switches[-WINDOW_SWITCHES - 1].day)
    return earliest


def steps(past: Past, log: Log, first_day: int) -> list[Step]:
    """Cut the days from `first_day` to today into steps; daily conditions are averaged over a step."""
    acts: dict[int, list[Act]] = {}
    feeds: dict[int, list[float]] = {}
    restarts: dict[int, list[bool]] = {}
    last_feed = [first_day, first_day]
    for act in log.acts:
        if act.day < first_day:
            continue
        if act.what == "feed":
            feeds.setdefault(act.day, [0.0, 0.0])[act.side] += act.dry_kg
            last_feed[act.side] = act.day
        elif act.what in _STOPS:
            acts.setdefault(act.day, []).append(act)
            if act.what == "leftover":
                restarts.setdefault(last_feed[act.side], [False, False])[act.side] = True
    counts = {count.day: count for count in log.counts if count.paired and count.day >= first_day}
    clumping = rotation.clumping([scoops for count in log.counts for scoops in count.counts])
    offset = log.first_day
    made = [_step(past, range(0), (0.0, 0.0), (False, False), acts.get(first_day, []), None, clumping)]
    day = first_day
    while day < past.day:
        end = day + 1
        while end < min(past.day, day + _LONGEST_STEP) and not (
            end in acts or end in counts or end in restarts
        ):
            end += 1
        first = second = 0.0
        for one in range(day, end):
            if one in feeds:
                first += feeds[one][FIRST]
                second += feeds[one][SECOND]
        restart = restarts.get(day, (False, False))
        made.append(
            _step(
                past,
                range(day - offset, end - offset),
                (first, second),
                (restart[FIRST], restart[SECOND]),
                acts.get(end, []),
                counts.get(end),
                clumping,
            )
        )
        day = end
    return made


def _step(
    past: Past,
    span: range,
    inflow: tuple[float, float],
    restarts: tuple[bool, bool],
    acts: list[Act],
    count: Count | None,
    clumping: float,
) -> Step:
    days = float(len(span))
    work = [0.0, 0.0]
    rot = [0.0, 0.0]
    survival = [1.0, 1.0]
    crossing = 0.0
    for at in span:
        resting = 1 - past.before[at + 1].fed
        for side, today in enumerate(past.before[at].conditions):
            work[side] += today.work
            rot[side] += today.rot
            survival[side] *= today.half_survival * today.half_survival
            if side == resting:
                crossing += today.crossing
    if days:
        work = [total / days for total in work]
        rot = [total / days for total in rot]
    return Step(
        days,
        (work[FIRST], work[SECOND]),
        (rot[FIRST], rot[SECOND]),
        crossing,
        (survival[FIRST], survival[SECOND]),
        inflow,
        restarts,
        tuple(act for act in acts if act.what in _DEEDS),
        tuple(_sights(acts, count, clumping)),
    )


def _sights(acts: Sequence[Act], count: Count | None, clumping: float) -> list[Sight]:
    found = []
    if count is not None:
        first, second = (float(sum(scoops)) / clumping for scoops in count.counts)
        found.append(Sight("count", FIRST, (first, second, count.litres[FIRST], count.litres[SECOND])))
    for act in acts:
        if act.what == "depth" and act.value > 0.0:
            found.append(Sight("depth", act.side, (ln(act.value), _SPREAD_DEPTH)))
        elif act.what == "leftover":
            found.append(Sight("leftover", act.side, (act.value,)))
        elif act.what == "harvest" and act.dry_kg > 0.0:
            spread = sqrt(_SPREAD_CASTINGS * _SPREAD_CASTINGS + act.spread * act.spread)
            found.append(Sight("harvest", act.side, (ln(act.dry_kg), spread)))
    return found


# -- one draw through the past -------------------------------------------------------------------


def replay(
    draw: Draw, past: Past, made: Sequence[Step], first_day: int, first: int, area_m2: float
) -> tuple[float, Bed]:
    """Run one draw from `first_day` to today; give the logarithm of its likelihood and its bed today."""
    rates = draw.rates
    at = past.before[first_day - first]
    sides = at.sides
    fed = at.fed
    scraps = [side.scraps_kg for side in sides]
    castings = [side.castings_kg for side in sides]
    worms = [side.worms_kg for side in sides]
    staying = [
        rates.stayers * worms[side] if side != fed and sides[side].staying_kg else 0.0 for side in (0, 1)
    ]
    left = [1.0, 1.0]
    half, full = rates.half_saturation * area_m2, rates.capacity * area_m2
    likely = 0.0
    for step in made:
        days = step.days
        if days:
            resting = 1 - fed
            stay = decayed(0.5 * step.crossing / rates.migration_days)
            crossed = (worms[resting] - staying[resting]) * (1.0 - stay)
            worms[resting] -= crossed
            worms[fed] += crossed
            for side in (FIRST, SECOND):
                if step.restarts[side]:
                    left[side] = 1.0
                scraps[side], castings[side], grown, kept = digest(
                    scraps[side],
                    castings[side],
                    worms[side],
                    step.inflow[side],
                    step.work[side],
                    step.rot[side],
                    days,
                    rates,
                    half,
                    full,
                )
                grown *= step.survival[side]
                worms[side] *= grown
                staying[side] *= grown
                left[side] *= kept
            crossed = (worms[resting] - staying[resting]) * (1.0 - stay)
            worms[resting] -= crossed
            worms[fed] += crossed
        for sight in step.sights:
            likely += _likelihood(sight, scraps, castings, worms, left, area_m2)
        for act in step.acts:
            if act.what == "switch":
                fed = act.side
                staying[fed] = 0.0
                staying[1 - fed] = rates.stayers * worms[1 - fed]
            else:
                _take(act, fed, scraps, castings, worms, staying)
    return likely, Bed(
        (scraps[0], scraps[1]), (castings[0], castings[1]), (worms[0], worms[1]), (staying[0], staying[1])
    )


def _take(
    act: Act, fed: int, scraps: list[float], castings: list[float], worms: list[float], staying: list[float]
) -> None:
    side = act.side
    dry = scraps[side] + castings[side]
    if act.what == "harvest" and side != fed:
        scraps[side] = castings[side] = worms[side] = staying[side] = 0.0
    elif dry > 0.0:
        kept = max(1.0 - act.dry_kg / dry, 0.0)
        scraps[side] *= kept
        castings[side] *= kept


def _likelihood(
    sight: Sight,
    scraps: Sequence[float],
    castings: Sequence[float],
    worms: Sequence[float],
    left: Sequence[float],
    area_m2: float,
) -> float:
    """Give the logarithm of how likely a sight is, up to a constant."""
    side = sight.side
    if sight.what == "count":
        first, second, first_litres, second_litres = sight.values
        odds = []
        for one, litres in ((FIRST, first_litres), (SECOND, second_litres)):
            volume = max(_litres(scraps[one], castings[one]), _SHALLOW_LITRES * area_m2)
            odds.append((worms[one] + _NO_WORMS) * litres / volume)
        total = odds[FIRST] + odds[SECOND]
        return first * ln(odds[FIRST] / total) + second * ln(odds[SECOND] / total)
    if sight.what == "leftover":
        return ln(_LAPSE / 3.0 + (1.0 - _LAPSE) * _called(sight.values[0], left[side]))
    computed = scraps[side] + castings[side]
    if sight.what == "depth":
        computed = _litres(scraps[side], castings[side]) / (1000.0 * area_m2)
    error = (sight.values[0] - ln(computed + _NO_DRY)) / sight.values[1]
    return -0.5 * (_TAIL + 1.0) * log1p(error * error / _TAIL)


def _called(value: float, left: float) -> float:
    """Give the probability that somebody calls a share left none (0), some (0.5) or most (1)."""
    none = normal_cdf((_LEFT_NONE - left) / _SPREAD_LEFT)
    most = normal_cdf((left - _LEFT_MOST) / _SPREAD_LEFT)
    return none if value == 0.0 else most if value == 1.0 else max(1.0 - none - most, 0.0)


def _litres(scraps: float, castings: float) -> float:
    return scraps / SCRAPS_DENSITY + castings / CASTINGS_DENSITY


# -- draws ---------------------------------------------------------------------------------------


@cache
def points() -> tuple[tuple[float, ...], ...]:
    """Give the fixed draws in standard normal coordinates: an additive low-discrepancy sequence.

    Source: generalised golden ratio, the positive root of x^(d+1) = x + 1; any irrational steps would do.
    """
    root = 1.5
    for _ in range(60):
        powered = 1.0
        for _ in range(DIMENSIONS):
            powered *= root
        slope = (DIMENSIONS + 1) * powered - 1.0
        root -= (powered * root - root - 1.0) / slope
    steps_of = []
    step = 1.0
    for _ in range(DIMENSIONS):
        step /= root
        steps_of.append(step)
    return tuple(
        tuple(normal_quantile((0.5 + (at + 1) * step) % 1.0) for step in steps_of) for at in range(DRAWS)
    )


def draw_at(point: tuple[float, ...], base: Rates) -> Draw:
    """Turn a point in standard normal coordinates into a draw about the parameters `base`."""
    decay, appetite, migration, stayers, warmth, feeding = point
    rates = replace(
        base,
        decay=base.decay * exp(_SPREAD_DECAY * decay),
        intake=base.intake * exp(_SPREAD_APPETITE * appetite),
        migration_days=base.migration_days * exp(_SPREAD_MIGRATION * migration),
        stayers=_stayers(stayers),
    )
    return Draw(rates, warmth, feeding, point)


@cache
def _stayers_table() -> tuple[float, ...]:
    return tuple(
        beta_quantile(_STAYERS[0], _STAYERS[1], normal_cdf((at - _TABLE_HALF) / _TABLE_FINE))
        for at in range(2 * _TABLE_HALF + 1)
    )


def _stayers(point: float) -> float:
    table = _stayers_table()
    at = min(max(point * _TABLE_FINE + _TABLE_HALF, 0.0), 2.0 * _TABLE_HALF - 1e-9)
    low = int(at)
    return table[low] + (at - low) * (table[low + 1] - table[low])


def believe(past: Past, log: Log, base: Rates) -> Belief:
    """Weigh the draws by what was seen in the last cycles."""
    first_day = window_start(log)
    made = steps(past, log, first_day)
    draws = tuple(draw_at(point, base) for point in points())
    likely = []
    beds = []
    for draw in draws:
        one, bed = replay(draw, past, made, first_day, log.first_day, log.area_m2)
        likely.append(one)
        beds.append(bed)
    best = max(likely)
    raw = [exp(one - best) for one in likely]
    total = 0.0
    for one in raw:
        total += one
    seen = 0
    for step in made:
        seen += len(step.sights)
    return Belief(draws, tuple(one / total for one in raw), tuple(beds), base, seen)


_STOPS = frozenset({"switch", "harvest", "scrape", "depth", "leftover"})
_DEEDS = frozenset({"switch", "harvest", "scrape"})
_TABLE_HALF, _TABLE_FINE = 32, 8.0
_TAIL = 4.0
_LAPSE = 0.05
_NO_WORMS = 1e-6
_NO_DRY = 1e-3
_SPREAD_DECAY = sources.value("worms.spread_decay")
_SPREAD_APPETITE = sources.value("worms.spread_appetite")
_SPREAD_MIGRATION = sources.value("worms.spread_migration")
_SPREAD_DEPTH = sources.value("worms.spread_depth")
_SPREAD_CASTINGS = sources.value("worms.spread_castings")
_SPREAD_LEFT = sources.value("worms.spread_left")
_LEFT_NONE = sources.value("worms.left_none")
_LEFT_MOST = sources.value("worms.left_most")
_STAYERS = (sources.value("worms.stayers_alpha"), sources.value("worms.stayers_beta"))
_SHALLOW_LITRES = 1000.0 * sources.value("worms.shallowest")
