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

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import accumulate, compress
from math import inf, sqrt
from typing import NamedTuple

from fallowside.core import sources
from fallowside.core.numeric import beta_quantile, exp, normal_cdf, normal_quantile
from fallowside.core.span import Span
from fallowside.core.warmth import Warmth
from fallowside.core.wormbed import CASTINGS_DENSITY, SCRAPS_DENSITY, Rates
from fallowside.core.worms import gaussian
from fallowside.core.worms.bedlog import Log
from fallowside.core.worms.bedpast import Past
from fallowside.core.worms.bedsights import Sight, likelihood, pull
from fallowside.core.worms.bedsteps import Bed, Guess, Step, expected, past_steps, replay, today_step, told
from fallowside.core.worms.gaussian import Gaussian

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
_SEEN_ONLY = frozenset({"eye", "scraps_density", "castings_density"})
"""What bears on how a bed looks, not on what becomes of it."""
DRAWS = 64
_AHEAD = 3
"""Further coordinates of a draw, never learned: coming feeds, and how this cycle differs in decay and
crossing from those before."""

WINDOW_DAYS = 400

Point = tuple[float, ...]


class Draw(NamedTuple):
    """One guess at a bed's unknowns.

    Attributes:
        guess: The bed as it was.
        ahead: Parameters as they will be in the coming cycle.
        feeding: Coming feeds against those of late, in standard deviations.
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
    """

    draws: tuple[Draw, ...]
    weights: tuple[float, ...]
    beds: tuple[Bed, ...]
    base: Rates
    seen: int

    def span(self, values: Sequence[float]) -> Span:
        """Give the 10, 50 and 90 % points of one value per draw."""
        return Span(*quantiles(values, self.weights, (0.1, 0.5, 0.9)))

    def mean(self, values: Sequence[float]) -> float:
        """Give the weighted mean of one finite value per draw."""
        total = 0.0
        for value, weight in zip(values, self.weights, strict=True):
            total += value * weight
        return total

    def explained(self, values: Sequence[float]) -> list[float]:
        """Give the share of the variance of one value per draw that goes along with each unknown, 0 to 1."""
        middle, spread = self.mean(values), 0.0
        offs = [weight * (value - middle) for value, weight in zip(values, self.weights, strict=True)]
        for off, value in zip(offs, values, strict=True):
            spread += off * (value - middle)
        found = []
        for column in zip(*(draw.point for draw in self.draws), strict=True):
            centre, joint, own = self.mean(column), 0.0, 0.0
            for off, other, weight in zip(offs, column, self.weights, strict=True):
                other -= centre
                joint += off * other
                own += weight * other * other
            found.append(joint * joint / (spread * own) if spread > 0.0 and own > 0.0 else 0.0)
        return found

    def middle(self) -> Guess:
        """Give the guess at the mean of the draws: geometric for rates, times and densities."""
        columns = zip(*(draw.point for draw in self.draws), strict=True)
        return guess_at(tuple(map(self.mean, columns)), self.base)


def quantiles(values: Sequence[float], weights: Sequence[float], shares: Sequence[float]) -> list[float]:
    """Give quantiles of weighted values, on straight lines between the middles of their weights.

    `inf` stands for 'never': a quantile between a finite value and inf is inf.

    >>> quantiles([3.0, 1.0, 2.0], [0.25, 0.25, 0.5], [0.5])
    [2.0]
    """
    # Sorting leaves what is equal in its order.
    order = sorted(compress(range(len(weights)), weights), key=values.__getitem__)
    ends = [0.0, *accumulate([weights[at] for at in order])]
    last = len(order) - 1

    def middle(place: int) -> float:
        return ends[place] + 0.5 * weights[order[place]]

    found = []
    for share in shares:
        place = min(max(bisect_left(ends, share) - 1, 0), last)
        if place < last and middle(place) < share:
            place += 1
        value = values[order[place]]
        before = values[order[place - 1]] if place else value
        if place and middle(place) >= share and value < inf and value > before:
            part = (share - middle(place - 1)) / (middle(place) - middle(place - 1))
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


# -- learning ------------------------------------------------------------------------------------


def turns(log: Log) -> list[int]:
    """Give the days on which a turn of feeding one side began, oldest first, no day twice."""
    return sorted({log.first_day, *(act.day for act in log.switches)})


def window(log: Log) -> tuple[list[int], int]:
    """Give the starts of the turns to learn from one after the other, and the start of the last window.

    The last window holds the present turn and the two before it, so that all either side holds, and
    the castings last weighed, were laid within it; but never more than 400 days.
    """
    starts = turns(log)
    recent = max(starts[max(len(starts) - 1 - _LAST_TURNS, 0)], log.today - WINDOW_DAYS)
    older = [day for day in starts if day < recent]
    return older[-_LEARNED_TURNS - 1 :], recent


class _Case:
    """A stretch of a bed's days and what was seen in it; runs points through it.

    `steps` are the days up to the last sight, `unseen` those after it, which teach nothing.
    """

    def __init__(
        self, past: Past, log: Log, base: Rates, prior: Gaussian, steps: Sequence[Step], first: int
    ) -> None:
        at = first - log.first_day
        begun = at < len(past.before)
        one, two = past.before[at].sides if begun else past.sides
        told_until = max((number for number, step in enumerate(steps, start=1) if step.sights), default=0)
        self.steps, self.unseen, self.prior = steps[:told_until], steps[told_until:], prior
        self.told = told(self.steps)
        self.sights = [sight for sights in self.told for sight in sights]
        self.base, self.area_m2 = base, log.area_m2
        self.fed = past.before[at].fed if begun else past.fed
        self.start = Bed(
            (one.scraps_kg, two.scraps_kg),
            (one.castings_kg, two.castings_kg),
            (one.worms_kg, two.worms_kg),
            (one.staying_kg, two.staying_kg),
        )

    def run(self, point: Point) -> tuple[list[float], list[Bed], Bed]:
        """Give what a point expects of each sight, the bed at the sights, and the bed at the end."""
        guess = guess_at(point, self.base)
        seen, bed = replay(guess, self.start, self.fed, self.steps, self.area_m2)
        return expected(guess, seen, self.told, self.area_m2), seen, bed

    def teaches_as(self, other: "_Case") -> bool:
        """Tell whether both teach the very same."""
        return (self.prior, self.start, self.fed, self.base, self.area_m2, self.steps) == (
            other.prior,
            other.start,
            other.fed,
            other.base,
            other.area_m2,
            other.steps,
        )

    def carry(self, draws: Sequence[Draw], beds: Sequence[Bed], since: int, until: int) -> tuple[Bed, ...]:
        """Run draws on through some of the days after the last sight."""
        before = [*self.steps, *self.unseen[:since]]
        turns = [act.side for step in before for act in step.acts if act.what == "switch"]
        fed, steps = turns[-1] if turns else self.fed, self.unseen[since:until]
        return tuple(
            replay(draw.guess, bed, fed, steps, self.area_m2)[1]
            for draw, bed in zip(draws, beds, strict=True)
        )

    def look(self, point: Point, seen: Sequence[Bed]) -> list[float]:
        """Give what a point expects of each sight of beds that were run already."""
        return expected(guess_at(point, self.base), seen, self.told, self.area_m2)

    def credibility(self, point: Point, foreseen: Sequence[float]) -> float:
        return _likely(self.sights, foreseen) + self.prior.log_density(point)


def learn(past: Past, log: Log, warm: Sequence[Warmth], base: Rates) -> Gaussian:
    """Learn from the older turns, one after the other, what the last window starts from.

    From turn to turn the unknowns drift a little: another season, another mix, another year's worms.
    """
    older, recent = window(log)
    known = gaussian.standard(len(LEARNED))
    for at, day in enumerate(older):
        end = older[at + 1] if at + 1 < len(older) else recent
        before = older[at - 1] if at else day
        steps = past_steps(past, log, warm, before, day, end)
        case = _Case(past, log, base, known, steps, before)
        if case.sights:
            known = _peak(case, _ROUNDS_OLDER)
        known = known.blurred(_DRIFT)
    return known


@dataclass(frozen=True, slots=True)
class Learned:
    """What is believed on a morning, and from where a later morning can carry it on.

    Attributes:
        belief: Weighted draws.
        case: The days that were learned from, and those after them.
        beds: The bed of each draw at the last sight.
        same: Steps after that which were the same on the morning before.
        carried: The bed of each draw after these.
    """

    belief: Belief
    case: _Case
    beds: tuple[Bed, ...]
    same: int
    carried: tuple[Bed, ...]


def believe(
    past: Past, log: Log, warm: Sequence[Warmth], base: Rates, known: Gaussian, earlier: Learned | None = None
) -> Learned:
    """Learn from the last window, and draw from what is known then.

    Where no day until the last sight is another than on an `earlier` morning, the draws are what they were
    then, and are only carried on.
    """
    _, first = window(log)
    case = _Case(past, log, base, known, past_steps(past, log, warm, first, first, past.day), first)
    if earlier is not None and case.teaches_as(earlier.case):
        draws, weights, beds = earlier.belief.draws, earlier.belief.weights, earlier.beds
        pairs = zip(case.unseen, earlier.case.unseen, strict=False)
        others = (at for at, (one, other) in enumerate(pairs) if one != other)
        same = next(others, min(len(case.unseen), len(earlier.case.unseen)))
        before = (earlier.same, earlier.carried) if earlier.same <= same else (0, beds)
    else:
        draws, weights, beds = _drawn(case)
        same, before = 0, (0, beds)
    carried = case.carry(draws, before[1], before[0], same)
    now = case.carry(draws, carried, same, len(case.unseen))
    return Learned(Belief(draws, weights, now, base, len(case.sights)), case, beds, same, carried)


def _drawn(case: _Case) -> tuple[tuple[Draw, ...], tuple[float, ...], tuple[Bed, ...]]:
    """Draw from what a case teaches: the draws, their weights and the bed of each at the last sight."""
    now = _peak(case, _ROUNDS) if case.sights else case.prior
    root = gaussian.spread_root(now.precision)
    draws, credible, beds = [], [], []
    for normal in normals():
        inner = normal[: len(LEARNED)]
        offset = [gaussian.dot(row, inner) for row in root]
        point = tuple(one + _WIDER * by for one, by in zip(now.mean, offset, strict=True))
        foreseen, _, bed = case.run(point)
        density = -0.5 * gaussian.dot(inner, inner)
        credible.append(case.credibility(point, foreseen) - density)
        draws.append(_draw(point, normal[len(LEARNED) :], case.base))
        beds.append(bed)
    return tuple(draws), _weights(credible, (1.0,) * DRAWS), tuple(beds)


def believe_today(belief: Belief, past: Past, log: Log) -> Belief:
    """Take in what was done and seen today so far: the same draws with it, weighed anew.

    Args:
        belief: What was believed this morning.
        past: The bed this morning.
        log: What was logged, today included.
    """
    today = today_step(past, log)
    if not today.acts and not today.sights:
        return belief
    credible, beds = [], []
    for draw, bed in zip(belief.draws, belief.beds, strict=True):
        seen, later = replay(draw.guess, bed, past.fed, (today,), log.area_m2)
        foreseen = expected(draw.guess, seen, told((today,)), log.area_m2)
        credible.append(_likely(today.sights, foreseen))
        beds.append(later)
    weights = _weights(credible, belief.weights) if today.sights else belief.weights
    return replace(belief, weights=weights, beds=tuple(beds), seen=belief.seen + len(today.sights))


def _likely(sights: Sequence[Sight], foreseen: Sequence[float]) -> float:
    total = 0.0
    for sight, one in zip(sights, foreseen, strict=True):
        total += likelihood(sight, one)
    return _TRUST * total


def _draw(point: Point, ahead: Point, base: Rates) -> Draw:
    guess = guess_at(point, base)
    changed = replace(
        guess.rates,
        decay=guess.rates.decay * exp(_SPREAD_CYCLE * ahead[1]),
        migration_days=guess.rates.migration_days * exp(_SPREAD_CYCLE * ahead[2]),
    )
    return Draw(guess, changed, ahead[0], point)


def _weights(credible: Sequence[float], before: Sequence[float]) -> tuple[float, ...]:
    """Weigh draws by their credibility, and by what each weighed before.

    Where few draws would keep nearly all the weight, an interval would rest on these few by chance: the
    differences of credibility then count for less, just so much that enough draws keep a say.
    """
    best = max(credible)
    off = [one - best for one in credible]
    weights = _shares(off, before, 1.0)
    if _worth(weights) >= _LEAST_WORTH:
        return weights
    low, high = 0.0, 1.0
    for _ in range(_HALVED):
        middle = 0.5 * (low + high)
        if _worth(_shares(off, before, middle)) >= _LEAST_WORTH:
            low = middle
        else:
            high = middle
    return _shares(off, before, low)


def _shares(off: Sequence[float], before: Sequence[float], by: float) -> tuple[float, ...]:
    raw = [weight * exp(by * one) for one, weight in zip(off, before, strict=True)]
    total = 0.0
    for one in raw:
        total += one
    return tuple(one / total for one in raw)


def _worth(weights: Sequence[float]) -> float:
    """Give how many draws of equal weight would be worth as much."""
    return 1.0 / gaussian.dot(weights, weights)


def _peak(case: _Case, rounds: int) -> Gaussian:
    """Find the most credible point and the curvature there, by Gauss-Newton with backtracking."""
    point = case.prior.mean
    foreseen, seen, _ = case.run(point)
    credible = case.credibility(point, foreseen)
    precision = case.prior.precision
    for _ in range(rounds):
        towards, precision = _slopes(case, point, foreseen, seen)
        move = gaussian.solve(gaussian.cholesky(precision), towards)
        length = 1.0
        for _ in range(_HALVINGS):
            tried = tuple(
                min(max(one + length * by, -_EDGE), _EDGE) for one, by in zip(point, move, strict=True)
            )
            new_foreseen, new_seen, _ = case.run(tried)
            new_credible = case.credibility(tried, new_foreseen)
            if new_credible > credible:
                break
            length *= 0.5
        else:
            break
        gained = new_credible - credible
        point, foreseen, seen, credible = tried, new_foreseen, new_seen, new_credible
        if gained < _ENOUGH:
            break
    return Gaussian(point, precision)


def _slopes(
    case: _Case, point: Point, foreseen: Sequence[float], seen: Sequence[Bed]
) -> tuple[list[float], tuple[tuple[float, ...], ...]]:
    """Give the slope of the credibility at a point, and its expected curvature, by small nudges."""
    size = len(point)
    rows = []
    for at in range(size):
        nudged = (*point[:at], point[at] + _NUDGE, *point[at + 1 :])
        there = case.look(nudged, seen) if LEARNED[at] in _SEEN_ONLY else case.run(nudged)[0]
        rows.append([(new - old) / _NUDGE for new, old in zip(there, foreseen, strict=True)])
    judged = [pull(sight, one) for sight, one in zip(case.sights, foreseen, strict=True)]
    pulled, curved = [_TRUST * one.slope for one in judged], [_TRUST * one.curvature for one in judged]
    towards = case.prior.pull(point)
    precision = [list(row) for row in case.prior.precision]
    for at, row in enumerate(rows):
        towards[at] = _added(towards[at], pulled, row)
        weighed = [weight * slope for weight, slope in zip(curved, row, strict=True)]
        for other in range(at + 1):
            one = _added(precision[at][other], weighed, rows[other])
            precision[at][other] = precision[other][at] = one
    return towards, gaussian.frozen(precision)


def _added(total: float, first: Sequence[float], second: Sequence[float]) -> float:
    """Add the inner product to a total, term by term."""
    for one, two in zip(first, second, strict=True):
        total += one * two
    return total


_TABLE_HALF, _TABLE_FINE = 32, 8.0
_LEAST_WORTH, _HALVED = sources.value("worms.draws_least"), 12
_ROUNDS, _ROUNDS_OLDER, _HALVINGS = 4, 3, 4
_LAST_TURNS, _LEARNED_TURNS = 2, 3
_NUDGE, _ENOUGH, _EDGE = 0.05, 0.1, 4.0
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
_STAYERS = (sources.value("worms.stayers_alpha"), sources.value("worms.stayers_beta"))
_DRIFT = tuple(
    drift * drift
    for drift in (
        _SPREAD_CYCLE / _SPREAD_DECAY,
        sources.value("worms.spread_cycle_appetite") / _SPREAD_APPETITE,
        _SPREAD_CYCLE / _SPREAD_MIGRATION,
        sources.value("worms.drift_stayers"),
        sources.value("worms.drift_yield"),
        sources.value("worms.drift_warmth"),
        0.0,
        0.0,
        0.0,
        0.0,
    )
)
"""How far the unknowns of `LEARNED` wander from turn to turn, as variances in standard coordinates."""
