"""Mixing by mass: moisture, carbon and nitrogen of a heap, and what mends them.

Masses are wet (as received) unless their name says otherwise; moisture is % of the wet mass, carbon
and nitrogen are % of the dry mass. Ratios are never averaged: C:N of a mix is all its carbon over
all its nitrogen. Equations: Cornell Waste Management Institute, T. Richard and N. Trautmann 1996,
'Getting the right mix'. Two cautions of the trade: the carbon of wood and cardboard counts here in
full though worms and larvae see little of it, and the carbon of lime (shells) counts nowhere.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import fsum, inf, sqrt

from fallowside.core import materials
from fallowside.core.errors import CannotMeet, require
from fallowside.core.materials import Material
from fallowside.core.span import Span

__all__ = [
    "Blend",
    "CannotMeet",
    "Material",
    "Parts",
    "amend",
    "amend_both",
    "blend",
    "known",
    "ranges",
    "sample_moisture",
]

Parts = Sequence[tuple[str | Material, float]]

_HEAVIEST_KG = 1e9
_SAME = 1e-12  # of the sizes that were subtracted: below it a goal counts as met
_ALIKE = 1e-9  # two amounts this near, relatively, are one


@dataclass(frozen=True, slots=True)
class Blend:
    """A mix of materials."""

    wet_kg: float
    dry_kg: float
    moisture_pct: float
    """[% of wet mass]"""
    carbon_kg: float
    nitrogen_kg: float
    carbon_to_nitrogen: float
    """By mass; infinite where there is no nitrogen."""


def blend(parts: Parts) -> Blend:
    """Mix materials and give what the mix holds.

    Args:
        parts: Materials, or their names, each with its wet mass. [kg], >= 0, more than 0 together

    Raises:
        UnknownName: a name that is not in the table.
        OutOfRange: a negative mass, or nothing at all.

    Source: Cornell 1996, mass balances (moisture, carbon and nitrogen each added up). Exact: what it
    gives is as good as the contents it is given, for nitrogen often only to a fifth.

    >>> grass, leaves = Material("grass", 77, 45, 2.4), Material("leaves", 35, 50, 0.75)
    >>> mix = blend([(grass, 10.0), (leaves, 6.8)])
    >>> round(mix.moisture_pct, 9), round(mix.carbon_to_nitrogen, 4)
    (60.0, 36.7289)
    """
    rows = [(known(one), _mass(one, wet_kg)) for one, wet_kg in parts]
    wet_kg = fsum(kg for _, kg in rows)
    require("wet mass of the mix", wet_kg, 5e-324, _HEAVIEST_KG, "kg")
    dry = [(one, kg * (100.0 - one.moisture_pct) / 100.0) for one, kg in rows]
    dry_kg = fsum(kg for _, kg in dry)
    carbon_kg = fsum(kg * one.carbon_pct_dry / 100.0 for one, kg in dry)
    nitrogen_kg = fsum(kg * one.nitrogen_pct_dry / 100.0 for one, kg in dry)
    return Blend(
        wet_kg=wet_kg,
        dry_kg=dry_kg,
        moisture_pct=fsum(kg * one.moisture_pct for one, kg in rows) / wet_kg,
        carbon_kg=carbon_kg,
        nitrogen_kg=nitrogen_kg,
        carbon_to_nitrogen=carbon_kg / nitrogen_kg if nitrogen_kg else inf,
    )


def ranges(parts: Parts) -> tuple[Span, Span | None]:
    """Give moisture and C:N of a mix with the ranges its materials' figures leave them.

    Materials err independently of each other, and each one's carbon of its nitrogen, so distances to
    the ends add up in squares. Their masses, and for C:N their water, are taken as known.

    Args:
        parts: As for `blend`.

    Returns:
        Moisture [% of wet mass], and C:N by mass; None where there is no nitrogen.

    Raises:
        UnknownName, OutOfRange: as for `blend`.

    Source: common practice, no source; the materials' ranges are the table's.

    >>> moisture, ratio = ranges([("mixed_scraps", 1.0)])
    >>> moisture.low, moisture.high, round(ratio.low, 1), round(ratio.high, 1)
    (53.0, 87.0, 10.0, 24.8)
    """
    made = blend(parts)
    wet: list[tuple[float, float]] = []
    carbon: list[tuple[float, float]] = []
    nitrogen: list[tuple[float, float]] = []
    for name, kg in parts:
        one = known(name)
        dry_kg = kg * (100.0 - one.moisture_pct) / 100.0
        wet.append(_off(one, "moisture_pct", kg / made.wet_kg))
        if made.nitrogen_kg:
            carbon.append(_off(one, "carbon_pct_dry", dry_kg / (100.0 * made.carbon_kg or 1.0)))
            nitrogen.append(_off(one, "nitrogen_pct_dry", dry_kg / (100.0 * made.nitrogen_kg)))
    below, above = _together(wet)
    moisture = Span(made.moisture_pct - below, made.moisture_pct, made.moisture_pct + above)
    if not made.nitrogen_kg:
        return moisture, None
    less_carbon, more_carbon = _together(carbon)
    less_nitrogen, more_nitrogen = _together(nitrogen)
    poorer = 1.0 - 1.0 / (1.0 + more_nitrogen)
    richer = 1.0 / (1.0 - less_nitrogen) - 1.0 if less_nitrogen < 1.0 else inf
    ratio = made.carbon_to_nitrogen
    below = min(sqrt(less_carbon * less_carbon + poorer * poorer), 1.0)
    above = sqrt(more_carbon * more_carbon + richer * richer)
    return moisture, Span(ratio * (1.0 - below), ratio, ratio * (1.0 + above))


def amend(
    parts: Parts,
    amendment: str | Material,
    *,
    moisture_pct: float | None = None,
    carbon_to_nitrogen: float | None = None,
) -> float:
    """Give the wet mass of an amendment that brings a mix to a goal.

    Args:
        parts: The mix so far, as for `blend`.
        amendment: What is to be added.
        moisture_pct: Moisture to reach. [% of wet mass], 0 to 100
        carbon_to_nitrogen: C:N to reach. [1], 0 to 1000

    Returns:
        Mass to add; zero if the mix is there already. [kg]

    Raises:
        CannotMeet: no amount does: the amendment lies on the wrong side of the goal, or two goals
            ask for two amounts, or no goal was given. Nothing is ever cut off at zero in silence.
        OutOfRange, UnknownName: as for `blend`.

    Source: Cornell 1996: Q2 = Q1 (G - M1) / (M2 - G) for moisture, and the same balance of carbon
    less R times nitrogen for C:N; here for any number of parts.

    >>> grass, leaves = Material("grass", 77, 45, 2.4), Material("leaves", 35, 50, 0.75)
    >>> amend([(grass, 10.0)], leaves, moisture_pct=60.0)
    6.8
    """
    added = known(amendment)
    goals = _goals(moisture_pct, carbon_to_nitrogen)
    blend(parts)
    amounts = [_amount(parts, added, goal) for goal in goals]
    if not amounts:
        raise CannotMeet("give a moisture, a C:N or both to reach")
    if max(amounts) - min(amounts) > _ALIKE * max(amounts):
        raise CannotMeet(
            f"{added.name} cannot meet both goals at once: moisture asks for {amounts[0]:.3g} kg, "
            f"C:N for {amounts[1]:.3g} kg; use two amendments"
        )
    return amounts[0]


def amend_both(
    parts: Parts,
    first: str | Material,
    second: str | Material = "water",
    *,
    moisture_pct: float,
    carbon_to_nitrogen: float,
) -> tuple[float, float]:
    """Give the wet masses of two amendments that together bring a mix to a moisture and a C:N.

    Args:
        parts: The mix so far, as for `blend`.
        first, second: What is to be added; the second is water unless said.
        moisture_pct: Moisture to reach. [% of wet mass], 0 to 100
        carbon_to_nitrogen: C:N to reach. [1], 0 to 1000

    Returns:
        Masses of the first and the second. [kg]

    Raises:
        CannotMeet: the two goals cannot be met together with these, as when the mix is already too
            wet; the text says what negative amount it would take.

    Source: Cornell 1996, moisture and C:N solved simultaneously: two linear equations.

    >>> grass, leaves = Material("grass", 77, 45, 2.4), Material("leaves", 35, 50, 0.75)
    >>> [round(kg, 6) for kg in amend_both([(grass, 10.0)], leaves, moisture_pct=75, carbon_to_nitrogen=25)]
    [1.698462, 1.917538]
    """
    one, two = known(first), known(second)
    wet, ratio = _goals(moisture_pct, carbon_to_nitrogen)
    blend(parts)
    (a, b), (c, d) = (wet(one, 1.0), wet(two, 1.0)), (ratio(one, 1.0), ratio(two, 1.0))
    need_wet, need_ratio = _surplus(parts, wet), _surplus(parts, ratio)
    determinant = a * d - b * c
    if abs(determinant) <= _SAME * (abs(a * d) + abs(b * c)):
        raise CannotMeet(f"{one.name} and {two.name} move moisture and C:N in step; choose another pair")
    masses = (b * need_ratio - d * need_wet) / determinant, (c * need_wet - a * need_ratio) / determinant
    rounding = _SAME * fsum(kg for _, kg in parts)
    short = [(name, kg) for name, kg in zip((one.name, two.name), masses, strict=True) if kg < -rounding]
    if short:
        words = " and ".join(f"{kg:.3g} kg of {name}" for name, kg in short)
        raise CannotMeet(f"these goals would take {words}: take something away, or change a goal")
    return max(masses[0], 0.0), max(masses[1], 0.0)


def sample_moisture(wet_g: float, dry_g: float, vessel_g: float = 0.0) -> float:
    """Give the moisture of a sample weighed before and after drying (24 h at 105 to 110 degC).

    Args:
        wet_g, dry_g: Masses with the vessel. [g]
        vessel_g: Mass of the vessel alone. [g]

    Returns:
        Moisture. [% of wet mass]

    Raises:
        OutOfRange: the dry sample is heavier than the wet one, or lighter than its vessel.

    Source: Cornell 1996, 'Moisture content'.

    >>> sample_moisture(14.0, 6.3, 4.0)
    77.0
    """
    require("mass of the vessel", vessel_g, 0.0, _HEAVIEST_KG, "g")
    wet = require("wet mass of the sample", wet_g - vessel_g, 5e-324, _HEAVIEST_KG, "g")
    dry = require("dry mass of the sample", dry_g - vessel_g, 0.0, wet, "g")
    # Rounding may go a hair beyond what is possible.
    return min(100.0, 100.0 * (wet - dry) / wet)


# A goal is the surplus of a mass of a material over what the goal would have: it adds up to zero in a
# mix that is there.
_Goal = Callable[[Material, float], float]


def _goals(moisture_pct: float | None, carbon_to_nitrogen: float | None) -> list[_Goal]:
    goals: list[_Goal] = []
    if moisture_pct is not None:
        wanted = require("moisture to reach", moisture_pct, 0.0, 100.0, "percent")
        goals.append(lambda one, kg: kg * (one.moisture_pct - wanted))
    if carbon_to_nitrogen is not None:
        ratio = require("C:N to reach", carbon_to_nitrogen, 0.0, 1000.0, "1")
        goals.append(
            lambda one, kg: (
                kg * (100.0 - one.moisture_pct) * (one.carbon_pct_dry - ratio * one.nitrogen_pct_dry)
            )
        )
    return goals


def _surplus(parts: Parts, goal: _Goal) -> float:
    """Give the surplus of a mix; zero where it is no more than rounding."""
    each = [goal(known(one), kg) for one, kg in parts]
    total = fsum(each)
    return 0.0 if abs(total) <= _SAME * fsum(map(abs, each)) else total


def _amount(parts: Parts, added: Material, goal: _Goal) -> float:
    surplus, effect = _surplus(parts, goal), goal(added, 1.0)
    if surplus == 0.0:
        return 0.0
    if surplus * effect >= 0.0 or abs(surplus) > abs(effect) * _HEAVIEST_KG:
        raise CannotMeet(f"no amount of {added.name} reaches the goal: it lies on the same side as the mix")
    return -surplus / effect


def _off(one: Material, figure: str, weight: float) -> tuple[float, float]:
    """Give how far below and above itself a figure may be, times a weight."""
    value = getattr(one, figure)
    low, high = one.ranges.get(figure, (value, value))
    return weight * max(value - low, 0.0), weight * max(high - value, 0.0)


def _together(distances: Sequence[tuple[float, float]]) -> tuple[float, float]:
    below, above = (fsum(one[end] * one[end] for one in distances) for end in (0, 1))
    return sqrt(below), sqrt(above)


def known(one: str | Material) -> Material:
    """Give the material itself, or the shipped one of that name."""
    return materials.get(one) if isinstance(one, str) else one


def _mass(one: str | Material, wet_kg: float) -> float:
    name = one if isinstance(one, str) else one.name
    return require(f"mass of {name}", wet_kg, 0.0, _HEAVIEST_KG, "kg")
