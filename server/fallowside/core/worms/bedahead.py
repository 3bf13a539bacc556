"""What comes next at a bed, draw by draw: worms moved, castings finished, the side full, the switch.

Each draw's bed is carried on with feeding as of late and the warmth to be expected; the days on which
it passes the marks, over all draws by weight, are the forecast. A day may be `inf`: not in a year.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import inf, sqrt

from fallowside.core import rotation, sources, wormbed
from fallowside.core.numeric import exp
from fallowside.core.numeric import log as ln
from fallowside.core.warmth import Warmth
from fallowside.core.wormbed import Rates, decayed, digest
from fallowside.core.worms.bedlog import FIRST, SECOND, Log, fed_since
from fallowside.core.worms.bedpast import Past
from fallowside.core.worms.bedsteps import Bed, Guess, OneSide, ahead_steps
from fallowside.core.worms.forecast import Belief, Draw

HORIZON_DAYS = 366
_LENGTHS = (*(2,) * 20, *(4,) * 20, *(6,) * 41)
"""Short steps first: near dates matter to the day, far ones do not."""


@dataclass(frozen=True, slots=True)
class Setting:
    """What all draws share about the coming days.

    Attributes:
        feed_kg: Dry scraps a day on the side fed. [kg/d]
        unsteady: Standard deviation of the logarithm of coming feeds over those.
        fed: The side fed today.
        resting: The side whose harvest comes next, or None while only the fed side holds anything.
        rested_days: Days the side not fed has rested.
        fed_days: Days the other side has been fed.
        depth_full_m: Depth at which a side is full. [m]
        moisture: Moisture factor of either side, half-way mended from today's.
        area_m2: Surface of one side. [m2]
    """

    feed_kg: float
    unsteady: float
    fed: int
    resting: int | None
    rested_days: int
    fed_days: int
    depth_full_m: float
    moisture: tuple[float, float]
    area_m2: float


@dataclass(frozen=True, slots=True)
class Dates:
    """Days from today for one draw, `inf` for 'not within a year'.

    Attributes:
        moved: Enough worms have left the side to be harvested next.
        finished: Its castings are finished.
        full: The side fed should rest.
        switch: It should, and the other side is ready.
        reason: What makes it due.
    """

    moved: float
    finished: float
    full: float
    switch: float
    reason: rotation.DueReason | None

    @property
    def harvest(self) -> float:
        """The later of `moved` and `finished`."""
        return max(self.moved, self.finished)


def setting(past: Past, log: Log) -> Setting:
    """Sum up what the log says about how the bed will be kept on."""
    resting = 1 - past.fed
    holds = past.sides[resting].dry_kg
    waits = past.harvested[resting] is None and holds > _HARDLY_ANYTHING
    moisture = []
    for side in (FIRST, SECOND):
        pct = past.sides[side].moisture_pct
        today = 1.0 if pct is None else wormbed.moisture_factor(pct)
        moisture.append(today + _MENDED * (1.0 - today))
    full = rotation.DEPTH_FULL_M if log.side_depth_m is None else min(rotation.DEPTH_FULL_M, log.side_depth_m)
    return Setting(
        feed_kg=_feeding(past, log),
        unsteady=_unsteady(past, log),
        fed=past.fed,
        resting=resting if waits else None,
        rested_days=past.day - past.since[resting],
        fed_days=past.day - past.since[past.fed],
        depth_full_m=full,
        moisture=(moisture[FIRST], moisture[SECOND]),
        area_m2=log.area_m2,
    )


def _feeding(past: Past, log: Log) -> float:
    """Give the dry scraps a day of late; where nothing was fed, a modest share of what worms can eat.

    Each feed is taken to be for the days until the next; the last one's days are not over yet.
    """
    by_day: dict[int, float] = {}
    for fed in fed_since(log, past.day - _RECENT + 1):
        by_day[fed.day] = by_day.get(fed.day, 0.0) + fed.dry_kg
    if by_day:
        first, last = min(by_day), max(by_day)
        total = 0.0
        for dry in by_day.values():
            total += dry
        lately = last if past.day - last <= _GAP_DAYS else past.day
        if lately == first:
            return total / _GAP_DAYS
        return (total - (by_day[last] if lately == last else 0.0)) / (lately - first)
    worms = past.sides[FIRST].worms_kg + past.sides[SECOND].worms_kg
    return _MODEST * _INTAKE * worms


def _unsteady(past: Past, log: Log) -> float:
    """Give how far the next weeks' feeding may be from the last weeks', as a spread of its logarithm.

    From the totals of the last blocks of weeks, with a wide belief that counts for one pair of them: the
    wider, the fewer feeds the recent rate rests on.
    """
    totals: dict[int, float] = {}
    oldest = (past.day - log.first_day) // _RECENT
    for fed in log.feeds:
        block = (past.day - fed.day) // _RECENT
        if block < min(oldest, _BLOCKS):
            totals[block] = totals.get(block, 0.0) + fed.dry_kg
    days = len({fed.day for fed in fed_since(log, past.day - _RECENT + 1)})
    squares = _FEEDING_SPREAD * _FEEDING_SPREAD + _ONE_FEED_SPREAD * _ONE_FEED_SPREAD / max(days, 1)
    pairs = 1
    for block, total in totals.items():
        before = totals.get(block + 1)
        if before is not None and before > 0.0 and total > 0.0:
            change = min(max(ln(total / before), -_MOST_CHANGE), _MOST_CHANGE)
            squares += change * change
            pairs += 1
    return sqrt(squares / pairs)


def dates(
    belief: Belief, past: Past, log: Log, set_: Setting, warm: Sequence[Warmth], kept: "Kept | None" = None
) -> list[Dates]:
    """Carry every draw on for a year, or until all its marks are passed.

    `kept` is what an earlier forecast of the same bed left; this one leaves its own.
    """
    at = past.day - log.first_day
    coming = _Days(warm[FIRST], at, set_.moisture[FIRST]), _Days(warm[SECOND], at, set_.moisture[SECOND])
    rests = (kept or Kept()).rests(belief, 1 - set_.fed, set_.area_m2, coming[1 - set_.fed])
    return [
        _one(draw, bed, set_, coming, iter(rest))
        for draw, bed, rest in zip(belief.draws, belief.beds, rests, strict=True)
    ]


_Row = tuple[float, float, float, float, float, float, float]
"""A step's days, and work, rot and crossing of one side over them, each with what a standard deviation of
warmth adds to it."""


class _Days:
    """The coming days of one side, worked out as far as some draw has gone: few need the whole year."""

    def __init__(self, path: Warmth, at: int, wet: float) -> None:
        self.stands_on = path.mean_c[at:], path.spread_c[at:], wet
        self._steps = ahead_steps(path, at, wet, _LENGTHS)
        self._warmer: list[_Row] = []
        self._colder: list[_Row] = []

    def rows(self, *, warmer: bool, since: int = 0) -> Iterator[_Row]:
        """Give the steps from one on, as draws warmer than expected have them, or as the others."""
        made = self._warmer if warmer else self._colder
        # Many go through them at once, each as far as it has come.
        for number in range(since, len(_LENGTHS)):
            while number >= len(made):
                days, mid, up, down = next(self._steps)
                self._warmer.append(_row(days, mid, up))
                self._colder.append(_row(days, mid, down))
            yield made[number]


def _row(days: float, mid: OneSide, slope: OneSide) -> _Row:
    (work, rot, crossing), (more_work, more_rot, more_crossing) = mid, slope
    return (
        days,
        days * work,
        days * more_work,
        days * rot,
        days * more_rot,
        days * crossing,
        days * more_crossing,
    )


_Left = tuple[float, float, float, float, float]
"""Worms that cross at the start and at the end of a step, and worms, scraps and castings after it. [kg]"""


class _Rest:
    """What becomes of the side not fed under one draw, as far as was asked: the other has no part in it."""

    def __init__(self, steps: Iterator[_Left]) -> None:
        self._steps = steps
        self._made: list[_Left] = []

    def __iter__(self) -> Iterator[_Left]:
        yield from self._made
        for one in self._steps:
            self._made.append(one)
            yield one


class Kept:
    """What becomes of the side not fed under each draw: what befalls the other side leaves it so."""

    def __init__(self) -> None:
        self._of: tuple[object, ...] | None = None
        self._rests: list[_Rest] = []

    def rests(self, belief: Belief, side: int, area_m2: float, coming: _Days) -> list[_Rest]:
        """Give a side's ways under each draw, begun anew where something it stands on is another."""
        held = [
            (one.scraps[side], one.castings[side], one.worms[side], one.staying[side]) for one in belief.beds
        ]
        of = belief.draws, side, area_m2, coming.stands_on, held
        if self._of != of:
            self._of = of
            self._rests = [
                _Rest(
                    _resting(
                        draw.guess.warmth,
                        draw.ahead,
                        area_m2,
                        holds,
                        coming.rows(warmer=draw.guess.warmth > 0.0),
                    )
                )
                for draw, holds in zip(belief.draws, held, strict=True)
            ]
        return self._rests


def _resting(
    warmth: float, rates: Rates, area_m2: float, held: tuple[float, float, float, float], rows: Iterable[_Row]
) -> Iterator[_Left]:
    """Carry the side not fed on, from scraps, castings, worms and those of them that stay. [kg]"""
    scraps, castings, left, staying = held
    model, migration = wormbed.pace(rates, area_m2), rates.migration_days
    for _, work, more_work, rot, more_rot, crossing, more_crossing in rows:
        work, rot, crossing = (
            work + warmth * more_work,
            rot + warmth * more_rot,
            crossing + warmth * more_crossing,
        )
        leaves = 1.0 - decayed(0.5 * crossing / migration) if crossing > 0.0 else 0.0
        first = (left - staying) * leaves
        left -= first
        scraps, castings, grown, _ = digest(
            scraps, castings, left, 0.0, work if work > 0.0 else 0.0, rot if rot > 0.0 else 0.0, model
        )
        left *= grown
        staying *= grown
        last = (left - staying) * leaves
        left -= last
        yield first, last, left, scraps, castings


def _one(draw: Draw, bed: Bed, set_: Setting, coming: tuple[_Days, _Days], rest: Iterator[_Left]) -> Dates:
    """Carry one draw on; all of it in one body, since sixty-four of them go this way at each look."""
    guess, rates, fed, area = draw.guess, draw.ahead, set_.fed, set_.area_m2
    warmth, feed = guess.warmth, set_.feed_kg * exp(set_.unsteady * draw.feeding)
    model = wormbed.pace(rates, area)
    litre, cast_litre = guess.scraps_density, guess.castings_density
    litres_full, castings_full = 1000.0 * area * set_.depth_full_m, 1000.0 * area * rotation.CASTINGS_LAYER_M
    scraps_least = area * rotation.BACKLOG_LEAST
    scraps, castings, worms = bed.scraps[fed], bed.castings[fed], bed.worms[fed]
    old_scraps, old_castings, left = bed.scraps[1 - fed], bed.castings[1 - fed], bed.worms[1 - fed]
    rows = coming[fed].rows(warmer=warmth > 0.0)
    waiting = set_.resting is not None
    moved = finished = full = turned = inf
    day = 0.0
    before = _marks(worms, left, old_scraps, old_castings)
    if waiting:
        moved = 0.0 if before[0] >= 0.0 else inf
        finished = 0.0 if before[1] >= 0.0 else inf
    reason = _due(guess, rates, set_, scraps, castings, worms)
    if reason is not None:
        full = 0.0
    for number in range(len(_LENGTHS)):
        if turned == inf and full < inf:
            turned = _turned(waiting, moved, finished, full, set_.rested_days, day)
            if turned < inf and not waiting:
                # The other side is fed from here on.
                held = scraps, castings, worms, rates.stayers * worms
                rows = coming[1 - fed].rows(warmer=warmth > 0.0, since=number)
                rest = _resting(
                    warmth, rates, area, held, coming[fed].rows(warmer=warmth > 0.0, since=number)
                )
                scraps, castings, worms, old_scraps, old_castings, left = (
                    old_scraps,
                    old_castings,
                    left,
                    scraps,
                    castings,
                    worms,
                )
                before = _marks(worms, left, old_scraps, old_castings)
                moved = day if before[0] >= 0.0 else inf
                finished = day if before[1] >= 0.0 else inf
        if turned < inf and moved < inf and finished < inf:
            break
        days, work, more_work, rot, more_rot, _, _ = next(rows)
        crossed, crossed_last, left, old_scraps, old_castings = next(rest)
        work, rot = work + warmth * more_work, rot + warmth * more_rot
        worms += crossed
        scraps, castings, grown, _ = digest(
            scraps,
            castings,
            worms,
            feed * days,
            work if work > 0.0 else 0.0,
            rot if rot > 0.0 else 0.0,
            model,
        )
        worms = worms * grown + crossed_last
        if (moved == inf or finished == inf) and (waiting or turned < inf):
            after = _marks(worms, left, old_scraps, old_castings)
            if moved == inf and after[0] >= 0.0:
                moved = day + days * _part(before[0], after[0])
            if finished == inf and after[1] >= 0.0:
                finished = day + days * _part(before[1], after[1])
            before = after
        if full == inf and turned == inf:
            litres = castings / cast_litre
            # Most steps are far from any reason.
            if (
                litres >= castings_full or scraps >= scraps_least or scraps / litre + litres >= litres_full
            ) and (reason := _due(guess, rates, set_, scraps, castings, worms)) is not None:
                full = day + 0.5 * days
        day += days
    return Dates(moved, finished, full, turned, reason)


def _turned(waiting: bool, moved: float, finished: float, full: float, rested_days: int, day: float) -> float:
    """Give the day of the switch if it has come by now: the side full and the other one ready.

    Stragglers hold a switch up no longer than the longest rest: then the top layers are scraped.
    """
    ready = max(finished, min(moved, max(_LONGEST_REST - rested_days, 0.0))) if waiting else 0.0
    due = max(full, ready)
    return due if due <= day else inf


def _part(before: float, after: float) -> float:
    """Give where within a step a mark is passed, on a straight line; 0 at its start."""
    return -before / (after - before) if before < 0.0 <= after and after > before else 0.0


def _marks(worms: float, left: float, scraps: float, castings: float) -> tuple[float, float]:
    """Give how far past 'moved' and 'finished' the resting side is; below 0: before it.

    Args:
        worms: Worms on the side fed. [kg]
        left: Worms still on the resting side. [kg]
        scraps: Its undecomposed dry matter. [kg]
        castings: Its castings. [kg]
    """
    total = worms + left
    dry = scraps + castings
    return (
        worms / total - rotation.MOVED_GOAL if total > 0.0 else -1.0,
        rotation.UNFINISHED_GOAL - scraps / dry if dry > 0.0 else 0.0,
    )


def _due(
    guess: Guess, rates: Rates, set_: Setting, scraps: float, castings: float, worms: float
) -> rotation.DueReason | None:
    """Say why the fed side should rest, if it should."""
    if scraps + castings <= _HARDLY_ANYTHING:
        return None
    area = set_.area_m2
    half = rates.half_saturation * area
    speed = rates.intake * _COMFORT.work * worms / (scraps + half) + rates.decay * _COMFORT.rot
    return rotation.due_reason(
        guess.depth_m(scraps, castings, area),
        guess.depth_m(0.0, castings, area),
        1.0 / speed if speed > 0.0 else inf,
        scraps / area,
        set_.depth_full_m,
    )


_COMFORT = wormbed.conditions(sources.value("worms.backlog_reference"), None)
_LONGEST_REST = sources.value("worms.rest_longest")
_RECENT = int(sources.value("worms.recent_days"))
_GAP_DAYS = sources.value("worms.ration_gap_days")
_INTAKE = sources.value("worms.intake_dry")
_FEEDING_SPREAD = sources.value("worms.spread_feeding")
_ONE_FEED_SPREAD = sources.value("worms.spread_one_feed")
_BLOCKS = 13
_MOST_CHANGE = 2.0
_MODEST = sources.value("worms.modest_feeding")
_MENDED = sources.value("worms.moisture_mended")
_HARDLY_ANYTHING = sources.value("worms.hardly_anything")
