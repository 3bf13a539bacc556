"""The pond as plain totals: fish taken and kept, feed given, solids drawn, last water readings."""

from collections.abc import Sequence

from fallowside.core.entries import Entry, Moment
from fallowside.core.place import Place, Station
from fallowside.core.shapes import Series, StationPlan, blank, figure, iso

_SERIES_POINTS = 200


def look(station: Station, entries: Sequence[Entry], place: Place, at: Moment) -> StationPlan:
    """Fold a pond's entries (effective, sorted, none after `at`) into its part of the plan.

    `state` holds: `fish` by fate and species (number, kilograms where weighed), `feed_kg`, `solids_kg`
    and `larvae_kg` given since the start, and the last `temperature_c` and `ph`.
    """
    fish: dict[str, dict[str, dict[str, float]]] = {}
    feed_kg = solids_kg = 0.0
    temperatures: list[tuple[int, float]] = []
    last: dict[str, float | None] = {"temperature_c": None, "ph": None}
    for entry in entries:
        data = entry.data
        if entry.kind == "catch":
            tallied = fish.setdefault(data["fate"], {}).setdefault(data["species"], {"number": 0, "kg": 0.0})
            tallied["number"] += data["number"]
            if data.get("mass") is not None:
                tallied["kg"] = figure(tallied["kg"] + place.mass(data["mass"]).kg)
        elif entry.kind == "feed":
            feed_kg += place.mass(data["amount"], data["feedstock"], entry.us).kg
        elif entry.kind == "solids":
            solids_kg += place.mass(data["amount"], "pond_solids", entry.us).kg
        elif entry.kind == "reading":
            if data.get("temperature") is not None:
                last["temperature_c"] = celsius = place.si(data["temperature"])
                temperatures.append((entry.day, celsius))
            if data.get("ph") is not None:
                last["ph"] = float(data["ph"])
    plan = blank(station.id, station.type, station.name, station.order)
    plan["state"] = {
        "fish": fish,
        "feed_kg": figure(feed_kg),
        "solids_kg": figure(solids_kg),
        **{key: None if value is None else figure(value) for key, value in last.items()},
    }
    if temperatures:
        plan["series"] = [_temperature_series(temperatures[-_SERIES_POINTS:])]
    return plan


def _temperature_series(points: list[tuple[int, float]]) -> Series:
    return {
        "name": "temperature",
        "side": None,
        "unit": "degC",
        "days": [iso(day) for day, _ in points],
        "values": [figure(celsius) for _, celsius in points],
    }
