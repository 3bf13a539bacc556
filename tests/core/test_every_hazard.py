"""Every hazard of water, fish and bees carries its caution, in every language the app speaks."""

from collections.abc import Iterator
from typing import Any

import pytest

from fallowside import words
from fallowside.core.plan import plan
from fallowside.words import message, translations
from tests.logs import AT, Raw, entry, kg, setups
from tests.logs_of_water import opened

NOW = 106 * 24 * 60
LANGUAGES = ("en", *translations.LANGUAGES)


def at_pond(kind: str, **fields: Any) -> list[Raw]:
    return [{**entry(kind, NOW, station="pond"), **fields}]


def at_hive(kind: str, **fields: Any) -> list[Raw]:
    return [{**entry(kind, NOW, station="hive"), **fields}]


def celsius(value: float) -> Raw:
    return {"value": value, "unit": "degC"}


def killed(**fields: Any) -> list[Raw]:
    return at_pond("catch", species="trout", number=3, fate="killed", **fields)


def stocked(species: str = "trout") -> list[Raw]:
    return [entry("stocking", 10, station="pond", species=species, number=40, mass=kg(10.0))]


def bath(**fields: Any) -> list[Raw]:
    volume = {"value": 20, "unit": "L"}
    return at_pond("bath", volume=volume, stock="one_in_ten", then="killed", **fields)


PLANNED = at_pond("catch_plan", day="2026-06-16", species="trout", number=4, cut="whole_gutted")
CELLS: dict[str, list[Raw]] = {
    "gasping fish": [*stocked(), *at_pond("signs", signs=["fish_gasping"])],
    "dead fish": at_pond("signs", signs=["dead_fish"]),
    "green water": at_pond("signs", signs=["green_water"]),
    "rotten smell": at_pond("signs", signs=["rotten_smell"]),
    "little oxygen": at_pond("water_test", oxygen_mg_per_l=1.0),
    "ammonia": [
        *at_pond("reading", ph=9.2, temperature=celsius(25.0)),
        {**at_pond("water_test", ammonia_mg_per_l=3.0)[0], "id": "test"},
    ],
    "pH": at_pond("reading", ph=4.0),
    "too warm": [*stocked(), *at_pond("reading", temperature=celsius(24.0))],
    "fish with no table": [*stocked("gudgeon"), *at_pond("reading", temperature=celsius(24.0))],
    "heavier than the stock": [*stocked(), *killed(mass=kg(30.0))],
    "more fish than counted": [*stocked(), *at_pond("catch", species="trout", number=99, fate="killed")],
    "held fish": at_pond("catch", species="trout", number=2, fate="held"),
    "larvae nobody asked about": [*stocked(), *at_pond("feed", feedstock="larvae", amount=kg(2.0))],
    "a missing hook": killed(hooks_missing=1, mass=kg(1.0), cut="whole_gutted"),
    "a planned catch": PLANNED,
    "a closed bath": bath(),
    "an open bath": [opened(150.0), *stocked("carp"), *at_pond("reading", temperature=celsius(9.0)), *bath()],
    "a bath alone": [opened(), *killed(method="bath", second_step="none")],
    "cold smoke": at_pond("preserve", method="cold_smoke"),
    "vacuum": at_pond("preserve", method="hot_smoke", packing="vacuum"),
    "not hot enough": at_pond("preserve", method="hot_smoke", inside=celsius(50.0), minutes=30),
    "between limits": at_pond("preserve", method="hot_smoke", inside=celsius(65.0), minutes=30),
    "little salt": at_pond("preserve", method="salt", salt_pct=1.0, moisture_pct=70.0),
    "kept warm": at_pond("preserve", method="chill", kept_at=celsius(9.0)),
    "kept long": [{**entry("preserve", NOW - 9 * 24 * 60, station="pond"), "method": "chill"}],
    "sick brood": at_hive("signs", signs=["sunken_cappings", "ropy_brood", "foul_brood_smell"]),
    "pests": at_hive("signs", signs=["small_beetles", "mites", "many_dead_bees"]),
    "odd brood": at_hive("signs", signs=["brood_odd", "chalky_brood", "crippled_wings"]),
    "other signs of bees": at_hive("signs", signs=["robbing", "few_bees", "ants", "vermin", "mould"]),
    "wet honey": at_hive("hive_harvest", amount=kg(5.0), water_pct=22.0),
    "a light hive": at_hive("hive_check", hefting="light"),
    "a box that is not there": at_hive("hive_box", change="taken", position="above", box="blue"),
}
"""A log for each hazard; each is told by at least one warning, caution or refusal to feed."""
TOLD = {
    "gasping fish": "pond.warn.fish_gasping",
    "dead fish": "pond.warn.dead_fish",
    "green water": "pond.warn.green_water",
    "rotten smell": "pond.warn.rotten_smell",
    "little oxygen": "pond.warn.low_oxygen",
    "ammonia": "pond.warn.ammonia",
    "pH": "pond.warn.ph_out",
    "too warm": "pond.warn.too_warm",
    "fish with no table": "pond.ration.careful",
    "heavier than the stock": "pond.warn.more_than_stock",
    "more fish than counted": "pond.warn.more_fish_than_counted",
    "held fish": "pond.caution.held",
    "larvae nobody asked about": "pond.warn.larvae_not_checked",
    "a missing hook": "pond.warn.hooks_missing",
    "a planned catch": "pond.caution.not_alone",
    "a closed bath": "pond.warn.bath_closed",
    "an open bath": "pond.caution.bath_little_oxygen",
    "a bath alone": "pond.warn.bath_one_step",
    "cold smoke": "pond.warn.preserve_cold_smoke",
    "vacuum": "pond.warn.preserve_vacuum",
    "not hot enough": "pond.warn.preserve_not_hot_enough",
    "between limits": "pond.warn.preserve_between_limits",
    "little salt": "pond.warn.preserve_little_salt",
    "kept warm": "pond.warn.preserve_kept_warm",
    "kept long": "pond.warn.preserve_kept_long",
    "sick brood": "hive.remedy.notify_authority",
    "pests": "hive.warn.small_beetles",
    "odd brood": "hive.warn.crippled_wings",
    "other signs of bees": "hive.warn.robbing",
    "wet honey": "hive.warn.wet_honey",
    "a light hive": "hive.warn.light",
    "a box that is not there": "hive.warn.box_not_there",
}


def told(log: list[Raw]) -> dict[str, Raw]:
    """Give every key a plan's pond and hive would have said, with the values it is said with."""
    found: dict[str, Raw] = {}
    for station in plan([*setups(), *log], AT)["stations"]:
        if station["type"] in ("pond", "hive"):
            found.update(keys(station))
    return found


def keys(part: Any) -> Iterator[tuple[str, Raw]]:
    if isinstance(part, dict):
        if "key" in part and "values" in part:
            yield part["key"], part["values"]
        for name, value in part.items():
            if name in ("cautions", "remedies"):
                yield from ((key, {}) for key in value)
            else:
                yield from keys(value)
    elif isinstance(part, list):
        for one in part:
            yield from keys(one)


@pytest.fixture(scope="module", params=CELLS)
def hazard(request: pytest.FixtureRequest) -> tuple[str, dict[str, Raw]]:
    return request.param, told(CELLS[request.param])


def test_a_hazard_is_told_with_its_caution(hazard: tuple[str, dict[str, Raw]]) -> None:
    name, said = hazard
    assert TOLD[name] in said


@pytest.mark.parametrize("language", LANGUAGES)
def test_whatever_a_hazard_says_is_said_in_every_language(
    hazard: tuple[str, dict[str, Raw]], language: str
) -> None:
    catalogue, english = words.catalogue(language), words.catalogue()
    for key, values in hazard[1].items():
        text = catalogue[key]
        assert text.strip()
        asked = {part.name for part in message.parts(text) if isinstance(part, message.Part)}
        assert asked <= values.keys(), (key, asked - values.keys())
        if language != "en" and len(english[key].split()) > 3:
            assert text != english[key], key


def test_every_warning_says_what_to_do() -> None:
    for log in CELLS.values():
        for station in plan([*setups(), *log], AT)["stations"]:
            assert all(one["remedies"] for one in station["warnings"])


def test_every_warning_and_caution_of_pond_and_hive_is_walked() -> None:
    """So that a hazard added later without a log here is found: a few stand in their own tests."""
    seen = {key for log in CELLS.values() for key in told(log)}
    elsewhere = {
        "hive.warn.few_stores", "hive.warn.much_honey", "hive.warn.box_empty",
        "hive.warn.box_there_already", "hive.warn.box_above", "pond.caution.bath_outside",
        "pond.caution.feed_watch", "hive.caution.stings", "hive.caution.lifting",
    }  # fmt: skip
    hazards = {key for key in words.catalogue() if key.split(".")[:2] in WALKED}
    assert hazards - seen - elsewhere == set()


WALKED = (["pond", "warn"], ["hive", "warn"], ["pond", "caution"], ["hive", "caution"])
