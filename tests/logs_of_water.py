"""Logs of a pond and a hive for tests: Hypothesis strategies of every kind of entry they take."""

from typing import Any

from hypothesis import strategies as st

from tests.logs import SPAN_MINUTES, Raw, entry, kg, setups

CUTS = ["whole_gutted", "headed_gutted", "fillet_skin_on", "fillet_skin_off"]

_kg = st.floats(0.001, 40.0).map(kg)
_species = st.sampled_from(["Rainbow trout", "carp", "Silver perch", "gudgeon", "tilapia"])
_celsius = st.floats(-20.0, 100.0).map(lambda value: {"value": value, "unit": "degC"})
_water = st.floats(-5.0, 45.0).map(lambda value: {"value": value, "unit": "degC"})
_metres = st.floats(0.02, 5.0).map(lambda value: {"value": value, "unit": "m"})
_steps = st.sampled_from(["bled", "pithed", "none", "from_a_newer_phone"])


def _some(required: dict[str, Any], optional: dict[str, Any]) -> st.SearchStrategy[Raw]:
    return st.fixed_dictionaries(required, optional=optional)


def _seen(*signs: str) -> st.SearchStrategy[Raw]:
    return _some({"signs": st.lists(st.sampled_from(signs), min_size=1)}, {})


POND: dict[str, st.SearchStrategy[Raw]] = {
    "catch": _some(
        {
            "species": _species,
            "number": st.integers(1, 40),
            "fate": st.sampled_from(["killed", "held", "released", "died"]),
        },
        {
            "mass": _kg,
            "from": st.sampled_from(["pond", "holding"]),
            "method": st.sampled_from(["blow", "spike", "bath", "other"]),
            "second_step": _steps,
            "cut": st.sampled_from([*CUTS, "from_a_newer_phone"]),
            "scraps": _kg,
            "hooks_missing": st.integers(0, 3),
        },
    ),
    "catch_plan": _some(
        {
            "day": st.sampled_from(["2026-03-02", "2026-06-20", "0001-01-01", "9999-12-31"]),
            "species": _species,
            "number": st.integers(1, 40),
            "cut": st.sampled_from(CUTS),
        },
        {"mass": _kg},
    ),
    "stocking": _some({"species": _species, "number": st.integers(1, 500)}, {"mass": _kg}),
    "fish_sample": _some({"species": _species, "number": st.integers(1, 30), "mass": _kg}, {}),
    "water_test": _some(
        {"oxygen_mg_per_l": st.floats(0.0, 30.0)}, {"ammonia_mg_per_l": st.floats(0.0, 50.0)}
    ),
    "bath": _some(
        {
            "depth": _metres,
            "stock": st.sampled_from(["neat", "one_in_ten", "one_to_ten"]),
            "then": st.just("killed"),
        },
        {
            "length": _metres,
            "width": _metres,
            "diameter": _metres,
            "volume": st.floats(5.0, 2000.0).map(lambda value: {"value": value, "unit": "L"}),
            "syringe": st.floats(0.5, 100.0).map(lambda value: {"value": value, "unit": "mL"}),
            "gills_stopped": st.sampled_from(["2026-06-15T17:48:00+02:00", "2099-01-01T00:00:00Z"]),
            "second_step": _steps,
        },
    ),
    "preserve": _some(
        {
            "method": st.sampled_from(
                ["hot_smoke", "cold_smoke", "salt", "chill", "freeze", "from_a_newer_phone"]
            )
        },
        {
            "mass": _kg,
            "inside": _celsius,
            "minutes": st.integers(0, 600),
            "salt_pct": st.floats(0.0, 40.0),
            "moisture_pct": st.floats(0.0, 100.0),
            "kept_at": _celsius,
            "packing": st.sampled_from(["open", "wrapped", "vacuum"]),
        },
    ),
    "feed": _some(
        {"feedstock": st.sampled_from(["fish_feed", "larvae", "bread"]), "amount": _kg},
        {},
    ),
    "reading": _some(
        {"temperature": st.floats(-5.0, 45.0).map(lambda value: {"value": value, "unit": "degC"})},
        {"ph": st.floats(0.0, 14.0)},
    ),
    "solids": _some({"amount": _kg, "to": st.sampled_from(["elsewhere", "garden"])}, {}),
    "signs": _some(
        {"signs": st.lists(st.sampled_from(["fish_gasping", "dead_fish", "all_well"]), min_size=1)}, {}
    ),
}
HIVE: dict[str, st.SearchStrategy[Raw]] = {
    "hive_box": _some(
        {"change": st.sampled_from(["added", "taken"]), "position": st.sampled_from(["below", "above"])},
        {"box": st.sampled_from(["start-1", "start-2", "red", "green"])},
    ),
    "hive_harvest": _some({"amount": _kg}, {"water_pct": st.floats(5.0, 60.0), "box": st.just("red")}),
    "hive_check": _some({"hefting": st.sampled_from(["light", "fair", "heavy"])}, {"weight": _kg}),
    "signs": _some(
        {"signs": st.lists(st.sampled_from(["mites", "ropy_brood", "robbing", "all_well"]), min_size=1)}, {}
    ),
}


@st.composite
def waters(
    draw: st.DrawFn, station: str, kinds: dict[str, st.SearchStrategy[Raw]], most: int = 25
) -> list[Raw]:
    """Draw a log of one pond or hive, set-up first; no bed or bin is there, whose plans take long."""
    made = [raw for raw in setups() if raw["item"] not in ("bed", "bin")]
    for number in range(draw(st.integers(0, most))):
        kind = draw(st.sampled_from(sorted(kinds)))
        fields = draw(kinds[kind])
        minute = draw(st.integers(1, SPAN_MINUTES * 3 // 2))
        made.append({**entry(kind, minute, station=station), **fields, "id": f"w{number:03d}"})
    return made


def set_up(minutes: float = 1, **fields: Any) -> Raw:
    """Set something of the pond."""
    return {**entry("setup", minutes, what="station", item="pond", set=fields), "id": f"set-{minutes:g}"}


def opened(mg_per_l: float = 40.0) -> Raw:
    """Record what the place's veterinarian allows."""
    allowed = {
        "bath_checked": "The veterinarian, in writing: for sick fish that nobody eats.",
        "bath_concentration": {"value": mg_per_l, "unit": "mg/L"},
    }
    return {**entry("setup", 2, what="place", item="place", set=allowed), "id": "opened"}
