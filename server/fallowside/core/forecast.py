"""What the log teaches about a bed's few unknowns, as weighted draws.

What differs from bed to bed more than all else: how fast scraps rot, how much its worms eat, how fast
they cross, how many stay, how much castings scraps leave, how warm it was between readings, and how
soon its keeper's eye takes scraps for gone. Each is a published or believed range, written as a
standard normal coordinate (the prior). What was seen in the last cycles (scoops counted on both
sides, leftovers, depths, castings weighed) has a likelihood. A Gauss-Newton search finds the most
credible point; a fixed low-discrepancy set of draws about it, spread as its curvature says, is
weighted by credibility over the density it was drawn from. No randomness: the same log gives the
same draws and weights on every host.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from math import inf, sqrt
from typing import NamedTuple

from fallowside.core import sources
from fallowside.core.bedlog import Log
from fallowside.core.bedpast import Past
from fallowside.core.bedsteps import Bed, Guess, Sight, Step, past_steps, replay
from fallowside.core.numeric import beta_quantile, exp, log1p, normal_cdf, normal_quantile
from fallowside.core.numeric import log as ln
from fallowside.core.span import Span
from fallowside.core.warmth import Warmth
from fallowside.core.wormbed import CASTINGS_DENSITY, SCRAPS_DENSITY, Rates

LEARNED = (
    "decay",
    "appetite",
    "migration",
    "stayers",
    "yield",
    "warmth",
    "eye",
    "scraps_density",
    "castings_density",
    "half_saturation",
)
DRAWS = 64
_AHEAD = 3
"""Further coordinates of a draw, never learned: coming feeds, and how this cycle differs in decay and
crossing from those before."""

WINDOW_DAYS = 400
WINDOW_SWITCHES = 4

Point = tuple[float, ...]


class Draw(NamedTuple):
    """One guess at a bed's unknowns.

    Attributes:
        guess: The bed as it was.
        ahead: Parameters as they will be in the coming cycle.
        feeding: Coming feeds over those of late.
        point: The guess in standard normal coordinates, as in `LEARNED`.
    """

    guess: Guess
    ahead: Rates
    feeding: float
    point: Point


@dataclass(frozen=True, slots=True)
class Belief:
    """Weighted draws with the bed each leads to today.

    Attributes:
        draws: The guesses.
        weights: How credible each is; they sum to 1.
        beds: The bed today under each.
        base: Parameters at the middle of the prior.
        seen: Sights that taught something.
        effective: Draws of equal weight that would be worth as much.
    """

    draws: tuple[Draw, ...]
    weights: tuple[float, ...]
    beds: tuple[Bed, ...]
    base: Rates
    seen: int
    effective: float

    def span(self, values: Sequence[float]) -> Span:
        """Give the 10, 50 and 90 % points of one value per draw."""
        return Span(*quantiles(values, self.weights, (0.1, 0.5, 0.9)))

    def mean(self, values: Sequence[float]) -> float:
        """Give the weighted mean of one finite value per draw."""
        total = 0.0
        for value, weight in zip(values, self.weights, strict=True):
            total += value * weight
        return total

    def middle(self) -> Guess:
        """Give the guess at the mean of the draws: geometric for rates, times and densities."""
        point = tuple(self.mean([draw.point[at] for draw in self.draws]) for at in range(len(LEARNED)))
        return guess_at(point, self.base)


def quantiles(values: Sequence[float], weights: Sequence[float], shares: Sequence[float]) -> list[float]:
    """Give quantiles of weighted values, on straight lines between the middles of their weights.

    `inf` stands for 'never': a quantile between a finite value and inf is inf.

    >>> quantiles([3.0, 1.0, 2.0], [0.25, 0.25, 0.5], [0.5])
    [2.0]
    """
    order = sorted((at for at in range(len(values)) if weights[at] > 0.0), key=lambda at: (values[at], at))
    middles = []
    below = 0.0
    for at in order:
        middles.append(below + 0.5 * weights[at])
        below += weights[at]
    found = []
    for share in shares:
        place = next((one for one, middle in enumerate(middles) if middle >= share), len(order) - 1)
        value = values[order[place]]
        before = values[order[place - 1]] if place else value
        if place and middles[place] >= share and value < inf and value > before:
            part = (share - middles[place - 1]) / (middles[place] - middles[place - 1])
            value = before + part * (value - before)
        found.append(value)
    return found


# -- coordinates ---------------------------------------------------------------------------------


def guess_at(point: Point, base: Rates) -> Guess:
    """Turn standard normal coordinates into a guess about the parameters `base`."""
    decay, appetite, migration, stayers, grown, warmth, eye, scraps, castings, half = point
    more = exp(_SPREAD_YIELD * grown)
    return Guess(
        replace(
            base,
            decay=base.decay * exp(_SPREAD_DECAY * decay),
            intake=base.intake * exp(_SPREAD_APPETITE * appetite),
            half_saturation=base.half_saturation * exp(_SPREAD_HALF * half),
            migration_days=base.migration_days * exp(_SPREAD_MIGRATION * migration),
            stayers=_stayers(stayers),
            yield_eaten=min(base.yield_eaten * more, _MOST_YIELD),
            yield_rotted=min(base.yield_rotted * more, _MOST_YIELD),
        ),
        warmth,
        _EYE * exp(_SPREAD_EYE * eye),
        SCRAPS_DENSITY * exp(_SPREAD_SCRAPS * scraps),
        CASTINGS_DENSITY * exp(_SPREAD_DENSE * castings),
    )


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


@cache
def normals() -> tuple[Point, ...]:
    """Give the fixed draws as standard normal points: an additive low-discrepancy sequence.

    Source: Kronecker sequence of the generalised golden ratio, the positive root of x^(d+1) = x + 1.
    """
    dimensions = len(LEARNED) + _AHEAD
    root = 1.5
    for _ in range(60):
        powered = 1.0
        for _ in range(dimensions):
            powered *= root
        root -= (powered * root - root - 1.0) / ((dimensions + 1) * powered - 1.0)
    moves = []
    move = 1.0
    for _ in range(dimensions):
        move /= root
        moves.append(move)
    columns = []
    for move in moves:
        column = [normal_quantile((0.5 + (at + 1) * move) % 1.0) for at in range(DRAWS)]
        columns.append(_standardised(column))
    return tuple(zip(*columns, strict=True))


def _standardised(column: list[float]) -> list[float]:
    """Shift and stretch a column to mean 0 and variance 1, so that few draws do not bias a spread."""
    mean = 0.0
    for one in column:
        mean += one
    mean /= len(column)
    square = 0.0
    for one in column:
        square += (one - mean) * (one - mean)
    scale = sqrt(len(column) / square)
    return [(one - mean) * scale for one in column]


# -- likelihood of one sight ---------------------------------------------------------------------


class Verdict(NamedTuple):
    """How likely a sight is under what a draw expects: logarithm, its slope, expected curvature."""

    log: float
    slope: float
    curvature: float


def verdict(sight: Sight, expected: float) -> Verdict:
    """Judge a sight against what a draw expects there (see `bedsteps.replay`)."""
    if sight.what == "count":
        first, second = sight.values[0], sight.values[1]
        bounded = min(max(expected, -_FAR), _FAR)
        share = 1.0 / (1.0 + exp(-bounded))
        total = first + second
        return Verdict(
            first * ln(share) + second * ln(1.0 - share),
            first - total * share,
            total * share * (1.0 - share),
        )
    if sight.what == "leftover":
        return _called(sight.values[0], expected)
    measured, spread = sight.values
    error = (measured - expected) / spread
    return Verdict(
        -0.5 * (_TAIL + 1.0) * log1p(error * error / _TAIL),
        (_TAIL + 1.0) * error / ((_TAIL + error * error) * spread),
        (_TAIL + 1.0) / ((_TAIL + 3.0) * spread * spread),
    )


def _called(value: float, left: float) -> Verdict:
    """Judge the call none (0), some (0.5) or most (1) of a feed of which a share is left."""
    to_none, to_most = (_LEFT_NONE - left) / _SPREAD_LEFT, (left - _LEFT_MOST) / _SPREAD_LEFT
    none, most = normal_cdf(to_none), normal_cdf(to_most)
    fall, rise = -_bell(to_none) / _SPREAD_LEFT, _bell(to_most) / _SPREAD_LEFT
    chances = (none, max(1.0 - none - most, 0.0), most)
    slopes = (fall, -fall - rise, rise)
    curvature = 0.0
    for chance, slope in zip(chances, slopes, strict=True):
        curvature += _SURE * slope * _SURE * slope / (_SURE * chance + _SLIP)
    at = 0 if value == 0.0 else 2 if value == 1.0 else 1
    likely = _SURE * chances[at] + _SLIP
    return Verdict(ln(likely), _SURE * slopes[at] / likely, curvature)


def _bell(z: float) -> float:
    return exp(-0.5 * z * z) * _BELL_TOP


# -- the search and the draws --------------------------------------------------------------------


def window_start(log: Log) -> int:
    """Give the day from which draws are run: the current and the last few cycles, at most 400 days."""
    earliest = max(log.first_day, log.today - WINDOW_DAYS)
    if len(log.switches) > WINDOW_SWITCHES:
        earliest = max(earliest, log.switches[-WINDOW_SWITCHES - 1].day)
    return earliest


class _Case:
    """A bed's window and what was seen in it; runs points through it."""

    def __init__(self, past: Past, log: Log, warm: Sequence[Warmth], base: Rates) -> None:
        first_day = window_start(log)
        morning = past.before[first_day - log.first_day]
        self.steps: list[Step] = past_steps(past, log, warm, first_day)
        self.sights = [sight for step in self.steps for sight in step.sights]
        self.base, self.fed, self.area_m2 = base, morning.fed, log.area_m2
        one, two = morning.sides
        self.start = Bed(
            (one.scraps_kg, two.scraps_kg),
            (one.castings_kg, two.castings_kg),
            (one.worms_kg, two.worms_kg),
            (one.staying_kg, two.staying_kg),
        )

    def run(self, point: Point) -> tuple[list[float], Bed]:
        return replay(guess_at(point, self.base), self.start, self.fed, self.steps, self.area_m2)

    def credibility(self, point: Point, expected: Sequence[float]) -> float:
        total = 0.0
        for sight, one in zip(self.sights, expected, strict=True):
            total += verdict(sight, one).log
        total *= _TRUST
        for one in point:
            total -= 0.5 * one * one
        return total


def believe(past: Past, log: Log, warm: Sequence[Warmth], base: Rates) -> Belief:
    """Learn a bed's unknowns from what was seen in its last cycles."""
    case = _Case(past, log, warm, base)
    middle: Point = (0.0,) * len(LEARNED)
    spread = _unit(len(LEARNED))
    if case.sights:
        middle, spread = _peak(case, middle)
    draws, credible, beds = [], [], []
    for normal in normals():
        inner = normal[: len(LEARNED)]
        point = tuple(one + _WIDER * _dot(row, inner) for one, row in zip(middle, spread, strict=True))
        expected, bed = case.run(point)
        density = 0.0
        for one in inner:
            density -= 0.5 * one * one
        credible.append(case.credibility(point, expected) - density if case.sights else 0.0)
        draws.append(_draw(point, normal[len(LEARNED) :], base))
        beds.append(bed)
    weights = _weights(credible)
    squares = 0.0
    for weight in weights:
        squares += weight * weight
    return Belief(tuple(draws), weights, tuple(beds), base, len(case.sights), 1.0 / squares)


def _draw(point: Point, ahead: Point, base: Rates) -> Draw:
    guess = guess_at(point, base)
    changed = replace(
        guess.rates,
        decay=guess.rates.decay * exp(_SPREAD_CYCLE * ahead[1]),
        migration_days=guess.rates.migration_days * exp(_SPREAD_CYCLE * ahead[2]),
    )
    return Draw(guess, changed, exp(_SPREAD_FEEDING * ahead[0]), point)


def _weights(credible: Sequence[float]) -> tuple[float, ...]:
    best = max(credible)
    raw = [exp(one - best) for one in credible]
    total = 0.0
    for one in raw:
        total += one
    return tuple(one / total for one in raw)


def _peak(case: _Case, start: Point) -> tuple[Point, list[list[float]]]:
    """Find the most credible point and a root of its covariance, by Gauss-Newton with backtracking."""
    point = start
    expected, _ = case.run(point)
    credible = case.credibility(point, expected)
    size = len(point)
    curvature = _unit(size)
    for _ in range(_ROUNDS):
        slopes = []
        for at in range(size):
            moved = tuple(one + (_NUDGE if place == at else 0.0) for place, one in enumerate(point))
            slopes.append(
                [(new - old) / _NUDGE for new, old in zip(case.run(moved)[0], expected, strict=True)]
            )
        pull = [-one for one in point]
        curvature = _unit(size)
        for place, (sight, one) in enumerate(zip(case.sights, expected, strict=True)):
            judged = verdict(sight, one)
            for at in range(size):
                slope = slopes[at][place]
                pull[at] += _TRUST * judged.slope * slope
                for other in range(at + 1):
                    curvature[at][other] += _TRUST * judged.curvature * slope * slopes[other][place]
        root = _cholesky(curvature)
        move = _solve(root, pull)
        length = 1.0
        for _ in range(_HALVINGS):
            tried = tuple(
                min(max(one + length * by, -_EDGE), _EDGE) for one, by in zip(point, move, strict=True)
            )
            new_expected, _ = case.run(tried)
            new_credible = case.credibility(tried, new_expected)
            if new_credible > credible:
                break
            length *= 0.5
        else:
            break
        gained = new_credible - credible
        point, expected, credible = tried, new_expected, new_credible
        if gained < _ENOUGH:
            break
    return point, _inverse_root(_cholesky(curvature))


# -- small linear algebra ------------------------------------------------------------------------


def _unit(size: int) -> list[list[float]]:
    return [[1.0 if row == column else 0.0 for column in range(size)] for row in range(size)]


def _dot(first: Sequence[float], second: Sequence[float]) -> float:
    total = 0.0
    for one, two in zip(first, second, strict=True):
        total += one * two
    return total


def _cholesky(matrix: Sequence[Sequence[float]]) -> list[list[float]]:
    """Give the lower root of a positive definite matrix of which the lower half is read."""
    size = len(matrix)
    root = [[0.0] * size for _ in range(size)]
    for row in range(size):
        for column in range(row + 1):
            rest = matrix[row][column] - _dot(root[row][:column], root[column][:column])
            root[row][column] = sqrt(rest) if row == column else rest / root[column][column]
    return root


def _solve(root: Sequence[Sequence[float]], right: Sequence[float]) -> list[float]:
    """Solve (root root') x = right."""
    size = len(root)
    half = [0.0] * size
    for row in range(size):
        half[row] = (right[row] - _dot(root[row][:row], half[:row])) / root[row][row]
    found = [0.0] * size
    for row in reversed(range(size)):
        rest = half[row]
        for below in range(row + 1, size):
            rest -= root[below][row] * found[below]
        found[row] = rest / root[row][row]
    return found


def _inverse_root(root: Sequence[Sequence[float]]) -> list[list[float]]:
    """Give the upper triangle that is the inverse of root'; its product with its transpose is the inverse."""
    size = len(root)
    columns = []
    for at in range(size):
        unit = [1.0 if one == at else 0.0 for one in range(size)]
        found = [0.0] * size
        for row in reversed(range(size)):
            rest = unit[row]
            for below in range(row + 1, size):
                rest -= root[below][row] * found[below]
            found[row] = rest / root[row][row]
        columns.append(found)
    return [[columns[column][row] for column in range(size)] for row in range(size)]


_TABLE_HALF, _TABLE_FINE = 32, 8.0
_TAIL = 4.0
_FAR = 12.0
_ROUNDS, _HALVINGS = 6, 4
_NUDGE, _ENOUGH, _EDGE = 0.05, 0.01, 4.0
_BELL_TOP = 0.3989422804014327
_LAPSE = sources.value("worms.lapse")
_SURE, _SLIP = 1.0 - _LAPSE, _LAPSE / 3.0
_EYE = sources.value("worms.eye")
_SPREAD_EYE = sources.value("worms.spread_eye")
_SPREAD_HALF = sources.value("worms.spread_half")
_SPREAD_SCRAPS = sources.value("worms.spread_scraps_density")
_SPREAD_DENSE = sources.value("worms.spread_castings_density")
_TRUST = sources.value("worms.trust")
_WIDER = sources.value("worms.draws_wider")
_MOST_YIELD = sources.value("worms.most_yield")
_SPREAD_DECAY = sources.value("worms.spread_decay")
_SPREAD_APPETITE = sources.value("worms.spread_appetite")
_SPREAD_MIGRATION = sources.value("worms.spread_migration")
_SPREAD_YIELD = sources.value("worms.spread_yield")
_SPREAD_CYCLE = sources.value("worms.spread_cycle")
_SPREAD_FEEDING = sources.value("worms.spread_feeding")
_SPREAD_LEFT = sources.value("worms.spread_left")
_LEFT_NONE = sources.value("worms.left_none")
_LEFT_MOST = sources.value("worms.left_most")
_STAYERS = (sources.value("worms.stayers_alpha"), sources.value("worms.stayers_beta"))
