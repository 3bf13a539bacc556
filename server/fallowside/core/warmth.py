"""Temperature of a bed or bin on each day, from the readings around it and what is usual there.

A bed's temperature is taken as a usual one (the place's monthly air normals, or a wide default, plus
a lead learned from the readings) with an Ornstein-Uhlenbeck deviation that is pinned where somebody
read a thermometer. Between two readings both pull; after the last one its pull fades with time, and
the spread grows back to what it is with no reading at all. A day between two readings depends on
nothing that happens after the second, so a later entry leaves it as it was.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cache, lru_cache
from math import sqrt

from fallowside.core import sources
from fallowside.core.numeric import exp

DayReading = tuple[int, float]
"""A local day (proleptic ordinal) and the mean of what was read on it. [degC]"""

_LEAP_YEAR = 2000
_REMEMBERED = 4096
"""Days of some years, asked for again at every look."""
_MID_MONTH = 15


@dataclass(frozen=True, slots=True)
class Warmth:
    """Temperatures of consecutive days.

    Attributes:
        first_day: Local day of the first value, a proleptic ordinal.
        mean_c: Best figure of each day. [degC]
        spread_c: Standard deviation of each day's figure. [K]
    """

    first_day: int
    mean_c: tuple[float, ...]
    spread_c: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Habit:
    """What is usual for a vessel before anyone measured it.

    Attributes:
        usual_c: Its temperature where not even the air is known. [degC]
        over_air_c: Its lead over the air's mean. [K]
        over_air_spread_c: Standard deviation of that lead between vessels. [K]
    """

    usual_c: float = sources.value("worms.bed_usual")
    over_air_c: float = sources.value("worms.bed_over_air")
    over_air_spread_c: float = sources.value("worms.bed_over_air_spread")


def daily(readings: Sequence[tuple[int, float]]) -> list[DayReading]:
    """Take the mean of each day's readings, in order of days.

    >>> daily([(5, 20.0), (3, 18.0), (5, 22.0)])
    [(3, 18.0), (5, 21.0)]
    """
    by_day: dict[int, list[float]] = {}
    for day, value in readings:
        by_day.setdefault(day, []).append(value)
    means = []
    for day in sorted(by_day):
        total = 0.0
        for value in by_day[day]:
            total += value
        means.append((day, total / len(by_day[day])))
    return means


def between(
    readings: Sequence[DayReading],
    first_day: int,
    last_day: int,
    *,
    air: Sequence[DayReading] = (),
    normals: tuple[float, ...] | None = None,
    habit: Habit | None = None,
) -> Warmth:
    """Give a vessel's temperature with its spread on each day of a period.

    Ornstein-Uhlenbeck bridge (Gaussian process with exponential covariance) about the usual
    temperature; outside the readings it widens with distance and never exceeds the spread that
    holds with no reading. No day is warmer or colder than what
    was read or usual until then, the next reading included.

    Args:
        readings: Mean bed temperature of the days with readings, in order. [degC]
        first_day: First day wanted, a proleptic ordinal.
        last_day: Last day wanted.
        air: Mean air temperature of the days on which it was logged, in order. [degC]
        normals: Twelve monthly normals of the air, January first, or None. [degC]
        habit: What is usual for the vessel before anyone measured it.

    Returns:
        Mean and standard deviation for each day from `first_day` to `last_day`.

    Source: bridge formulas are those of Gaussian process regression with an exponential covariance;
    the figures are common practice, no source (`worms.bed_*`).

    >>> found = between([(10, 24.0)], 10, 40)
    >>> found.mean_c[0] > found.mean_c[30], found.spread_c[0] < found.spread_c[5] < found.spread_c[30]
    (True, True)
    """
    return Kept().between(readings, first_day, last_day, air=air, normals=normals, habit=habit)


class Kept:
    """A vessel's temperatures as they were last drawn: with later readings they are drawn on from there.

    A day before the last reading but one depends on none after it.
    """

    def __init__(self) -> None:
        self._under: tuple[object, ...] = ()
        self._read: list[DayReading] = []
        self._walk: _Walk | None = None
        self._given: tuple[tuple[object, ...], Warmth] | None = None

    def between(
        self,
        readings: Sequence[DayReading],
        first_day: int,
        last_day: int,
        *,
        air: Sequence[DayReading] = (),
        normals: tuple[float, ...] | None = None,
        habit: Habit | None = None,
    ) -> Warmth:
        """Give what `between` gives."""
        habit = habit or Habit()
        under = first_day, list(air), normals, habit, readings[0][0] if readings and air else None
        asked = under, last_day, list(readings)
        if self._given is not None and self._given[0] == asked:
            return self._given[1]
        read, walk = self._read, self._walk
        leads = list(readings[: len(read)]) == read and (len(readings) > len(read) or not read)
        # Days that were gone through end before the last one, of then and of now.
        within = walk is not None and walk.day <= min(walk.last_day, last_day)
        if walk is None or self._under != under or not leads or not within:
            self._under, self._read, read = under, [], []
            walk = None
        if walk is None or walk.last_day != last_day:
            usual = _usual(first_day, last_day, readings, air, normals, habit)
            walk = walk.until(usual, last_day) if walk else _Walk.begin(usual, first_day, last_day, habit)
            self._walk = walk
        for reading in readings[len(read) : -1]:
            walk.meet(reading)
        self._read = list(readings[:-1])
        ahead = walk.copy()
        if readings:
            ahead.meet(readings[-1])
        ahead.pass_days(None)
        warm = Warmth(first_day, tuple(ahead.means), tuple(ahead.spreads))
        self._given = asked, warm
        return warm


@dataclass(slots=True)
class _Walk:
    """Days gone through so far, and what the readings met on the way taught."""

    usual: "_Usual"
    last_day: int
    spread: float
    drift: float
    lead: float
    lead_var: float
    coldest: float
    hottest: float
    pinned: float
    day: int
    before: DayReading | None = None
    """The last reading met, as a deviation from the usual."""
    means: list[float] = field(default_factory=list)
    spreads: list[float] = field(default_factory=list)

    @classmethod
    def begin(cls, usual: "_Usual", first_day: int, last_day: int, habit: Habit) -> "_Walk":
        spread = _SPREAD_NORMALS if usual.known else _SPREAD_UNKNOWN
        drift = _DRIFT_NORMALS if usual.known else _DRIFT_UNKNOWN
        lead_var = habit.over_air_spread_c * habit.over_air_spread_c if usual.known else spread * spread
        here = usual.on(first_day)
        return cls(usual, last_day, spread, drift, 0.0, lead_var, here, here, here, first_day)

    def until(self, usual: "_Usual", last_day: int) -> "_Walk":
        """Give the same walk with another end to come, and what is usual until then."""
        return replace(self, usual=usual, last_day=last_day)

    def copy(self) -> "_Walk":
        return replace(self, means=self.means[:], spreads=self.spreads[:])

    def meet(self, reading: DayReading) -> None:
        """Learn from the next reading, and go through the days before it."""
        (read_day, value), before = reading, self.before
        base = self.usual.on(read_day)
        gap = read_day - before[0] if before else _NEVER
        fade = _fade(gap)
        self.lead_var += self.drift * self.drift * min(gap, _YEAR)
        expected = self.lead + fade * (before[1] - self.lead) if before else self.lead
        noise = self.spread * self.spread * (1.0 - fade * fade) + _THERMOMETER * _THERMOMETER
        new = max(1.0 - fade, _SLIGHT)
        gain = self.lead_var / (self.lead_var + noise / (new * new))
        self.lead += gain * (value - base - expected) / new
        self.lead_var *= 1.0 - gain
        self.coldest, self.hottest = min(self.coldest, value), max(self.hottest, value)
        after = read_day, value - base
        self.pass_days(after)
        self.before, self.pinned = after, value

    def pass_days(self, after: DayReading | None) -> None:
        """Go through the days until the next reading, or to the last day."""
        before, lead, variance = self.before, self.lead, self.spread * self.spread
        coldest, hottest, lead_var = self.coldest, self.hottest, self.lead_var
        noise = _THERMOMETER * _THERMOMETER
        begin, end = self.day, self.last_day + 1 if after is None else min(after[0], self.last_day + 1)
        means, spreads = self.means, self.spreads
        if before is not None and before[0] == begin < end:
            here = self.usual.on(begin)
            coldest, hottest = min(coldest, here), max(hottest, here)
            means.append(self.pinned)
            spreads.append(sqrt(noise))
            begin += 1
        # After the last reading a whole year is to come: what each of its days needs is worked out here.
        alone = before[0] if before is not None and after is None else None
        off = before[1] - lead if before is not None else 0.0
        for day, here in zip(range(begin, end), self.usual.days(begin, end), strict=True):
            if alone is None:
                mean, var = _bridge(day, before, after, lead, variance)
            else:
                gap = day - alone
                left = _FADES[gap] if gap < _YEAR else 0.0
                mean, var = lead + left * off, variance * (1.0 - left * left)
            if here < coldest:
                coldest = here
            elif here > hottest:
                hottest = here
            mean += here
            means.append(coldest if mean < coldest else hottest if mean > hottest else mean)
            share = var / variance
            spreads.append(sqrt(var + share * share * lead_var + noise))
        self.day, self.coldest, self.hottest = max(self.day, end), coldest, hottest


def _bridge(
    day: int,
    before: tuple[int, float] | None,
    after: tuple[int, float] | None,
    lead: float,
    variance: float,
) -> tuple[float, float]:
    """Give mean and variance of the deviation on a day between two pinned ones (either may lack)."""
    if before and before[0] == day:
        return before[1], 0.0
    if before and not after:
        left = _fade(day - before[0])
        return lead + left * (before[1] - lead), variance * (1.0 - left * left)
    left = _fade(day - before[0]) if before else 0.0
    right = _fade(after[0] - day) if after else 0.0
    joint = left * right
    scale = 1.0 - joint * joint
    pull_left = left * (1.0 - right * right) / scale
    pull_right = right * (1.0 - left * left) / scale
    mean = lead
    if before:
        mean += pull_left * (before[1] - lead)
    if after:
        mean += pull_right * (after[1] - lead)
    return mean, variance * (1.0 - left * left) * (1.0 - right * right) / scale


@dataclass(frozen=True, slots=True)
class _Usual:
    known: bool
    first_day: int
    values: tuple[float, ...]
    edge: tuple[float, ...]

    def days(self, begin: int, end: int) -> Sequence[float]:
        """Give it on each day from one until before another."""
        at = begin - self.first_day
        if at >= 0 and end - self.first_day <= len(self.values):
            return self.values[at : at + end - begin]
        if self.values:
            return [self.on(day) for day in range(begin, end)]
        made: list[float] = []
        while begin < end:
            # To the end of its calendar year in one slice.
            new_year = date(date.fromordinal(begin).year + 1, 1, 1).toordinal()
            at, until = _day_of_year(begin), min(new_year, end)
            made += self.edge[at : at + until - begin]
            begin = until
        return made

    def on(self, day: int) -> float:
        at = day - self.first_day
        if 0 <= at < len(self.values):
            return self.values[at]
        return self.edge[_day_of_year(day)]


def _usual(
    first_day: int,
    last_day: int,
    readings: Sequence[DayReading],
    air: Sequence[DayReading],
    normals: tuple[float, ...] | None,
    habit: Habit,
) -> _Usual:
    """Give the usual temperature of each day: air normals bent towards logged air, plus the lead."""
    if normals is None and not air:
        flat = (habit.usual_c,) * _YEAR
        return _Usual(False, first_day, (), flat)
    if normals is None:
        total = 0.0
        for _, value in air:
            total += value
        year = (total / len(air),) * _YEAR
    else:
        year = _normal_year(normals)
    edge = tuple(value + habit.over_air_c for value in year)
    if not air:
        return _Usual(True, first_day, (), edge)
    start = min(first_day, readings[0][0] if readings else first_day)
    trust = _SPREAD_NORMALS * _SPREAD_NORMALS
    trust /= trust + _AIR * _AIR
    values = []
    at = 0
    for day in range(start, last_day + 1):
        while at < len(air) and air[at][0] < day:
            at += 1
        after = (air[at][0], air[at][1] - year[_day_of_year(air[at][0])]) if at < len(air) else None
        before = (air[at - 1][0], air[at - 1][1] - year[_day_of_year(air[at - 1][0])]) if at else None
        mean, _ = _bridge(day, before, after, 0.0, 1.0)
        values.append(edge[_day_of_year(day)] + trust * mean)
    return _Usual(normals is not None or bool(air), start, tuple(values), edge)


@cache
def _normal_year(normals: tuple[float, ...]) -> tuple[float, ...]:
    """Draw straight lines between mid-months through a leap year of 366 days."""
    middles = [date(_LEAP_YEAR, month, _MID_MONTH).timetuple().tm_yday - 1 for month in range(1, 13)]
    middles = [middles[-1] - _YEAR, *middles, middles[0] + _YEAR]
    levels = [normals[-1], *normals, normals[0]]
    year = []
    at = 0
    for day in range(_YEAR):
        while middles[at + 1] <= day:
            at += 1
        part = (day - middles[at]) / (middles[at + 1] - middles[at])
        year.append(levels[at] + part * (levels[at + 1] - levels[at]))
    return tuple(year)


@lru_cache(maxsize=_REMEMBERED)
def _day_of_year(day: int) -> int:
    return date.fromordinal(day).timetuple().tm_yday - 1


def _fade(days: int) -> float:
    return _FADES[days] if days < len(_FADES) else 0.0


_YEAR = 366
_NEVER = 100_000
_SLIGHT = 0.05
_SPREAD_NORMALS = sources.value("worms.bed_spread_normals")
_SPREAD_UNKNOWN = sources.value("worms.bed_spread_unknown")
_DRIFT_NORMALS = sources.value("worms.bed_drift_normals")
_DRIFT_UNKNOWN = sources.value("worms.bed_drift_unknown")
_THERMOMETER = sources.value("worms.thermometer_spread")
_AIR = sources.value("worms.air_spread")
_FADES = tuple(exp(-days / sources.value("worms.bed_memory")) for days in range(_YEAR))
