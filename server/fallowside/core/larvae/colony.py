"""The colony in a larvae bin: what is inside, what climbs out over the next days, and how sure that is.

Wild flies lay, so nobody counts the recruits; they are inferred from what climbed out (`recruits`), once
for each of a few paces of development, weighed by how well each foretold the counts. Past forecasts are
scored as the days go by, and stretch or narrow the ranges of the next ones.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from math import fsum, sqrt

from fallowside.core import numeric
from fallowside.core.larvae import binlog, mixture, recruits
from fallowside.core.larvae.mixture import Part
from fallowside.core.larvae.recruits import LEAST, Day, Run, value
from fallowside.core.shapes import Series

PACES: tuple[float, ...] = (0.8, 1.0, 1.25)
"""Paces of development tried, in units of the mixed diet's; prior weights follow `time_spread_mixed`."""

WEEK = 7
_KEPT = 8
"""Weeks a memo can go back before the colony is run anew."""


@dataclass(frozen=True, slots=True)
class Outlook:
    """What climbs out over the next days, with an 80 % range, in larvae.

    Attributes:
        low, mid, high: 10 %, 50 % and 90 % points of the total. [1]
        mean: Expected total. [1]
        daily: Low, mid and high of each day. [1]
    """

    low: float
    mid: float
    high: float
    mean: float
    daily: tuple[tuple[float, float, float], ...]

    def pulled(self, lately: float) -> "Outlook":
        """Give this outlook drawn towards what as many days at the pace counted of late would bring.

        Two forecasts of which neither is the better err less together: the logarithms are averaged, the
        pace counted of late with the weight `lately_weight`.

        Args:
            lately: Larvae in as many days at that pace. [1], 0 or more

        Source: Bates, Granger 1969, The combination of forecasts, Operational Research Quarterly
        20:451-468, for combining at all; the weight is from simulated bins.

        >>> even = Outlook(50.0, 100.0, 200.0, 110.0, ())
        >>> even.pulled(100.0) == even, even.mid < even.pulled(300.0).mid < 300.0
        (True, True)
        """
        few = value("lately_few")
        by = numeric.power((lately + few) / (self.mid + few), value("lately_weight"))
        daily = tuple((low * by, mid * by, high * by) for low, mid, high in self.daily)
        return Outlook(self.low * by, self.mid * by, self.high * by, self.mean * by, daily)


@dataclass(frozen=True, slots=True)
class Stock:
    """Eggs and larvae in the bin now, by age.

    Attributes:
        ages: Age of each group, 1 being the mean way from egg to grown larva. [1]
        numbers: Those of it, effective, still inside. [1]
        doubt: Standard deviation of the log of their sum. [1]
    """

    ages: tuple[float, ...]
    numbers: tuple[float, ...]
    doubt: float

    def larvae(self) -> float:
        """Give how many of them are hatched."""
        egg = recruits.egg_share()
        return fsum(number for age, number in zip(self.ages, self.numbers, strict=True) if age > egg)


@dataclass(frozen=True, slots=True)
class Promise:
    """A forecast made earlier: when it is due, the counts and counted days when it was made, its parts."""

    due: int
    counted: float
    covered: int
    days: int
    parts: list[Part]


@dataclass(slots=True)
class Colony:
    """The running estimate. Let it live days in order; ask it for an outlook at any time.

    The same days in the same order give the same figures to the last bit; `copy` lets a later run go
    on from here instead of from the start.

    Attributes:
        level: Log of a guess of the bin's effective recruits a day.
        runs: The estimate at each pace.
        size: Days lived.
        counted, covered: Larvae counted so far, and days these counts stand for.
        marks: The runs' clocks at the start of each of the last days, for counts of several days.
        waiting, waited: Larvae counted that the runs have not learned of yet, and the days they stand for.
        pending: Forecasts not yet due.
        dispersion_sum, dispersion_seen: 1/kappa of a day's count, summed over counts, and their number.
        score_sum, score_seen: Squared misses of past forecasts in standard deviations, and their number.
    """

    level: float
    runs: list[Run] = field(default_factory=list)
    size: int = 0
    counted: float = 0.0
    covered: int = 0
    marks: list[list[float]] = field(default_factory=list)
    waiting: float = 0.0
    waited: int = 0
    pending: list[Promise] = field(default_factory=list)
    dispersion_sum: float = value("day_dispersion_weight") * value("day_dispersion")
    dispersion_seen: float = value("day_dispersion_weight")
    score_sum: float = value("score_weight")
    score_seen: float = value("score_weight")

    def copy(self) -> "Colony":
        """Give an independent colony in the same state."""
        return replace(
            self,
            runs=[run.copy() for run in self.runs],
            marks=[mark[:] for mark in self.marks],
            pending=self.pending[:],
        )

    def dispersion(self) -> float:
        """Give 1/kappa of a day's count: how much more than by chance the days differ. [1]"""
        return self.dispersion_sum / self.dispersion_seen

    def width(self) -> float:
        """Give the factor by which past forecasts say the ranges should be stretched. [1]"""
        return sqrt(self.score_sum / self.score_seen)

    def live(self, day: Day) -> None:
        """Let one day pass and take in its count.

        Counts of a few days in a row are learned from together, which costs less and tells as much.
        """
        if not self.runs:
            self.runs = [recruits.begin(pace, _log_prior(pace), self.level, day) for pace in PACES]
        if day.count is None:
            self._settle()
        self.marks.append([run.clock for run in self.runs])
        if len(self.marks) > int(value("catch_days")) + int(value("block_days")):
            del self.marks[0]
        for run, oldest in zip(self.runs, self.marks[0], strict=True):
            recruits.advance(run, day)
            recruits.forget(run, oldest)
        self.size += 1
        if day.clutches is not None:
            for run in self.runs:
                recruits.learn_eggs(run, day.clutches)
        if day.count is not None:
            self.counted, self.covered = self.counted + day.count, self.covered + day.span
            self.waiting, self.waited = self.waiting + day.count, self.waited + day.span
            if self.waited >= int(value("block_days")):
                self._settle()
        if self.pending and self.pending[0].due <= self.size:
            self._score(self.pending.pop(0))

    def _settle(self) -> None:
        """Learn from the counts that wait."""
        if not self.waited:
            return
        since = self.marks[-min(self.waited, len(self.marks))]
        dispersion, weights = self.dispersion() / self.waited, self.weights()
        surprises = [
            weight * recruits.learn(run, begun, self.waiting, dispersion)
            for run, begun, weight in zip(self.runs, since, weights, strict=True)
        ]
        self.dispersion_sum += fsum(surprises) * self.waited
        self.dispersion_seen += 1.0
        self.waiting, self.waited = 0.0, 0

    def _settled(self) -> "Colony":
        """Give the colony as it would be if no count waited."""
        if not self.waited:
            return self
        twin = self.copy()
        twin._settle()
        return twin

    def promise(self, ahead: Sequence[Day]) -> None:
        """Note down what would be foretold now for the coming days, to be scored when they are over."""
        now = self._settled()
        parts = _totals(now, [_after(run, ahead) for run in now.runs], len(ahead))
        self.pending.append(Promise(self.size + len(ahead), self.counted, self.covered, len(ahead), parts))

    def _score(self, promise: Promise) -> None:
        """Hold a past forecast against what came: ranges too narrow so far make the next ones wider."""
        share = (self.covered - promise.covered) / promise.days
        if share < value("score_share"):
            return
        came = (self.counted - promise.counted) / min(share, 1.0)
        edge = value("score_edge")
        rank = min(max(mixture.below(promise.parts, 1.0, max(came, 0.5)), edge), 1.0 - edge)
        off = numeric.normal_quantile(rank)
        self.score_sum += off * off
        self.score_seen += 1.0

    def weights(self) -> list[float]:
        """Give how likely each pace is, by the counts so far; they add up to 1."""
        best = max(run.prior + run.evidence for run in self.runs)
        raw = [numeric.exp(run.prior + run.evidence - best) for run in self.runs]
        total = fsum(raw)
        return [one / total for one in raw]

    def stock(self) -> Stock:
        """Give the effective larvae still in the bin by age, at the likeliest pace."""
        now = self._settled()
        weights = now.weights()
        run = now.runs[weights.index(max(weights))]
        numbers = recruits.inside(run)
        total = fsum(numbers)
        doubt = sqrt(recruits.doubt(run, numbers, total)[0]) if total > LEAST else 1.0
        return Stock(tuple(run.clock - born for born in run.born), tuple(numbers), doubt)

    def outlook(
        self, ahead: Sequence[Day], warmer: Sequence[Day] = (), cooler: Sequence[Day] = ()
    ) -> Outlook:
        """Say what climbs out over the coming days.

        Args:
            ahead: The coming days as expected, at least one.
            warmer, cooler: The same days one weather error warmer and cooler; none leaves it out.

        Returns:
            The total with its 80 % range, and each day's.
        """
        now = self._settled()
        days, ends = _daily(now, ahead)
        totals = _totals(now, ends, len(ahead), warmer, cooler)
        stretch = self.width() * self.width()
        low, mid, high = mixture.points(totals, stretch)
        mean = fsum(part.weight * part.mean for part in totals)
        return Outlook(low, mid, high, mean, tuple(mixture.quick_points(day, stretch) for day in days))


def _log_prior(pace: float) -> float:
    off = numeric.log(pace) / value("time_spread_mixed")
    return -off * off / 2.0


@dataclass(slots=True)
class Memo:
    """What one look at a bin leaves for the next, so that one more entry costs little.

    Only a shortcut: a run that goes on from a memo gives the same figures to the last bit as one from
    the start. It holds the days lived through, and the colony as it stood after some of them.
    """

    begun: int = 0
    level: float = 0.0
    days: list[Day] = field(default_factory=list)
    kept: list[tuple[int, Colony]] = field(default_factory=list)
    read: binlog.Kept = field(default_factory=binlog.Kept)
    drawn: tuple[binlog.Weather, Series] | None = None
    """The chart of these temperatures."""


def live_through(
    days: Sequence[Day], recruits_per_day: float, horizon: int, memo: Memo | None = None
) -> Colony:
    """Run a colony through its days, noting a forecast each week, from the last point a memo shares.

    Of a record longer than two spells only the last one to two are lived through; what was counted before
    sets what is usual here.

    Args:
        days: The days in order, from the bin's first.
        recruits_per_day: A guess of its effective recruits. [1/d], above 0
        horizon: Days each noted forecast looks ahead. [d]
        memo: What an earlier run over the same bin left; brought up to date.
    """
    begun = _begin(len(days))
    level = numeric.log(_usual(days[:begun], recruits_per_day))
    start, colony = begun, Colony(level)
    if memo is not None:
        same = _shared(memo.days, days) if memo.level == level and memo.begun == begun else 0
        memo.kept = [kept for kept in memo.kept if kept[0] <= same]
        memo.begun, memo.level, memo.days = begun, level, list(days)
        if memo.kept:
            start, colony = memo.kept[-1][0], memo.kept[-1][1].copy()
    for number in range(start, len(days)):
        colony.live(days[number])
        if (number + 1) % WEEK == 0:
            colony.promise(as_lately(days, number, horizon))
            if memo is not None:
                memo.kept = [*memo.kept[-_KEPT:], (number + 1, colony.copy())]
    return colony


def _begin(number: int) -> int:
    """Give the day from which a long record is lived through: older days hardly bear on what is ahead."""
    spell = int(value("spell_days"))
    return max(0, number // spell - 1) * spell


def _usual(days: Sequence[Day], guess: float) -> float:
    """Give the recruits a day with the gate open that older days say; the guess weighs a month."""
    counted = fsum(day.count for day in days if day.count is not None)
    opened = fsum(day.gate for day in days)
    month = value("recruit_memory")
    return (counted + guess * month) / (opened + month)


def _shared(before: Sequence[Day], now: Sequence[Day]) -> int:
    """Count the days at the start that are the same in both."""
    for number, (one, other) in enumerate(zip(before, now, strict=False)):
        if one is not other and one != other:
            return number
    return min(len(before), len(now))


def as_lately(days: Sequence[Day], number: int, horizon: int) -> list[Day]:
    """Foretell days like the mean of the week up to day `number`, as one does without a weather forecast."""
    week = days[max(0, number + 1 - WEEK) : number + 1]
    step = fsum(day.step for day in week) / len(week)
    gate = fsum(day.gate for day in week) / len(week)
    return [Day(step, gate)] * horizon


# -- sums of days to come, and their ranges --------------------------------------------------------


def _totals(
    colony: Colony, ends: Sequence[Run], days: int, warmer: Sequence[Day] = (), cooler: Sequence[Day] = ()
) -> list[Part]:
    """Give each pace's view of all that leaves in some days; `ends` are the runs after them."""
    dispersion = colony.dispersion() / days
    totals = []
    for run, end, weight in zip(colony.runs, ends, colony.weights(), strict=True):
        part = _part(end, weight, run.clock, dispersion)
        if warmer and cooler:
            weather = numeric.log(_sum_of(run, warmer) / _sum_of(run, cooler)) / 2.0
            part = replace(part, variance=part.variance + weather * weather)
        totals.append(part)
    return totals


def _daily(colony: Colony, ahead: Sequence[Day]) -> tuple[list[list[Part]], list[Run]]:
    """Give each pace's view of what leaves on each of the coming days, and the runs after them."""
    dispersion = colony.dispersion()
    days: list[list[Part]] = [[] for _ in ahead]
    ends = []
    for run, weight in zip(colony.runs, colony.weights(), strict=True):
        now, each = run.copy(), recruits.daily(run)
        for parts, day in zip(days, ahead, strict=True):
            since = now.clock
            recruits.advance(now, day)
            each = recruits.daily(now, each)
            parts.append(_part(now, weight, since, dispersion, each))
        ends.append(now)
    return days, ends


def _part(
    run: Run, weight: float, since: float, dispersion: float, each: Sequence[float] | None = None
) -> Part:
    """Give one pace's view of what leaves since a date: doubt about the recruits, and chance."""
    parts, total = recruits.leaving(run, since, each)
    if total < LEAST:
        return Part(weight, LEAST, 1.0 / LEAST)
    doubt, lift = recruits.doubt(run, parts, total)
    doubt += recruits.season_doubt(run, parts, total)
    mean = total * numeric.exp(lift + doubt / 2.0)
    return Part(weight, mean, doubt + dispersion + 1.0 / mean)


def _after(run: Run, ahead: Sequence[Day]) -> Run:
    now = run.copy()
    for day in ahead:
        recruits.advance(now, day)
    return now


def _sum_of(run: Run, ahead: Sequence[Day]) -> float:
    return max(recruits.leaving(_after(run, ahead), run.clock)[1], LEAST)
