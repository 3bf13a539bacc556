"""Write `core/data/units.json`, the units people may enter, from pint's definitions.

pint is the one authority on what a unit is; it is too heavy for the phone, so the factors travel as
data that Python and TypeScript read alike. Run `python -m fallowside.exchange.unit_table` after
adding a unit here; a test fails while the file is stale.

Shape: `{unit: {"kind", "factor": [n, d], "offset", "symbol"}}`. A value is turned into the SI unit
of its kind by `(value − offset) · n / d`, in that order, which is right to a unit in the last place
and the same in both languages. The first unit of each kind is the one the models use; several names
with one symbol are spellings of one unit, the first of them ours.
"""

import json
from fractions import Fraction
from pathlib import Path

import pint

TARGET = Path(__file__).parents[1] / "core" / "data" / "units.json"

# kind → what a screen shows → the names it may be entered by; the first is ours, the rest aliases.
NAMES: dict[str, dict[str, tuple[str, ...]]] = {
    "mass": {
        "kg": ("kg", "kilogram"),
        "g": ("g", "gram"),
        "mg": ("mg", "milligram"),
        "t": ("tonne", "t", "metric_ton"),
        "lb": ("lb", "pound", "lbs"),
        "oz": ("oz", "ounce"),
        "st": ("stone",),
        "short ton": ("short_ton",),
        "long ton": ("long_ton",),
    },
    "volume": {
        "L": ("L", "l", "liter", "litre"),
        "dL": ("dL", "dl", "deciliter"),
        "cL": ("cL", "cl", "centiliter"),
        "mL": ("mL", "ml", "milliliter", "cm^3"),
        "m³": ("m^3", "m³"),
        "gal": ("gallon", "gal", "US_liquid_gallon"),
        "qt": ("quart", "qt", "US_liquid_quart"),
        "pt": ("pint", "pt"),
        "cup": ("cup", "US_liquid_cup"),
        "fl oz": ("fluid_ounce", "floz", "US_fluid_ounce"),
        "tbsp": ("tablespoon", "tbsp"),
        "tsp": ("teaspoon", "tsp"),
        "bu": ("bushel",),
        "pk": ("peck",),
        "imp gal": ("imperial_gallon", "UK_gallon"),
        "imp qt": ("imperial_quart", "UK_quart"),
        "imp pt": ("imperial_pint", "UK_pint"),
        "imp cup": ("imperial_cup", "UK_cup"),
        "imp fl oz": ("imperial_fluid_ounce", "UK_fluid_ounce"),
        "imp bu": ("imperial_bushel", "UK_bushel"),
        "ft³": ("ft^3", "ft³", "cubic_foot"),
        "yd³": ("yd^3", "yd³", "cubic_yard"),
    },
    "length": {
        "m": ("m", "meter", "metre"),
        "cm": ("cm", "centimeter"),
        "mm": ("mm", "millimeter"),
        "km": ("km", "kilometer"),
        "in": ("inch", "in"),
        "ft": ("foot", "ft"),
        "yd": ("yard", "yd"),
    },
    "area": {
        "m²": ("m^2", "m²"),
        "cm²": ("cm^2", "cm²"),
        "ha": ("hectare", "ha"),
        "ft²": ("ft^2", "ft²", "square_foot"),
        "yd²": ("yd^2", "yd²", "square_yard"),
    },
    "temperature": {
        "°C": ("degC", "celsius", "°C"),
        "°F": ("degF", "fahrenheit", "°F"),
        "K": ("kelvin", "K"),
    },
    "share": {
        "": ("1", "dimensionless"),
        "%": ("percent", "%"),
        "‰": ("permille", "‰"),
        "g/kg": ("g/kg",),
        "mg/kg": ("mg/kg", "ppm"),
    },
    "concentration": {
        "mg/L": ("mg/L", "mg/l"),
        "g/L": ("g/L", "g/l"),
        "mg/mL": ("mg/mL", "mg/ml"),
    },
    "time": {
        "s": ("s", "second"),
        "min": ("minute", "min"),
        "h": ("hour", "h"),
        "d": ("day", "d"),
    },
}


def rows() -> dict[str, dict[str, object]]:
    """Work out every row of the table, exactly, in fractions."""
    registry: pint.UnitRegistry[Fraction] = pint.UnitRegistry(non_int_type=Fraction)
    return {
        name: {"kind": kind, **_line(registry, name, next(iter(symbols.values()))[0]), "symbol": symbol}
        for kind, symbols in NAMES.items()
        for symbol, names in symbols.items()
        for name in names
    }


def _line(registry: "pint.UnitRegistry[Fraction]", name: str, si: str) -> dict[str, object]:
    """Give the straight line from a unit to the one the models use."""
    at_zero, at_one = (registry.Quantity(Fraction(x), name).to(si).magnitude for x in (0, 1))
    factor = Fraction(at_one - at_zero)
    offset = -Fraction(at_zero) / factor
    shown = float(offset)
    return {
        "factor": [factor.numerator, factor.denominator],
        "offset": int(shown) if shown.is_integer() else shown,
    }


def text() -> str:
    """Write the table as JSON, one unit a line, so that a change reads well."""
    lines = (f"  {json.dumps(name)}: {json.dumps(row, ensure_ascii=False)}" for name, row in rows().items())
    return "{\n" + ",\n".join(lines) + "\n}\n"


if __name__ == "__main__":
    TARGET.write_text(text(), encoding="utf-8")
