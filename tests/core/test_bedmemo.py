"""A bed's memo: whatever was kept of earlier looks, a plan is what a fresh fold would make, to the byte."""

import random
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fallowside.core import wormbed
from fallowside.core.materials import get
from fallowside.core.plan import Fold, plan, plan_json
from fallowside.core.worms import bedahead, bedpast, forecast
from tests.logs import Raw, entry, kg, setups, time

DAY = 24 * 60


def fed(side: str, day: int) -> Raw:
    amount = kg(1)
    return entry("feed", day * DAY, station="bed", side=side, feedstock="vegetable_scraps", amount=amount)


def careful(seed: int, days: int) -> list[Raw]:
    """Make a bed's days in order: feeds, readings, looks, scoops, turns, harvests."""
    dice = random.Random(seed)
    fed, made = "a", setups()
    for day in range(1, days):
        minute = day * DAY + dice.randrange(600)
        other = "b" if fed == "a" else "a"
        todays: list[tuple[str, dict[str, Any]]] = []
        if day % 2 == 0:
            side = other if dice.random() < 0.1 else fed
            todays.append(
                ("feed", {"side": side, "feedstock": "vegetable_scraps", "amount": kg(dice.uniform(0.2, 2))})
            )
        if day % 3 == 0:
            warm = {"value": round(dice.gauss(18, 4), 1), "unit": "degC"}
            todays.append(("reading", {"side": fed, "temperature": warm, "squeeze": "drips"}))
        if day % 5 == 0:
            todays.append(("leftover", {"side": fed, "left": dice.choice(["none", "some", "most"])}))
            todays.append(("reading", {"side": fed, "depth": {"value": dice.uniform(2, 20), "unit": "cm"}}))
        if day % 11 == 0:
            scoop = {"value": 0.5, "unit": "L"}
            for side in "ab":
                todays.append(
                    (
                        "side_count",
                        {"side": side, "counts": [dice.randrange(20) for _ in range(4)], "scoop": scoop},
                    )
                )
        if day % 37 == 0:
            todays.append(
                ("castings", {"side": other, "amount": kg(dice.uniform(2, 15)), "method": "after_migration"})
            )
            todays.append(("switch", {"side": other}))
            fed = other
        for number, (kind, fields) in enumerate(todays):
            made.append(
                {**entry(kind, minute + number, station="bed", **fields), "id": f"d{day:03d}-{number}"}
            )
    return made


def test_a_bed_looked_at_after_every_entry_is_planned_as_by_a_fresh_fold() -> None:
    log = careful(1, 60)
    fold = Fold(log[: len(setups())])
    for number, raw in enumerate(log[len(setups()) :], start=len(setups()) + 1):
        fold.add([raw])
        at = raw["at"][:10] + "T23:00:00+02:00"
        kept = fold.plan_json(at)
        if number % 9 == 0 or raw["kind"] in ("switch", "castings"):
            assert kept == plan_json(log[:number], at)
    assert fold.plan_json(log[-1]["at"]) == plan_json(log, log[-1]["at"])


def test_a_scoop_or_a_turn_of_late_does_not_run_the_bed_from_its_first_day_again(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    warm = {"value": 19.5, "unit": "degC"}
    log = careful(6, 260) + [
        entry("reading", day * DAY + 700 + number, station="bed", side=side, temperature=warm)
        for day in range(1, 260)
        for number, side in enumerate("ab")
    ]
    log.sort(key=lambda raw: raw["at"])
    cuts = [0, *(len(log) * tenths // 10 for tenths in (6, 8, 9)), len(log)]
    parts = [log[since:until] for since, until in pairwise(cuts)]
    fold, seen, kept = Fold(), [], []
    for part in parts:
        fold.add(part)
        seen += part
        kept.append((fold.plan_json(seen[-1]["at"]), len(seen)))
        monkeypatch.setattr(bedpast, "start", lambda _: pytest.fail("run from the first day"))
    assert {"side_count", "switch"} <= {raw["kind"] for raw in parts[-1] + parts[-2]}
    monkeypatch.undo()
    for made, number in kept:
        assert made == plan_json(log[:number], log[number - 1]["at"])


def test_an_entry_for_an_earlier_day_changes_what_was_known_this_morning() -> None:
    log = careful(3, 60)
    at = time(61 * DAY)
    fold = Fold(log)
    fold.plan_json(at)
    late = [
        entry("leftover", 41 * DAY, station="bed", side="a", left="most"),
        entry("reading", 59 * DAY + 5, station="bed", temperature={"value": 9, "unit": "degC"}),
        entry(
            "side_count", 20 * DAY, station="bed", side="b", counts=[9, 30], scoop={"value": 1, "unit": "L"}
        ),
    ]
    for number, raw in enumerate(late, start=1):
        fold.add([raw])
        assert fold.plan_json(at) == plan_json([*log, *late[:number]], at)


def test_feeds_that_show_a_switch_nobody_logged_change_the_days_before() -> None:
    log = [
        *setups(),
        *(
            entry("feed", day * DAY, station="bed", side="a", feedstock="bread", amount=kg(1))
            for day in range(1, 20)
        ),
    ]
    astray = [
        entry("feed", (20 + day) * DAY, station="bed", side="b", feedstock="bread", amount=kg(1))
        for day in range(4)
    ]
    fold = Fold(log)
    for number, raw in enumerate(astray, start=1):
        fold.add([raw])
        assert fold.plan_json(raw["at"]) == plan_json([*log, *astray[:number]], raw["at"])


def test_an_earlier_feed_that_comes_late_shows_which_side_was_fed_first() -> None:
    log = [*setups(), fed("b", 3), fed("b", 6)]
    fold, at = Fold(log), time(30 * DAY)
    assert fold.plan(at)["stations"][0]["state"]["feeding_side"] == "b"
    for more in (fed("a", 1), fed("a", 2)):
        fold.add([more])
        log.append(more)
        assert fold.plan_json(at) == plan_json(log, at)


def test_one_more_entry_today_lives_no_day_and_learns_nothing_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    log = careful(4, 80)
    at = time(80 * DAY)
    fold = Fold(log)
    fold.plan_json(at)

    def refused(*_: object) -> Any:
        raise AssertionError("the morning was worked out again")

    for room, name in ((bedpast, "run_to"), (forecast, "learn"), (forecast, "believe")):
        monkeypatch.setattr(room, name, refused)
    fold.add([entry("feed", 80 * DAY - 5, station="bed", side="a", feedstock="bread", amount=kg(1))])
    fold.add(
        [
            entry(
                "side_count",
                80 * DAY - 4,
                station="bed",
                side="a",
                counts=[4],
                scoop={"value": 1, "unit": "L"},
            )
        ]
    )
    fold.plan_json(at)
    fold.add([entry("leftover", 80 * DAY - 6, station="bed", side="a", left="some")])
    fold.plan_json(at)


def test_entries_of_one_day_may_come_in_any_order() -> None:
    log = careful(5, 50)
    today = [
        entry("feed", 50 * DAY + 60, station="bed", side="b", feedstock="bread", amount=kg(1)),
        entry("feed", 50 * DAY + 40, station="bed", side="b", feedstock="bread", amount=kg(1)),
        entry("reading", 50 * DAY + 30, station="bed", temperature={"value": 9, "unit": "degC"}),
        entry("feed", 50 * DAY + 20, station="bed", side="b", feedstock="bread", amount=kg(2)),
        entry("reading", 50 * DAY + 10, station="bed", temperature={"value": 21, "unit": "degC"}),
    ]
    at = time(50 * DAY + 90)
    fold = Fold(log)
    fold.plan_json(at)
    for number, raw in enumerate(today, start=1):
        fold.add([raw])
        assert fold.plan_json(at) == plan_json([*log, *today[:number]], at)


def side_a(made: Any) -> Any:
    return made["stations"][0]["state"]["sides"]["a"]


def ration(made: Any) -> Any:
    return made["stations"][0]["ration"]


def test_the_state_shown_holds_what_was_done_today() -> None:
    log = [*setups(), *(fed("a", day) for day in range(1, 40, 2))]
    at = time(41 * DAY)
    before = side_a(plan(log, at))
    pail = entry("feed", 41 * DAY - 30, station="bed", side="a", feedstock="vegetable_scraps", amount=kg(3))
    can = entry("water", 41 * DAY - 20, station="bed", side="a", amount={"value": 2, "unit": "L"})
    lift = entry("castings", 41 * DAY - 10, station="bed", side="a", amount=kg(1), method="top_layers")
    after = side_a(plan([*log, pail], at))
    dry_kg = 3.0 * (1.0 - get("vegetable_scraps").moisture_pct / 100.0)
    for end in ("low", "value", "high"):
        assert after["scraps"][end] == pytest.approx(before["scraps"][end] + dry_kg, abs=2e-5)
        assert after["castings"][end] == before["castings"][end]
        assert after["depth"][end] > before["depth"][end]
        assert after["unfinished"][end] > before["unfinished"][end]
    assert after["holds_kg"] == pytest.approx(before["holds_kg"] + 3.0, abs=1e-4)
    wet = side_a(plan([*log, pail, can], at))
    assert wet["moisture"]["value"] > after["moisture"]["value"]
    assert wet["scraps"] == after["scraps"]
    taken = side_a(plan([*log, pail, can, lift], at))
    assert taken["castings"]["value"] < wet["castings"]["value"]
    assert taken["holds_kg"] < wet["holds_kg"]


def test_midnight_changes_no_more_of_the_state_than_a_day_does() -> None:
    log = [*setups(), *(fed("a", day) for day in range(1, 40, 2))]
    pail = entry("feed", 41 * DAY, station="bed", side="a", feedstock="vegetable_scraps", amount=kg(6))
    evening, morning = (side_a(plan([*log, pail], time((41 + later) * DAY + 300))) for later in (0, 1))
    for name in ("scraps", "depth", "unfinished", "worms"):
        assert morning[name]["value"] == pytest.approx(evening[name]["value"], rel=0.08), name


def test_what_was_fed_today_leaves_the_ration_and_the_room_by_as_much() -> None:
    log = [*setups(), *(fed("a", day) for day in range(1, 40, 2))]
    at = time(41 * DAY)
    before = ration(plan(log, at))
    half = {**fed("a", 41), "at": time(41 * DAY - 30), "amount": kg(0.5 * before["kg"])}
    after = ration(plan([*log, half], at))
    assert after["kg"] == pytest.approx(0.5 * before["kg"], rel=1e-3)
    limits = [one["because"]["values"] for one in (before, after)]
    for name in ("worms", "warmth", "moisture", "backlog", "room"):
        assert limits[1][name] == pytest.approx(limits[0][name] - 0.5 * before["kg"], abs=2e-3), name


def lived(dice: random.Random, days: int) -> list[tuple[int, Raw]]:
    """Make a bed's days with long gaps; give each entry with the day on which it comes to the fold."""
    side, made = "a", [(0, raw) for raw in setups()]
    scoop, number = {"value": 0.5, "unit": "L"}, 0

    def put(day: int, kind: str, **fields: Any) -> None:
        nonlocal number
        number += 1
        minute = day * DAY + dice.randrange(200, 1200)
        raw = {**entry(kind, minute, station="bed", **fields), "id": f"l{number:03d}"}
        made.append((day + dice.choice([0, 0, 0, 0, 0, 1, 9]), raw))
        if dice.random() < 0.06:
            back = {**entry("correction", minute + 5, of=raw["id"], action="retract"), "id": f"c{number:03d}"}
            made.append((day + dice.randrange(1, 20), back))

    for day in range(1, days):
        if dice.random() < 0.4:
            put(day, "feed", side=side, feedstock="vegetable_scraps", amount=kg(dice.uniform(0.2, 2)))
        if dice.random() < 0.15:
            warm = {"value": round(dice.gauss(18, 4), 1), "unit": "degC"}
            put(day, "reading", **dice.choice([{}, {"side": side}]), temperature=warm, squeeze="drips")
        if dice.random() < 0.08:
            put(day, "leftover", side=side, left=dice.choice(["none", "some", "most"]))
        if dice.random() < 0.03:
            for one in "ab":
                put(day, "side_count", side=one, counts=[dice.randrange(20) for _ in range(3)], scoop=scoop)
        if dice.random() < 0.03:
            side = "b" if side == "a" else "a"
            put(day, "castings", side=side, amount=kg(dice.uniform(2, 15)), method="after_migration")
            put(day, "switch", side=side)
    return made


@settings(max_examples=6, deadline=None)
@given(st.integers(0, 1_000_000))
def test_a_bed_looked_at_on_most_mornings_is_planned_as_by_a_fresh_fold(seed: int) -> None:
    days, dice, fold = 70, random.Random(seed), Fold()
    coming: list[tuple[int, Raw]] = lived(dice, days)
    there: list[Raw] = []
    for day in range(days):
        new = [raw for comes, raw in coming if comes == day]
        fold.add(new)
        there += new
        if dice.random() < 0.7:
            at = time(day * DAY + 1300)
            kept = fold.plan_json(at)
            if dice.random() < 0.2:
                assert kept == plan_json(there, at)
        if dice.random() < 0.05:
            at = time(max(day - dice.randrange(30), 0) * DAY + 600)
            assert fold.plan_json(at) == plan_json(there, at)
    at = time(days * DAY)
    assert fold.plan_json(at) == plan_json(there, at)


def test_mornings_after_days_without_a_look_are_carried_on_not_learned_anew(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    log = careful(7, 72)
    fold, days = Fold(log), 0
    fold.plan_json(time(72 * DAY))
    fold.plan_json(time(73 * DAY))

    def counted(*of: Any) -> Any:
        nonlocal days
        days += 1
        return advance(*of)

    advance = wormbed.advance
    monkeypatch.setattr(wormbed, "advance", counted)
    monkeypatch.setattr(forecast, "_peak", lambda *_: pytest.fail("learned anew"))
    mornings = []
    for day in range(73, 90):
        more = [fed("b", day)] if day % 3 == 0 else []
        fold.add(more)
        log += more
        at = time((day + 1) * DAY)
        mornings.append((fold.plan_json(at), len(log), at))
    assert days <= 4 * len(mornings)
    monkeypatch.undo()
    assert all(kept == plan_json(log[:number], at) for kept, number, at in mornings[::4])


@pytest.mark.parametrize("days", [40, 75, 130])
def test_a_colder_then_warmer_fed_side_takes_the_kept_resting_side_as_far_as_a_fresh_forecast_goes(
    days: int,
) -> None:
    """What becomes of the side not fed is kept from look to look; each asks for more or fewer steps of it."""
    log = careful(8, days)
    fed_now = next(raw["side"] for raw in reversed(log) if raw["kind"] == "feed")
    fold = Fold(log)
    at = time(days * DAY + 100)
    fold.plan(at)
    for number, celsius in enumerate((31.0, 6.0, 24.0, 2.0, 15.0, 33.0)):
        for side in (fed_now, "b" if fed_now == "a" else "a"):
            minute = days * DAY + 200 + 20 * number + (side != fed_now)
            warm = {"value": celsius if side == fed_now else 18.0 + number % 2, "unit": "degC"}
            raw = entry("reading", minute, station="bed", side=side, temperature=warm)
            log.append({**raw, "id": f"cold-{number}-{side}"})
            fold.add(log[-1:])
            at = time(minute + 1)
            assert fold.plan_json(at) == plan_json(log, at)


def test_a_reading_at_the_side_fed_does_not_carry_the_other_through_the_year_again(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    log, fold = careful(8, 60), Fold()
    side = next(raw["side"] for raw in reversed(log) if raw["kind"] == "feed")
    fold.add(log)
    fold.plan(time(60 * DAY + 100))
    warm = {"value": 19.0, "unit": "degC"}
    more = [entry("reading", 60 * DAY + 200, station="bed", side=side, temperature=warm)]
    fold.add(more)
    steps = 0

    def counted(*of: Any) -> Any:
        nonlocal steps
        steps += 1
        return digest(*of)

    digest = wormbed.digest
    monkeypatch.setattr(bedahead, "digest", counted)
    at = time(60 * DAY + 201)
    kept = fold.plan_json(at)
    kept_steps, steps = steps, 0
    assert kept == plan_json(log + more, at)
    assert kept_steps < 0.7 * steps
