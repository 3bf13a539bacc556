"""A small place in a zone that changes its clock, and its plan at an instant."""

from collections.abc import Iterable
from typing import Any

from fallowside.core.plan import plan
from fallowside.core.shapes import PersonPlan, Plan
from tests.logs import Raw, entry, kg, setups

ZONE = "Europe/Lisbon"
LOG = "6d4f7b0e-6f0a-4c55-9b52-0b0f4a3d2c11"
DAY = 24 * 60.0


def person(name: str = "ana", minutes: float = 1, **fields: Any) -> Raw:
    """Set fields of a person."""
    raw = entry("setup", minutes, what="person", item=name, set=fields)
    return {**raw, "id": f"person-{name}-{minutes:g}"}


def log(zone: str | None = ZONE, fed_days: int = 40) -> list[Raw]:
    """Set the place up in a zone, look at the hive once, feed the bed for some weeks."""
    made = setups()
    if zone is not None:
        made.append({**entry("setup", 1, what="place", item="place", set={"time_zone": zone}), "id": "zone"})
    made.append(entry("hive_check", DAY, station="hive", hefting="fair"))
    made += [
        entry("feed", day * DAY, station="bed", side="a", feedstock="vegetable_scraps", amount=kg(0.5))
        for day in range(1, fed_days)
    ]
    return made


def planned(entries: Iterable[Raw], at: str) -> Plan:
    return plan(entries, at)


def who(made: Plan, name: str = "ana") -> PersonPlan:
    return next(one for one in made["place"]["people"] if one["id"] == name)
