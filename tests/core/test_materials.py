"""The table of materials: possible, sourced, and open to a place's own measurements."""

import json
from pathlib import Path

import pytest

import fallowside
from fallowside.core import materials, sources
from fallowside.core.errors import OutOfRange, UnknownName
from fallowside.core.materials import Material

ALL = materials.all()
NAMED = [pytest.param(one, id=one.name) for one in ALL]
FIGURES = ("moisture_pct", "carbon_pct_dry", "nitrogen_pct_dry", "bulk_density_kg_per_l")
WORDS = json.loads(
    (Path(fallowside.__file__).parent / "words/parts/material.en.json").read_text(encoding="utf-8")
)

# Little of these is organic: lime, ash or nothing but water.
MINERAL = {"eggshell", "finished_castings", "water"}


@pytest.mark.parametrize("one", NAMED)
def test_carbon_is_what_living_matter_can_hold(one: Material) -> None:
    """Carbon of organic matter is 45 to 60 % (Cornell, after Adams and others 1951), less with ash; a
    table's N x C:N may say 24 or 119 %. Cellulose holds 44.4 % (72.06 / 162.14, IUPAC masses)."""
    if one.name not in MINERAL:
        assert 25.0 <= one.carbon_pct_dry <= 55.0


@pytest.mark.parametrize("one", NAMED)
def test_each_figure_lies_in_its_range(one: Material) -> None:
    for name, (low, high) in one.ranges.items():
        assert low <= getattr(one, name) <= high, name
    assert {name for name in FIGURES if getattr(one, name) is not None} <= one.ranges.keys()


@pytest.mark.parametrize("one", NAMED)
def test_each_figure_and_share_names_its_source_and_mark(one: Material) -> None:
    row = sources.table("materials")["materials"][one.name]
    figures = [value for value in row.values() if isinstance(value, dict) and "value" in value]
    for figure in [*figures, *row.get("takes", {}).values()]:
        assert figure["source"] in sources.table("materials")["sources"]
        assert figure["confidence"] in ("seen", "quoted", "computed", "memory", "practice")
        assert figure["source"] != "practice" or figure["confidence"] == "practice"


@pytest.mark.parametrize("one", NAMED)
def test_each_share_is_part_of_a_whole_and_goes_to_a_station(one: Material) -> None:
    assert one.takes.keys() <= {"bed", "bin", "pond"}
    assert all(0.0 < share <= 1.0 for share in one.takes.values())


@pytest.mark.parametrize("one", NAMED)
def test_every_id_stream_and_caution_has_words(one: Material) -> None:
    assert f"feedstock.{one.name}" in WORDS
    assert f"stream.{one.stream}" in WORDS
    assert set(one.cautions) <= WORDS.keys()


def test_no_word_is_left_over() -> None:
    wanted = {f"feedstock.{one.name}" for one in ALL} | {f"stream.{one.stream}" for one in ALL}
    wanted |= {caution for one in ALL for caution in one.cautions}
    # The set-up of feedstocks has its words in the same room.
    assert wanted == {key for key in WORDS if not key.startswith("app.")}


@pytest.mark.parametrize("name", ["fish_heads", "fish_guts", "meat_scraps", "dairy", "bones", "hen_manure"])
def test_what_kills_worms_never_goes_to_a_bed(name: str) -> None:
    """Fish waste killed 91 % of worms (Madhusanki and Epa 2023, Journal of Fisheries and Environment
    47(3):126-137); ammonia and salts of fresh manure kill (Kaplan and others 1980). Meat, dairy and
    bones: common practice, no source."""
    assert "bed" not in materials.get(name).takes


def test_a_place_carries_its_own_measurements_over_a_likeness() -> None:
    own = materials.adapted("pulp", "fruit_scraps", {"moisture_pct": 91, "stream": "press", "name": "Pulp"})
    base = materials.get("fruit_scraps")
    assert (own.name, own.moisture_pct, own.stream) == ("pulp", 91.0, "press")
    assert (own.nitrogen_pct_dry, own.takes, own.cautions) == (
        base.nitrogen_pct_dry,
        base.takes,
        base.cautions,
    )
    assert own.ranges["moisture_pct"] == (86.0, 96.0)


def test_a_likeness_must_be_known_and_a_figure_possible() -> None:
    with pytest.raises(UnknownName, match="no feedstock is called 'pulp'"):
        materials.adapted("x", "pulp", {})
    with pytest.raises(OutOfRange, match="moisture_pct of x is 101"):
        materials.adapted("x", "bread", {"moisture_pct": 101.0})


def test_an_unknown_material_is_refused_with_the_known_ones() -> None:
    with pytest.raises(UnknownName, match=r"use one of: bones, bread.*wood_shavings"):
        materials.get("lava")


def test_a_material_may_be_kept_in_a_set() -> None:
    assert len({*ALL, *ALL}) == len(ALL)
