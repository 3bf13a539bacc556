"""Invented places with a hidden truth: a bed that really is so, and a keeper who logs what they see.

The truth is its own small program, not the model under test: a quarter-day Euler step of the published
equations, begun in any season, with every parameter drawn from its believed range, weather that wanders,
cycles that differ from each other, scraps drier or wetter than the table says, scoops in which worms
clump, and a keeper who acts late. Seeded: the same number gives the same place.
"""

from dataclasses import dataclass, field
from datetime import date, timedelta
from math import cos, exp, log, pi, sqrt
from random import Random
from typing import Any

FIRST_DAY = date(2024, 3, 4)
YEAR = 365
STEP = 0.25
MOVED, UNFINISHED = 0.8, 0.15
LONGEST_REST = 56.0


@dataclass
class Truth:
    """What the forecaster does not know."""

    area: float
    intake: float
    decay: float
    q10: float
    half: float
    growth: float
    capacity: float
    yield_eaten: float
    yield_rotted: float
    migration: float
    stayers: float
    eye: float
    clumping: float
    scraps_density: float
    castings_density: float
    cardinal: tuple[float, float, float]
    normals: list[float]
    over_air: float
    dryness: float
    start_worms: float
    feed_dry: float
    heat_death: float


@dataclass
class Cycle:
    """One rest of a side: the days (from the first day) on which the truth passed its marks."""

    switched: int
    side: int
    moved: float | None = None
    finished: float | None = None
    full: float | None = None
    switch_due: float | None = None

    @property
    def harvest(self) -> float | None:
        """The later of moved and finished."""
        if self.moved is None or self.finished is None:
            return None
        return max(self.moved, self.finished)


@dataclass
class Story:
    """A place's entries and the truth behind them."""

    truth: Truth
    entries: list[dict[str, Any]] = field(default_factory=list)
    cycles: list[Cycle] = field(default_factory=list)
    warmth: list[float] = field(default_factory=list)
    days: int = 0
    first_day: date = FIRST_DAY


def spread(rng: Random, middle: float, low: float, high: float) -> float:
    """Draw from a lognormal of which low and high are the 5 and 95 % points, about its middle."""
    return middle * exp(rng.gauss(0.0, log(high / low) / (2.0 * 1.645)))


def truth(rng: Random) -> Truth:
    """Draw a bed from the believed ranges of the facts sheet."""
    area = rng.choice([0.3, 0.5, 0.6, 1.0])
    mean, swing = rng.uniform(12.0, 19.0), rng.uniform(1.0, 7.0)
    normals = [mean - swing * cos(2.0 * pi * (month - 0.5) / 12.0) for month in range(12)]
    worms = area * rng.uniform(0.8, 2.5)
    return Truth(
        area=area,
        intake=spread(rng, 0.10, 0.03, 0.25),
        decay=spread(rng, 0.025, 0.012, 0.05),
        q10=rng.uniform(1.7, 2.4),
        half=spread(rng, 0.5, 0.2, 1.2),
        growth=0.0147 * rng.uniform(0.6, 1.5),
        capacity=spread(rng, 3.0, 1.5, 6.0),
        yield_eaten=spread(rng, 0.60, 0.47, 0.75),
        yield_rotted=spread(rng, 0.40, 0.30, 0.50),
        migration=spread(rng, 10.0, 4.5, 23.0),
        stayers=rng.betavariate(2.0, 18.0),
        eye=spread(rng, 1.25, 0.98, 1.6),
        clumping=rng.uniform(1.0, 4.0),
        scraps_density=spread(rng, 0.10, 0.06, 0.15),
        castings_density=spread(rng, 0.22, 0.17, 0.28),
        cardinal=(rng.uniform(0.0, 6.0), rng.uniform(23.0, 28.0), rng.uniform(34.0, 40.0)),
        normals=normals,
        over_air=rng.gauss(1.5, 2.5),
        dryness=exp(rng.gauss(0.0, 0.15)),
        start_worms=worms,
        feed_dry=worms * rng.uniform(0.08, 0.16),
        heat_death=rng.uniform(0.2, 1.5),
    )


def story(seed: int, days: int = 540, *, logged: bool = True) -> Story:
    """Live at a place for some days and log as a careful keeper does."""
    rng = Random(seed)
    made = Story(truth(rng))
    made.first_day += timedelta(days=rng.randrange(YEAR))
    life = _Life(made, rng)
    life.set_up(normals=rng.random() < 0.7)
    for day in range(days):
        life.day(day, logged=logged)
    life.story.days = days
    return life.story


class _Life:
    def __init__(self, made: Story, rng: Random) -> None:
        self.story, self.rng, self.truth = made, rng, made.truth
        t = self.truth
        self.scraps, self.castings = [0.0, 0.0], [0.0, 0.0]
        self.worms, self.staying = [t.start_worms, 0.0], [0.0, 0.0]
        self.fed = 0
        self.since = 0
        self.empty = [False, True]
        self.wander = rng.gauss(0.0, 3.0)
        self.cycle = Cycle(0, -1)
        story_cycles = made.cycles
        story_cycles.append(self.cycle)
        self.decay, self.migration = t.decay, t.migration
        self.harvest_on: int | None = None
        self.switch_on: int | None = None
        self.last_feed = [0.0, 0.0]
        self.fed_at = [-1, -1]
        self.number = 0
        self.pending = False

    # -- logging ---------------------------------------------------------------------------------

    def log(self, day: int, kind: str, hour: int = 9, **fields: Any) -> None:
        self.number += 1
        at = (self.story.first_day + timedelta(days=day)).isoformat()
        self.story.entries.append(
            {
                "id": f"sim-{self.number:06d}",
                "kind": kind,
                "at": f"{at}T{hour:02d}:{self.number % 60:02d}:00+00:00",
                "by": "keeper",
                **({"station": "bed"} if kind != "setup" else {}),
                **fields,
            }
        )

    def set_up(self, *, normals: bool) -> None:
        t = self.truth
        place: dict[str, Any] = {"name": "Invented", "invented": True}
        if normals:
            place["air_by_month_c"] = [round(one + self.rng.gauss(0.0, 0.7), 1) for one in t.normals]
        self.log(0, "setup", 0, what="place", item="place", set=place)
        bed: dict[str, Any] = {
            "type": "bed",
            "name": "Bed",
            "side_area": {"value": t.area, "unit": "m^2"},
            "start_worms": {"value": round(t.start_worms * exp(self.rng.gauss(0.0, 0.15)), 2), "unit": "kg"},
            "feeding_side": "a",
        }
        self.log(0, "setup", 0, what="station", item="bed", set=bed)

    # -- a day -----------------------------------------------------------------------------------

    def day(self, day: int, *, logged: bool) -> None:
        rng, t = self.rng, self.truth
        self.wander = self.wander * exp(-1.0 / 12.0) + rng.gauss(0.0, 3.0 * sqrt(1.0 - exp(-2.0 / 12.0)))
        celsius = self.air(day) + t.over_air + self.wander
        self.story.warmth.append(celsius)
        if self.switch_on == day:
            self.switch(day)
        if self.harvest_on == day:
            self.harvest(day)
        if logged:
            self.look(day, celsius)
        self.feed(day)
        for _ in range(round(1.0 / STEP)):
            self.step(celsius)
        self.mark(day)

    def air(self, day: int) -> float:
        at = self.story.first_day + timedelta(days=day)
        place = (at.timetuple().tm_yday / 365.25 * 12.0 - 0.5) % 12.0
        low = int(place)
        share = place - low
        return self.truth.normals[low] * (1.0 - share) + self.truth.normals[(low + 1) % 12] * share

    def feed(self, day: int) -> None:
        rng, t = self.rng, self.truth
        due = max(self.fed_at) < 0 or day - max(self.fed_at) >= rng.choice([2, 2, 3, 4])
        if not due:
            return
        days = 2.5 if max(self.fed_at) < 0 else float(day - max(self.fed_at))
        dry = t.feed_dry * days * exp(rng.gauss(0.0, 0.25))
        wet = dry / 0.26
        card = round(0.12 * wet, 3)
        scraps = round(wet, 3)
        names = (("mixed_scraps", scraps, 0.31), ("cardboard", card, 0.92))
        total = 0.0
        for name, kg, share in names:
            self.log(day, "feed", 18, side="ab"[self.fed], feedstock=name, amount={"value": kg, "unit": "kg"})
            total += kg * share * t.dryness * exp(rng.gauss(0.0, 0.1))
        litres = {"value": round(0.75 * wet, 2), "unit": "L"}
        self.log(day, "water", 18, side="ab"[self.fed], amount=litres)
        self.scraps[self.fed] += total
        self.last_feed[self.fed] = 1.0
        self.fed_at[self.fed] = day

    def step(self, celsius: float) -> None:
        t = self.truth
        active = cardinal(celsius, t.cardinal)
        rot = t.q10 ** ((celsius - 25.0) / 10.0)
        other = 1 - self.fed
        crossing = (
            (self.worms[other] - self.staying[other])
            * active
            / cardinal(20.0, t.cardinal)
            / self.migration
            * STEP
        )
        for side in (0, 1):
            food = self.scraps[side] / (self.scraps[side] + t.half * t.area)
            eaten = t.intake * active * self.worms[side] * food * STEP
            rotted = self.decay * rot * self.scraps[side] * STEP
            if self.scraps[side] > 0.0:
                self.last_feed[side] *= max(1.0 - (eaten + rotted) / self.scraps[side], 0.0)
            self.scraps[side] = max(self.scraps[side] - eaten - rotted, 0.0)
            self.castings[side] += t.yield_eaten * eaten + t.yield_rotted * rotted
            grown = t.growth * active * (food - self.worms[side] / (t.capacity * t.area))
            grown -= 0.007 * active * (1.0 - food)
            over = max(celsius - 30.0, 0.0) / 6.0
            factor = max(1.0 + (grown - t.heat_death * over**3) * STEP, 0.0)
            self.worms[side] *= factor
            self.staying[side] *= factor
        self.worms[other] -= crossing
        self.worms[self.fed] += crossing

    def mark(self, day: int) -> None:
        """Note the first day on which each mark is passed, and let the keeper act some days later."""
        cycle, t = self.cycle, self.truth
        now = float(day + 1)
        if cycle.side >= 0 and not self.empty[cycle.side]:
            rest = cycle.side
            if cycle.moved is None and self.worms[self.fed] >= MOVED * (self.worms[0] + self.worms[1]):
                cycle.moved = now
            dry = self.scraps[rest] + self.castings[rest]
            if cycle.finished is None and self.scraps[rest] <= UNFINISHED * dry:
                cycle.finished = now
            if cycle.harvest is not None and self.harvest_on is None:
                self.harvest_on = day + 1 + self.rng.randrange(0, 5)
            if self.harvest_on is None and day - cycle.switched > 260:
                self.harvest_on = day + 1
        if cycle.full is None and self.is_full(t):
            cycle.full = now
        if cycle.switch_due is None and cycle.full is not None:
            ready = cycle.side < 0 or self.empty[cycle.side]
            if not ready and cycle.finished is not None:
                ready = cycle.moved is not None or now - cycle.switched >= LONGEST_REST
            if ready:
                cycle.switch_due = now
        if cycle.switch_due is not None and self.switch_on is None:
            ready = cycle.side < 0 or self.empty[cycle.side]
            if ready:
                self.switch_on = day + 1 + self.rng.randrange(0, 5)

    def is_full(self, t: Truth) -> bool:
        side = self.fed
        dry = self.scraps[side] + self.castings[side]
        if dry <= 0.05:
            return False
        eaten = t.intake * cardinal(20.0, t.cardinal) * self.worms[side]
        speed = eaten / (self.scraps[side] + t.half * t.area) + self.decay / sqrt(t.q10)
        depth = self.depth(side)
        worth = self.castings[side] / t.castings_density / (1000.0 * t.area) >= 0.03
        behind = speed <= 1.0 / 60.0 and self.scraps[side] >= 5.0 * t.area
        return depth >= 0.28 or worth or behind

    def switch(self, day: int) -> None:
        rest = self.fed
        self.fed = 1 - rest
        self.staying = [0.0, 0.0]
        self.staying[rest] = self.truth.stayers * self.worms[rest]
        self.cycle = Cycle(day, rest)
        self.story.cycles.append(self.cycle)
        self.switch_on = self.harvest_on = None
        self.empty[self.fed] = self.empty[rest] = False
        self.decay = self.truth.decay * exp(self.rng.gauss(0.0, 0.15))
        self.migration = self.truth.migration * exp(self.rng.gauss(0.0, 0.15))
        self.log(day, "switch", 7, side="ab"[self.fed])

    def harvest(self, day: int) -> None:
        rest = self.cycle.side
        wet = (self.scraps[rest] + self.castings[rest]) / 0.33 * exp(self.rng.gauss(0.0, 0.12))
        amount = {"value": round(max(wet, 0.1), 2), "unit": "kg"}
        self.log(day, "castings", 8, side="ab"[rest], amount=amount, method="after_migration")
        self.scraps[rest] = self.castings[rest] = self.worms[rest] = self.staying[rest] = 0.0
        self.empty[rest] = True

    # -- what the keeper sees --------------------------------------------------------------------

    def look(self, day: int, celsius: float) -> None:
        rng, t = self.rng, self.truth
        rested = day - self.cycle.switched
        if day % 3 == 2:
            read = round(celsius + rng.gauss(0.0, 0.7), 1)
            self.log(day, "reading", temperature={"value": read, "unit": "degC"}, squeeze="drips")
        if day % 7 == 6 and self.scraps[self.fed] > 0.0:
            for side in (0, 1):
                depth = self.depth(side)
                if depth > 0.005:
                    read = round(depth * exp(rng.gauss(0.0, 0.13)), 3)
                    self.log(day, "reading", side="ab"[side], depth={"value": max(read, 0.001), "unit": "m"})
        if day % 7 == 3:
            for side in (0, 1):
                if self.fed_at[side] >= 0 and self.scraps[side] > 0.0:
                    left = self.last_feed[side] ** t.eye + rng.gauss(0.0, 0.12)
                    called = "none" if left < 0.15 else "most" if left > 0.55 else "some"
                    self.log(day, "leftover", side="ab"[side], left=called)
        if self.cycle.side >= 0 and not self.empty[self.cycle.side] and rested in (10, 20, 30, 45, 60):
            for side in (0, 1):
                litres = max(self.depth(side), 0.02) * 1000.0 * t.area
                mean = self.worms[side] / 0.0003 / litres * 0.5
                counts = [clumped(rng, mean, t.clumping) for _ in range(5)]
                self.log(day, "side_count", side="ab"[side], counts=counts, scoop={"value": 0.5, "unit": "L"})

    def depth(self, side: int) -> float:
        t = self.truth
        volume = self.scraps[side] / t.scraps_density + self.castings[side] / t.castings_density
        return volume / (1000.0 * t.area)


def clumped(rng: Random, mean: float, clumping: float) -> int:
    """Draw a negative binomial count whose variance is `clumping` times its mean (1: Poisson)."""
    rate = mean
    if clumping > 1.0001 and mean > 0.0:
        shape = mean / (clumping - 1.0)
        rate = rng.gammavariate(shape, clumping - 1.0)
    return min(_poisson(rng, rate), 2000)


def _poisson(rng: Random, rate: float) -> int:
    if rate > 50.0:
        return max(round(rng.gauss(rate, sqrt(rate))), 0)
    limit, count, product = exp(-rate), 0, rng.random()
    while product > limit:
        count += 1
        product *= rng.random()
    return count


def cardinal(celsius: float, points: tuple[float, float, float]) -> float:
    """Cardinal temperature model with inflection (Rosso and others 1993), written out once more."""
    low, best, high = points
    if celsius <= low or celsius >= high:
        return 0.0
    top = (celsius - high) * (celsius - low) ** 2
    bottom = (best - low) * ((best - low) * (celsius - best) - (best - high) * (best + low - 2.0 * celsius))
    return max(top / bottom, 0.0)
