"""A bed's days cut into steps of a few days, so that many draws of its unknowns can be run cheaply.

A step holds what all draws share: average conditions (at the expected warmth and, for draws that are
warmer or colder, their slope), what was fed, and at its end what was done and seen.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from fallowside.core import rotation, sources, wormbed
from fallowside.core.numeric import exp
from fallowside.core.numeric import log as ln
from fallowside.core.warmth import Warmth
from fallowside.core.wormbed import Rates, decayed, digest, pace
from fallowside.core.worms.bedlog import FIRST, SECOND, Act, Log, between
from fallowside.core.worms.bedpast import Past
from fallowside.core.worms.bedsights import Sight, sights

LONGEST_STEP = 4
_OFFSET = 1.5
"""Warmths at which a step's conditions are worked out: this many standard deviations off."""


class Climate(NamedTuple):
    """Work, rot and crossing of either side: (work, work, rot, rot, crossing, crossing)."""

    mid: tuple[float, float, float, float, float, float]
    warmer: tuple[float, float, float, float, float, float]
    colder: tuple[float, float, float, float, float, float]


class Step(NamedTuple):
    """A few days without anything done but feeding; then acts and sights at its end."""

    days: float
    climate: Climate
    survival: tuple[float, float]
    inflow: tuple[float, float]
    restarts: tuple[bool, bool]
    acts: tuple[Act, ...]
    sights: tuple[Sight, ...]


class Bed(NamedTuple):
    """Both sides under one draw, without water and nitrogen. [kg].

    `shrunk` is the exponent by which the last feed of each side has shrunk since.
    """

    scraps: tuple[float, float]
    castings: tuple[float, float]
    worms: tuple[float, float]
    staying: tuple[float, float]
    shrunk: tuple[float, float] = (0.0, 0.0)


class Guess(NamedTuple):
    """What one draw takes a bed to be.

    Attributes:
        rates: Parameters of the model.
        warmth: How much warmer than expected it is, in standard deviations.
        eye: How many times faster than their dry matter scraps vanish to the eye.
        scraps_density: Dry matter in a litre of scraps. [kg/L]
        castings_density: Dry matter in a litre of castings. [kg/L]
    """

    rates: Rates
    warmth: float
    eye: float
    scraps_density: float
    castings_density: float

    def depth_m(self, scraps_kg: float, castings_kg: float, area_m2: float) -> float:
        """Give the depth of a side from its dry matter. [m]."""
        litres = scraps_kg / self.scraps_density + castings_kg / self.castings_density
        return litres / (1000.0 * area_m2)


# -- cutting days into steps ---------------------------------------------------------------------


def past_steps(
    past: Past, log: Log, warm: Sequence[Warmth], first_day: int, seen_from: int, last_day: int
) -> list[Step]:
    """Cut the days from `first_day` to `last_day` into steps that end where something was done or seen.

    What was seen before `seen_from` is left out: it has been learned from already.
    """
    acts: dict[int, list[Act]] = {}
    feeds: dict[int, list[float]] = {}
    restarts: dict[int, list[bool]] = {}
    last_feed = [first_day, first_day]
    for act in between(log, first_day, last_day + 1):
        if act.what == "feed":
            feeds.setdefault(act.day, [0.0, 0.0])[act.side] += act.dry_kg
            last_feed[act.side] = act.day
        elif act.what in _DEEDS or (act.what in _SEEN and act.day >= seen_from):
            acts.setdefault(act.day, []).append(act)
            if act.what == "leftover":
                restarts.setdefault(last_feed[act.side], [False, False])[act.side] = True
    for side in (FIRST, SECOND):
        restarts.setdefault(last_feed[side], [False, False])[side] = True
    counts = {count.day: count for count in log.counts if count.paired and seen_from <= count.day <= last_day}
    clumping = _clumping(log)
    seen = sights(acts.get(first_day, []), counts.get(first_day), clumping)
    made = [_step(past, log, warm, range(0), acts.get(first_day, []), seen if seen_from <= first_day else ())]
    day = first_day
    while day < last_day:
        end = day + 1
        while end < min(last_day, day + LONGEST_STEP) and not (
            end in acts or end in counts or end in restarts
        ):
            end += 1
        one = two = 0.0
        for at in range(day, end):
            if at in feeds:
                one += feeds[at][FIRST]
                two += feeds[at][SECOND]
        restart = restarts.get(day, (False, False))
        seen = sights(acts.get(end, []), counts.get(end), clumping) if end >= seen_from else ()
        step = _step(past, log, warm, range(day, end), acts.get(end, []), seen)
        made.append(step._replace(inflow=(one, two), restarts=(restart[FIRST], restart[SECOND])))
        day = end
    return made


def today_step(past: Past, log: Log) -> Step:
    """Give what was done and seen today so far, in its order, as a step of no days."""
    acts = between(log, past.day, past.day + 1)
    count = next((one for one in reversed(log.counts) if one.paired and one.day == past.day), None)
    seen = sights(acts, count, _clumping(log))
    done = tuple(act for act in acts if act.what in _DEEDS or act.what == "feed")
    return Step(0.0, _NO_CLIMATE, (1.0, 1.0), (0.0, 0.0), (False, False), done, seen)


def ahead_steps(
    past: Past, log: Log, warm: Sequence[Warmth], wet: tuple[float, float], lengths: Iterable[int]
) -> Iterator[Step]:
    """Cut the coming days into steps of given lengths, each under the warmth of its middle day."""
    day = past.day
    for length in lengths:
        middle = day + length // 2 - log.first_day
        climate = _climate([(warm, middle, wet)])
        yield Step(float(length), climate, (1.0, 1.0), (0.0, 0.0), (False, False), (), ())
        day += length


def _clumping(log: Log) -> float:
    return rotation.clumping([scoops for count in log.counts for scoops in count.counts])


def _step(
    past: Past,
    log: Log,
    warm: Sequence[Warmth],
    span: range,
    acts: list[Act],
    seen: tuple[Sight, ...],
) -> Step:
    survival = [1.0, 1.0]
    for day in span:
        for side, today in enumerate(past.before[day - log.first_day].conditions):
            survival[side] *= today.half_survival * today.half_survival
    days = [(warm, day - log.first_day, past.before[day - log.first_day].wet) for day in span]
    return Step(
        float(len(span)),
        _climate(days) if days else _NO_CLIMATE,
        (survival[FIRST], survival[SECOND]),
        (0.0, 0.0),
        (False, False),
        tuple(act for act in acts if act.what in _DEEDS),
        seen,
    )


def _climate(days: Sequence[tuple[Sequence[Warmth], int, tuple[float, float]]]) -> Climate:
    means = []
    for offset in (-_OFFSET, 0.0, _OFFSET):
        total = [0.0] * 6
        for warm, at, wet in days:
            for side in (FIRST, SECOND):
                path = warm[side]
                shift = offset * _LASTING * path.spread_c[at]
                today = wormbed.conditions(path.mean_c[at] + shift, None)
                total[side] += today.work * wet[side]
                total[2 + side] += today.rot
                total[4 + side] += today.crossing
        means.append([one / len(days) for one in total])
    colder, mid, warmer = means
    return Climate(
        _six(mid),
        _six([(up - one) / _OFFSET for up, one in zip(warmer, mid, strict=True)]),
        _six([(one - down) / _OFFSET for down, one in zip(colder, mid, strict=True)]),
    )


def _six(values: Sequence[float]) -> tuple[float, float, float, float, float, float]:
    one, two, three, four, five, six = values
    return one, two, three, four, five, six


def under(climate: Climate, warmth: float) -> tuple[float, float, float, float, float, float]:
    """Give a step's conditions for a draw that is so many standard deviations warmer; none below 0."""
    one, two, three, four, five, six = climate.mid
    by, bz, bu, bv, bw, bx = climate.warmer if warmth > 0.0 else climate.colder
    one += warmth * by
    two += warmth * bz
    three += warmth * bu
    four += warmth * bv
    five += warmth * bw
    six += warmth * bx
    return (
        one if one > 0.0 else 0.0,
        two if two > 0.0 else 0.0,
        three if three > 0.0 else 0.0,
        four if four > 0.0 else 0.0,
        five if five > 0.0 else 0.0,
        six if six > 0.0 else 0.0,
    )


# -- one draw through the steps ------------------------------------------------------------------


def replay(guess: Guess, start: Bed, fed: int, made: Sequence[Step], area_m2: float) -> tuple[list[Bed], Bed]:
    """Run one draw through past steps.

    Args:
        guess: What the draw takes the bed to be.
        start: The bed on the first morning.
        fed: Side fed on the first morning.
        made: Steps.
        area_m2: Surface of one side. [m2]

    Returns:
        The bed at each step that ends with a sight, and the bed today. Eye and densities bear on none.
    """
    rates, warmth = guess.rates, guess.warmth
    scraps, castings = list(start.scraps), list(start.castings)
    worms, staying = list(start.worms), list(start.staying)
    shrunk = list(start.shrunk)
    model = pace(rates, area_m2)
    seen: list[Bed] = []
    for step in made:
        days = step.days
        if days:
            now = under(step.climate, warmth)
            resting = 1 - fed
            stay = decayed(0.5 * days * now[4 + resting] / rates.migration_days)
            crossed = (worms[resting] - staying[resting]) * (1.0 - stay)
            worms[resting] -= crossed
            worms[fed] += crossed
            for side in (FIRST, SECOND):
                if step.restarts[side]:
                    shrunk[side] = 0.0
                if scraps[side] + step.inflow[side] + castings[side] + worms[side] == 0.0:
                    continue
                scraps[side], castings[side], grown, rate = digest(
                    scraps[side],
                    castings[side],
                    worms[side],
                    step.inflow[side],
                    now[side] * days,
                    now[2 + side] * days,
                    model,
                )
                grown *= step.survival[side]
                worms[side] *= grown
                staying[side] *= grown
                shrunk[side] += rate
            crossed = (worms[resting] - staying[resting]) * (1.0 - stay)
            worms[resting] -= crossed
            worms[fed] += crossed
        if step.sights:
            seen.append(_bed(scraps, castings, worms, staying, shrunk))
        for act in step.acts:
            if act.what == "switch":
                fed = act.side
                staying[fed] = 0.0
                staying[1 - fed] = rates.stayers * worms[1 - fed]
            elif act.what == "feed":
                scraps[act.side] += act.dry_kg
            else:
                _take(act, fed, scraps, castings, worms, staying)
    return seen, _bed(scraps, castings, worms, staying, shrunk)


def _bed(
    scraps: Sequence[float],
    castings: Sequence[float],
    worms: Sequence[float],
    staying: Sequence[float],
    shrunk: Sequence[float],
) -> Bed:
    return Bed(
        (scraps[0], scraps[1]),
        (castings[0], castings[1]),
        (worms[0], worms[1]),
        (staying[0], staying[1]),
        (shrunk[0], shrunk[1]),
    )


def expected(guess: Guess, seen: Sequence[Bed], made: Sequence[Step], area_m2: float) -> list[float]:
    """Give what a draw expects where something was seen, in the order of the sights.

    Log odds of a worm coming from the first side, share left, or logarithm of depth or dry mass.
    """
    told = [step.sights for step in made if step.sights]
    return [
        _expected(sight, guess, bed, area_m2)
        for bed, sights_ in zip(seen, told, strict=True)
        for sight in sights_
    ]


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


def _expected(sight: Sight, guess: Guess, bed: Bed, area_m2: float) -> float:
    side = sight.side
    if sight.what == "leftover":
        return exp(-guess.eye * bed.shrunk[side])
    if sight.what == "depth":
        return ln(guess.depth_m(bed.scraps[side], bed.castings[side], area_m2) + _NO_DRY)
    if sight.what == "harvest":
        return ln(bed.scraps[side] + bed.castings[side] + _NO_DRY)
    densities = []
    for one in (FIRST, SECOND):
        depth = max(guess.depth_m(bed.scraps[one], bed.castings[one], area_m2), _SHALLOWEST)
        densities.append((bed.worms[one] + _NO_WORMS) * sight.values[2 + one] / depth)
    return ln(densities[FIRST] / densities[SECOND])


_SEEN = frozenset({"depth", "leftover"})
_DEEDS = frozenset({"switch", "harvest", "scrape"})
_NO_CLIMATE = Climate(_six([0.0] * 6), _six([0.0] * 6), _six([0.0] * 6))
_NO_WORMS = 1e-6
_NO_DRY = 1e-4
_LASTING = sources.value("worms.lasting_warmth")
_SHALLOWEST = sources.value("worms.shallowest")
