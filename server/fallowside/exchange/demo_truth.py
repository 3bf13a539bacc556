"""What really happened at the demo place: weather, bed and larvae bin, invented day by day.

The people of the demo see this through thermometers, scoops and pails and write down what they see
(`demo_diary`); the models of the core never see it. Its laws are plain and its figures are the
demo's own: near the published ones, so that forecasts make sense, but a source for nothing.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import pairwise
from math import fsum, sqrt
from random import Random
from typing import Literal, TypeVar

from fallowside.core.numeric import PI, cos, power

Side = Literal["a", "b"]
OTHER: dict[Side, Side] = {"a": "b", "b": "a"}
_T = TypeVar("_T")


class Dice:
    """Chance with a fixed seed. It draws with `random()` alone, which is the same on every host."""

    def __init__(self, seed: int) -> None:
        self._source = Random(seed)

    def chance(self, share: float) -> bool:
        """Say yes with the probability `share`."""
        return self._source.random() < share

    def between(self, low: float, high: float) -> float:
        """Draw evenly between two figures."""
        return low + (high - low) * self._source.random()

    def whole(self, low: int, high: int) -> int:
        """Draw a whole number, both ends included."""
        return low + int(self._source.random() * (high - low + 1))

    def pick(self, several: Sequence[_T]) -> _T:
        """Draw one of several."""
        return several[self.whole(0, len(several) - 1)]

    def normal(self) -> float:
        """Draw from about a normal distribution with mean 0 and spread 1: twelve even draws."""
        return fsum(self._source.random() for _ in range(12)) - 6.0

    def count(self, mean: float, clump: float = 0.0) -> int:
        """Draw a count with this mean, spread as chance alone would, and wider where things clump."""
        here = max(0.0, mean * (1.0 + clump * self.normal()))
        return max(0, round(here + sqrt(here) * self.normal()))


# -- weather -------------------------------------------------------------------------------------

MEAN_C, SWING_C, WARMEST_DAY = 20.0, 5.5, 205
DAY_SWING_C = 6.0
HEAT_DAYS, HEAT_C = 5, 5.5
QUIET_DAYS = 30
"""No heat spell in the days before the log ends: that is where other things are to be seen."""


@dataclass(frozen=True, slots=True)
class Weather:
    """A day's weather. [degC]"""

    mean_c: float
    high_c: float
    rain: bool
    heat: bool


def usual_c(day_of_year: float) -> float:
    """Give the usual mean air temperature of a day of the year. [degC]"""
    return MEAN_C + SWING_C * cos(2.0 * PI * (day_of_year - WARMEST_DAY) / 365.25)


def usual_by_month() -> list[float]:
    """Give the usual mean air temperature in the middle of each month, January first. [degC]"""
    return [round(usual_c(15.0 + 30.44 * month), 1) for month in range(12)]


def weather(days: Sequence[date], dice: Dice) -> list[Weather]:
    """Invent the weather of consecutive days, with one heat spell in the warmest stretch."""
    usual = [usual_c(day.timetuple().tm_yday) for day in days]
    hottest = max(range(len(days) - QUIET_DAYS), key=lambda index: (usual[index], index))
    found, drift = [], 0.0
    for index in range(len(days)):
        drift = 0.7 * drift + 1.3 * dice.normal()
        heat = 0 <= index - hottest < HEAT_DAYS
        mean = usual[index] + (HEAT_C if heat else max(-4.0, min(3.5, drift)))
        rain = not heat and dice.chance(0.25)
        found.append(Weather(mean, mean + DAY_SWING_C * (0.6 if rain else 1.0), rain, heat))
    return found


# -- bed -----------------------------------------------------------------------------------------

SIDE_AREA_M2, SIDE_DEPTH_M = 0.75, 0.45
START_WORMS_KG = 1.4
DRY_SHARE = {
    "scraps": 0.14, "coffee": 0.26, "card": 0.92, "bread": 0.62, "cooked": 0.34, "solids": 0.10,
}  # fmt: skip
_INTAKE, _DECAY, _HALF_KG_M2 = 0.11, 0.023, 0.5
_GROWTH, _CROWDED_KG_M2, _STAYERS, _MOVING_DAYS = 0.013, 3.0, 0.06, 8.5
_EYE = 4.0
"""So many times faster than their dry matter scraps vanish to the eye."""
_WARMTH = ((3.0, 0.0), (10.0, 0.25), (15.0, 0.57), (20.0, 0.87), (25.0, 1.0), (30.0, 0.8), (36.0, 0.0))


@dataclass(slots=True)
class Half:
    """One side of the bed: scraps and castings as dry matter, worms alive. [kg]"""

    scraps_kg: float = 0.0
    castings_kg: float = 0.0
    worms_kg: float = 0.0
    wet_pct: float = 74.0
    left: float = 0.0
    """What the eye finds left of the last feed. [1]"""

    @property
    def litres(self) -> float:
        """How much lies in this side. [L]"""
        return self.scraps_kg / 0.10 + self.castings_kg / 0.22 + 6.0

    @property
    def raw_share(self) -> float:
        """The share of what lies here that is not castings yet. [1]"""
        whole = self.scraps_kg + self.castings_kg
        return self.scraps_kg / whole if whole > 0.0 else 0.0


@dataclass(slots=True)
class Bed:
    """The two-sided bed."""

    sides: dict[Side, Half] = field(
        default_factory=lambda: {"a": Half(scraps_kg=1.2, worms_kg=START_WORMS_KG), "b": Half()}
    )
    feeding: Side = "a"
    at_switch_kg: float = 0.0
    temperature_c: float = 19.0

    def feed(self, side: Side, what: str, wet_kg: float) -> None:
        """Put something in."""
        half = self.sides[side]
        before, dry_kg = half.litres, wet_kg * DRY_SHARE[what]
        half.scraps_kg += dry_kg
        half.left = 1.0
        half.wet_pct += (100.0 * (1.0 - DRY_SHARE[what]) - half.wet_pct) * wet_kg / (before + wet_kg)

    def water(self, side: Side, litres: float) -> None:
        """Pour water on."""
        half = self.sides[side]
        half.wet_pct += (100.0 - half.wet_pct) * litres / (0.8 * half.litres + litres)

    def switch(self, side: Side) -> None:
        """Feed the other side from now on."""
        self.feeding = side
        self.at_switch_kg = self.sides[OTHER[side]].worms_kg

    def take(self, side: Side) -> float:
        """Take the castings out of a side and give their wet mass; a tenth stays as a start. [kg]"""
        half, other = self.sides[side], self.sides[OTHER[side]]
        wet_kg = 0.9 * (half.castings_kg + half.scraps_kg) / 0.36
        other.worms_kg += 0.75 * half.worms_kg
        half.castings_kg, half.scraps_kg, half.worms_kg = (
            0.1 * half.castings_kg,
            0.1 * half.scraps_kg,
            0.1 * half.worms_kg,
        )
        return wet_kg

    def appetite_kg(self) -> float:
        """Give how much fresh food the fed side gets through in a day. [kg]"""
        warmth = between_knots(_WARMTH, self.temperature_c)
        worms = fsum(half.worms_kg for half in self.sides.values())
        return (_INTAKE * worms + 0.03) * warmth / DRY_SHARE["scraps"] * 0.85

    def live(self, day: Weather) -> None:
        """Let a day pass."""
        self.temperature_c += 0.35 * (day.mean_c + 0.8 - self.temperature_c)
        warmth = between_knots(_WARMTH, self.temperature_c)
        rotting = power(2.0, (self.temperature_c - 25.0) / 10.0)
        for half in self.sides.values():
            reach = half.scraps_kg / (half.scraps_kg + _HALF_KG_M2 * SIDE_AREA_M2)
            eaten = min(0.4 * half.scraps_kg, _INTAKE * warmth * half.worms_kg * reach)
            rotted = _DECAY * rotting * half.scraps_kg
            half.left *= power(1.0 - (eaten + rotted) / (half.scraps_kg + 0.01), _EYE)
            half.scraps_kg -= eaten + rotted
            half.castings_kg += 0.58 * eaten + 0.42 * rotted - 0.001 * half.castings_kg
            room = half.worms_kg / (_CROWDED_KG_M2 * SIDE_AREA_M2)
            half.worms_kg *= 1.0 + _GROWTH * warmth * (reach - room)
            if self.temperature_c > 30.0:
                half.worms_kg *= 0.985
            half.wet_pct -= 0.28 + 0.045 * max(0.0, day.mean_c - 12.0)
            half.wet_pct = min(89.0, max(52.0, half.wet_pct + (0.5 if day.rain else 0.0)))
        resting = self.sides[OTHER[self.feeding]]
        leaving = max(0.0, resting.worms_kg - _STAYERS * self.at_switch_kg) * warmth / 0.87 / _MOVING_DAYS
        resting.worms_kg -= leaving
        self.sides[self.feeding].worms_kg += leaving


# -- larvae bin ----------------------------------------------------------------------------------

BIN_AREA_M2, BIN_DEPTH_M = 0.5, 0.30
_BOXES, _BASE_C, _DEGREE_DAYS, _LEVEL_C = 25, 12.3, 255.0, 30.0
_RECRUITS, _CLIMBING, _LIFE_FOOD_KG = 1100.0, 0.9, 0.0016


@dataclass(slots=True)
class Larvae:
    """The larvae bin: a line of age classes that move on with warmth, fed by wild flies."""

    ages: list[float] = field(default_factory=lambda: [260.0] * _BOXES)
    temperature_c: float = 24.0
    fed_kg: float = 0.8
    residue_kg: float = 4.0
    climbed: float = 0.0
    grams: float = 0.155
    wet_pct: float = 72.0

    def feed(self, wet_kg: float, *, dry: bool = False) -> None:
        """Put something in; bread and card dry the bin."""
        self.fed_kg += 0.2 * wet_kg
        self.residue_kg += (0.5 if dry else 0.3) * wet_kg
        self.wet_pct += 0.8 * ((40.0 if dry else 82.0) - self.wet_pct) * wet_kg / (self.residue_kg + 4.0)

    @property
    def pace(self) -> float:
        """The part of a larva's growing time that passes in a day. [1/d]"""
        return max(0.0, min(self.temperature_c, _LEVEL_C) - _BASE_C) / _DEGREE_DAYS

    def appetite_kg(self) -> float:
        """Give how much fresh food the bin gets through in a day. [kg]"""
        return 0.1 + fsum(self.ages) * _LIFE_FOOD_KG * self.pace

    def live(self, day: Weather, dice: Dice) -> None:
        """Let a day pass: flies lay, larvae grow, the grown ones climb out."""
        self.fed_kg *= 0.8
        stock = fsum(self.ages)
        warmed = day.mean_c + 3.5 + 3.0 * min(1.0, stock / 12000.0)
        self.temperature_c += 0.45 * (warmed - self.temperature_c)
        laying = min(1.0, max(0.0, (day.high_c - 18.5) / 8.0)) * min(1.0, 0.25 + self.fed_kg)
        arriving = _RECRUITS * laying * max(0.1, 1.0 + 0.45 * dice.normal())
        rate = self.pace * _BOXES / 4.0
        for _ in range(4):
            grown = rate * self.ages[-1]
            for index in range(_BOXES - 1, 0, -1):
                self.ages[index] += rate * (self.ages[index - 1] - self.ages[index])
            self.ages[0] += arriving / 4.0 - rate * self.ages[0]
            self.climbed += _CLIMBING * grown
        if day.heat:
            self.ages[:] = [0.97 * number for number in self.ages]
        self.grams += 0.06 * (min(0.185, 0.125 + 0.05 * self.fed_kg) - self.grams)
        self.residue_kg *= 0.985
        self.wet_pct = min(88.0, max(48.0, self.wet_pct - 0.7 + (0.3 if day.rain else 0.0)))


# -- pond and hive -------------------------------------------------------------------------------

POND_AREA_M2, POND_VOLUME_L = 34.0, 26000.0


@dataclass(slots=True)
class Pond:
    """The irrigation pond."""

    temperature_c: float = 18.0
    depth_m: float = 0.78
    ph: float = 7.5

    def live(self, day: Weather, dice: Dice) -> None:
        """Let a day pass: it warms slowly, the garden drinks from it, rain and spring fill it."""
        self.temperature_c += 0.12 * (day.mean_c + 1.0 - self.temperature_c)
        self.depth_m = min(0.82, self.depth_m + (0.02 if day.rain else -0.006))
        if self.depth_m < 0.62:
            self.depth_m = 0.80
        self.ph += 0.3 * (7.2 + 0.03 * self.temperature_c - self.ph) + 0.06 * dice.normal()


@dataclass(slots=True)
class Hive:
    """The hive: its whole weight. [kg]"""

    weight_kg: float = 34.0

    def live(self, day: Weather) -> None:
        """Let a day pass: it gains on warm dry days, eats its stores on the others."""
        gain = 0.16 if day.mean_c > 19.0 and not day.rain and not day.heat else -0.07
        self.weight_kg = min(62.0, max(22.0, self.weight_kg + gain))


# -- arithmetic ----------------------------------------------------------------------------------


def between_knots(knots: Sequence[tuple[float, float]], x: float) -> float:
    """Read a broken line at x; flat outside its knots."""
    if x <= knots[0][0]:
        return knots[0][1]
    for (x0, y0), (x1, y1) in pairwise(knots):
        if x <= x1:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    return knots[-1][1]
