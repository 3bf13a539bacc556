"""Recruits of a larvae bin at one pace of development: the delay until they leave, and what counts say.

Eggs of a spell (a group) leave as grown larvae after a distributed delay: k equal boxes in a row, run on
physiological time, so that the share of a group gone by age x is Erlang's G(x), the distribution of
gamma(k, 1/k); age 1 is the mean way from egg to grown larva. Nobody is lost or made: what came in has left
or is still inside.

Log recruits a day wander about a long-run level (an Ornstein-Uhlenbeck walk) and are held as a Gaussian.
A count moves it as in a dynamic generalised linear model with a gamma-conjugate step (West, Harrison,
Migon 1985, J Am Stat Assoc 80:73-83, recalled). Only recruits × survival × share climbing out shows in
the counts: *effective recruits*, never eggs. Clutches seen tell of recruits weeks before they leave; how many
recruits a clutch brings is learned beside.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache
from math import floor, fsum
from operator import mul

from fallowside.core import numeric, soldierfly, sources

LEAST = 1e-3
"""Fewer larvae than this are none."""
_FINE = 256
"""Steps of an age of 1 in the table of G; read in between as straight lines."""
_UNKNOWN_DAYS = 1e6
"""Days after which nothing of an earlier level is left."""
_CLUTCH, _GROUPS = 1, 2
"""Where recruits a clutch, and the groups, stand in mean and covariance."""


@dataclass(frozen=True, slots=True)
class Day:
    """What one day does to the colony.

    Attributes:
        step: Share of the way from egg to grown larva passed that day, mixed diet. [1]
        gate: Share of the usual eggs laid that day, by the season. [1], 0 to 1
        count: Larvae found that climbed out, or None if nobody looked. [1]
        span: Days the count stands for, this one included. [d]
        clutches: Egg clutches seen, or None if nobody looked. [1]
    """

    step: float
    gate: float
    count: float | None = None
    span: int = 1
    clutches: float | None = None


@dataclass(slots=True)
class Run:
    """The running estimate at one pace.

    Attributes:
        pace: Development, in units of the mixed diet's. [1]
        prior: Log of how likely the pace was before any count.
        evidence: Log of how well it foretold the counts, older ones fading.
        clock: Physiological date, in ways from egg to grown larva. [1]
        opened: Physiological date at which the newest group opened.
        since: Days since then.
        looked: Physiological date at which somebody last looked for eggs.
        held: Days of each group. [d]
        weight: Sum of the gates of these days. [d]
        born: Mean physiological date of each group.
        mean: Log recruits a day: the long-run level; log recruits a clutch; then each group's a day.
        cov: Their covariance.
    """

    pace: float
    prior: float
    evidence: float = 0.0
    clock: float = 0.0
    opened: float = 0.0
    since: int = 0
    looked: float = 0.0
    held: list[float] = field(default_factory=list)
    weight: list[float] = field(default_factory=list)
    born: list[float] = field(default_factory=list)
    mean: list[float] = field(default_factory=list)
    cov: list[list[float]] = field(default_factory=list)

    def copy(self) -> "Run":
        """Give an independent run in the same state."""
        return Run(
            self.pace,
            self.prior,
            self.evidence,
            self.clock,
            self.opened,
            self.since,
            self.looked,
            self.held[:],
            self.weight[:],
            self.born[:],
            self.mean[:],
            [row[:] for row in self.cov],
        )


@cache
def value(name: str) -> float:
    """Give a figure of `core/data/soldierfly.toml`."""
    return sources.value(f"soldierfly.{name}")


@cache
def _gone_table() -> tuple[float, ...]:
    boxes = value("boxes")
    last = int(value("oldest") * _FINE)
    return tuple(numeric.gamma_cdf(boxes, boxes * step / _FINE) for step in range(last + 1))


def gone(age: float) -> float:
    """Give the share of a group that has left the feed by an age.

    Args:
        age: Physiological age, 1 being the mean way from egg to grown larva. [1]

    Returns:
        Share, 0 to 1, never falling; 1 from 1.8 times the mean on.

    Source: linear chain of k boxes, MacDonald 1978 (recalled): Erlang, mean 1, CV 1/sqrt(k).
    Error: 1e-5 from reading between points of a table; the last 6 in 10 000 leave at 1.8 times the mean.

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


def begin(pace: float, prior: float, level: float, first: Day) -> Run:
    """Begin with a bin of unknown history: groups of every age about an uncertain level.

    It may have been full or empty, which is a doubt of its own: an empty start says nothing about the
    flies to come.

    Args:
        pace: Development, in units of the mixed diet's. [1]
        prior: Log of how likely that is.
        level: Log of a guess of the effective recruits a day.
        first: The first day to come: the days before are taken to be like it.
    """
    unsure, clutch = value("level_spread"), value("clutch_spread")
    cov = [[unsure * unsure, 0.0], [0.0, clutch * clutch]]
    run = Run(pace, prior, mean=[level, numeric.log(value("recruits_per_clutch"))], cov=cov)
    width, oldest = value("box_width"), value("oldest")
    days = width / max(first.step * pace, LEAST)
    start, apart = 0.0, _UNKNOWN_DAYS
    while start + width < oldest:
        run.clock = start
        _open(run, apart)
        run.held[-1], run.weight[-1], run.born[-1] = days, days * first.gate, start + width / 2.0
        start, apart = start + width, days
    common = value("stock_spread") * value("stock_spread")
    for row in run.cov[_GROUPS:]:
        row[_GROUPS:] = [shared + common for shared in row[_GROUPS:]]
    run.clock = oldest
    _open(run, _UNKNOWN_DAYS)
    return run


def _open(run: Run, days: float) -> None:
    """Open a new group: its log recruits follow from the last group's, `days` later."""
    keep = numeric.exp(-days / value("recruit_memory")) if run.born else 0.0
    spread = value("recruit_spread")
    fresh = spread * spread * (1.0 - keep * keep)
    rest, last = 1.0 - keep, len(run.mean) - 1 if run.born else 0
    row = [rest * level + keep * before for level, before in zip(run.cov[0], run.cov[last], strict=True)]
    variance = rest * row[0] + keep * row[last] + fresh
    run.mean.append(rest * run.mean[0] + keep * run.mean[last])
    for held, shared in zip(run.cov, row, strict=True):
        held.append(shared)
    row.append(variance)
    run.cov.append(row)
    run.held.append(0.0)
    run.weight.append(0.0)
    run.born.append(run.clock)
    run.opened = run.clock
    run.since = 0


def advance(run: Run, day: Day) -> None:
    """Let a day pass: eggs are laid and the clock runs; a new group opens when the last is full."""
    before = run.clock
    if before - run.opened >= value("box_width"):
        _open(run, float(run.since))
    run.clock = before + day.step * run.pace
    run.since += 1
    run.held[-1] += 1.0
    total = run.weight[-1] + day.gate
    if total > 0.0:
        middle = (before + run.clock) / 2.0
        run.born[-1] += (middle - run.born[-1]) * day.gate / total
    run.weight[-1] = total


def forget(run: Run, since: float) -> None:
    """Let go of the groups that had all left by a physiological date."""
    while len(run.born) > 1 and gone(since - run.born[0]) >= 1.0:
        del run.held[0], run.weight[0], run.born[0], run.mean[_GROUPS], run.cov[_GROUPS]
        for row in run.cov:
            del row[_GROUPS]


def leaving(run: Run, since: float, each: Sequence[float] | None = None) -> tuple[list[float], float]:
    """Give the expected number leaving from each group since a physiological date, and their sum.

    `each` are the groups' recruits a day, from `daily`, where they are known already.
    """
    clock, table = run.clock, _gone_table()
    last = len(table) - 1
    parts = []
    for weight, born, recruited in zip(run.weight, run.born, each or daily(run), strict=True):
        # As `gone` of both ages, without the calls: an outlook asks for hundreds.
        place = (clock - born) * _FINE
        earlier = (since - born) * _FINE
        if place <= 0.0 or earlier >= last:
            parts.append(0.0)
            continue
        now, step = 1.0, int(place)
        if step < last:
            here = table[step]
            now = here + (place - step) * (table[step + 1] - here)
        if earlier > 0.0:
            step = int(earlier)
            here = table[step]
            now -= here + (earlier - step) * (table[step + 1] - here)
        parts.append(weight * now * recruited)
    return parts, fsum(parts)


def daily(run: Run, known: Sequence[float] = ()) -> list[float]:
    """Give the expected recruits a day of each group, the first of which are known already. [1/d]"""
    return [*known, *map(numeric.exp, run.mean[_GROUPS + len(known) :])]


def inside(run: Run) -> list[float]:
    """Give the expected number of each group still inside."""
    return [
        weight * (1.0 - gone(run.clock - born)) * numeric.exp(mean)
        for weight, born, mean in zip(run.weight, run.born, run.mean[_GROUPS:], strict=True)
    ]


def covariances(run: Run, parts: Sequence[float], total: float) -> list[float]:
    """Give P·h, every unknown's covariance with the log of a sum of groups; h is each group's share."""
    begins, shares = _shares(parts, total)
    return [fsum(map(mul, shares, row[begins:])) for row in run.cov]


def doubt(run: Run, parts: Sequence[float], total: float) -> tuple[float, float]:
    """Give the variance h'·P·h of the log of a sum of groups, and that log's lift above the plain one.

    The log of a sum of unsure things is, on the whole, greater than the log of the sum of their middles:
    by half of what the groups' own variances exceed the sum's.
    """
    begins, shares = _shares(parts, total)
    ends = begins + len(shares)
    rows = [fsum(map(mul, shares, row[begins:ends])) for row in run.cov[begins:ends]]
    variance = fsum(map(mul, shares, rows))
    own = fsum(share * run.cov[at][at] for at, share in enumerate(shares, begins))
    return variance, (own - variance) / 2.0


def _shares(parts: Sequence[float], total: float) -> tuple[int, list[float]]:
    """Give the place among the unknowns of the first group that has a part in a sum, and the shares."""
    some = [at for at, part in enumerate(parts) if part > 0.0]
    first, last = some[0], some[-1]
    return first + _GROUPS, [part / total for part in parts[first : last + 1]]


def season_doubt(run: Run, parts: Sequence[float], total: float) -> float:
    """Give the variance, on the log scale, for not knowing how far the season's edge let flies lay."""
    pairs = zip(parts, run.weight, run.held, strict=True)
    shut = fsum(part * (1.0 - weight / held) for part, weight, held in pairs if part > 0.0) / total
    spread = value("season_spread") * shut
    return spread * spread


def learn(run: Run, since: float, count: float, dispersion: float) -> float:
    """Take in the count of what left since a physiological date.

    Args:
        run: The estimate, changed in place.
        since: Physiological date of the count before.
        count: Larvae found. [1]
        dispersion: Relative variance of such a count beyond chance. [1]

    Returns:
        How much more than doubt and chance the count was off, relative and squared. [1]
    """
    parts, total = leaving(run, since)
    if total < LEAST:
        return dispersion
    unsure, lift = doubt(run, parts, total)
    expected = total * numeric.exp(lift + unsure / 2.0)
    run.evidence = run.evidence * value("pace_forget") + _log_chance(count, expected, dispersion + unsure)
    _move(run, covariances(run, parts, total), unsure, expected, count, 1.0 + dispersion * expected)
    apart = count - expected
    unexplained = (apart * apart - expected) / (expected * expected) - unsure
    return min(max(unexplained, 0.0), value("surprise_cap"))


def learn_eggs(run: Run, clutches: float) -> None:
    """Take in the clutches seen: those of the groups young enough to be eggs still.

    Looking twice at the same eggs tells little more than once: a look counts by how much of the egg's
    time has passed since the one before.
    """
    young, width = egg_share(), value("box_width")
    parts = []
    for weight, born, mean in zip(run.weight, run.born, run.mean[_GROUPS:], strict=True):
        share = min(max((young - (run.clock - born)) / width + 0.5, 0.0), 1.0)
        parts.append(weight * share * numeric.exp(mean) if share > 0.0 else 0.0)
    fresh = min((run.clock - run.looked) / young, 1.0)
    run.looked = run.clock
    total = fsum(parts)
    if total < LEAST or fresh <= 0.0:
        return
    (unsure, lift), along = doubt(run, parts, total), covariances(run, parts, total)
    unsure += run.cov[_CLUTCH][_CLUTCH] - 2.0 * along[_CLUTCH]
    along = [one - row[_CLUTCH] for one, row in zip(along, run.cov, strict=True)]
    expected = total * numeric.exp(lift + unsure / 2.0 - run.mean[_CLUTCH])
    _move(run, along, unsure, expected, clutches, (1.0 + value("clutch_dispersion") * expected) / fresh)


def _move(
    run: Run, spread: Sequence[float], unsure: float, expected: float, count: float, chance: float
) -> None:
    """Move the estimate by a count: gamma-conjugate on the expected number, linear on the logs behind it."""
    unsure = max(unsure, LEAST * LEAST)
    shape = 1.0 / unsure
    after = shape + count / chance
    moved = numeric.log(after / (shape + expected / chance)) + (unsure - 1.0 / after) / 2.0
    gain, shrink = moved / unsure, (1.0 - shape / after) / unsure
    run.mean = [mean + gain * part for mean, part in zip(run.mean, spread, strict=True)]
    run.cov = [
        [held - shrink * one * other for held, other in zip(row, spread, strict=True)]
        for row, one in zip(run.cov, spread, strict=True)
    ]


@cache
def egg_share() -> float:
    """Give the share of the way from egg to grown larva that is passed as an egg. [1]"""
    at_c = value("anchor_temperature")
    egg, larva = (1.0 / soldierfly.development_rate(stage, at_c) for stage in ("egg", "larva"))
    return egg / (egg + larva)


def _log_chance(count: float, mean: float, dispersion: float) -> float:
    """Give the log of a count's negative binomial probability, less what is the same for all means."""
    size = 1.0 / dispersion
    return (
        numeric.log_gamma(count + size)
        - numeric.log_gamma(size)
        + count * numeric.log(mean / (mean + size))
        - size * numeric.log1p(mean * dispersion)
    )
