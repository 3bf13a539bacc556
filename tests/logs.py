"""Logs for tests: a place set up by hand, and Hypothesis strategies that make whole logs of it."""

from collections.abc import Mapping
from datetime import datetime, timedelta, timezone
from typing import Any

from hypothesis import strategies as st

Raw = dict[str, Any]

START = datetime(2026, 3, 1, 8, 0, tzinfo=timezone(timedelta(hours=2)))
AT = "2026-06-15T18:00:00+02:00"
SPAN_MINUTES = 100 * 24 * 60

STATIONS = {
    "bed": {"type": "bed", "name": "Trough", "order": 1, "side_area": {"value": 0.6, "unit": "m^2"}},
    "bin": {"type": "bin", "name": "Larvae bin", "order": 2, "bin_area": {"value": 0.4, "unit": "m^2"}},
    "pond": {"type": "pond", "name": "Pond", "order": 3},
    "hive": {"type": "hive", "name": "Hive", "order": 4, "boxes": 2},
}


def time(minutes: float) -> str:
    """Write the instant `minutes` after the start of the test year."""
    return (START + timedelta(minutes=minutes)).isoformat()


def entry(kind: str, minutes: float = 0, **fields: Any) -> Raw:
    """Make an entry with an id of its own kind and minute; `id` may be given."""
    return {"id": f"{kind}-{minutes:g}", "kind": kind, "at": time(minutes), "by": "ana", **fields}


def kg(value: float) -> Raw:
    return {"value": value, "unit": "kg"}


def setups() -> list[Raw]:
    """Set a place up with one station of each kind, two people, a caddy and a feedstock of its own."""
    things: list[tuple[str, str, Mapping[str, Any]]] = [
        ("place", "place", {"name": "Test place", "invented": True}),
        *(("station", name, fields) for name, fields in STATIONS.items()),
        ("person", "ana", {"name": "Ana", "role": "host"}),
        ("person", "kit", {"name": "Kit", "role": "helper"}),
        ("container", "caddy", {"name": "Caddy", "full_mass": kg(2.4)}),
        ("feedstock", "pulp", {"name": "Juice pulp", "like": "fruit_scraps", "stream": "kitchen"}),
    ]
    return [
        {**entry("setup", 0, what=what, item=item, set=dict(fields)), "id": f"setup-{what}-{item}"}
        for what, item, fields in things
    ]


_FEEDSTOCKS = ["vegetable_scraps", "fruit_scraps", "fish_heads", "cardboard", "pulp", "bread", "pond_solids"]
_sides = st.sampled_from(["a", "b"])
_mass = st.floats(0.01, 20.0).map(kg) | st.floats(10.0, 5000.0).map(lambda g: {"value": g, "unit": "g"})
_amount = (
    _mass
    | st.floats(0.1, 3.0).map(lambda part: {"container": "caddy", "filled": part})
    | st.floats(0.1, 30.0).map(lambda litres: {"value": litres, "unit": "L"})
)
_celsius = st.floats(-5.0, 45.0).map(lambda t: {"value": t, "unit": "degC"})


def _fields(**fields: st.SearchStrategy[Any]) -> st.SearchStrategy[Raw]:
    return st.fixed_dictionaries(dict(fields))


_KINDS: dict[str, st.SearchStrategy[Raw]] = {
    "feed bed": _fields(
        station=st.just("bed"), side=_sides, feedstock=st.sampled_from(_FEEDSTOCKS), amount=_amount
    ),
    "feed bin": _fields(station=st.just("bin"), feedstock=st.sampled_from(_FEEDSTOCKS), amount=_amount),
    "reading bed": _fields(
        station=st.just("bed"),
        side=_sides,
        temperature=_celsius,
        squeeze=st.sampled_from(["crumbles", "holds", "drips", "trickles", "runs"]),
        depth=st.floats(1.0, 40.0).map(lambda d: {"value": d, "unit": "cm"}),
    ),
    "reading bin": _fields(station=st.just("bin"), temperature=_celsius, air_temperature=_celsius),
    "signs": _fields(
        station=st.sampled_from(["bed", "bin"]),
        side=_sides,
        signs=st.lists(st.sampled_from(["ammonia_smell", "mites", "crusted", "all_well"]), min_size=1),
    ),
    "leftover": _fields(station=st.just("bed"), side=_sides, left=st.sampled_from(["none", "some", "most"])),
    "water": _fields(station=st.just("bed"), side=_sides, amount=st.just({"value": 2.0, "unit": "L"})),
    "side_count": _fields(
        station=st.just("bed"),
        side=_sides,
        counts=st.lists(st.integers(0, 200), min_size=1, max_size=8),
        scoop=st.just({"value": 1.0, "unit": "L"}),
    ),
    "switch": _fields(station=st.just("bed"), side=_sides),
    "castings": _fields(
        station=st.just("bed"),
        side=_sides,
        amount=_amount,
        method=st.sampled_from(["after_migration", "top_layers"]),
    ),
    "self_harvest": _fields(
        station=st.just("bin"), count=st.integers(0, 3000), fifty_mass=st.just({"value": 8.1, "unit": "g"})
    ),
    "clear_out": _fields(
        station=st.just("bin"), amount=_amount, to=st.sampled_from(["bed", "landfill", "curing"])
    ),
    "reject": _fields(
        station=st.sampled_from(["bed", "bin"]),
        feedstock=st.sampled_from(["bones", "vegetable_scraps"]),
        amount=_mass,
        to=st.sampled_from(["landfill", "burial"]),
    ),
    "catch": _fields(
        station=st.just("pond"),
        species=st.sampled_from(["carp", "perch"]),
        number=st.integers(1, 9),
        mass=_mass,
        fate=st.sampled_from(["killed", "held", "released"]),
    ),
    "hive_harvest": _fields(station=st.just("hive"), amount=_mass, water_pct=st.floats(14.0, 24.0)),
    "hive_box": _fields(
        station=st.just("hive"),
        change=st.sampled_from(["added", "taken"]),
        position=st.sampled_from(["below", "above"]),
    ),
    "from_a_newer_phone": _fields(station=st.just("bed"), colour=st.just("blue")),
    "round": _fields(started=st.just(time(0)), passed=st.just(["bed", "bin"])),
}


@st.composite
def logs(draw: st.DrawFn, most: int = 40) -> list[Raw]:
    """Draw a log: the set-up, entries of every kind, and corrections of some of them."""
    made = setups()
    for number in range(draw(st.integers(0, most))):
        name = draw(st.sampled_from(sorted(_KINDS)))
        fields = draw(_KINDS[name])
        minute = draw(st.integers(1, SPAN_MINUTES))
        made.append({**entry(name.split()[0], minute, **fields), "id": f"e{number:03d}"})
    for number in range(draw(st.integers(0, 4))):
        of = draw(st.sampled_from(made))["id"]
        change = draw(st.sampled_from([None, {"side": "b"}, {"amount": kg(1.5)}]))
        action = "retract" if change is None else "replace"
        fields = (
            {"of": of, "action": action} if change is None else {"of": of, "action": action, "with": change}
        )
        minute = draw(st.integers(1, SPAN_MINUTES))
        made.append({**entry("correction", minute, **fields), "id": f"c{number:03d}"})
    return made
