"""The golden logs: what our own code makes of them is frozen, only to notice change."""

import json
import runpy
from pathlib import Path
from typing import Any

import pytest

from fallowside.core.entries import problem

ROOT = Path(__file__).parents[2]
FREEZE = runpy.run_path(str(ROOT / "fixtures" / "freeze_plans.py"))
NAMES = sorted(FREEZE["about"]())


def test_each_golden_log_has_its_plan_and_each_plan_its_log() -> None:
    folder = FREEZE["GOLDEN"]
    assert {path.name.partition(".")[0] for path in folder.iterdir()} == {"about", *NAMES}
    assert {path.name for path in folder.glob("*.plan.json")} == {f"{name}.plan.json" for name in NAMES}


@pytest.mark.parametrize("name", NAMES)
def test_plan_of_a_golden_log_is_as_frozen(name: str) -> None:
    """Differs? If it should, run `fixtures/freeze_plans.py` and say why in the commit."""
    frozen: dict[str, Any] = json.loads((FREEZE["GOLDEN"] / f"{name}.plan.json").read_text(encoding="utf-8"))
    assert frozen["source"] == "self"
    assert FREEZE["frozen"](name) == frozen


@pytest.mark.parametrize("name", NAMES)
def test_golden_entries_are_good_but_where_badness_is_the_point(name: str) -> None:
    bad = [raw["id"] for raw in FREEZE["log"](name) if problem(raw) is not None]
    assert bad == []
