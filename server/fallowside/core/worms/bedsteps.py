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


OneSide = tuple[float, float, float]
"""Work, rot and crossing of one side."""


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


Held = tuple[float, float, float, float, float]
"""What one side of a `Bed` holds, in the order of its fields."""


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
    path: Warmth, at: int, wet: float, lengths: Iterable[int]
) -> Iterator[tuple[float, OneSide, OneSide, OneSide]]:
    """Cut one side's days from one on into steps of given lengths, each under the warmth of its middle day.

    Gives the days of each, its conditions, and their slopes for draws that are warmer and colder.
    """
    for length in lengths:
        middle = at + length // 2
        mean, shift = path.mean_c[middle], _OFFSET * _LASTING * path.spread_c[middle]
        colder, mid, warmer = (
            (one.work * wet, one.rot, one.crossing)
            for one in (wormbed.conditions(mean + off, None) for off in (-shift, 0.0, shift))
        )
        yield float(length), mid, _slope(mid, warmer), _slope(colder, mid)
        at += length


def _slope(low: OneSide, high: OneSide) -> OneSide:
    (a, b, c), (d, e, f) = low, high
    return (d - a) / _OFFSET, (e - b) / _OFFSET, (f - c) / _OFFSET


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
    # All in one body, with what the sides hold in plain names: many draws go this way.
    rates, warmth, rest = guess.rates, guess.warmth, 1 - fed
    model, migration = pace(rates, area_m2), rates.migration_days
    scraps, castings, worms, _, shrunk = _on(start, fed)
    old_scraps, old_castings, left, staying, old_shrunk = _on(start, rest)
    seen: list[Bed] = []
    for days, (mid, warmer, colder), survival, inflow, restarts, acts, told in made:
        if days:
            slope = warmer if warmth > 0.0 else colder
            crossing = mid[4 + rest] + warmth * slope[4 + rest]
            leaves = 1.0 - decayed(0.5 * days * (crossing if crossing > 0.0 else 0.0) / migration)
            crossed = (left - staying) * leaves
            worms, left = worms + crossed, left - crossed
            if restarts[fed]:
                shrunk = 0.0
            if restarts[rest]:
                old_shrunk = 0.0
            if scraps + inflow[fed] + castings + worms > 0.0:
                work, rot = mid[fed] + warmth * slope[fed], mid[2 + fed] + warmth * slope[2 + fed]
                scraps, castings, grown, rate = digest(
                    scraps,
                    castings,
                    worms,
                    inflow[fed],
                    (work if work > 0.0 else 0.0) * days,
                    (rot if rot > 0.0 else 0.0) * days,
                    model,
                )
                worms *= grown * survival[fed]
                shrunk += rate
            if old_scraps + inflow[rest] + old_castings + left > 0.0:
                work, rot = mid[rest] + warmth * slope[rest], mid[2 + rest] + warmth * slope[2 + rest]
                old_scraps, old_castings, grown, rate = digest(
                    old_scraps,
                    old_castings,
                    left,
                    inflow[rest],
                    (work if work > 0.0 else 0.0) * days,
                    (rot if rot > 0.0 else 0.0) * days,
                    model,
                )
                grown *= survival[rest]
                left *= grown
                staying *= grown
                old_shrunk += rate
            crossed = (left - staying) * leaves
            worms, left = worms + crossed, left - crossed
        if told or acts:
            bed = _bed(
                fed,
                (scraps, castings, worms, 0.0, shrunk),
                (old_scraps, old_castings, left, staying, old_shrunk),
            )
            if told:
                seen.append(bed)
            for act in acts:
                bed = _done(act, fed, bed, rates)
                fed = act.side if act.what == "switch" else fed
            if acts:
                rest = 1 - fed
                scraps, castings, worms, _, shrunk = _on(bed, fed)
                old_scraps, old_castings, left, staying, old_shrunk = _on(bed, rest)
    return seen, _bed(
        fed, (scraps, castings, worms, 0.0, shrunk), (old_scraps, old_castings, left, staying, old_shrunk)
    )


def _on(bed: Bed, side: int) -> Held:
    one, two, three, four, five = bed
    return one[side], two[side], three[side], four[side], five[side]


def _bed(fed: int, on: Held, off: Held) -> Bed:
    """Put both sides together, given as the one fed and the other."""
    (a, b, c, d, e), (f, g, h, i, j) = (off, on) if fed else (on, off)
    return Bed((a, f), (b, g), (c, h), (d, i), (e, j))


def _done(act: Act, fed: int, bed: Bed, rates: Rates) -> Bed:
    """Do one act of a log under one draw."""
    side = act.side
    if act.what == "switch":
        return bed._replace(staying=_with((0.0, 0.0), 1 - side, rates.stayers * bed.worms[1 - side]))
    scraps, castings = bed.scraps[side], bed.castings[side]
    if act.what == "feed":
        return bed._replace(scraps=_with(bed.scraps, side, scraps + act.dry_kg))
    if act.what == "harvest" and side != fed:
        return Bed(
            _with(bed.scraps, side, 0.0),
            _with(bed.castings, side, 0.0),
            _with(bed.worms, side, 0.0),
            _with(bed.staying, side, 0.0),
            bed.shrunk,
        )
    dry = scraps + castings
    if dry <= 0.0:
        return bed
    kept = max(1.0 - act.dry_kg / dry, 0.0)
    return bed._replace(
        scraps=_with(bed.scraps, side, scraps * kept), castings=_with(bed.castings, side, castings * kept)
    )


def _with(both: tuple[float, float], side: int, one: float) -> tuple[float, float]:
    return (both[FIRST], one) if side else (one, both[SECOND])


def told(made: Sequence[Step]) -> list[tuple[Sight, ...]]:
    """Give the sights of each step that ends with some."""
    return [step.sights for step in made if step.sights]


def expected(
    guess: Guess, seen: Sequence[Bed], told: Sequence[tuple[Sight, ...]], area_m2: float
) -> list[float]:
    """Give what a draw expects where something was seen, in the order of the sights.

    Log odds of a worm coming from the first side, share left, or logarithm of depth or dry mass.
    """
    eye, found = guess.eye, []
    for bed, sights_ in zip(seen, told, strict=True):
        for sight in sights_:
            if sight.what == "leftover":
                found.append(exp(-eye * bed.shrunk[sight.side]))
            else:
                found.append(_measured(sight, guess, bed, area_m2))
    return found


def _measured(sight: Sight, guess: Guess, bed: Bed, area_m2: float) -> float:
    side = sight.side
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
