"""A sample of a feedstock weighed before and after drying, in its dish, as set-up fields hold it."""

from collections.abc import Mapping
from typing import Any

from fallowside.core import mix, units
from fallowside.core.errors import OutOfRange

UNSOUND = "the dry sample weighs no more than the wet one, and no less than its dish; weigh them again"
_FIELDS = ("sample_wet", "sample_dry", "sample_dish")


def sound(fields: Mapping[str, Any]) -> bool:
    """Tell whether the weighings can belong together: none heavier dry than wet, none lighter than its dish.

    >>> sound({"sample_wet": {"value": 63, "unit": "g"}, "sample_dry": {"value": 140, "unit": "g"}})
    False
    """
    wet, dry, dish = map(fields.get, _FIELDS)
    if dry is None:
        return True
    dry_kg = _kg(dry)
    return (wet is None or dry_kg <= _kg(wet)) and (dish is None or dry_kg >= _kg(dish))


def moisture_pct(fields: Mapping[str, Any]) -> float | None:
    """Give the moisture by `mix.sample_moisture`; None without both weighings, or where they can't be.

    >>> moisture_pct({"sample_wet": {"value": 100, "unit": "g"}, "sample_dry": {"value": 25, "unit": "g"}})
    75.0
    """
    wet, dry, dish = map(fields.get, _FIELDS)
    if wet is None or dry is None:
        return None
    try:
        return mix.sample_moisture(_kg(wet), _kg(dry), 0.0 if dish is None else _kg(dish))
    except OutOfRange:
        # Weighings entered one by one may not belong together.
        return None


def _kg(quantity: Mapping[str, Any]) -> float:
    return units.to_si(quantity["value"], quantity["unit"])[0]
