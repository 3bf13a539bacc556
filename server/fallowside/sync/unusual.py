"""Figures a person would be asked about before they are saved: believed, but most often a slip."""

from collections.abc import Mapping
from typing import Any

from fallowside.core import entries, units
from fallowside.core.entries import Problem

UNUSUAL = "unusual"


def unusual(doc: Mapping[str, Any]) -> Problem | None:
    """Find the first such figure of a good entry: outside `ask_low`..`ask_high` of its field, or None."""
    kind = entries.spec()["kinds"].get(doc["kind"], {"fields": {}})
    for name, rule in kind["fields"].items():
        value = doc.get(name)
        if value is None or rule["type"] not in ("number", "quantity"):
            continue
        bound, unit = rule, ""
        if rule["type"] == "quantity":
            value, unit = units.to_si(value["value"], value["unit"])
            bound = entries.spec()["bounds"][rule["bounds"]][unit]
        low, high = bound.get("ask_low", bound["low"]), bound.get("ask_high", bound["high"])
        if not low <= value <= high:
            said = f"`{name}` is {value:g}{unit and f' {units.symbol(unit)}'}; usual is {low:g} to {high:g}"
            return Problem(
                UNUSUAL,
                name,
                f"{said}: a host looks at it, and lets it in if it is right",
                {"value": value, "low": low, "high": high, "unit": unit},
            )
    return None
