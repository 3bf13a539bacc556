"""Units as people enter them, turned into the few the models use, and back.

The models use kg, L, m, m^2, degC, mg/L, s and the plain number 1 (for shares). The litre stands for the
cubic metre because the trade measures buckets and boxes in litres. Names are those of pint; the
factors are in `core/data/units.json`, made from pint's definitions by `exchange/unit_table.py` as
fractions, so `(value − offset) · n / d` is right to a unit in the last place and the phone, which
reads the same file, gets the same bits.

Beware: `oz` is a mass and `fluid_ounce` a volume; `gallon`, `quart`, `pint` and `cup` are those of
the United States (`imperial_…` are the others); a bare `ton` means three things and is not taken;
`degF` is a reading of a thermometer, never a difference.
"""

from dataclasses import dataclass
from functools import lru_cache
from math import isfinite
from typing import Final, Literal

from fallowside.core import sources
from fallowside.core.errors import OutOfRange, UnknownName

Kind = Literal["mass", "volume", "length", "area", "temperature", "share", "concentration", "time"]

_REMEMBERED: Final = 2000
"""Amounts turned of late: people write few different ones."""
LARGEST: Final = float.fromhex("0x1.fffffffffffffp+1023")


@dataclass(frozen=True, slots=True)
class _Unit:
    kind: Kind
    up: float
    down: float
    offset: float
    symbol: str
    si: str


_ROWS: Final = sources.sheet("units")
_SI: Final = {row["kind"]: name for name, row in reversed(list(_ROWS.items()))}
_UNITS: Final = {
    name: _Unit(
        row["kind"],
        float(row["factor"][0]),
        float(row["factor"][1]),
        row["offset"],
        row["symbol"],
        _SI[row["kind"]],
    )
    for name, row in _ROWS.items()
}
_OURS: Final = {(row.kind, row.symbol): name for name, row in reversed(_UNITS.items())}


@lru_cache(maxsize=_REMEMBERED)
def to_si(value: float, unit: str) -> tuple[float, str]:
    """Turn a value as entered into the unit the models use for its kind.

    Args:
        value: Any finite number.
        unit: A name of `core/data/units.json`.

    Returns:
        The value, and its unit: 'kg', 'L', 'm', 'm^2', 'degC', 'mg/L', '1' or 's'.

    Raises:
        UnknownName: no such unit; the text lists those there are.
        OutOfRange: NaN, infinite, or too large to be turned.

    >>> to_si(2500, "g"), to_si(5, "gallon"), to_si(131, "degF"), to_si(18, "percent")
    ((2.5, 'kg'), (18.92705892, 'L'), (55.0, 'degC'), (0.18, '1'))
    """
    row = _UNITS.get(unit)
    if row is None:
        raise UnknownName("unit", unit, names())
    # A zero has no sign, so that what is remembered of one is right for the other.
    si = (value - row.offset) * row.up / row.down + 0.0
    if not isfinite(si):
        raise OutOfRange("value", value, -LARGEST, LARGEST, unit)
    return si, row.si


def convert(value: float, unit: str, to: str) -> float:
    """Turn a value of one unit into another of the same kind.

    Raises:
        UnknownName: either unit is unknown, or they are of two kinds; the text lists what would do.
        OutOfRange: NaN, infinite, or too large to be turned.

    >>> convert(1.0, "inch", "mm"), convert(37.0, "degC", "degF")
    (25.4, 98.6)
    """
    si, _ = to_si(value, unit)
    kind, row = kind_of(unit), _UNITS.get(to)
    if row is None or row.kind != kind:
        raise UnknownName(f"unit of {kind}", to, names(kind))
    return _finite(si * row.down / row.up + row.offset, to)


def kind_of(unit: str) -> Kind:
    """Say what a unit measures.

    >>> kind_of("oz"), kind_of("fluid_ounce")
    ('mass', 'volume')
    """
    return _find(unit).kind


def symbol(unit: str) -> str:
    """Give the short sign shown for a unit on a screen.

    >>> symbol("degC"), symbol("m^2"), symbol("gallon")
    ('°C', 'm²', 'gal')
    """
    return _find(unit).symbol


def names(kind: Kind | None = None) -> tuple[str, ...]:
    """Name the units of a kind, or all: one name each, without the other spellings it may have.

    >>> names("temperature")
    ('degC', 'degF', 'kelvin')
    """
    return tuple(name for (its, _), name in reversed(_OURS.items()) if kind in (None, its))


def _find(unit: str) -> _Unit:
    row = _UNITS.get(unit)
    if row is None:
        raise UnknownName("unit", unit, names())
    return row


def _finite(value: float, unit: str) -> float:
    if not isfinite(value):
        raise OutOfRange("value", value, -LARGEST, LARGEST, unit)
    return value
