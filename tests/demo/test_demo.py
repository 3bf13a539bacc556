"""The demo: good entries, a whole story, the same each time, and a plan one can believe."""

import json
import subprocess
import sys
from collections import Counter
from datetime import date, datetime, timedelta
from functools import cache
from itertools import pairwise
from math import fsum
from pathlib import Path
from typing import Any

import pytest

from fallowside.core import materials, place, sources
from fallowside.core.corrections import amendments
from fallowside.core.entries import Entry, problem, read, spec
from fallowside.core.plan import plan
from fallowside.exchange import demo

Raw = dict[str, Any]
ROOT = Path(__file__).parents[2]
TODAY = date(2026, 11, 25)
DAYS = [TODAY, date(2026, 6, 30), date(2027, 2, 20), date(2028, 2, 29)]
each_season = pytest.mark.parametrize("today", DAYS, ids=str)


@cache
def story(today: date) -> list[Raw]:
    return demo.entries(today)


@cache
def planned(today: date) -> Raw:
    return dict(plan(story(today), f"{today}T07:30:00+02:00"))


def days(log: list[Raw]) -> list[date]:
    return sorted({date.fromisoformat(raw["at"][:10]) for raw in log})


def standing(log: list[Raw]) -> list[Raw]:
    """Give the entries as the corrections leave them."""
    changes = amendments(raw for raw in log if raw["kind"] == "correction")
    refused: list[str] = []
    kept = [
        changes.examine(raw, lambda name, _: refused.append(name))
        for raw in log
        if raw["kind"] != "correction"
    ]
    assert refused == []
    return [dict(one.data) for one in kept if isinstance(one, Entry)]


# -- the entries ---------------------------------------------------------------------------------


@each_season
def test_every_entry_is_good_at_its_place(today: date) -> None:
    log = story(today)
    known = place.fold(read(raw) for raw in standing(log) if raw["kind"] == "setup").known()
    now = int(datetime.fromisoformat(f"{today}T00:00:00+02:00").timestamp() * 1_000_000)
    found = [(raw, bad) for raw in log if (bad := problem(raw, known=known, now_us=now)) is not None]
    assert found == []


@each_season
def test_an_entry_points_only_to_what_was_set_up_before_it(today: date) -> None:
    setups: list[Raw] = []
    for raw in story(today):
        if raw["kind"] == "setup":
            setups.append(raw)
        elif raw["kind"] != "correction":
            here = {one["item"] for one in setups}
            assert {raw.get("station", "place"), raw["by"]} <= here, raw


def test_the_story_lasts_eight_months_and_more() -> None:
    written = days(story(TODAY))
    assert (written[-1] - written[0]).days >= 240


@pytest.mark.parametrize("month", range(1, 13))
def test_every_kind_of_entry_and_of_station_occurs(month: int) -> None:
    log = demo.entries(date(2027, month, 17))
    # The demo's host has opened no fish bath: a place that shows doses would teach them.
    assert {raw["kind"] for raw in log} == set(spec()["kinds"]) - {"bath"}
    types = {raw["set"]["type"] for raw in log if raw["kind"] == "setup" and "type" in raw["set"]}
    assert types == set(spec()["setup"]["station"]["type"]["choices"])


def test_several_people_keep_it_and_come_and_go() -> None:
    log = story(TODAY)
    roles = [raw["set"]["role"] for raw in log if raw.get("what") == "person" and "role" in raw["set"]]
    assert Counter(roles)["host"] == 1
    assert Counter(roles)["helper"] >= 5
    assert len({raw["by"] for raw in log if raw["kind"] == "round"}) >= 6


def test_nobody_writes_before_coming_or_after_leaving() -> None:
    log = story(TODAY)
    comes: dict[str, str] = {}
    goes: dict[str, str] = {}
    for raw in log:
        if raw.get("what") == "person":
            comes.setdefault(raw["item"], raw["at"][:10])
            goes[raw["item"]] = raw["set"].get("last_day", "9999-12-31")
    strays = [raw for raw in log if not comes[raw["by"]] <= raw["at"][:10] <= goes[raw["by"]]]
    assert strays == []


def test_there_are_days_on_which_nobody_walked() -> None:
    written = days(story(TODAY))
    gaps = [(later - earlier).days for earlier, later in pairwise(written)]
    assert max(gaps) >= 5
    assert sum(gap == 2 for gap in gaps) >= 10


@each_season
def test_mistakes_were_made_and_mended(today: date) -> None:
    log = story(today)
    by_id = {raw["id"]: raw for raw in log}
    corrections = [raw for raw in log if raw["kind"] == "correction"]
    assert {raw["action"] for raw in corrections} == {"retract", "replace"}
    assert all(raw["of"] in by_id and by_id[raw["of"]]["at"] < raw["at"] for raw in corrections)
    assert any(by_id[raw["of"]]["kind"] == "correction" for raw in corrections)
    assert any(set(raw.get("with", {})) == {"side"} for raw in corrections)
    mended = standing(log)
    hottest = max(
        raw["temperature"]["value"]
        for raw in mended
        if raw["kind"] == "reading" and raw.get("temperature", {}).get("unit") == "degC"
    )
    assert hottest < 45.0
    assert len(mended) == len(log) - len(corrections) - 2


def test_amounts_are_written_in_several_ways() -> None:
    amounts = [raw["amount"] for raw in story(TODAY) if raw["kind"] == "feed"]
    assert {"kg", "g", "lb"} <= {amount.get("unit") for amount in amounts}
    assert {amount["container"] for amount in amounts if "container" in amount} == {"grey-pail", "crock"}


def test_ids_are_each_used_once_and_lie_in_order_of_time() -> None:
    log = story(TODAY)
    assert len({raw["id"] for raw in log}) == len(log)
    noted = sorted(log, key=lambda raw: datetime.fromisoformat(raw["noted_at"]))
    prefixes = [raw["id"][:13] for raw in noted]
    assert prefixes == sorted(prefixes)


# -- the same each time --------------------------------------------------------------------------


def test_the_same_day_gives_the_same_bytes() -> None:
    made = [
        subprocess.run(
            [sys.executable, str(ROOT / "fixtures" / "make_demo.py"), "--today", str(TODAY)],
            capture_output=True,
            check=True,
            env={"PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT / "server")},
        ).stdout
        for seed in ("1", "2")
    ]
    assert made[0] == made[1]
    assert [json.loads(line) for line in made[0].splitlines()] == story(TODAY)


@pytest.mark.parametrize("moved", [1, 2, 30, 366])
def test_the_last_day_moves_with_today(moved: int) -> None:
    later = TODAY + timedelta(days=moved)
    assert days(demo.entries(later))[-1] - days(story(TODAY))[-1] == timedelta(days=moved)


@each_season
def test_the_last_entry_lies_in_the_past_wherever_today_has_begun(today: date) -> None:
    earliest_midnight = datetime.fromisoformat(f"{today}T00:00:00+14:00")
    assert max(datetime.fromisoformat(raw["at"]) for raw in story(today)) < earliest_midnight


def test_another_seed_tells_another_story() -> None:
    assert demo.entries(TODAY, demo.SEED + 1) != story(TODAY)


# -- its plan ------------------------------------------------------------------------------------


@each_season
def test_no_entry_of_the_demo_is_set_aside(today: date) -> None:
    made_from = planned(today)["made_from"]
    assert made_from["set_aside"] == []
    assert made_from["newer_kinds"] == 0


@each_season
def test_what_is_ahead_lies_ahead_and_its_intervals_are_in_order(today: date) -> None:
    for station in planned(today)["stations"]:
        for ahead in station["ahead"]:
            known = [day for day in (ahead["earliest"], ahead["due"], ahead["latest"]) if day is not None]
            assert known == sorted(known), (station["id"], ahead)
            assert all(day >= str(today) for day in known), (station["id"], ahead)


@each_season
def test_the_last_day_is_worth_looking_at(today: date) -> None:
    by_id = {station["id"]: station for station in planned(today)["stations"]}
    trough, stair_bin = by_id["trough"], by_id["stair-bin"]
    assert {"switch_sides", "harvest_castings"} <= {ahead["what"] for ahead in trough["ahead"]}
    assert "self_harvest" in {ahead["what"] for ahead in stair_bin["ahead"]}
    assert trough["ration"]["kg"] > 0.0
    assert any(station["jobs"] for station in by_id.values())
    assert any(station["warnings"] for station in by_id.values())


@each_season
def test_the_tally_equals_a_sum_made_by_hand(today: date) -> None:
    log, tally = story(today), planned(today)["tally"]
    mended = {raw["id"]: dict(raw) for raw in log if raw["kind"] != "correction"}
    gone = {raw["of"] for raw in log if raw["kind"] == "correction" and raw["action"] == "retract"}
    for raw in log:
        if raw["kind"] == "correction" and raw["action"] == "replace" and raw["id"] not in gone:
            mended[raw["of"]].update(raw["with"])
    # A retraction that was itself taken back did nothing.
    void = {raw["of"] for raw in log if raw["kind"] == "correction" and raw["id"] in gone}
    kept = [raw for raw in mended.values() if raw["id"] not in gone or raw["id"] in void]
    during = [raw for raw in kept if tally["since"] <= raw["at"][:10] <= tally["until"]]
    aside = set(sources.table("tally")["streams"]["not_counted"])
    fed = fsum(
        kilograms(raw)
        for raw in during
        if raw["kind"] == "feed" and raw["station"] != "pond" and stream(raw) not in aside
    )
    to_landfill = fsum(
        kilograms(raw) for raw in during if raw["kind"] == "reject" and raw["to"] == "landfill"
    )
    assert fed > 300.0
    assert tally["gross_kg"] == pytest.approx(fed, rel=1e-5)
    assert tally["rejected_kg"] == pytest.approx(to_landfill, rel=1e-5)
    assert tally["net"]["value"] == pytest.approx(fed - to_landfill, rel=1e-5)


def stream(raw: Raw) -> str:
    return "kitchen" if raw["feedstock"] == "porridge" else materials.get(raw["feedstock"]).stream


# The pound is exactly 0.45359237 kg (international yard and pound agreement, 1959).
PER_UNIT = {"kg": 1.0, "g": 0.001, "lb": 0.45359237}


def kilograms(raw: Raw) -> float:
    amount = raw["amount"]
    if "container" in amount:
        # The pail holds 5.8 kg, as weighed; the crock 3 L of porridge at 1.0 kg/L.
        return float(amount["filled"]) * {"grey-pail": 5.8, "crock": 3.0}[amount["container"]]
    return float(amount["value"]) * PER_UNIT[amount["unit"]]
