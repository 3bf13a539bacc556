"""Units against their legal definitions.

Sources: National Institute of Standards and Technology, Handbook 44, Appendix C, table of
equivalents (gallon 231 in³, bushel 2150.42 in³, cup 8 fluid ounces, all 'exactly'); Special
Publication 811 (2008), Appendix B (imperial gallon, rounded ounce and degree); and the announcement
of the National Bureau of Standards of 1959 (yard 0.9144 m, avoirdupois pound 0.453 592 37 kg).
Tolerance: a definition is exact, so two units in the last place of a float; a printed factor as
many digits as it prints.
"""

import pytest

from fallowside.core import units

EXACT = 2.5e-16
INCH_CM = 2.54


def cubic_inches_in_litres(count: float) -> float:
    return count * INCH_CM * INCH_CM * INCH_CM / 1000.0


@pytest.mark.parametrize(
    ("value", "unit", "to", "wanted"),
    [
        (1.0, "yard", "m", 0.9144),
        (1.0, "inch", "mm", 25.4),
        (1.0, "foot", "m", 0.3048),
        (1.0, "lb", "kg", 0.45359237),
        (1.0, "oz", "kg", 0.45359237 / 16.0),
        (1.0, "stone", "kg", 14.0 * 0.45359237),
        (1.0, "short_ton", "kg", 2000.0 * 0.45359237),
        (1.0, "long_ton", "kg", 2240.0 * 0.45359237),
        (1.0, "gallon", "L", cubic_inches_in_litres(231.0)),
        (4.0, "quart", "L", cubic_inches_in_litres(231.0)),
        (1.0, "cup", "fluid_ounce", 8.0),
        (128.0, "fluid_ounce", "L", cubic_inches_in_litres(231.0)),
        (1.0, "bushel", "L", cubic_inches_in_litres(2150.42)),
        (1.0, "imperial_gallon", "L", 4.54609),
        (8.0, "imperial_pint", "L", 4.54609),
        (160.0, "imperial_fluid_ounce", "L", 4.54609),
        (1.0, "ft^3", "L", 28.316846592),
        (1.0, "yd^3", "L", 764.554857984),
        (1.0, "tonne", "kg", 1000.0),
    ],
)
def test_a_unit_is_what_its_definition_says(value: float, unit: str, to: str, wanted: float) -> None:
    assert units.convert(value, unit, to) == pytest.approx(wanted, rel=2 * EXACT)


@pytest.mark.parametrize(("unit", "kg"), [("oz", 2.834952e-02), ("lb", 4.535924e-01)])
def test_a_mass_agrees_with_the_printed_factor(unit: str, kg: float) -> None:
    assert units.to_si(1.0, unit)[0] == pytest.approx(kg, rel=2e-7)


@pytest.mark.parametrize("fahrenheit", [-40.0, 32.0, 98.6, 131.0, 212.0])
def test_a_thermometer_reads_as_the_handbook_says(fahrenheit: float) -> None:
    """SP 811, B.8: t/°C = (t/°F − 32)/1.8, T/K = t/°C + 273.15."""
    celsius = (fahrenheit - 32.0) / 1.8
    assert units.to_si(fahrenheit, "degF")[0] == pytest.approx(celsius, abs=1e-12)
    assert units.convert(fahrenheit, "degF", "kelvin") == pytest.approx(celsius + 273.15, abs=1e-12)


@pytest.mark.parametrize(
    ("pounds", "unit", "kg_per_m3"),
    [(396.0, "yd^3", 234.9375), (3.8, "gallon", 455.3404), (250.0, "yd^3", 148.3191)],
)
def test_published_weights_per_volume_turn_into_kilograms_per_cubic_metre(
    pounds: float, unit: str, kg_per_m3: float
) -> None:
    """US EPA, Volume-to-Weight Conversion Factors (April 2016): food scraps 396 lb/yd³ and 3.8 lb/gal,
    yard trimmings 250 lb/yd³; turned with pint 0.25.3. The first two disagree by a factor of 1.94."""
    kg = units.to_si(pounds, "lb")[0]
    assert kg / units.convert(1.0, unit, "m^3") == pytest.approx(kg_per_m3, abs=5e-5)
