"""The hive as plain totals: boxes in the stack, honey taken, last weight or hefting."""

from collections.abc import Sequence

from fallowside.core.entries import Entry, Moment
from fallowside.core.place import Place, Station
from fallowside.core.shapes import StationPlan, blank, figure


def look(station: Station, entries: Sequence[Entry], place: Place, at: Moment) -> StationPlan:
    """Fold a hive's entries (effective, sorted, none after `at`) into its part of the plan.

    `state` holds: `boxes` in the stack, `honey_kg` taken in all and `honey_year_kg` in the year of
    `at`, the last `water_pct`, `weight_kg` and `hefting`.
    """
    boxes = int(station.item.number("boxes", 1.0) or 0.0)
    honey_kg = honey_year_kg = 0.0
    water_pct: float | None = None
    weight_kg: float | None = None
    hefting: str | None = None
    for entry in entries:
        data = entry.data
        if entry.kind == "hive_box":
            boxes = max(0, boxes + (1 if data["change"] == "added" else -1))
        elif entry.kind == "hive_harvest":
            taken = place.mass(data["amount"], "").kg
            honey_kg += taken
            if data["at"][:4] == at.text[:4]:
                honey_year_kg += taken
            if data.get("water_pct") is not None:
                water_pct = float(data["water_pct"])
        elif entry.kind == "hive_check":
            if data.get("weight") is not None:
                weight_kg = place.mass(data["weight"]).kg
            hefting = data.get("hefting") or hefting
    plan = blank(station.id, station.type, station.name, station.order)
    plan["state"] = {
        "boxes": boxes,
        "honey_kg": figure(honey_kg),
        "honey_year_kg": figure(honey_year_kg),
        "water_pct": water_pct,
        "weight_kg": None if weight_kg is None else figure(weight_kg),
        "hefting": hefting,
    }
    return plan
