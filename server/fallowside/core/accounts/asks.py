"""What in a tally may be a slip of the thumb, and what published standards make of the figure.

Slips are asked about, never refused: a wedding makes more scraps than a week.
"""

from collections.abc import Sequence
from typing import Final

from fallowside.core import sources
from fallowside.core.accounts.ledger import Cells, grouped
from fallowside.core.accounts.moves import Move
from fallowside.core.place import Place
from fallowside.core.shapes import FeedLimit, Standard, Warning, because, figure

_TABLE: Final = sources.table("tally")
_FOOD: Final = frozenset(_TABLE["streams"]["food"])


def asks(moves: Sequence[Move], cells: Cells, place: Place, since_day: int, until_day: int) -> list[Warning]:
    """Ask about what does not fit.

    That is too much or too little per person, one entry that outweighs many, or more gone to
    landfill from a station than came to it.

    Args:
        moves: Of the period, sorted by time.
        cells: Their ledger.
        place: With the number of people who eat there, if it is set.
        since_day, until_day: The period. [ordinal]
    """
    counted = [move for move in moves if move.route.way == "fed"]
    return [
        *_per_person(counted, place, since_day, until_day),
        *_odd_one(counted, since_day, until_day),
        *_more_gone(moves, cells, place),
    ]


def feed_limit(place: Place) -> FeedLimit:
    """Give what one feed of kitchen scraps may weigh before a phone asks whether it is right. [kg]

    A week's scraps of all who eat here, at the rate above which the tally asks too; None where nobody has
    said how many they are. Common practice, no source.
    """
    people = place.item.number("people_eating")
    names = ["tally.person_many", "tally.feed_ask_days"]
    days = sources.value("tally.feed_ask_days")
    kg = (people or 0.0) * sources.value("tally.person_many") * days / sources.value("tally.year")
    return {
        "kg": figure(kg) if people else None,
        "streams": sorted(_FOOD),
        "because": because("tally.ask.feed", [], names, people=people, days=days, kg=figure(kg)),
    }


def standards(cells: Cells, place: Place) -> list[Standard]:
    """Say of each published standard what it counts here, wet, and by which words. [kg]"""
    food = bed_food = 0.0
    for cell, total in cells.items():
        if cell.way == "fed" and cell.stream in _FOOD:
            food += total.kg
            station = place.stations.get(cell.station)
            bed_food += total.kg if station is not None and station.type == "bed" else 0.0
    counts = {"food": food, "bed_food": bed_food, "nothing": 0.0}
    return [
        {
            "id": row["id"],
            "key": f"tally.standard.{row['id']}",
            "kg": figure(counts[row["counts"]]),
            "cite": row["cite"],
        }
        for row in _TABLE["standards"]
    ]


def _per_person(counted: Sequence[Move], place: Place, since_day: int, until_day: int) -> list[Warning]:
    people = place.item.number("people_eating")
    kitchen = [move for move in counted if move.route.stream in _FOOD]
    if not people or not kitchen:
        return []
    days = until_day - max(since_day, kitchen[0].day) + 1
    if days < sources.value("tally.ask_days"):
        return []
    kg = 0.0
    for move in kitchen:
        kg += move.mass.kg
    each = kg / people / days * sources.value("tally.year")
    few, many = sources.value("tally.person_few"), sources.value("tally.person_many")
    if few <= each <= many:
        return []
    key = "tally.ask.per_person_many" if each > many else "tally.ask.per_person_few"
    heaviest = sorted(kitchen, key=lambda move: (-move.mass.kg, move.id))[:3]
    return [
        _ask(
            "ask.per_person",
            key,
            [move.id for move in heaviest] if each > many else [],
            ["tally.household_food_waste", "tally.person_few", "tally.person_many"],
            kg_a_year=figure(each),
            people=figure(people),
            usual_kg=sources.value("tally.household_food_waste"),
        )
    ]


def _odd_one(counted: Sequence[Move], since_day: int, until_day: int) -> list[Warning]:
    """Ask about one entry that outweighs a large part of weeks of feeding: a slipped decimal point."""
    least = sources.value("tally.ask_days")
    if not counted or until_day - max(since_day, counted[0].day) + 1 < least or len(counted) < least:
        return []
    kg = 0.0
    for move in counted:
        kg += move.mass.kg
    most = max(counted, key=lambda move: (move.mass.kg, move.id))
    if most.mass.kg < sources.value("tally.odd_one") * kg:
        return []
    return [
        _ask(
            "ask.odd_one",
            "tally.ask.odd_one",
            [most.id],
            ["tally.odd_one"],
            kg=figure(most.mass.kg),
            all_kg=figure(kg),
            feeds=len(counted),
        )
    ]


def _more_gone(moves: Sequence[Move], cells: Cells, place: Place) -> list[Warning]:
    """Ask about a station from which more left for landfill than came to it."""
    came = grouped(cells, lambda cell: cell.station, "fed")
    gone = grouped(cells, lambda cell: cell.station, "landfilled")
    found = []
    for station, total in gone.items():
        fed_kg = came[station].kg if station in came else 0.0
        if total.kg <= fed_kg:
            continue
        ids = [move.id for move in moves if move.route.station == station and move.route.way == "landfilled"]
        named = place.stations.get(station)
        found.append(
            _ask(
                "ask.reject_larger",
                "tally.ask.reject_larger",
                ids,
                [],
                station=station if named is None else named.name,
                rejected_kg=figure(total.kg),
                fed_kg=figure(fed_kg),
            )
        )
    return found


def _ask(
    code: str, key: str, entries: list[str], constants: list[str], **values: str | float | int | bool | None
) -> Warning:
    return {
        "code": code,
        "level": "note",
        "side": None,
        "because": because(key, entries, constants, **values),
        "remedies": ["tally.remedy.check"],
    }
