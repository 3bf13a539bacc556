"""The phone's check of an entry and the service's judge say the same: both are held to one list."""

import json
from pathlib import Path
from typing import Any

import pytest

from fallowside.core.entries import Known, problem

LIST = json.loads((Path(__file__).parents[2] / "fixtures" / "entry_checks.json").read_text(encoding="utf-8"))
KNOWN = Known(
    stations=LIST["known"]["stations"],
    containers=frozenset(LIST["known"]["containers"]),
    feedstocks=frozenset(LIST["known"]["feedstocks"]),
    densities=frozenset(LIST["known"]["densities"]),
    weighed=frozenset(LIST["known"]["weighed"]),
    unmeasured=frozenset(LIST["known"]["unmeasured"]),
)


@pytest.mark.parametrize("case", LIST["cases"], ids=lambda case: case["case"])
def test_the_judge_says_of_each_entry_what_the_phone_is_held_to(case: dict[str, Any]) -> None:
    found = problem(case["entry"], known=KNOWN)
    said = None if found is None else {"code": found.code, "field": found.field}
    assert said == case["problem"]
