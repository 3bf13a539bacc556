"""The two-sided bed as a mass balance: scraps, castings, worms, water and nitrogen of each side, by day.

On each side undecomposed scraps (dry matter) are eaten by worms and rot besides; both leave castings
and gas. Worms grow with food up to what the area carries, starve without it, die of heat and frost,
and cross from the resting to the feeding side. Water comes with scraps and watering, and leaves by
air and drain. Worms are counted live and fresh; their dry matter is inside what goes to gas.

    intake  I = q f(T) f(M) W F/(F + h S)          decay  D = k Q10^((T-25)/10) F
    F' = feed - I - D        C' = y_e I + y_r D - k_c Q10^((T-25)/10) C
    W' = f(T) f(M) W (r (L - W/(K S)) - s (1 - L)) -+ J,  L = F/(F + h S)
    J  = (W - Z) f(T)/f(20)/tau from the resting side; its stayers Z grow and shrink with W
    H' = -e S v(T) (m/m_ref)^2  water H to the air, m its share of the wet mass

What a person does (feed, water, take out, switch) happens at once, between two days.
"""

from dataclasses import dataclass
from functools import cache
from math import sqrt
from typing import Literal, NamedTuple

from fallowside.core import sources
from fallowside.core.errors import require
from fallowside.core.numeric import exp, log

SideName = Literal["a", "b"]
NAMES: tuple[SideName, SideName] = ("a", "b")

_COLDEST_C, _HOTTEST_C = -60.0, 100.0
_TENTHS = 10
_REFERENCE_C = 25.0


class Side(NamedTuple):
    """What one side holds. A tuple, because a plan steps through thousands of them.

    Attributes:
        scraps_kg, castings_kg: Dry matter, undecomposed and turned to castings. [kg]
        worms_kg: Live worms; `staying_kg` of them will not cross while the side rests. [kg]
        water_kg: Water in scraps and castings. [kg]
        scraps_nitrogen_kg, castings_nitrogen_kg: Nitrogen in each. [kg]
    """

    scraps_kg: float = 0.0
    castings_kg: float = 0.0
    worms_kg: float = 0.0
    staying_kg: float = 0.0
    water_kg: float = 0.0
    scraps_nitrogen_kg: float = 0.0
    castings_nitrogen_kg: float = 0.0

    @property
    def dry_kg(self) -> float:
        """Dry matter of the side, worms apart. [kg]."""
        return self.scraps_kg + self.castings_kg

    @property
    def moisture_pct(self) -> float | None:
        """Water share of the wet mass, or None for an empty side. [%]."""
        wet = self.water_kg + self.scraps_kg + self.castings_kg
        return 100.0 * self.water_kg / wet if wet > 0.0 else None

    @property
    def unfinished(self) -> float:
        """Undecomposed share of the dry matter, 0 for an empty side."""
        dry = self.scraps_kg + self.castings_kg
        return self.scraps_kg / dry if dry > 0.0 else 0.0


class Outflow(NamedTuple):
    """What left the bed by itself in a day; water by side, the fed one first. [kg]."""

    gas_kg: float
    nitrogen_gas_kg: float
    evaporated_kg: tuple[float, float]


class Conditions(NamedTuple):
    """What a day's warmth and moisture do to a side; 1 is the reference of each rate.

    Attributes:
        work: Feeding and growth, f(T) f(M). [0..1]
        rot: Decay, 1 at 25 degC.
        crossing: Migration, 1 at 20 degC.
        half_survival: Share of the worms that outlives half the day.
        drying: Evaporation, 1 at 20 degC.
    """

    work: float
    rot: float
    crossing: float
    half_survival: float
    drying: float


@dataclass(frozen=True, slots=True)
class Rates:
    """The parameters of the model at their reference temperatures; defaults are the data file's."""

    intake: float = sources.value("worms.intake_dry")
    decay: float = sources.value("worms.decay_rate")
    half_saturation: float = sources.value("worms.half_saturation")
    growth: float = sources.value("worms.growth_rate")
    starvation: float = sources.value("worms.starvation_rate")
    capacity: float = sources.value("worms.carrying_capacity")
    yield_eaten: float = sources.value("worms.yield_eaten")
    yield_rotted: float = sources.value("worms.yield_rotted")
    curing: float = sources.value("worms.curing_rate")
    nitrogen_lost: float = sources.value("worms.nitrogen_lost")
    migration_days: float = sources.value("worms.migration_days")
    stayers: float = sources.value("worms.stayers")
    evaporation: float = sources.value("worms.evaporation")


# -- responses -----------------------------------------------------------------------------------


def activity(temperature_c: float) -> float:
    """Give the share of their best at which worms feed and grow at a bed temperature.

    Cardinal temperature model with inflection; 0 at and outside the lower and upper limits. The
    cardinal points (3, 25, 36 degC) are more cautious in the cold than the fit to two published
    growth series.

    Args:
        temperature_c: Temperature of the bed, not of the air. [degC], -60 to 100

    Returns:
        0 to 1. [1]

    Raises:
        OutOfRange: `temperature_c` outside -60 to 100.

    Source: law of Rosso and others 1993, J. Theor. Biol. 162:447-463; points `worms.cardinal_min`,
    `worms.cardinal_opt`, `worms.cardinal_max`.
    Error: about +-0.15 between 10 and 30 degC; above 30 degC one laboratory series only.

    >>> activity(25.0), activity(36.0), round(activity(15.0), 3)
    (1.0, 0.0, 0.568)
    """
    require("bed temperature", temperature_c, _COLDEST_C, _HOTTEST_C, "degC")
    return cardinal(temperature_c, *_CARDINAL)


def cardinal(temperature_c: float, low_c: float, best_c: float, high_c: float) -> float:
    """Give the cardinal temperature model with inflection: 1 at the best point, 0 at and outside the ends.

    Args:
        temperature_c: Temperature. [degC]
        low_c: Lower limit. [degC]
        best_c: Best temperature, above the middle of the limits. [degC]
        high_c: Upper limit. [degC]

    Source: Rosso and others 1993, J. Theor. Biol. 162:447-463.

    >>> cardinal(28.0, -3.7, 28.0, 42.9), cardinal(-4.0, -3.7, 28.0, 42.9)
    (1.0, 0.0)
    """
    if temperature_c <= low_c or temperature_c >= high_c:
        return 0.0
    above, rise = temperature_c - low_c, best_c - low_c
    slope = rise * (temperature_c - best_c) - (best_c - high_c) * (best_c + low_c - 2.0 * temperature_c)
    return min(1.0, max(0.0, (temperature_c - high_c) * above * above / (rise * slope)))


def moisture_factor(moisture_pct: float) -> float:
    """Give the share of their best at which worms feed and grow at a moisture of the bed.

    Straight lines between the knots of `worms.curves.moisture`: nothing below 45 %, best from 75 to
    85 %, nothing at 95 %.

    Args:
        moisture_pct: Water share of the wet mass. [%], 0 to 100

    Returns:
        0 to 1. [1]

    Raises:
        OutOfRange: `moisture_pct` outside 0 to 100.

    Source: Reinecke, Venter 1985, figs 1-3; set below the fit under 70 % on purpose.
    Error: sources disagree on the best moisture (65-70 % or 80-90 %), hence the plateau.

    >>> moisture_factor(80.0), moisture_factor(62.5), moisture_factor(30.0)
    (1.0, 0.35, 0.0)
    """
    require("bed moisture", moisture_pct, 0.0, 100.0, "%")
    before_x, before_y = _MOISTURE[0]
    if moisture_pct <= before_x:
        return before_y
    for x, y in _MOISTURE:
        if moisture_pct <= x:
            return before_y + (y - before_y) * (moisture_pct - before_x) / (x - before_x)
        before_x, before_y = x, y
    return before_y


def rot_factor(temperature_c: float) -> float:
    """Give how fast scraps rot at a temperature, 1 at 25 degC, by a constant Q10.

    Args:
        temperature_c: Temperature of the bed. [degC], -60 to 100; law meant for 5 to 35

    Source: `worms.decay_q10` (Haug 1993, from memory). Rises without limit: no optimum is modelled.

    >>> round(rot_factor(15.0), 12)
    0.5
    """
    require("bed temperature", temperature_c, _COLDEST_C, _HOTTEST_C, "degC")
    return exp(_LOG_Q10 * (temperature_c - _REFERENCE_C) / 10.0)


def deaths_per_day(temperature_c: float) -> float:
    """Give the rate at which worms die of heat or frost. [1/d].

    Nothing between 0 and 30 degC; with the cube of the excess above 30 degC up to 1 a day at 36 degC;
    in proportion to the degrees below 0. Published limits give no rates: common practice, no source.

    >>> deaths_per_day(20.0), deaths_per_day(36.0), deaths_per_day(-4.0)
    (0.0, 1.0, 0.2)
    """
    if temperature_c > _HEAT_HARM:
        over = (temperature_c - _HEAT_HARM) / (_CARDINAL[2] - _HEAT_HARM)
        return min(_HEAT_DEATH * over * over * over, _HEAT_DEATH_MOST)
    return max(0.0, _FROST_HARM - temperature_c) * _FROST_DEATH


def drying_factor(temperature_c: float) -> float:
    """Give how fast a bed dries at a temperature, 1 at 20 degC: in proportion to vapour pressure.

    Source: saturation vapour pressure, FAO Irrigation and Drainage Paper 56, equation 11.

    >>> drying_factor(20.0)
    1.0
    """
    return exp(_vapour(temperature_c) - _vapour(_CROSSING_C))


def conditions(temperature_c: float, moisture_pct: float | None) -> Conditions:
    """Put together what a day's warmth and moisture do; the temperature counts to a tenth of a degree.

    An empty side (moisture None) is taken as wet enough: there is nothing in it to be dry.
    """
    warm = _warmth(round(temperature_c * _TENTHS))
    if moisture_pct is None:
        return warm
    return warm._replace(work=warm.work * moisture_factor(moisture_pct))


@cache
def _warmth(tenths: int) -> Conditions:
    temperature_c = min(max(tenths / _TENTHS, _COLDEST_C), _HOTTEST_C)
    active = activity(temperature_c)
    return Conditions(
        work=active,
        rot=rot_factor(temperature_c),
        crossing=active / _ACTIVITY_AT_CROSSING,
        half_survival=exp(-0.5 * deaths_per_day(temperature_c)),
        drying=drying_factor(temperature_c),
    )


def _vapour(temperature_c: float) -> float:
    return _VAPOUR_SLOPE * temperature_c / (temperature_c + _VAPOUR_OFFSET)


# -- what a person does --------------------------------------------------------------------------


def put_in(side: Side, dry_kg: float, water_kg: float = 0.0, nitrogen_kg: float = 0.0) -> Side:
    """Add scraps, bedding or water to a side; amounts of dry matter, water and nitrogen. [kg]."""
    # As `_replace`, which takes three times as long: a log has many feeds.
    scraps, castings, worms, staying, water, nitrogen, cast_nitrogen = side
    return Side(
        scraps + dry_kg, castings, worms, staying, water + water_kg, nitrogen + nitrogen_kg, cast_nitrogen
    )


def take_out(side: Side, share: float, *, worms_too: bool) -> tuple[Side, Side]:
    """Take a share of all a side holds, with its worms or leaving them; give what stays and what went.

    >>> take_out(Side(scraps_kg=1.0, castings_kg=3.0, worms_kg=0.2), 0.5, worms_too=False)[1].castings_kg
    1.5
    """
    require("share taken", share, 0.0, 1.0, "of the side")
    gone = Side(*(share * held for held in side))
    if not worms_too:
        gone = gone._replace(worms_kg=0.0, staying_kg=0.0)
    return Side(*(held - taken for held, taken in zip(side, gone, strict=True))), gone


def drain(side: Side) -> tuple[Side, float]:
    """Let water that the side can't hold run off; give the side and the kilograms that ran."""
    most = _HOLDING * (side.scraps_kg + side.castings_kg)
    if side.water_kg <= most:
        return side, 0.0
    return side._replace(water_kg=most), side.water_kg - most


def begin_rest(side: Side, rates: Rates) -> Side:
    """Mark the worms that will stay behind on the side that is fed no longer."""
    return side._replace(staying_kg=rates.stayers * side.worms_kg)


def end_rest(side: Side) -> Side:
    """Let all worms of the side move again: it is fed from now on."""
    return side._replace(staying_kg=0.0)


def depth_m(side: Side, area_m2: float) -> float:
    """Give the depth of a side from its dry matter and the densities of scraps and castings. [m]."""
    return (side.scraps_kg / SCRAPS_DENSITY + side.castings_kg / CASTINGS_DENSITY) / (1000.0 * area_m2)


def work_per_day(side: Side, today: Conditions, rates: Rates, area_m2: float) -> float:
    """Give the dry scraps a side eats and rots in a day as it stands. [kg/d]."""
    saturating = side.scraps_kg + rates.half_saturation * area_m2
    eaten = rates.intake * today.work * side.worms_kg / saturating
    return (eaten + rates.decay * today.rot) * side.scraps_kg


# -- a day ---------------------------------------------------------------------------------------


def advance(
    fed: Side, resting: Side, today: tuple[Conditions, Conditions], rates: Rates, area_m2: float
) -> tuple[Side, Side, Outflow]:
    """Take both sides through one day in which nobody does anything.

    Strang splitting: half a day's deaths and crossing, a day's digestion by the midpoint rule with an
    exponential decay, half a day's crossing and deaths. Second order, never negative, and closed to
    rounding for dry matter, water and nitrogen.

    Args:
        fed: The side fed, in the morning.
        resting: The other side.
        today: Conditions of the fed and of the resting side.
        rates: Parameters.
        area_m2: Surface of one side. [m2], > 0

    Returns:
        Both sides the next morning, and what left by itself.
    """
    on_fed, on_resting = today
    moving = 0.5 * on_resting.crossing / rates.migration_days
    stay = decayed(moving)
    first = resting.worms_kg * on_resting.half_survival
    staying = resting.staying_kg * on_resting.half_survival
    crossed = (first - staying) * (1.0 - stay)
    fed_worms = fed.worms_kg * on_fed.half_survival + crossed
    resting_worms = first - crossed

    model = pace(rates, area_m2)
    fed_scraps, fed_castings, fed_growth, _ = digest(
        fed.scraps_kg, fed.castings_kg, fed_worms, 0.0, on_fed.work, on_fed.rot, model
    )
    rest_scraps, rest_castings, rest_growth, _ = digest(
        resting.scraps_kg, resting.castings_kg, resting_worms, 0.0, on_resting.work, on_resting.rot, model
    )
    fed_worms *= fed_growth
    resting_worms *= rest_growth
    staying *= rest_growth
    crossed = (resting_worms - staying) * (1.0 - stay)
    fed_worms = (fed_worms + crossed) * on_fed.half_survival
    resting_worms = (resting_worms - crossed) * on_resting.half_survival

    new_fed, fed_nitrogen, fed_vapour = _settle(
        fed, fed_scraps, fed_castings, fed_worms, 0.0, on_fed, rates, area_m2
    )
    new_resting, rest_nitrogen, rest_vapour = _settle(
        resting,
        rest_scraps,
        rest_castings,
        resting_worms,
        staying * on_resting.half_survival,
        on_resting,
        rates,
        area_m2,
    )
    gas = (fed.scraps_kg + fed.castings_kg - fed_scraps - fed_castings) + (
        resting.scraps_kg + resting.castings_kg - rest_scraps - rest_castings
    )
    return new_fed, new_resting, Outflow(gas, fed_nitrogen + rest_nitrogen, (fed_vapour, rest_vapour))


Pace = tuple[float, float, float, float, float, float, float, float, float, float]
"""What `digest` needs of the parameters on one side, from `pace`."""


def pace(rates: Rates, area_m2: float) -> Pace:
    """Put together what `digest` needs of the parameters on a side of a surface. [m2]"""
    # A plain tuple, which is taken apart at once: many draws go this way.
    return (
        rates.half_saturation * area_m2,
        rates.decay,
        rates.intake,
        rates.growth + rates.starvation,
        rates.growth / (rates.capacity * area_m2),
        rates.starvation,
        rates.yield_eaten,
        rates.yield_rotted - rates.yield_eaten,
        0.5 * rates.curing,
        4.0 * rates.half_saturation * area_m2,
    )


def digest(
    scraps: float, castings: float, worms: float, inflow: float, work: float, rot: float, model: Pace
) -> tuple[float, float, float, float]:
    """Eat, rot and grow on one side for a step of some days, its worms neither coming nor going.

    Args:
        scraps: Undecomposed dry matter at the start. [kg]
        castings: Dry matter of castings at the start. [kg]
        worms: Live worms at the start. [kg]
        inflow: Scraps that arrive evenly during the step. [kg DM]
        work: Feeding and growth, as in `Conditions`, times the length of the step. [d], up to about 5
        rot: Decay, as in `Conditions`, times that length. [d]
        model: Parameters, from `pace`.

    Returns:
        Scraps and castings at the end, the factor by which the worms grew, and the exponent by which
        scraps that lay there from the start have shrunk.
    """
    half, decay, intake, gain, crowding, starving, eaten, more, curing, half_4 = model
    rotting = decay * rot
    net = work * (gain * scraps / (scraps + half) - crowding * worms - starving)
    mid_worms = worms * (1.0 + 0.5 * net) if net > 0.0 else worms / (1.0 - 0.5 * net)
    pull = intake * work * mid_worms

    # Half-way scraps: the implicit half step is a quadratic, which stays right when worms outeat the feed;
    # once round by the exponential makes it exact to third order.
    laid = scraps + 0.5 * inflow
    slow = 1.0 + 0.5 * rotting
    linear = half * slow + 0.5 * pull - laid
    product = half_4 * laid
    root = sqrt(linear * linear + slow * product)
    mid = 0.5 * product / (root + linear) if linear > 0.0 else (root - linear) / (2.0 * slow)
    rate = rotting + pull / (mid + half)
    mid = laid / (1.0 + rate * (0.5 + 0.125 * rate))

    held = mid + half
    rate = rotting + pull / held
    # As `decayed`, without the call: many draws go this way.
    kept = 1.0 / (1.0 + rate * (1.0 + rate * (0.5 + rate * (1.0 / 6.0 + rate * (1.0 / 24.0)))))
    gained = 0.0
    end = scraps + inflow
    if rate > 0.0:
        end = scraps * kept + inflow * (1.0 - kept) / rate
        gained = (scraps + inflow - end) * (eaten + more * rotting / rate)
    cured = curing * rot
    net = work * (gain * mid / held - crowding * mid_worms - starving)
    grown = 1.0 + net * (1.0 + 0.5 * net) if net > 0.0 else decayed(-net)
    return end, (castings * (1.0 - cured) + gained) / (1.0 + cured), grown, rate


def decayed(rate: float) -> float:
    """Give e^-rate for rate >= 0 by four terms of its inverse: 1e-5 off at 0.2, and never below 0."""
    return 1.0 / (1.0 + rate * (1.0 + rate * (0.5 + rate * (1.0 / 6.0 + rate * (1.0 / 24.0)))))


def _settle(
    before: Side,
    scraps: float,
    castings: float,
    worms: float,
    staying: float,
    today: Conditions,
    rates: Rates,
    area_m2: float,
) -> tuple[Side, float, float]:
    """Let nitrogen follow the scraps and water go to the air; give the side and both losses."""
    kept = scraps / before.scraps_kg if before.scraps_kg > 0.0 else 1.0
    nitrogen = before.scraps_nitrogen_kg * kept
    released = before.scraps_nitrogen_kg - nitrogen
    gas = rates.nitrogen_lost * released
    dry = 0.5 * (before.scraps_kg + before.castings_kg + scraps + castings)
    water = before.water_kg
    if water > _TRACE_KG:
        pull = rates.evaporation * area_m2 * today.drying / (_MOISTURE_REFERENCE * _MOISTURE_REFERENCE)
        wet = water + dry
        half_way = water / (1.0 + 0.5 * pull * water / (wet * wet))
        wet = half_way + dry
        left = water * decayed(pull * half_way / (wet * wet))
    else:
        left = 0.0
    side = Side(
        scraps, castings, worms, staying, left, nitrogen, before.castings_nitrogen_kg + (released - gas)
    )
    return side, gas, water - left


_TRACE_KG = 1e-12
"""Less water than this goes within the day: its square would be too small for a float."""
_CARDINAL = (
    sources.value("worms.cardinal_min"),
    sources.value("worms.cardinal_opt"),
    sources.value("worms.cardinal_max"),
)
_MOISTURE: tuple[tuple[float, float], ...] = tuple(
    zip(
        sources.table("worms")["curves"]["moisture"]["x"],
        sources.table("worms")["curves"]["moisture"]["y"],
        strict=True,
    )
)
_LOG_Q10 = log(sources.value("worms.decay_q10"))
_HEAT_HARM = sources.value("worms.heat_stop")
_HEAT_DEATH = sources.value("worms.heat_death_rate")
_HEAT_DEATH_MOST = sources.value("worms.heat_death_most")
_FROST_HARM = sources.value("worms.frost_harm")
_FROST_DEATH = sources.value("worms.frost_death_rate")
_CROSSING_C = sources.value("worms.migration_reference")
_VAPOUR_SLOPE = sources.value("worms.vapour_slope")
_VAPOUR_OFFSET = sources.value("worms.vapour_offset")
_ACTIVITY_AT_CROSSING = activity(_CROSSING_C)
_MOISTURE_REFERENCE = sources.value("worms.moisture_reference") / 100.0
_HOLDING = sources.value("worms.moisture_wet") / (100.0 - sources.value("worms.moisture_wet"))
SCRAPS_DENSITY = sources.value("worms.scraps_density")
CASTINGS_DENSITY = sources.value("worms.castings_density")
