"""Black soldier fly (Hermetia illucens): how fast it develops, and what a batch of waste became.

Temperature is that of the feed, not of the air. Larval development rests on one study at nine
constant temperatures (Chia et al. 2018); a Brière curve, anchored on that study's straight line at
25 °C, lets the rate flatten above 30 °C and fall to nothing at the upper limit, as it does in nature.
Laboratory figures: diet alone moves time by ±30 %, so every duration is a range (80 %).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from math import fsum, inf, pi, sqrt
from typing import Literal, cast

from fallowside.core import numeric, sources
from fallowside.core.errors import MixedBasis, OutOfRange, UnknownName, require
from fallowside.core.span import Span

Stage = Literal["egg", "larva", "prepupa", "pupa"]
Diet = Literal["mixed", "spent_grain_yeast", "spent_grain"]
Basis = Literal["wet", "dry", "volatile_solids"]

STAGES: tuple[Stage, ...] = ("egg", "larva", "prepupa", "pupa")
DIETS: tuple[Diet, ...] = ("mixed", "spent_grain_yeast", "spent_grain")
BASES: tuple[Basis, ...] = ("wet", "dry", "volatile_solids")

COLDEST_C, HOTTEST_C = -60.0, 100.0
"""Temperatures outside are slips of the thumb, not weather."""
_NOTHING = 1e-9
"""A share of the feed so small is rounding."""
HALF = numeric.normal_quantile(0.9)
"""Standard deviations from the middle to either end of an 80 % range."""


@dataclass(frozen=True, slots=True)
class Indices:
    """What a batch of waste became; all shares on the one basis given.

    Attributes:
        reduction_pct: Waste gone, of waste fed. [%]
        waste_reduction_index: `reduction_pct` per day. [%/d]
        bioconversion_pct: Larval mass gained, of waste fed. [%]
        digested_conversion: Larval mass gained per mass of waste gone; None if none is gone. [1]
        feed_conversion_ratio: Waste fed per larval mass gained; None if nothing was gained. [1]
        lost_pct: Breathed out, drained or evaporated, of waste fed. [%]
        basis: Basis of the three masses.
    """

    reduction_pct: float
    waste_reduction_index: float
    bioconversion_pct: float
    digested_conversion: float | None
    feed_conversion_ratio: float | None
    lost_pct: float
    basis: str


@dataclass(frozen=True, slots=True)
class Curve:
    """A Brière-1 curve: rate = scale · T · (T − threshold) · sqrt(limit − T) between the two.

    Attributes:
        threshold_c: No development at or below. [degC]
        limit_c: No development at or above. [degC]
        scale: Makes the curve pass through its anchor. [1/(d·K^2.5)]
        time_spread: Relative standard deviation of the stage's length between diets and bins. [1]
        threshold_error_c: Standard error of the threshold. [K]
        anchor_c: Where its rate is known best: there the error of the threshold does not show. [degC]
    """

    threshold_c: float
    limit_c: float
    scale: float
    time_spread: float
    threshold_error_c: float
    anchor_c: float

    def rate(self, temperature_c: float) -> float:
        """Give the share of the stage passed in a day at a constant temperature, in 1/d."""
        if not self.threshold_c < temperature_c < self.limit_c:
            return 0.0
        above = temperature_c - self.threshold_c
        return self.scale * temperature_c * above * sqrt(self.limit_c - temperature_c)

    def shifted(self, by_c: float) -> "Curve":
        """Give the curve with another threshold that still passes the anchor."""
        plain = replace(self, threshold_c=self.threshold_c + by_c, scale=1.0)
        return replace(plain, scale=self.rate(self.anchor_c) / plain.rate(self.anchor_c))


def _value(name: str) -> float:
    return sources.value(f"soldierfly.{name}")


@cache
def _anchor_c() -> float:
    return _value("anchor_temperature")


def _through(threshold_c: float, at_c: float, days: float, spread: float) -> Curve:
    plain = Curve(threshold_c, _value("upper_limit"), 1.0, spread, _value("threshold_error"), at_c)
    return replace(plain, scale=1.0 / (days * plain.rate(at_c)))


def _larva(diet: str) -> Curve:
    line_c = _value(f"larva_line_threshold_{diet}")
    days = _value(f"larva_thermal_constant_{diet}") / (_anchor_c() - line_c)
    return _through(_value(f"larva_threshold_{diet}"), _anchor_c(), days, _value(f"time_spread_{diet}"))


def _mixed_larva() -> Curve:
    """Between the two diets studied: mean threshold, geometric mean of the times at the anchor."""
    fast, slow = _larva("yeast"), _larva("grain")
    rate = sqrt(fast.rate(_anchor_c()) * slow.rate(_anchor_c()))
    threshold_c = (fast.threshold_c + slow.threshold_c) / 2.0
    return _through(threshold_c, _anchor_c(), 1.0 / rate, _value("time_spread_mixed"))


@cache
def curve(stage: str, diet: str = "mixed") -> Curve:
    """Give the development curve of a stage; the diet matters to the larva only.

    Raises:
        UnknownName: a stage not in `STAGES` or a diet not in `DIETS`.

    Source: Brière et al. 1999 for the form; constants in `core/data/soldierfly.toml`.

    >>> round(1 / curve("larva", "spent_grain_yeast").rate(25.0), 1)  # 250 / (25 - 12.3)
    19.7
    """
    if stage not in STAGES:
        raise UnknownName("stage", stage, STAGES)
    if diet not in DIETS:
        raise UnknownName("diet", diet, DIETS)
    if stage == "egg":
        return _through(
            _value("egg_threshold"), _value("egg_temperature"), _value("egg_days"), _value("egg_time_spread")
        )
    if stage == "larva":
        made = {"spent_grain_yeast": "yeast", "spent_grain": "grain"}
        return _larva(made[diet]) if diet in made else _mixed_larva()
    return _through(
        _value("rest_threshold"),
        _value("rest_temperature"),
        _value(f"{stage}_days"),
        _value(f"{stage}_time_spread"),
    )


def _warmth(temperature_c: float) -> float:
    return require("temperature_c", temperature_c, COLDEST_C, HOTTEST_C, "°C")


def development_rate(stage: str, temperature_c: float, diet: str = "mixed") -> float:
    """Give the share of a stage passed in one day at a constant temperature of the feed.

    Follows Brière-1; zero at or below the threshold and at or above the upper limit (40 °C). A rate
    is not survival: at a constant 36 °C next to none reach the adult (see `lethal`).

    Args:
        stage: egg, larva, prepupa or pupa.
        temperature_c: Temperature of the feed. [degC], -60 to 100
        diet: mixed (kitchen scraps), spent_grain_yeast or spent_grain.

    Returns:
        Share of the stage per day. [1/d]

    Raises:
        OutOfRange: `temperature_c` outside -60 to 100, or not a number.
        UnknownName: unknown stage or diet.

    Source: Chia et al. 2018, PLoS ONE 13(11):e0206097, abstract; Brière et al. 1999.
    Error: ±25 % for kitchen scraps at 20 to 30 °C; below 18 °C the range of `development_days` holds.

    >>> development_rate("larva", 10.0)
    0.0
    >>> development_rate("larva", 33.0) > development_rate("larva", 38.0) > 0.0
    True
    """
    return curve(stage, diet).rate(_warmth(temperature_c))


def development_days(stage: str, temperature_c: float, diet: str = "mixed") -> Span:
    """Give how long a stage lasts at a constant temperature of the feed, with its 80 % range.

    The range joins the spread between diets and bins with the error of the threshold, which rules in
    the cold: below 18 °C the upper end is often `inf`, 'may not end'. A stage longer than five months
    is given as `inf` too.

    Args:
        stage: egg, larva, prepupa or pupa.
        temperature_c: Temperature of the feed. [degC], -60 to 100
        diet: mixed, spent_grain_yeast or spent_grain.

    Returns:
        Days, low (10 %), mid and high (90 %). [d]

    Raises:
        OutOfRange: `temperature_c` outside -60 to 100, or not a number.
        UnknownName: unknown stage or diet.

    Source: as `development_rate`; errors of threshold and thermal constant from the same abstract.
    Error: this is one. Held-out studies are compared in docs/forecasts.md.

    >>> span = development_days("larva", 30.0, "spent_grain_yeast")
    >>> span.low < 14.1 < span.high  # the straight line says 250 / (30 - 12.3) = 14.1
    True
    >>> development_days("larva", 9.0).mid
    inf
    """
    shape, warm = curve(stage, diet), _warmth(temperature_c)
    mid = _days(shape, warm)
    if mid == inf:
        return Span(_days(shape.shifted(-HALF * shape.threshold_error_c), warm), inf, inf)
    apart = HALF * shape.time_spread
    warmer = _days(shape.shifted(-HALF * shape.threshold_error_c), warm)
    colder = _days(shape.shifted(HALF * shape.threshold_error_c), warm)
    low = mid * numeric.exp(-_joined(apart, _log_ratio(mid, warmer)))
    high = inf if colder == inf else mid * numeric.exp(_joined(apart, _log_ratio(mid, colder)))
    return Span(low, mid, high if high <= _value("longest_days") else inf)


def _joined(one: float, other: float) -> float:
    return sqrt(one * one + other * other)


def _log_ratio(one: float, other: float) -> float:
    return numeric.log(one / other)


def _days(shape: Curve, temperature_c: float) -> float:
    rate = shape.rate(temperature_c)
    return 1.0 / rate if rate * _value("longest_days") > 1.0 else inf


def growing_rate(temperature_c: float, diet: str = "mixed") -> float:
    """Give the share of the way from a laid egg to a grown larva passed in one day.

    Egg and larva one after the other at the same temperature; the egg's part is nearly the same share of
    the way at all temperatures, since both curves have nearly the same threshold and limit.

    Args:
        temperature_c: Temperature of the feed. [degC], -60 to 100
        diet: mixed, spent_grain_yeast or spent_grain.

    Returns:
        Share per day. [1/d]

    Raises:
        OutOfRange: `temperature_c` outside -60 to 100, or not a number.
        UnknownName: unknown diet.

    Source: as `development_rate`, for egg and larva.
    Error: as `development_days`; eggs lie above the feed and may be cooler.

    >>> days = development_days("egg", 27.0).mid + development_days("larva", 27.0).mid
    >>> round(growing_rate(27.0) * days, 9)
    1.0
    """
    egg, larva = development_rate("egg", temperature_c), development_rate("larva", temperature_c, diet)
    return egg * larva / (egg + larva) if egg > 0.0 and larva > 0.0 else 0.0


def day_rate(stage: str, low_c: float, high_c: float, diet: str = "mixed") -> float:
    """Give the share of a stage passed in a day that swings as a sine between two temperatures.

    Rates are read hour by hour and averaged: a cool mean with a warm noon develops more than the
    mean alone says, a hot noon less.

    Args:
        stage: egg, larva, prepupa or pupa.
        low_c: Lowest temperature of the feed in the day. [degC], -60 to 100
        high_c: Highest. [degC], low_c to 60
        diet: mixed, spent_grain_yeast or spent_grain.

    Returns:
        Share of the stage per day. [1/d]

    Raises:
        OutOfRange: a temperature outside the range, or `high_c` below `low_c`.
        UnknownName: unknown stage or diet.

    Source: rates summed in physiological time, Curry, Feldman, Smith 1978, Theor Popul Biol 13:197-213.
    Error: reading 24 points of the sine errs by less than 0.1 % off the corner at the threshold.

    >>> day_rate("larva", 25.0, 25.0) == development_rate("larva", 25.0)
    True
    >>> day_rate("larva", 5.0, 17.0) > development_rate("larva", 11.0)
    True
    """
    shape, low = curve(stage, diet), _warmth(low_c)
    require("high_c", high_c, low, HOTTEST_C, "°C")
    mean, swing = (low + high_c) / 2.0, (high_c - low) / 2.0
    if swing == 0.0:
        return shape.rate(mean)
    return fsum(shape.rate(mean + swing * height) for height in _heights()) / len(_heights())


@cache
def _heights() -> tuple[float, ...]:
    steps = int(_value("hourly_steps"))
    return tuple(numeric.sin(2.0 * pi * (step + 0.5) / steps) for step in range(steps))


def degree_days(
    hourly_or_daily: Sequence[tuple[float, float]], threshold_c: float, *, pairs_per_day: float = 1.0
) -> float:
    """Sum degree-days above a threshold, each pair a sine between its two temperatures, no upper cap.

    Exact by the closed form: with mean M, half swing A and θ = asin((T0 − M)/A) a day that straddles
    the threshold T0 gives ((M − T0)(π/2 − θ) + A cos θ)/π.

    Args:
        hourly_or_daily: Lowest and highest temperature of each spell. [degC], -60 to 80
        threshold_c: Lower threshold. [degC], -60 to 80
        pairs_per_day: 1 for daily pairs, 24 for hourly ones. [1/d], above 0

    Returns:
        Degree-days. [K·d]

    Raises:
        OutOfRange: a temperature outside its range, a highest below its lowest, no pairs in a day.

    Source: single sine, Baskerville, Emin 1969, Ecology 50:514-517 (recalled); the integral is exact.
    Error: none beyond rounding if the day is a sine. Rises without limit: heat is not capped.

    >>> round(degree_days([(5.0, 25.0)], 12.3), 2)  # the mean alone would give 2.70
    4.65
    >>> round(degree_days([(20.0, 20.0)] * 3, 12.3), 6)
    23.1
    """
    require("threshold_c", threshold_c, -60.0, 80.0, "°C")
    if not 0.0 < pairs_per_day < inf:
        raise OutOfRange("pairs_per_day", pairs_per_day, 1.0, 1440.0, "1/d")
    return fsum(_sine_day(low, high, threshold_c) for low, high in hourly_or_daily) / pairs_per_day


def _sine_day(low_c: float, high_c: float, threshold_c: float) -> float:
    require("lowest temperature", low_c, -60.0, 80.0, "°C")
    require("highest temperature", high_c, low_c, 80.0, "°C")
    mean = (low_c + high_c) / 2.0
    if threshold_c <= low_c:
        return mean - threshold_c
    if threshold_c >= high_c:
        return 0.0
    swing = (high_c - low_c) / 2.0
    angle = numeric.asin((threshold_c - mean) / swing)
    return ((mean - threshold_c) * (pi / 2.0 - angle) + swing * numeric.cos(angle)) / pi


def lethal(mean_c: float) -> bool:
    """Say whether a temperature held for the whole of development kills next to all.

    Args:
        mean_c: Constant temperature of the feed. [degC], -60 to 100

    Returns:
        True at or above 36 °C, where 0.1 % reached the adult.

    Raises:
        OutOfRange: `mean_c` outside -60 to 100.

    Source: Tomberlin, Adler, Myers 2009, Environ Entomol 38(3):930-934, abstract.
    Error: nothing was tried between 30 and 36 °C; the true edge lies between.

    >>> lethal(36.0), lethal(30.0)
    (True, False)
    """
    return _warmth(mean_c) >= _value("lethal_mean")


def indices(
    fed_kg: float, residue_kg: float, gained_kg: float, days: float, basis: str | Sequence[str]
) -> Indices:
    """Give waste reduction, bioconversion and their kin for one batch, all on one basis.

    Args:
        fed_kg: Waste given, W. [kg], above 0
        residue_kg: Residue left, R. [kg], 0 or more
        gained_kg: Larvae at the end less larvae at the start, B. [kg], 0 or more
        days: Length of the batch. [d], above 0
        basis: wet, dry or volatile_solids; or the bases of the three masses, which must be the same.

    Returns:
        The indices; `lost_pct` may be below 0 on a wet basis (water was added), never on another.

    Raises:
        MixedBasis: the three masses differ in basis, or more came out than went in on a dry basis.
        OutOfRange: a mass or time that can't be.
        UnknownName: unknown basis.

    Source: Diener, Zurbrügg, Tockner 2009, Waste Manag Res 27:603-610, after Waldbauer 1968 and Scriber,
    Slansky 1981 (formulas as recalled there).
    Error: that of the three weighings; the identity digested = bioconversion/reduction holds exactly.

    >>> got = indices(100.0, 19.0, 12.0, 12.0, "dry")
    >>> round(got.reduction_pct, 6), round(100 * got.digested_conversion, 1), round(got.lost_pct, 6)
    (81.0, 14.8, 69.0)
    """
    one = _one_basis(basis)
    require("fed_kg", fed_kg, 0.0, 1e9, "kg")
    if fed_kg == 0.0:
        raise OutOfRange("fed_kg", fed_kg, 1e-9, 1e9, "kg")
    require("residue_kg", residue_kg, 0.0, 1e9, "kg")
    require("gained_kg", gained_kg, 0.0, 1e9, "kg")
    require("days", days, 1e-6, 1e5, "d")
    gone = fed_kg - residue_kg
    lost = gone - gained_kg
    if one != "wet" and lost < -_NOTHING * fed_kg:
        raise MixedBasis(
            f"{residue_kg:g} kg of residue and {gained_kg:g} kg of larvae came from {fed_kg:g} kg of feed: "
            f"more {one.replace('_', ' ')} matter can't come out than went in, so one of them is on another "
            "basis; give all three on one"
        )
    reduction_pct = 100.0 * gone / fed_kg
    return Indices(
        reduction_pct=reduction_pct,
        waste_reduction_index=reduction_pct / days,
        bioconversion_pct=100.0 * gained_kg / fed_kg,
        digested_conversion=gained_kg / gone if gone > _NOTHING * fed_kg else None,
        feed_conversion_ratio=fed_kg / gained_kg if gained_kg > _NOTHING * fed_kg else None,
        lost_pct=100.0 * lost / fed_kg,
        basis=one,
    )


def _one_basis(basis: str | Sequence[str]) -> Basis:
    given = (basis,) if isinstance(basis, str) else tuple(basis)
    for one in given:
        if one not in BASES:
            raise UnknownName("basis", one, BASES)
    if len(set(given)) != 1:
        listed = ", ".join(one.replace("_", " ") for one in given) or "none"
        raise MixedBasis(
            f"feed, residue and larvae are given on different bases ({listed}); "
            "turn all three into wet, dry or volatile solids first"
        )
    return cast(Basis, given[0])


def protein_kg(wet_kg: float, dry_matter: float | None = None) -> Span:
    """Estimate the true protein in grown larvae from their fresh mass.

    Crude protein of prepupae (N × 6.25) is brought to true protein by the larva's own factor 4.76.

    Args:
        wet_kg: Fresh mass. [kg], 0 or more
        dry_matter: Share of dry matter; None takes that of prepupae. [1], 0.1 to 0.7

    Returns:
        Protein with its range over the published spread. [kg]

    Raises:
        OutOfRange: a mass below 0 or a dry matter outside its range.

    Source: Janssen et al. 2017, J Agric Food Chem 65:2275-2278; Spranghers et al. 2017, J Sci Food Agric
    97:2594-2600; dry matter Hale 1973 as quoted.
    Error: ±15 %, most of it dry matter.

    >>> round(protein_kg(1.0, 0.4).mid, 4)  # 0.4 * 0.415 * 4.76 / 6.25
    0.1264
    """
    require("wet_kg", wet_kg, 0.0, 1e6, "kg")
    dry = sources.constant("soldierfly.prepupa_dry_matter")
    crude = sources.constant("soldierfly.crude_protein")
    if dry_matter is not None:
        require("dry_matter", dry_matter, 0.1, 0.7, "1")
    share = _value("nitrogen_to_protein") / _value("nitrogen_to_crude") / 1000.0
    ends: Mapping[str, tuple[float, float]] = {
        "low": (dry_matter or dry.low, crude.low),
        "mid": (dry_matter or dry.value, crude.value),
        "high": (dry_matter or dry.high, crude.high),
    }
    return Span(*(wet_kg * matter * protein * share for matter, protein in ends.values()))
