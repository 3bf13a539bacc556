"""Pond and hive from the command line: what a file of entries brings, and what the plan then says."""

import json
from typing import Any

import pytest

from tests.cli.conftest import Run
from tests.logs import AT, Raw, entry, kg, setups
from tests.logs_of_water import opened, set_up

NOW = 106 * 24 * 60


def jsonl(*entries: Raw) -> str:
    return "".join(json.dumps(one) + "\n" for one in (*setups(), *entries))


def at_pond(kind: str, **fields: Any) -> Raw:
    return {**entry(kind, NOW, station="pond"), **fields, "id": kind}


def bath(**fields: Any) -> Raw:
    return at_pond(
        "bath", **{"volume": {"value": 20, "unit": "L"}, "stock": "neat", "then": "killed", **fields}
    )


def said(run: Run, *entries: Raw) -> str:
    """Load entries, all of them good, and give the words of the plan on one line."""
    assert run("load", "-", stdin=jsonl(*entries)).returncode == 0
    return " ".join(run("plan", "--at", AT).stdout.split())


def test_a_bath_noted_before_it_may_be_is_loaded_warned_of_and_shows_no_arithmetic(run: Run) -> None:
    text = said(run, bath())
    assert "nobody recorded what your rules or veterinarian allow. No dose is shown." in text
    assert "mL" not in text
    assert "mg" not in text


@pytest.mark.parametrize(
    ("bad", "why"),
    [
        (bath(volume=None), "there is no dose without water"),
        (bath(then="held"), "a fish that will be held never goes into this bath"),
        (
            {**opened(), "set": {"bath_concentration": {"value": 40, "unit": "mL"}}},
            "mg is a weight of the drug in each litre of water, mL a volume",
        ),
        (
            {**entry("hive_harvest", NOW, station="hive", amount=kg(600.0)), "id": "honey"},
            "`amount` is 600 kg; it is believed from 0 to 500 kg",
        ),
    ],
)
def test_what_cannot_be_is_held_and_the_line_says_why(run: Run, bad: Raw, why: str) -> None:
    done = run("load", "-", stdin=jsonl(bad))
    assert done.returncode == 1
    assert why in done.stderr + done.stdout


def test_a_catch_heavier_than_the_stock_is_asked_about(run: Run) -> None:
    heavy = at_pond("catch", species="perch", number=3, fate="killed", mass=kg(9.0))
    assert "A catch of 9 kg, yet the pond is thought to hold 5 kg." in said(
        run, set_up(fish_stock=kg(5.0)), heavy
    )


def test_every_catch_that_is_planned_is_told(run: Run) -> None:
    plans = [
        {**at_pond("catch_plan", day=day, species=fish, number=4, cut="whole_gutted"), "id": fish}
        for day, fish in (("2026-06-16", "trout"), ("2026-06-20", "carp"))
    ]
    text = said(run, *plans)
    assert "Take fish as planned: trout" in text
    assert "Take fish as planned: carp" in text
    assert "Planned: 4 trout." in text
    assert "Planned: 4 carp." in text


def test_where_the_scraps_of_a_catch_go_is_told_with_what_to_freeze(run: Run) -> None:
    fed = {**entry("feed", NOW - 1440, station="bin", feedstock="bread", amount=kg(0.3)), "id": "fed"}
    caught = at_pond("catch", species="trout", number=9, fate="killed", scraps=kg(1.5))
    text = said(run, fed, caught)
    assert "1.5 kg of fish scraps" in text
    assert "Freeze: " in text
    assert "To the bin today: " in text
