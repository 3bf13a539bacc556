"""The larvae bin's part of the plan: ration, harvest ahead, season, batches, signs, cautions."""

import json
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fallowside.core import larvaebin, sources
from fallowside.core import place as places
from fallowside.core.entries import moment, read
from fallowside.core.larvae.colony import Memo
from fallowside.core.plan import Fold, plan_json
from fallowside.core.shapes import StationPlan
from fallowside.words import catalogue
from tests.simulators import bin_forecasts
from tests.simulators.bin_forecasts import coverage, gain

Raw = dict[str, Any]

START = date(2026, 3, 1)
NORMALS = [27, 27, 26, 24, 22, 20, 20, 21, 23, 24, 26, 27]


def on(day: int, hour: int = 9) -> str:
    return f"{(START + timedelta(days=day)).isoformat()}T{hour:02d}:00:00+10:00"


def note(kind: str, day: int, hour: int = 9, **fields: Any) -> Raw:
    return {"id": f"{kind}-{day}-{hour}", "kind": kind, "station": "bin", "at": on(day, hour), **fields}


def kg(value: float) -> Raw:
    return {"value": value, "unit": "kg"}


def celsius(value: float) -> Raw:
    return {"value": value, "unit": "degC"}


def warm(days: int, at_c: float = 28.0, every: int = 1) -> list[Raw]:
    return [note("reading", day, 7, temperature=celsius(at_c)) for day in range(0, days, every)]


def counts(since: int, until: int, count: int = 60) -> list[Raw]:
    return [note("self_harvest", day, 10, count=count) for day in range(since, until)]


def plan(raws: Sequence[Raw], day: int, memo: Memo | None = None, **place: Any) -> StationPlan:
    """Look at a bin of 0.24 m2 and 40 cm on a day."""
    fields = {"type": "bin", "name": "Bin", "bin_area": {"value": 0.24, "unit": "m^2"}}
    depth = {"bin_depth": {"value": 40, "unit": "cm"}}
    setups: list[Raw] = [
        {
            "id": "s0",
            "kind": "setup",
            "at": on(0, 6),
            "what": "place",
            "item": "p",
            "set": {"name": "P", **place},
        },
        {
            "id": "s1",
            "kind": "setup",
            "at": on(0, 6),
            "what": "station",
            "item": "bin",
            "set": {**fields, **depth},
        },
    ]
    folded = places.fold([read(one) for one in setups])
    entries = sorted((read(one) for one in raws), key=lambda one: (one.us, one.id))
    return larvaebin.look(folded.stations["bin"], entries, folded, moment(on(day, 18)), memo)


def amount(made: StationPlan) -> dict[str, Any]:
    return dict(made["ahead"][0]["amount"])


def only_batch(made: StationPlan) -> dict[str, Any]:
    batches: Any = made["state"]["batches"]
    (batch,) = batches
    return dict(batch)


def codes(made: StationPlan) -> list[str]:
    return [one["code"] for one in made["warnings"]]


def value(name: str) -> float:
    return sources.value(f"soldierfly.{name}")


# -- harvest ahead -------------------------------------------------------------------------------


def test_an_empty_bin_says_what_to_log_and_names_no_number() -> None:
    made = plan([], 3)
    assert made["state"]["history"] == {"enough": False, "log": ["bin.log.counts", "bin.log.temperature"]}
    assert amount(made)["value"] is None
    assert made["ahead"][0]["because"]["key"] == "bin.harvest.not_enough_history"
    assert made["ahead"][0]["due"] is None


def test_a_few_counts_give_a_wide_range_that_says_it_is_a_guess() -> None:
    made = plan([*warm(30), *counts(27, 30)], 29)
    found = amount(made)
    assert made["ahead"][0]["because"]["key"] == "bin.harvest.not_enough_history"
    assert found["low"] < found["value"] < found["high"]
    assert found["high"] > 2.0 * found["low"]


def test_a_steady_harvest_goes_on() -> None:
    made = plan([*warm(120), *counts(25, 120)], 119)
    found = amount(made)
    assert made["state"]["history"] == {"enough": True, "log": []}
    assert found["low"] < 60 * 14 < found["high"]
    colony: Any = made["state"]["colony"]
    assert colony["trend"] == "steady"
    for name in ("larvae_inside", "per_cm2"):
        assert 0.0 < colony[name]["low"] < colony[name]["value"] < colony[name]["high"]
    ahead = made["ahead"][0]
    assert ahead["what"] == "self_harvest"
    assert on(119)[:10] < str(ahead["earliest"]) <= str(ahead["due"]) <= str(ahead["latest"]) <= on(133)[:10]


def test_the_last_weeks_pace_draws_the_forecast_unless_clutches_tell_more() -> None:
    fewer = [*warm(120), *counts(25, 113), *counts(113, 120, 15)]
    eggs = note("eggs", 100, 12, clutches=3)
    drawn, told = plan(fewer, 119), plan([*fewer, eggs], 119)
    assert "soldierfly.lately_weight" in drawn["ahead"][0]["because"]["constants"]
    assert "soldierfly.lately_weight" not in told["ahead"][0]["because"]["constants"]
    assert 15 * 14 < amount(drawn)["value"] < amount(told)["value"]
    nothing_lately = plan([*warm(120), *counts(25, 100)], 119)
    assert "soldierfly.lately_weight" not in nothing_lately["ahead"][0]["because"]["constants"]


def test_masses_and_the_keepers_own_mean_mass_tell_the_same_as_counts() -> None:
    """Fifty weigh 10 g: 12 g a day are 60 larvae."""
    weighed = [note("self_harvest", day, 10, amount={"value": 12, "unit": "g"}) for day in range(26, 120)]
    fifty = note("self_harvest", 25, 10, count=60, fifty_mass={"value": 10, "unit": "g"})
    by_mass = amount(plan([*warm(120), fifty, *weighed], 119))
    by_count = amount(plan([*warm(120), fifty, *counts(26, 120)], 119))
    assert by_mass == {**by_count, "because": by_mass["because"]}


def test_a_count_after_three_days_stands_for_three_days() -> None:
    thirds = [note("self_harvest", day, 10, count=180) for day in range(26, 120, 3)]
    daily = amount(plan([*warm(120), *counts(24, 120)], 119))
    assert amount(plan([*warm(120), *thirds], 119))["value"] == pytest.approx(daily["value"], rel=0.15)


def test_two_counts_on_a_day_are_one() -> None:
    halves = [note("self_harvest", day, hour, count=30) for day in range(25, 120) for hour in (8, 17)]
    one = amount(plan([*warm(120), *counts(25, 120)], 119))
    assert amount(plan([*warm(120), *halves], 119))["value"] == one["value"]


def test_cool_feed_delays_the_harvest() -> None:
    cool = [note("reading", day, 7, temperature=celsius(16.0)) for day in range(112, 120)]
    warm_amount = amount(plan([*warm(120), *counts(25, 112)], 119))["value"]
    assert amount(plan([*warm(112), *cool, *counts(25, 112)], 119))["value"] < 0.9 * warm_amount


def test_a_dip_of_the_harvest_is_a_colony_dying_back() -> None:
    made = plan([*warm(140), *counts(25, 118, 80), *counts(118, 132, 40), *counts(132, 140, 4)], 139)
    assert made["state"]["colony"]["trend"] in ("dying_back", "steady")  # type: ignore[index]
    assert amount(made)["high"] < 80 * 14


# -- ration --------------------------------------------------------------------------------------


def test_a_bin_nobody_counted_gets_a_cautious_ration_by_area() -> None:
    made = plan(warm(10), 9)["ration"]
    assert made is not None
    assert made["limit"] == "larvae_not_known"
    assert made["kg"] == pytest.approx(0.24 * value("start_area_rate"))
    assert made["low"] < made["kg"] < made["high"]


def test_however_many_larvae_the_area_sets_a_limit() -> None:
    made = plan([*warm(120), *counts(25, 120, 5000)], 119)["ration"]
    assert made is not None
    assert made["limit"] == "area"
    assert made["kg"] == pytest.approx(0.24 * value("area_rate"))


@pytest.mark.parametrize(
    ("extra", "limit", "factor"),
    [
        (note("leftover", 119, 9, left="most"), "backlog", 0.0),
        (note("leftover", 119, 9, left="some"), "backlog", 0.5),
        (note("reading", 119, 9, moisture_pct=88.0), "moisture", 0.5),
        (note("reading", 119, 9, squeeze="runs"), "moisture", 0.5),
        (note("leftover", 119, 9, left="none"), "area", 1.0),
        (note("signs", 118, 9, signs=["sour_smell"]), "signs", 0.0),
        (note("signs", 115, 9, signs=["sour_smell"]), "area", 1.0),
        (note("signs", 119, 9, signs=["ammonia_smell"]), "area", 1.0),
    ],
)
def test_leftovers_wet_feed_and_signs_cut_the_ration(extra: Raw, limit: str, factor: float) -> None:
    made = plan([*warm(120), *counts(25, 120, 5000), extra], 119)["ration"]
    assert made is not None
    assert made["limit"] == limit
    assert made["kg"] == pytest.approx(0.24 * value("area_rate") * factor)


@pytest.mark.parametrize(
    ("at_c", "limit"), [(11.0, "warmth"), (18.0, "warmth"), (38.0, "heat"), (41.0, "heat")]
)
def test_cold_and_heat_cut_the_ration(at_c: float, limit: str) -> None:
    readings = [*warm(100), *(note("reading", day, 7, temperature=celsius(at_c)) for day in range(100, 120))]
    made = plan([*readings, *counts(25, 120, 5000)], 119)["ration"]
    assert made is not None
    assert made["limit"] == limit
    assert made["kg"] < 0.24 * value("area_rate")
    assert made["kg"] == 0.0 or at_c not in (11.0, 41.0)


def test_a_full_bin_takes_only_what_there_is_room_for() -> None:
    depth = note("reading", 119, 9, depth={"value": 34.9, "unit": "cm"})
    made = plan([*warm(120), *counts(25, 120, 5000), depth], 119)
    assert made["ration"] is not None
    assert made["ration"]["limit"] == "room"
    assert made["ration"]["kg"] == pytest.approx(0.001 * 0.24 * value("feed_density") * 1000.0)
    assert "clear_out" in [job["what"] for job in made["jobs"]]


def test_what_was_fed_today_is_taken_off() -> None:
    before = plan([*warm(10)], 9)["ration"]
    fed = note("feed", 9, 10, feedstock="vegetable_scraps", amount=kg(0.1))
    after = plan([*warm(10), fed], 9)["ration"]
    full = plan([*warm(10), {**fed, "amount": kg(5.0)}], 9)["ration"]
    assert before is not None
    assert after is not None
    assert full is not None
    assert after["kg"] == pytest.approx(before["kg"] - 0.1)
    assert (full["kg"], full["limit"]) == (0.0, "fed")


def test_a_bin_that_clears_more_than_its_counts_explain_may_have_as_much() -> None:
    feeds = [note("feed", day, 9, feedstock="vegetable_scraps", amount=kg(0.8)) for day in range(100, 119)]
    cleared = note("leftover", 119, 9, left="none")
    made = plan([*warm(120), *counts(25, 120, 5), *feeds, cleared], 119)["ration"]
    assert made is not None
    assert made["kg"] == pytest.approx(0.8)
    assert made["because"]["key"] == "bin.ration.cleared"


def test_fish_alone_is_a_danger_and_asks_for_other_scraps() -> None:
    feeds = [note("feed", day, 9, feedstock="fish_heads", amount=kg(0.3)) for day in range(5, 9)]
    made = plan([*warm(10), *feeds], 9)
    danger = next(one for one in made["warnings"] if one["code"] == "too_much_fish")
    assert danger["level"] == "danger"
    assert danger["because"]["key"] == "bin.warn.fish_alone"
    assert made["ration"] is not None
    added = made["ration"]["add"][0]
    assert added["material"] == "mixed_scraps"
    assert added["kg"] == pytest.approx(1.2 / 0.15 - 1.2, rel=1e-5)
    assert made["state"]["mix"]["fish_most_kg"] == 0.0  # type: ignore[index]


def test_fish_within_its_share_is_no_matter() -> None:
    feeds = [
        note("feed", 8, 9, feedstock="fish_guts", amount=kg(0.1)),
        note("feed", 8, 10, feedstock="bread", amount=kg(0.9)),
        note("feed", 8, 11, feedstock="bones", amount=kg(5.0)),
    ]
    made = plan([*warm(10), *feeds], 9)
    assert "too_much_fish" not in codes(made)
    assert made["state"]["mix"]["fish_pct"] == pytest.approx(10.0)  # type: ignore[index]


def test_wet_feed_asks_for_something_dry_and_dry_feed_for_water() -> None:
    wet_feed = note("feed", 8, 9, feedstock="fruit_scraps", amount=kg(3.0))
    dry_feed = note("feed", 8, 9, feedstock="bread", amount=kg(3.0))
    wet = plan([*warm(10), wet_feed, note("reading", 9, 8, moisture_pct=86.0)], 9)["ration"]
    dry = plan([*warm(10), dry_feed, note("reading", 9, 8, moisture_pct=40.0)], 9)["ration"]
    assert wet is not None
    assert dry is not None
    assert [one["material"] for one in wet["add"]] == ["cardboard"]
    assert [one["material"] for one in dry["add"]] == ["water"]


# -- batches -------------------------------------------------------------------------------------


def test_a_clear_out_closes_a_batch_with_its_indices() -> None:
    """10 kg in, 3 kg out, 0.5 kg of larvae in 50 days: reduction 70 %, 1.4 % a day, bioconversion 5 %."""
    log = [
        *(note("feed", day, 9, feedstock="vegetable_scraps", amount=kg(1.0)) for day in range(10)),
        note("self_harvest", 40, 10, amount=kg(0.5)),
        note("reject", 50, 8, feedstock="bones", amount=kg(0.4), to="landfill"),
        note("clear_out", 50, 9, amount=kg(3.0), to="garden"),
        note("feed", 50, 12, feedstock="vegetable_scraps", amount=kg(2.0)),
    ]
    batch = only_batch(plan([*warm(60), *log], 59))
    assert (batch["fed_kg"], batch["residue_kg"], batch["larvae_kg"], batch["days"]) == (10.0, 3.0, 0.5, 50)
    assert batch["rejected_kg"] == 0.4
    assert batch["dry_indices"] is None
    assert batch["indices"] == {
        "basis": "wet",
        "reduction_pct": 70.0,
        "waste_reduction_index": 1.4,
        "bioconversion_pct": 5.0,
        "digested_conversion": pytest.approx(0.5 / 7.0, rel=1e-5),
        "feed_conversion_ratio": 20.0,
        "lost_pct": 65.0,
    }


def test_bones_lie_there_until_they_go_out() -> None:
    bones = note("feed", 5, 9, feedstock="bones", amount=kg(2.0))
    some_out = note("reject", 8, 9, feedstock="bones", amount=kg(0.5), to="burial")
    cleared = note("clear_out", 9, 9, amount=kg(3.0), to="garden")
    left = [
        plan([*warm(10), bones, *more], 9)["state"]["inert"] for more in ([], [some_out], [some_out, cleared])
    ]
    assert [one["kg"] for one in left] == [2.0, 1.5, 0.0]  # type: ignore[index]


def test_fifty_weighed_at_the_first_of_two_counts_a_day_are_weighed() -> None:
    first = note("self_harvest", 29, 8, count=60, fifty_mass={"value": 8, "unit": "g"})
    made = plan([*warm(30), first, note("self_harvest", 29, 17, count=20)], 29)
    weigh = next(job for job in made["jobs"] if job["what"] == "weigh_fifty")
    assert weigh["due"] == on(29 + int(value("fifty_stale_days")))[:10]


def test_a_moisture_reading_before_the_clear_out_gives_dry_indices_too() -> None:
    log = [
        note("feed", 5, 9, feedstock="vegetable_scraps", amount=kg(20.0)),
        note("reading", 49, 9, moisture_pct=50.0),
        note("clear_out", 50, 9, amount=kg(2.0), to="garden"),
    ]
    batch = only_batch(plan([*warm(60), *log], 59))
    assert batch["dry_indices"]["basis"] == "dry"
    assert batch["dry_indices"]["reduction_pct"] != batch["indices"]["reduction_pct"]


def test_more_dry_matter_out_than_in_is_said_and_not_reckoned() -> None:
    log = [
        note("feed", 5, 9, feedstock="fruit_scraps", amount=kg(2.0)),
        note("reading", 49, 9, moisture_pct=10.0),
        note("clear_out", 50, 9, amount=kg(1.9), to="garden"),
    ]
    batch = only_batch(plan([*warm(60), *log], 59))
    assert batch["dry_indices"] == {"basis": "dry", "problem": "bin.batch.more_out_than_in"}


def test_clear_outs_of_one_day_are_one_batch() -> None:
    log = [
        note("feed", 5, 9, feedstock="bread", amount=kg(10.0)),
        *(note("clear_out", 50, hour, amount=kg(1.0), to="garden") for hour in (9, 10, 11)),
    ]
    batch = only_batch(plan([*warm(60), *log], 59))
    assert batch["residue_kg"] == 3.0


# -- signs, limits, cautions ---------------------------------------------------------------------


def test_dark_larvae_leaving_is_harvest_and_pale_ones_distress() -> None:
    signs = note("signs", 9, 9, signs=["dark_larvae_leaving", "pale_larvae_leaving"])
    levels = {one["code"]: one["level"] for one in plan([*warm(10), signs], 9)["warnings"]}
    assert levels == {"pale_larvae_leaving": "danger", "dark_larvae_leaving": "note"}


def test_a_sign_fades_after_some_days() -> None:
    signs = note("signs", 9, 9, signs=["ammonia_smell"])
    assert "ammonia_smell" in codes(plan([*warm(10), signs], 10))
    assert "ammonia_smell" not in codes(plan([*warm(10), signs], 20))


@pytest.mark.parametrize(("at_c", "code"), [(37.0, "hot"), (41.0, "too_hot"), (11.0, "cold"), (28.0, None)])
def test_feed_temperature_warns(at_c: float, code: str | None) -> None:
    found = codes(plan([*warm(10, at_c)], 9))
    assert found == ([code] if code else [])


def test_the_phone_gets_the_same_thresholds_as_data() -> None:
    made = plan(warm(10), 9)
    above = {one["code"]: one["above"] for one in made["limits"] if one["above"] is not None}
    assert above["too_hot"] == value("danger")
    assert above["hot"] == value("hot")
    assert all(one["station"] == "bin" for one in made["limits"])


def test_larvae_given_to_animals_are_no_feed_until_somebody_checked() -> None:
    given_out = note("given", 9, 9, what="larvae", count=200, to="hens")
    default = plan([*warm(10), given_out], 9)
    checked = plan([*warm(10), given_out], 9, larvae_as_feed_checked="asked the county vet, 3 May")
    assert "not_as_feed" in codes(default)
    assert default["state"]["outputs"]["feed_caution"] == "bin.caution.not_as_feed"  # type: ignore[index]
    assert "not_as_feed" not in codes(checked)
    assert checked["state"]["outputs"]["feed_checked"] == "asked the county vet, 3 May"  # type: ignore[index]


def test_frozen_or_composted_larvae_need_no_caution() -> None:
    made = plan([*warm(10), note("given", 9, 9, what="larvae", amount=kg(1.0), to="frozen")], 9)
    assert "not_as_feed" not in codes(made)
    outputs = made["state"]["outputs"]
    assert outputs["larvae_kg_by_outlet"] == {"frozen": 1.0}  # type: ignore[index]
    assert 0.09 < outputs["protein_kg"]["value"] < 0.16  # type: ignore[index]


# -- the plan as a whole -------------------------------------------------------------------------

SIGNS = sorted(sources.table("soldierfly")["signs"])


def one_of_each() -> list[Raw]:
    feeds = [
        note("feed", day, 9, feedstock=name, amount=kg(0.5))
        for day, name in enumerate(["fish_heads", "meat_scraps", "bread", "bones", "fruit_scraps"], 92)
    ]
    return [
        *warm(100),
        *counts(25, 100),
        *feeds,
        note("signs", 99, 9, signs=SIGNS),
        note("leftover", 99, 9, left="some"),
        note("eggs", 90, 9, clutches=4),
        note("reading", 99, 10, moisture_pct=85.0, ph=9.8, depth={"value": 36, "unit": "cm"}),
        note("clear_out", 60, 9, amount=kg(4.0), to="garden"),
        note("given", 99, 9, what="larvae", count=100, to="hens"),
    ]


def keys_in(found: object) -> set[str]:
    """Give every message key of the bin anywhere in a plan."""
    if isinstance(found, dict):
        return set().union(*(keys_in(one) for one in found.values()))
    if isinstance(found, list):
        return set().union(*(keys_in(one) for one in found))
    return {found} if isinstance(found, str) and found.startswith("bin.") else set()


def test_every_message_key_has_words() -> None:
    cold = [
        note("reading", day, 7, temperature=celsius(9.0), air_temperature=celsius(4.0)) for day in range(10)
    ]
    hot = warm(10, 42.0)
    fish = [
        note("feed", 8, 9, feedstock="fish_heads", amount=kg(1.0)),
        note("reading", 9, 9, squeeze="crumbles"),
    ]
    plans = [plan(one_of_each(), 99), plan([], 0), plan(cold, 9), plan(hot, 9), plan([*warm(10), *fish], 9)]
    found = keys_in([json.loads(json.dumps(one)) for one in plans])
    assert len(found) > 50
    assert found <= set(catalogue("en"))


def test_every_sign_of_the_table_is_one_an_entry_may_hold() -> None:
    known = sources.table("entries")["kinds"]["signs"]["fields"]["signs"]["choices"]
    assert set(SIGNS) <= set(known)


def test_every_reason_names_constants_that_stand() -> None:
    made = json.loads(json.dumps(plan(one_of_each(), 99)))

    def named(found: object) -> set[str]:
        if isinstance(found, dict):
            own = set(found["constants"]) if isinstance(found.get("constants"), list) else set()
            return own.union(*(named(one) for one in found.values()))
        return set().union(*(named(one) for one in found)) if isinstance(found, list) else set()

    for name in named(made):
        assert sources.constant(name).cite


def test_charts_are_short_and_tell_forecast_from_record() -> None:
    made = plan([*warm(400, every=2), *counts(25, 400)], 399)
    assert [one["name"] for one in made["series"]] == [
        "self_harvest",
        "temperature",
        "fed_by_week",
        "larvae_by_week",
    ]
    for series in made["series"]:
        assert len(series["days"]) == len(series["values"]) <= 200
    harvest = made["series"][0]
    assert harvest["low"][-14:] != [None] * 14
    assert set(harvest["low"][:-14]) == {None}
    assert made["series"][1]["band"] == [value("best_low"), value("best_high")]


def test_weeks_add_up_to_what_was_fed() -> None:
    feeds = [note("feed", day, 9, feedstock="bread", amount=kg(0.5)) for day in range(30, 60)]
    made = plan([*warm(60), *feeds], 59)
    weeks = next(one for one in made["series"] if one["name"] == "fed_by_week")
    assert sum(one or 0.0 for one in weeks["values"]) == pytest.approx(15.0)
    assert weeks["values"][-1] == pytest.approx(3.5)


@settings(max_examples=6, deadline=None)
@given(st.integers(5, 60), st.integers(0, 40), st.randoms(use_true_random=False))
def test_a_memo_changes_no_bit_of_the_plan(first: int, more: int, random: Any) -> None:
    log = [
        note("reading", day, 7, temperature=celsius(random.uniform(18.0, 32.0)))
        for day in range(100)
        if random.random() < 0.5
    ]
    log += [
        note("self_harvest", day, 10, count=random.randrange(200))
        for day in range(100)
        if random.random() < 0.7
    ]
    memo = Memo()
    day = 20 + first
    for until in (day, day + more, day + more, day - 10):
        seen = [one for one in log if one["at"] <= on(until, 18)]
        assert plan(seen, until, memo) == plan(seen, until)


@settings(max_examples=12, deadline=None)
@given(st.randoms(use_true_random=False))
def test_a_bin_read_on_is_planned_as_one_read_anew(random: Any) -> None:
    log = [
        note(
            "setup",
            0,
            what="station",
            item="bin",
            set={"type": "bin", "bin_area": {"value": 0.5, "unit": "m^2"}},
        )
    ]
    for day in range(1, 60):
        fifty = {"fifty_mass": {"value": 9, "unit": "g"}} if random.random() < 0.04 else {}
        log.append(note("self_harvest", day, 10, count=random.randrange(200), **fifty))
        log.append(note("self_harvest", day, 16, count=random.randrange(9)))
        log.append(note("feed", day, 11, feedstock="bread", amount=kg(random.uniform(0.1, 2.0))))
        log.append(note("reading", day, 7, temperature=celsius(random.uniform(18.0, 32.0))))
    late = [log.pop(random.randrange(1, len(log))) for _ in range(3)]
    fold = Fold(log[:100])
    fold.plan_json(log[99]["at"])
    for number in (101, 130, 131, len(log)):
        fold.add(log[:number])
        assert fold.plan_json(log[number - 1]["at"]) == plan_json(log[:number], log[number - 1]["at"])
    fold.add(late)
    assert fold.plan_json(log[-1]["at"]) == plan_json([*log, *late], log[-1]["at"])


@given(st.lists(st.sampled_from(one_of_each()), max_size=12, unique_by=lambda one: one["id"]))
@settings(max_examples=25, deadline=None)
def test_any_part_of_a_log_gives_a_plan_that_is_json(log: list[Raw]) -> None:
    made = plan(log, 100)
    assert json.loads(json.dumps(made, allow_nan=False)) == made
    ration = made["ration"]
    assert ration is not None
    assert 0.0 <= ration["low"] <= ration["kg"] <= ration["high"]


# -- on simulated bins with a hidden truth ---------------------------------------------------------


def test_forecasts_of_simulated_bins_hold_what_came_and_beat_simple_rules() -> None:
    """A small sample; the full table is printed by `python -m tests.simulators.bin_forecasts`."""
    scored = [
        one for site in range(1000, 1006) for one in bin_forecasts.forecasts(site, every=49) if one.active
    ]
    held, _, _ = coverage(scored)
    assert 0.70 <= held <= 0.92
    assert gain(scored, lambda one: one.last_week).bare > 0.25
    assert gain(scored, lambda one: one.last_year).bare > 0.25
