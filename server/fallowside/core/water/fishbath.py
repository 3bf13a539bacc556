"""The arithmetic of a fish bath: what a concentration given by others means in millilitres.

Nothing here chooses a concentration. A veterinarian or the rules give it, and the fish in the bath
are killed in it and by a second step, never eaten where the rules forbid it, never let go. Drops are
told as a range only: they vary two-fold, so a syringe measures.
"""

from typing import Literal, NamedTuple

from fallowside.core import sources
from fallowside.core.errors import OutOfRange, UnknownName, require
from fallowside.core.numeric import PI
from fallowside.core.span import Span
from fallowside.core.water.fishtable import ANY, kind

Stock = Literal["neat", "one_in_ten", "one_to_ten"]

PARTS: dict[str, float] = {"neat": 1.0, "one_in_ten": 10.0, "one_to_ten": 11.0}
"""Parts of stock that hold one part of oil. '1:10' may mean 1 in 10 or 1 and 10: they differ by a tenth."""
OTHER: dict[str, str] = {"neat": "neat", "one_in_ten": "one_to_ten", "one_to_ten": "one_in_ten"}

_LITRES_PER_M3 = 1000.0
_MG_PER_G = 1000.0


class Dose(NamedTuple):
    """What to measure out.

    Attributes:
        oil_mg, oil_ml: Of pure oil. [mg], [mL]
        measure_ml: Of the stock at hand. [mL]
        other_ml: What it would be, were '1:10' meant the other way. [mL]
        drops: How many drops that is, as far as drops tell. [1]
        syringe_ml, line_ml: The smallest syringe that holds it, and its finest line; 0 if none does. [mL]
    """

    oil_mg: float
    oil_ml: float
    measure_ml: float
    other_ml: float
    drops: Span
    syringe_ml: float
    line_ml: float


def box_litres(length_m: float, width_m: float, depth_m: float) -> float:
    """Give the water in a box, by its filled depth, not its rim. [L]

    >>> round(box_litres(1.00, 0.60, 0.35), 6)
    210.0
    """
    return length_m * width_m * depth_m * _LITRES_PER_M3


def round_litres(diameter_m: float, depth_m: float) -> float:
    """Give the water in a round bucket with straight sides, by its filled depth. [L]

    >>> round(round_litres(0.30, 0.30), 2)
    21.21
    """
    return PI * diameter_m * diameter_m / 4.0 * depth_m * _LITRES_PER_M3


def dose(
    litres: float,
    mg_per_l: float,
    stock: str,
    *,
    as_eugenol: bool = False,
    density_g_per_ml: float | None = None,
    syringe_ml: float | None = None,
) -> Dose:
    """Turn a concentration that somebody gave into millilitres of the stock at hand.

    Args:
        litres: Water in the bath. [L], 5 to 2000
        mg_per_l: As the veterinarian or the rules gave it. [mg/L], 1 to 1000
        stock: `neat`, `one_in_ten` (1 part in 10 in all) or `one_to_ten` (1 part and 10 more).
        as_eugenol: Whether it was given for eugenol, of which oil holds a part.
        density_g_per_ml: Of the oil; None takes that of clove oil. [g/mL], 0.8 to 1.2
        syringe_ml: The one at hand; None takes the smallest that holds it. [mL]

    Returns:
        mass = concentration x litres; volume = mass / density; times the parts of the stock.

    Raises:
        OutOfRange: no water, or a figure outside those ranges: a unit may have been mistaken.
        UnknownName: a stock of another strength.

    Source: arithmetic; density of clove oil 1.038 to 1.060, USP-NF.

    >>> found = dose(20.0, 40.0, "one_in_ten")
    >>> found.oil_mg, round(found.oil_ml, 3), round(found.measure_ml, 2), round(found.other_ml, 2)
    (800.0, 0.762, 7.62, 8.38)
    >>> found.syringe_ml
    10.0
    """
    require("the water of the bath", litres, _value("volume_low"), _value("volume_high"), "L")
    require("the concentration", mg_per_l, _value("concentration_low"), _value("concentration_high"), "mg/L")
    if stock not in PARTS:
        raise UnknownName("stock", stock, PARTS)
    density = _value("clove_oil_density") if density_g_per_ml is None else density_g_per_ml
    require("the density", density, 0.8, 1.2, "g/mL")
    oil_mg = litres * mg_per_l / (_value("clove_oil_eugenol") if as_eugenol else 1.0)
    oil_ml = oil_mg / _MG_PER_G / density
    measure = oil_ml * PARTS[stock]
    size, line = _syringe(measure, syringe_ml)
    drops = Span(
        measure / _value("drop_high"),
        2.0 * measure / (_value("drop_low") + _value("drop_high")),
        measure / _value("drop_low"),
    )
    return Dose(oil_mg, oil_ml, measure, oil_ml * PARTS[OTHER[stock]], drops, size, line)


def litres_of(
    volume_l: float | None,
    depth_m: float | None = None,
    length_m: float | None = None,
    width_m: float | None = None,
    diameter_m: float | None = None,
) -> float:
    """Give the water of a bath: measured, else from the shape of what holds it. [L]

    Raises:
        OutOfRange: neither a volume nor a shape was given: a bath with no volume has no dose.

    >>> litres_of(20.0), round(litres_of(None, 0.35, 1.00, 0.60), 6)
    (20.0, 210.0)
    """
    if volume_l is not None:
        return volume_l
    if depth_m is not None and diameter_m is not None:
        return round_litres(diameter_m, depth_m)
    if depth_m is not None and length_m is not None and width_m is not None:
        return box_litres(length_m, width_m, depth_m)
    raise OutOfRange("the water of the bath", 0.0, _value("volume_low"), _value("volume_high"), "L")


def published(species: str) -> str:
    """Name the constant with the published range of baths for a fish, to stand beside a dose.

    >>> published("rainbow trout"), published("tench")
    ('pond.bath_published_trout', 'pond.bath_published_any')
    """
    own = f"bath_published_{kind(species)}"
    return f"pond.{own if own in sources.constants('pond') else f'bath_published_{ANY}'}"


def _syringe(measure_ml: float, at_hand_ml: float | None) -> tuple[float, float]:
    rows = sources.table("pond")["syringes"]
    if at_hand_ml is not None:
        line = next((row["line_ml"] for row in rows if row["ml"] >= at_hand_ml), rows[-1]["line_ml"])
        return at_hand_ml, float(line)
    found = next((row for row in rows if row["ml"] >= measure_ml), None)
    return (0.0, 0.0) if found is None else (float(found["ml"]), float(found["line_ml"]))


def _value(name: str) -> float:
    return sources.value(f"pond.{name}")
