"""The colony in a larvae bin: how many recruits it had, inferred from what climbed out, and what comes.

Wild flies lay, so nobody counts the recruits. What is counted is the self-harvest, one larval time
later. Recruits of a spell (a `Group`) leave as a distributed delay: k equal boxes in a row, run on
physiological time, so that the share of a group gone by age x (in larval stages) is Erlang's
G(x) = gamma_cdf(k, k·x). Only the product recruits × survival × share climbing out shows in the
counts: these are *effective recruits*, never eggs.

Log effective recruits a day wander about a long-run level (an Ornstein-Uhlenbeck walk); eggs come in
the warm season only (`gate`). Counts are negative binomial. The estimate runs forward one count at a
time, as a dynamic generalised linear model with a gamma-conjugate step (West, Harrison, Migon 1985,
J Am Stat Assoc 80:73-83, recalled), once for each of a few paces of development, which are weighed by
how well they foretold the counts. Past forecasts are scored as it goes and widen or narrow the next.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from math import floor, sqrt

from fallowside.core import numeric, sources

PACES: tuple[float, ...] = (0.75, 0.87, 1.0, 1.15, 1.33)
"""Paces of development tried, in units of the mixed diet's; prior weights follow `time_spread_mixed`."""

_FINE = 512
"""Steps a larval stage in the table of G; read in between as straight lines."""


@dataclass(frozen=True, slots=True)
class Day:
    """What one day does to the colony.

    Attributes:
        step: Share of the larval stage passed that day, mixed diet. [1]
        gate: Share of the usual eggs laid that day, by the season. [1], 0 to 1
        count: Larvae found that climbed out, or None if nobody looked. [1]
        span: Days the count stands for, this one included. [d]
    """

    step: float
    gate: float
    count: float | None = None
    span: int = 1


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


@dataclass(frozen=True, slots=True)
class Stock:
    """Larvae in the bin now, by age.

    Attributes:
        ages: Age of each group. [larval stages]
        numbers: Effective larvae of it still inside. [1]
        recruits_per_day: Effective recruits a day of each group, the season's gate left out. [1/d]
    """

    ages: tuple[float, ...]
    numbers: tuple[float, ...]
    recruits_per_day: tuple[float, ...]


@cache
def _value(name: str) -> float:
    return sources.value(f"soldierfly.{name}")


@cache
def _gone_table() -> tuple[float, ...]:
    boxes = _value("boxes")
    last = int(_value("oldest") * _FINE) + 2
    return tuple(numeric.gamma_cdf(boxes, boxes * step / _FINE) for step in range(last))


def gone(age: float) -> float:
    """Give the share of a group that has left the feed by an age.

    Args:
        age: Physiological age, 1 being the mean length of the larval stage. [1]

    Returns:
        Share, 0 to 1, never falling.

    Source: linear chain of k boxes, MacDonald 1978 (recalled); an Erlang distribution, mean 1, CV 1/sqrt(k).
    Error: below 1e-5 against the exact gamma distribution.

    >>> gone(0.0), round(gone(1.0), 3), gone(9.0)
    (0.0, 0.527, 1.0)
    """
    if age <= 0.0:
        return 0.0
    table = _gone_table()
    place = age * _FINE
    step = floor(place)
    if step + 1 >= len(table):
        return 1.0
    below = table[step]
    return below + (place - step) * (table[step + 1] - below)


class _Run:
    """One pace of development with its running estimate: a Gaussian over log recruits.

    Index 0 of `mean` and `cov` is the long-run level; index i+1 is group i. `weight[i]` is the sum of
    the gates of the group's days, `born[i]` their mean physiological date.
    """

    __slots__ = ("born", "clock", "cov", "evidence", "mean", "opened", "pace", "prior", "since", "weight")

    def __init__(self, pace: float, prior: float) -> None:
        self.pace = pace
        self.prior = prior
        self.evidence = 0.0
        self.clock = 0.0
        self.opened = 0.0
        self.since = 0
        self.weight: list[float] = []
        self.born: list[float] = []
        self.mean: list[float] = []
        self.cov: list[list[float]] = []

    def copy(self) -> "_Run":
        twin = _Run(self.pace, self.prior)
        twin.evidence = self.evidence
        twin.clock, twin.opened, twin.since = self.clock, self.opened, self.since
        twin.weight, twin.born, twin.mean = self.weight[:], self.born[:], self.mean[:]
        twin.cov = [row[:] for row in self.cov]
        return twin


def _settle(run: _Run, level: float, first: Day) -> None:
    """Begin with a bin of unknown history: groups of every age about an uncertain level."""
    level_var = _value("level_spread") * _value("level_spread")
    width, oldest = _value("box_width"), _value("oldest")
    run.mean, run.cov = [level], [[level_var]]
    step = max(first.step * run.pace, 1e-3)
    run.clock = oldest
    run.opened = 0.0
    _open(run, 1e6)
    days = width / step
    while run.opened + width < oldest:
        run.weight[-1] = days * first.gate
        run.born[-1] = run.opened + width / 2.0
        opened = run.opened + width
        _open(run, days)
        run.opened = opened
    run.weight[-1], run.born[-1], run.since = 0.0, oldest, 0


def _open(run: _Run, days: float) -> None:
    """Open a new group: its log recruits follow from the last group's, `days` later."""
    keep = numeric.exp(-days / _value("recruit_memory")) if run.born else 0.0
    spread = _value("recruit_spread")
    fresh = spread * spread * (1.0 - keep * keep)
    last = len(run.mean) - 1
    row = [
        (1.0 - keep) * of_level + keep * of_last
        for of_level, of_last in zip(run.cov[0], run.cov[last], strict=True)
    ]
    variance = (1.0 - keep) * row[0] + keep * row[last] + fresh
    run.mean.append((1.0 - keep) * run.mean[0] + keep * run.mean[last])
    for held, value in zip(run.cov, row, strict=True):
        held.append(value)
    row.append(variance)
    run.cov.append(row)
    run.weight.append(0.0)
    run.born.append(run.clock)
    run.opened = run.clock
    run.since = 0


def _advance(run: _Run, day: Day) -> None:
    """Let a day pass: the clock runs, eggs are laid, the oldest group is let go."""
    before = run.clock
    run.clock = before + day.step * run.pace
    if before - run.opened >= _value("box_width"):
        run.clock, after = before, run.clock
        _open(run, float(max(run.since, 1)))
        run.clock = after
    run.since += 1
    total = run.weight[-1] + day.gate
    if total > 0.0:
        middle = (before + run.clock) / 2.0
        run.born[-1] += (middle - run.born[-1]) * day.gate / total
    run.weight[-1] = total
    if run.clock - run.born[0] > _value("oldest") and len(run.born) > 1:
        del run.weight[0], run.born[0], run.mean[1], run.cov[1]
        for row in run.cov:
            del row[1]


def _leaving(run: _Run, since: float) -> tuple[list[float], float]:
    """Give the expected number leaving from each group since a physiological date, and their sum."""
    clock, total = run.clock, 0.0
    parts = []
    for weight, born, mean in zip(run.weight, run.born, run.mean[1:], strict=True):
        part = weight * (gone(clock - born) - gone(since - born))
        if part > 0.0:
            part *= numeric.exp(mean)
            total += part
        parts.append(part)
    return parts, total


def _doubt(run: _Run, parts: Sequence[float], total: float) -> tuple[list[float], float]:
    """Give P·h and h'·P·h for the log of a sum of groups, h being each group's share of it."""
    shares = [part / total for part in parts]
    spread = []
    for row in run.cov:
        dot = 0.0
        for share, value in zip(shares, row[1:], strict=True):
            dot += share * value
        spread.append(dot)
    doubt = 0.0
    for share, value in zip(shares, spread[1:], strict=True):
        doubt += share * value
    return spread, doubt


def _learn(run: _Run, since: float, count: float, dispersion: float) -> float:
    """Take in one count; give how much more than doubt and chance it was off, relative and squared."""
    parts, total = _leaving(run, since)
    if total < 1e-9:
        return dispersion
    spread, doubt = _doubt(run, parts, total)
    doubt = max(doubt, 1e-9)
    run.evidence = run.evidence * _value("pace_forget") + _log_chance(count, total, dispersion + doubt)
    shape = 1.0 / doubt
    chance = 1.0 + dispersion * total
    after = shape + count / chance
    moved = numeric.log(after / (shape / total + 1.0 / chance) / total)
    kept = shape / after
    gain, shrink = moved / doubt, (1.0 - kept) / doubt
    run.mean = [mean + gain * value for mean, value in zip(run.mean, spread, strict=True)]
    run.cov = [
        [held - shrink * one * other for held, other in zip(row, spread, strict=True)]
        for row, one in zip(run.cov, spread, strict=True)
    ]
    apart = count - total
    unexplained = (apart * apart - total) / (total * total) - doubt
    return min(max(unexplained, 0.0), _value("surprise_cap"))


def _log_chance(count: float, mean: float, dispersion: float) -> float:
    """Give the log of the negative binomial probability of a count."""
    size = 1.0 / dispersion
    share = mean / (mean + size)
    return (
        numeric.log_gamma(count + size)
        - numeric.log_gamma(size)
        - numeric.log_gamma(count + 1.0)
        + count * numeric.log(share)
        - size * numeric.log1p(mean * dispersion)
    )


@dataclass(frozen=True, slots=True)
class _Part:
    """One pace's view of a sum of days: weight, mean and relative variance."""

    weight: float
    mean: float
    variance: float


@dataclass(frozen=True, slots=True)
class _Promise:
    """A forecast made earlier: when it is due, the counts and counted days when it was made, its parts."""

    due: int
    counted: float
    covered: int
    days: int
    parts: list[_Part]


class Colony:
    """The running estimate. Feed it days in order; ask it for an outlook at any time.

    The same days in the same order give the same figures to the last bit; `copy` lets a later run go
    on from here instead of from the start.
    """

    __slots__ = (
        "counted",
        "covered",
        "dispersion_seen",
        "dispersion_sum",
        "level",
        "marks",
        "pending",
        "runs",
        "score_seen",
        "score_sum",
        "size",
    )

    def __init__(self, recruits_per_day: float) -> None:
        """Begin with a guess of the bin's effective recruits. [1/d], above 0."""
        spread = _value("time_spread_mixed")
        self.level = numeric.log(recruits_per_day)
        self.runs = []
        for pace in PACES:
            off = numeric.log(pace) / spread
            self.runs.append(_Run(pace, -0.5 * off * off))
        self.dispersion_seen = _value("day_dispersion_weight")
        self.dispersion_sum = self.dispersion_seen * _value("day_dispersion")
        self.score_seen = _value("score_weight")
        self.score_sum = self.score_seen
        self.size = 0
        self.marks: list[list[float]] = []
        self.counted = 0.0
        self.covered = 0
        self.pending: list[_Promise] = []

    def copy(self) -> "Colony":
        """Give an independent colony in the same state."""
        twin = object.__new__(Colony)
        twin.level, twin.size = self.level, self.size
        twin.runs = [run.copy() for run in self.runs]
        twin.dispersion_seen, twin.dispersion_sum = self.dispersion_seen, self.dispersion_sum
        twin.score_seen, twin.score_sum = self.score_seen, self.score_sum
        twin.marks = [mark[:] for mark in self.marks]
        twin.pending = self.pending[:]
        twin.counted, twin.covered = self.counted, self.covered
        return twin

    def dispersion(self) -> float:
        """Give 1/kappa of a day's count: how much more than by chance the days differ. [1]"""
        return self.dispersion_sum / self.dispersion_seen

    def width(self) -> float:
        """Give the factor by which past forecasts say the ranges should be stretched. [1]"""
        return sqrt(self.score_sum / self.score_seen)

    def live(self, day: Day) -> None:
        """Let one day pass and take in its count."""
        if not self.marks:
            for run in self.runs:
                _settle(run, self.level, day)
        longest = int(_value("catch_days"))
        self.marks.append([run.clock for run in self.runs])
        if len(self.marks) > longest:
            del self.marks[0]
        for run in self.runs:
            _advance(run, day)
        self.size += 1
        if day.count is not None:
            self._count(day, day.count)
        if self.pending and self.pending[0].due <= self.size:
            self._score(self.pending.pop(0))

    def _count(self, day: Day, count: float) -> None:
        self.counted += count
        self.covered += day.span
        since = self.marks[-min(day.span, len(self.marks))]
        dispersion, weights = self.dispersion() / day.span, self.weights()
        surprise = 0.0
        for run, begun, weight in zip(self.runs, since, weights, strict=True):
            surprise += weight * _learn(run, begun, count, dispersion)
        self.dispersion_sum += surprise * day.span
        self.dispersion_seen += 1.0

    def promise(self, ahead: Sequence[Day]) -> None:
        """Note down what would be foretold now for the coming days, to be scored when they are over."""
        totals, _ = self._parts(ahead, (), ())
        self.pending.append(_Promise(self.size + len(ahead), self.counted, self.covered, len(ahead), totals))

    def _score(self, promise: "_Promise") -> None:
        """Hold a past forecast against what came: ranges too narrow so far make the next ones wider."""
        share = (self.covered - promise.covered) / promise.days
        if share < _value("score_share"):
            return
        came = (self.counted - promise.counted) / min(share, 1.0)
        rank = _below(promise.parts, 1.0, max(came, 0.5))
        edge = _value("score_edge")
        off = numeric.normal_quantile(min(max(rank, edge), 1.0 - edge))
        self.score_sum += off * off
        self.score_seen += 1.0

    def weights(self) -> list[float]:
        """Give how likely each pace is, by the counts so far; they add up to 1."""
        best = max(run.prior + run.evidence for run in self.runs)
        raw = [numeric.exp(run.prior + run.evidence - best) for run in self.runs]
        total = 0.0
        for one in raw:
            total += one
        return [one / total for one in raw]

    def stock(self) -> Stock:
        """Give the effective larvae still in the bin by age, at the likeliest pace."""
        weights = self.weights()
        run = self.runs[weights.index(max(weights))]
        ages, numbers, rates = [], [], []
        for weight, born, mean in zip(run.weight, run.born, run.mean[1:], strict=True):
            rate = numeric.exp(mean)
            ages.append(run.clock - born)
            numbers.append(weight * rate * (1.0 - gone(run.clock - born)))
            rates.append(rate)
        return Stock(tuple(ages), tuple(numbers), tuple(rates))

    def outlook(self, ahead: Sequence[Day], warmer: Sequence[Day], cooler: Sequence[Day]) -> Outlook:
        """Say what climbs out over the coming days.

        Args:
            ahead: The coming days as expected.
            warmer, cooler: The same days one weather error warmer and cooler.

        Returns:
            The total with its 80 % range, and each day's.
        """
        totals, days = self._parts(ahead, warmer, cooler)
        stretch = self.width() * self.width()
        low, mid, high = _points(totals, stretch)
        mean = 0.0
        for part in totals:
            mean += part.weight * part.mean
        return Outlook(low, mid, high, mean, tuple(_points(day, stretch) for day in days))

    def _parts(
        self, ahead: Sequence[Day], warmer: Sequence[Day], cooler: Sequence[Day]
    ) -> tuple[list[_Part], list[list[_Part]]]:
        dispersion = self.dispersion()
        totals: list[_Part] = []
        days: list[list[_Part]] = [[] for _ in ahead]
        for run, weight in zip(self.runs, self.weights(), strict=True):
            now = run.copy()
            each = []
            for number, day in enumerate(ahead):
                since = now.clock
                _advance(now, day)
                parts, total = _leaving(now, since)
                total = max(total, 1e-9)
                each.append(total)
                doubt = _doubt(now, parts, total)[1] if total > 1e-9 else 1.0
                days[number].append(_Part(weight, total, doubt + dispersion + 1.0 / total))
            parts, total = _leaving(now, run.clock)
            total = max(total, 1e-9)
            doubt = _doubt(now, parts, total)[1] if total > 1e-9 else 1.0
            chance = 0.0
            for one in each:
                chance += one + dispersion * one * one
            weather = _log_apart(_sum_of(run, warmer), _sum_of(run, cooler)) if warmer else 0.0
            totals.append(_Part(weight, total, doubt + weather * weather + chance / (total * total)))
        return totals, days


def _sum_of(run: _Run, ahead: Sequence[Day]) -> float:
    now = run.copy()
    for day in ahead:
        _advance(now, day)
    return max(_leaving(now, run.clock)[1], 1e-9)


def _log_apart(one: float, other: float) -> float:
    return numeric.log(one / other) / 2.0


def _points(parts: Sequence[_Part], stretch: float) -> tuple[float, float, float]:
    """Give the 10, 50 and 90 % points of a mixture of gamma distributions."""
    top = 0.0
    for part in parts:
        top = max(top, part.mean * (1.0 + 12.0 * sqrt(part.variance * stretch)))
    return (
        _point(parts, stretch, 0.1, top),
        _point(parts, stretch, 0.5, top),
        _point(parts, stretch, 0.9, top),
    )


def _below(parts: Sequence[_Part], stretch: float, value: float) -> float:
    total = 0.0
    for part in parts:
        if part.weight > 1e-4:
            shape = 1.0 / (part.variance * stretch)
            total += part.weight * numeric.gamma_cdf(shape, shape * value / part.mean)
    return total


def _point(parts: Sequence[_Part], stretch: float, share: float, top: float) -> float:
    low, high = 0.0, top
    for _ in range(40):
        middle = (low + high) / 2.0
        if _below(parts, stretch, middle) < share:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0
