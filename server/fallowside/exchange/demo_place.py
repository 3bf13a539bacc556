"""The invented place of the demo and the people who keep it.

Quennow Hostel does not exist, nor does anybody named here. It is a hostel on a hill pass with an
irrigation pond, a stone trough that became a worm bed, a larvae bin under the stair and one hive.
"""

from typing import Any

from fallowside.exchange.demo_diary import Diary, Stay
from fallowside.exchange.demo_truth import (
    BIN_AREA_M2,
    BIN_DEPTH_M,
    POND_AREA_M2,
    POND_VOLUME_L,
    SIDE_AREA_M2,
    SIDE_DEPTH_M,
    START_WORMS_KG,
    usual_by_month,
)

NAME = "Quennow Hostel"
LENGTH_DAYS = 400
"""How many days before today the log begins."""

TROUGH, BIN, POND, HIVE = "trough", "stair-bin", "pond", "hive"
PAIL, CROCK = "grey-pail", "crock"
PAIL_WEIGHED_AGO = 301
PAIL_LITRES, PAIL_KG = 10.0, 5.8
PORRIDGE = "porridge"


HOST = "maro"
STAYS = (
    Stay("ina", "Ina", 399, 352),
    Stay("tobi", "Tobi", 366, 318, scale="lb"),
    Stay("lou", "Lou", 312, 262),
    Stay("sefa", "Sefa", 288, 240, thermometer="degF"),
    Stay("pell", "Pell", 236, 190),
    Stay("noor", "Noor", 205, 150),
    Stay("juno", "Juno", 168, 120, goes_after_all=104),
    Stay("sam", "Sam", 126, 72),
    Stay("wim", "Wim", 95, 41, scale="lb"),
    Stay("bea", "Bea", 58, -9, walks=("tue", "thu", "sun")),
    Stay("kit", "Kit", 13, -30, walks=("wed", "sat")),
)


def present(ago: int) -> list[Stay]:
    """Say which helpers are there on a day."""
    return [
        stay
        for stay in STAYS
        if stay.comes > ago > (stay.goes if stay.goes_after_all is None else stay.goes_after_all)
    ]


def set_up(diary: Diary) -> None:
    """Write the first set-up, and all that was set up later."""
    first = LENGTH_DAYS
    minute = 8.0 * 60.0

    def put(ago: int, what: str, item: str, fields: dict[str, Any], note: str = "") -> None:
        nonlocal minute
        minute += 1.5
        diary.write("setup", ago, minute, HOST, note=note, what=what, item=item, set=fields)

    put(
        first,
        "place",
        "place",
        {
            "name": NAME,
            "invented": True,
            "people_eating": 18,
            "climate": "temperate_wet",
            "landfill_gas": "not_known",
            "air_by_month_c": usual_by_month(),
        },
        "An invented place. Nobody and nothing written here is real.",
    )
    put(first, "person", HOST, {"name": "Maro", "role": "host", "walks": ["mon", "fri"]})
    put(
        first,
        "station",
        TROUGH,
        {
            "type": "bed",
            "name": "Stone trough",
            "order": 1,
            "side_area": {"value": SIDE_AREA_M2, "unit": "m^2"},
            "side_depth": {"value": round(100.0 * SIDE_DEPTH_M), "unit": "cm"},
            "side_a_name": "spring end",
            "side_b_name": "gate end",
            "feeding_side": "a",
            "start_worms": {"value": START_WORMS_KG, "unit": "kg"},
        },
    )
    put(
        first,
        "station",
        BIN,
        {
            "type": "bin",
            "name": "Larvae bin under the stair",
            "order": 2,
            "bin_area": {"value": BIN_AREA_M2, "unit": "m^2"},
            "bin_depth": {"value": round(100.0 * BIN_DEPTH_M), "unit": "cm"},
        },
    )
    put(
        first,
        "station",
        POND,
        {
            "type": "pond",
            "name": "Irrigation pond",
            "order": 3,
            "area": {"value": POND_AREA_M2, "unit": "m^2"},
            "volume": {"value": POND_VOLUME_L, "unit": "L"},
            "fish_stock": {"value": 26.0, "unit": "kg"},
            "fish_species": "carp",
            "fish_number": 60,
        },
    )
    put(first, "station", HIVE, {"type": "hive", "name": "Hive on the terrace", "order": 4, "boxes": 2})
    put(first, "container", PAIL, {"name": "Grey pail", "volume": {"value": PAIL_LITRES, "unit": "L"}})
    put(first, "container", CROCK, {"name": "Butter crock", "volume": {"value": 3.0, "unit": "L"}})
    put(
        first - 2,
        "feedstock",
        PORRIDGE,
        {
            "name": "Porridge from breakfast",
            "like": "cooked_grain",
            "moisture_pct": 78.0,
            "bulk_density_kg_per_l": 1.0,
        },
    )
    put(
        PAIL_WEIGHED_AGO,
        "container",
        PAIL,
        {"full_mass": {"value": PAIL_KG, "unit": "kg"}},
        "Weighed ten full pails of kitchen scraps over two weeks: 5.8 kg on average.",
    )
    put(
        285,
        "place",
        "place",
        {"larvae_as_feed_checked": "Asked the district office: own pond only, nothing sold."},
    )
    put(170, "station", HIVE, {"name": "Hive on the upper terrace"}, "Moved it up, out of the wind.")
    for stay in STAYS:
        put(
            stay.comes,
            "person",
            stay.id,
            {"name": stay.name, "role": "helper", "last_day": _day(diary, stay.goes)}
            | ({"walks": list(stay.walks)} if stay.walks else {}),
        )
        if stay.goes_after_all is not None:
            put(
                stay.goes + 5,
                "person",
                stay.id,
                {"last_day": _day(diary, stay.goes_after_all)},
                f"{stay.name} stays two weeks longer.",
            )


def _day(diary: Diary, ago: int) -> str:
    return diary.time(ago, 0.0)[:10]
