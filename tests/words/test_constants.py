"""Every constant a plan names is called something a person can read."""

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from fallowside import words
from fallowside.core import sources
from fallowside.core.plan import Fold
from fallowside.exchange import demo

GOLDEN = Path(__file__).parents[2] / "fixtures" / "golden"
ABOUT: dict[str, Any] = json.loads((GOLDEN / "about.json").read_text(encoding="utf-8"))
SCRAPS = [
    {"feedstock": "fish_heads", "amount": {"value": 2, "unit": "kg"}},
    {"feedstock": "vegetable_scraps", "amount": {"value": 4, "unit": "kg"}},
]


def unnamed(constants: set[str]) -> list[str]:
    return sorted(name for name in constants if f"constant.{name}" not in words.catalogue())


@pytest.mark.parametrize("name", sorted(ABOUT))
def test_the_constants_of_a_golden_plan_have_names(name: str) -> None:
    lines = (GOLDEN / f"{name}.jsonl").read_text(encoding="utf-8").splitlines()
    plan = Fold(json.loads(line) for line in lines).plan(ABOUT[name]["at"])
    assert unnamed(set(plan["constants"])) == []


@pytest.mark.parametrize("day", [date(2026, 2, 10), date(2026, 8, 1)])
def test_the_constants_of_the_demo_have_names_winter_and_summer(day: date) -> None:
    fold, at = Fold(demo.entries(day)), f"{day}T18:00:00+02:00"
    assert unnamed({*fold.plan(at)["constants"], *fold.route(SCRAPS, at)["constants"]}) == []


def test_every_name_is_of_a_constant_there_is() -> None:
    named = {key.removeprefix("constant.") for key in words.catalogue() if key.startswith("constant.")}
    known = {one.name for subject in sources.subjects() for one in sources.constants(subject).values()}
    assert named - known == set()
