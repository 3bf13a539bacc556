"""What comes next at a bed, draw by draw: worms moved, castings finished, the side full, the switch.

Each draw's bed is carried on with feeding as of late and the warmth to be expected; the days on which
it passes the marks, over all draws by weight, are the forecast. A day may be `inf`: not in a year.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

from fallowside.core import rotation, sources, wormbed
from fallowside.core.bedlog import FIRST, SECOND, Log
from fallowside.core.bedpast import Past
from fallowside.core.forecast import Bed, Belief, Draw
from fallowside.core.numeric import exp
from fallowside.core.warmth import Warmth
from fallowside.core.wormbed import CASTINGS_DENSITY, SCRAPS_DENSITY, Rates, decayed, digest

HORIZON_DAYS = 365
_STEPS = (*(1,) * 14, *(2,) * 23, *(4,) * 77)
"""Short steps first: near dates matter to the day, far ones do not."""


@dataclass(frozen=True, slots=True)
class Setting:
    """What all draws share about the coming days.

    Attributes:
        feed_kg: Dry scraps a day on the side fed. [kg/d]
        resting: The side whose harvest comes next, or None while both are empty but the fed one.
        rested_days: Days that side has rested.
        fed_days: Days the other side has been fed.
        depth_full_m: Depth at which a side is full. [m]
        moisture: Moisture factor of either side, as of late.
    """

    feed_kg: float
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
        moisture.append(1.0 if pct is None else max(wormbed.moisture_factor(pct), _LEAST_MOISTURE))
    full = rotation.DEPTH_FULL_M if log.side_depth_m is None else min(rotation.DEPTH_FULL_M, log.side_depth_m)
    return Setting(
        feed_kg=_feeding(past, log),
        resting=resting if waits else None,
        rested_days=past.day - past.since[resting],
        fed_days=past.day - past.since[past.fed],
        depth_full_m=full,
        moisture=(moisture[FIRST], moisture[SECOND]),
        area_m2=log.area_m2,
    )


def _feeding(past: Past, log: Log) -> float:
    """Give the dry scraps a day of late; where nothing was fed, a modest share of what worms can eat."""
    since = max(past.day - int(_RECENT), log.first_day)
    total = 0.0
    for fed in log.feeds:
        if fed.day >= since:
            total += fed.dry_kg
    if total > 0.0:
        return total / max(past.day - since, int(_RECENT) // 4)
    worms = past.sides[FIRST].worms_kg + past.sides[SECOND].worms_kg
    return _MODEST * _INTAKE * worms


def dates(belief: Belief, past: Past, set_: Setting, warm: Sequence[Warmth], first_day: int) -> list[Dates]:
    """Carry every draw on for a year, or until all its marks are passed."""
    at = past.day - first_day
    return [
        _one(draw, bed, past, set_, warm, at) for draw, bed in zip(belief.draws, belief.beds, strict=True)
    ]


def _one(draw: Draw, bed: Bed, past: Past, set_: Setting, warm: Sequence[Warmth], today: int) -> Dates:
    run = _Run(draw, bed, past.fed, set_)
    moved = finished = full = inf
    reason: rotation.DueReason | None = None
    turned = inf
    day = 0.0
    waiting = set_.resting is not None
    before = run.marks(waiting, 0.0, today, warm)
    if waiting:
        moved = 0.0 if before[0] >= 0.0 else inf
        finished = 0.0 if before[1] >= 0.0 else inf
    if before[2] is not None:
        full, reason = 0.0, before[2]
    for length in _STEPS:
        ready = max(finished, min(moved, max(_LONGEST_REST - set_.rested_days, 0.0))) if waiting else 0.0
        switch = max(full, ready)
        if switch <= day and turned == inf:
            turned = switch
            if waiting:
                break
            run.turn()
            before = run.marks(True, 0.0, today + int(day), warm)
        if turned < inf and moved < inf and finished < inf:
            break
        run.go(float(length), today + int(day), warm)
        after = run.marks(waiting or turned < inf, day + length, today + int(day) + length, warm)
        if waiting or turned < inf:
            if moved == inf and after[0] >= 0.0:
                moved = day + length * _part(before[0], after[0])
            if finished == inf and after[1] >= 0.0:
                finished = day + length * _part(before[1], after[1])
        if full == inf and after[2] is not None:
            full, reason = day + length, after[2]
        before = after
        day += length
    return Dates(moved, finished, full, turned, reason)


def _part(before: float, after: float) -> float:
    """Give where within a step a mark is passed, on a straight line; 0 at its start."""
    return -before / (after - before) if before < 0.0 <= after and after > before else 0.0


class _Run:
    """One draw's bed on its way through the coming days; lives for one forecast."""

    def __init__(self, draw: Draw, bed: Bed, fed: int, set_: Setting) -> None:
        self.rates: Rates = draw.rates
        self.warmer = draw.warmth * _LASTING
        self.feed = set_.feed_kg * exp(_FEEDING_SPREAD * draw.feeding)
        self.scraps, self.castings = list(bed.scraps), list(bed.castings)
        self.worms, self.staying = list(bed.worms), list(bed.staying)
        self.fed = fed
        self.set = set_
        self.fed_days = float(set_.fed_days)
        self.half = self.rates.half_saturation * set_.area_m2
        self.full = self.rates.capacity * set_.area_m2

    def turn(self) -> None:
        """Feed the other side from here on."""
        self.fed = 1 - self.fed
        resting = 1 - self.fed
        self.staying[self.fed] = 0.0
        self.staying[resting] = self.rates.stayers * self.worms[resting]
        self.fed_days = 0.0

    def go(self, days: float, at: int, warm: Sequence[Warmth]) -> None:
        """Carry the bed on for a few days."""
        fed, resting = self.fed, 1 - self.fed
        today = self._conditions(fed, at, warm), self._conditions(resting, at, warm)
        stay = decayed(0.5 * days * today[1].crossing / self.rates.migration_days)
        self._cross(stay)
        for side, one, inflow in ((fed, today[0], self.feed * days), (resting, today[1], 0.0)):
            self.scraps[side], self.castings[side], grown, _ = digest(
                self.scraps[side],
                self.castings[side],
                self.worms[side],
                inflow,
                one.work * self.set.moisture[side],
                one.rot,
                days,
                self.rates,
                self.half,
                self.full,
            )
            self.worms[side] *= grown
            self.staying[side] *= grown
        self._cross(stay)
        self.fed_days += days

    def marks(
        self, resting: bool, day: float, at: int, warm: Sequence[Warmth]
    ) -> tuple[float, float, rotation.DueReason | None]:
        """Give how far past each mark the bed is (below 0: before it), and why the fed side is due."""
        other = 1 - self.fed
        moved = finished = -1.0
        if resting:
            total = self.worms[FIRST] + self.worms[SECOND]
            moved = self.worms[self.fed] / total - rotation.MOVED_GOAL if total > 0.0 else -1.0
            dry = self.scraps[other] + self.castings[other]
            finished = rotation.UNFINISHED_GOAL - self.scraps[other] / dry if dry > 0.0 else 0.0
        fed = self.fed
        scraps, castings = self.scraps[fed], self.castings[fed]
        depth = (scraps / SCRAPS_DENSITY + castings / CASTINGS_DENSITY) / (1000.0 * self.set.area_m2)
        today = self._conditions(fed, at, warm)
        work = today.work * self.set.moisture[fed]
        speed = (
            self.rates.intake * work * self.worms[fed] / (scraps + self.half) + self.rates.decay * today.rot
        )
        dry = scraps + castings
        reason = rotation.due_reason(
            depth * rotation.DEPTH_FULL_M / self.set.depth_full_m,
            scraps / dry if dry > 0.0 else 1.0,
            1.0 / speed if speed > 0.0 and dry > _HARDLY_ANYTHING else 0.0,
            self.fed_days,
        )
        return moved, finished, reason

    def _cross(self, stay: float) -> None:
        resting = 1 - self.fed
        crossed = (self.worms[resting] - self.staying[resting]) * (1.0 - stay)
        self.worms[resting] -= crossed
        self.worms[self.fed] += crossed

    def _conditions(self, side: int, at: int, warm: Sequence[Warmth]) -> wormbed.Conditions:
        path = warm[side]
        at = min(at, len(path.mean_c) - 1)
        return wormbed.conditions(path.mean_c[at] + self.warmer * path.spread_c[at], None)


_LONGEST_REST = sources.value("worms.rest_longest")
_RECENT = sources.value("worms.recent_days")
_INTAKE = sources.value("worms.intake_dry")
_MODEST = sources.value("worms.modest_feeding")
_FEEDING_SPREAD = sources.value("worms.spread_feeding")
_LASTING = sources.value("worms.lasting_warmth")
_LEAST_MOISTURE = sources.value("worms.least_moisture_ahead")
_HARDLY_ANYTHING = sources.value("worms.hardly_anything")
