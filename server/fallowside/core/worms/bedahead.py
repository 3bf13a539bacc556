"""What comes next at a bed, draw by draw: worms moved, castings finished, the side full, the switch.

Each draw's bed is carried on with feeding as of late and the warmth to be expected; the days on which
it passes the marks, over all draws by weight, are the forecast. A day may be `inf`: not in a year.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import inf, sqrt

from fallowside.core import rotation, sources, wormbed
from fallowside.core.numeric import exp
from fallowside.core.numeric import log as ln
from fallowside.core.warmth import Warmth
from fallowside.core.wormbed import Rates, decayed, digest
from fallowside.core.worms.bedlog import FIRST, SECOND, Log, fed_since
from fallowside.core.worms.bedpast import Past
from fallowside.core.worms.bedsteps import Bed, Guess, Step, ahead_steps
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


def dates(belief: Belief, past: Past, log: Log, set_: Setting, warm: Sequence[Warmth]) -> list[Dates]:
    """Carry every draw on for a year, or until all its marks are passed."""
    coming = _Coming(ahead_steps(past, log, warm, set_.moisture, _LENGTHS))
    return [_one(draw, bed, set_, coming) for draw, bed in zip(belief.draws, belief.beds, strict=True)]


_Row = tuple[float, tuple[Sequence[float], Sequence[float]]]
"""A step's days, and for either side its work, rot and crossing over them, each beside what a standard
deviation of warmth adds to it."""


class _Coming:
    """The coming days, worked out as far as some draw has gone: few need the whole year."""

    def __init__(self, steps: Iterator[Step]) -> None:
        self._steps = steps
        self._warmer: list[_Row] = []
        self._colder: list[_Row] = []

    def rows(self, *, warmer: bool) -> Iterator[_Row]:
        """Give the steps as draws warmer than expected have them, or as the others."""
        made = self._warmer if warmer else self._colder
        yield from made
        for step in self._steps:
            mid, up, down = step.climate
            self._warmer.append(_row(step.days, mid, up))
            self._colder.append(_row(step.days, mid, down))
            yield made[-1]


def _row(days: float, mid: Sequence[float], slope: Sequence[float]) -> _Row:
    first, second = (
        [days * of[2 * what + side] for what in range(3) for of in (mid, slope)] for side in (FIRST, SECOND)
    )
    return days, (first, second)


def _one(draw: Draw, bed: Bed, set_: Setting, coming: _Coming) -> Dates:
    """Carry one draw on; all of it in one body, since sixty-four of them go this way at each look."""
    guess, rates, fed, area = draw.guess, draw.ahead, set_.fed, set_.area_m2
    warmth, feed = guess.warmth, set_.feed_kg * exp(set_.unsteady * draw.feeding)
    model, migration = wormbed.pace(rates, area), rates.migration_days
    litre, cast_litre = guess.scraps_density, guess.castings_density
    litres_full, castings_full = 1000.0 * area * set_.depth_full_m, 1000.0 * area * rotation.CASTINGS_LAYER_M
    scraps_least = area * rotation.BACKLOG_LEAST
    rest = 1 - fed
    scraps, castings, worms = bed.scraps[fed], bed.castings[fed], bed.worms[fed]
    old_scraps, old_castings = bed.scraps[rest], bed.castings[rest]
    left, staying = bed.worms[rest], bed.staying[rest]
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
    for days, sides in coming.rows(warmer=warmth > 0.0):
        if turned == inf and full < inf:
            turned = _turned(waiting, moved, finished, full, set_.rested_days, day)
            if turned < inf and not waiting:
                # The other side is fed from here on.
                fed, rest = rest, fed
                scraps, castings, worms, old_scraps, old_castings, left = (
                    old_scraps,
                    old_castings,
                    left,
                    scraps,
                    castings,
                    worms,
                )
                staying = rates.stayers * left
                before = _marks(worms, left, old_scraps, old_castings)
                moved = day if before[0] >= 0.0 else inf
                finished = day if before[1] >= 0.0 else inf
        if turned < inf and moved < inf and finished < inf:
            break
        work, more_work, rot, more_rot, _, _ = sides[fed]
        work, rot = work + warmth * more_work, rot + warmth * more_rot
        old_work, more_work, old_rot, more_rot, crossing, more_crossing = sides[rest]
        old_work, old_rot = old_work + warmth * more_work, old_rot + warmth * more_rot
        crossing += warmth * more_crossing
        leaves = 1.0 - decayed(0.5 * crossing / migration) if crossing > 0.0 else 0.0
        crossed = (left - staying) * leaves
        worms, left = worms + crossed, left - crossed
        scraps, castings, grown, _ = digest(
            scraps,
            castings,
            worms,
            feed * days,
            work if work > 0.0 else 0.0,
            rot if rot > 0.0 else 0.0,
            model,
        )
        worms *= grown
        old_scraps, old_castings, grown, _ = digest(
            old_scraps,
            old_castings,
            left,
            0.0,
            old_work if old_work > 0.0 else 0.0,
            old_rot if old_rot > 0.0 else 0.0,
            model,
        )
        left *= grown
        staying *= grown
        crossed = (left - staying) * leaves
        worms, left = worms + crossed, left - crossed
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
