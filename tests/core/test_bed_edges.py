"""A bed at the edges of what people log: a sane plan, wide ranges, and word of what to log next."""

from datetime import date
from typing import Any

import pytest

from fallowside import words
from fallowside.core.materials import get
from fallowside.core.plan import plan
from tests.logs import Raw, entry, kg, setups, time

DAY = 24 * 60


def bed(log: list[Raw], day: float) -> dict[str, Any]:
    """Plan a bed on a day of the test year."""
    found: dict[str, Any] = dict(plan([*setups(), *log], time(day * DAY))["stations"][0])
    sane(found)
    return found


def sane(found: dict[str, Any]) -> None:
    """Check that dates are in order and nothing is below nothing."""
    for one in found["ahead"]:
        days = [one[end] for end in ("earliest", "due", "latest")]
        known = [date.fromisoformat(day) for day in days if day is not None]
        assert known == sorted(known)
        assert None not in days[: len(known)]
    ration = found["ration"]
    assert 0.0 <= ration["low"] <= ration["kg"] <= ration["high"]
    for side in found["state"]["sides"].values():
        for name in ("scraps", "castings", "worms", "depth"):
            assert 0.0 <= side[name]["low"] <= side[name]["value"] <= side[name]["high"]
    assert 1 <= len(found["state"]["log_next"]) <= 3


def feeds(days: range, side: str = "a") -> list[Raw]:
    return [
        entry("feed", day * DAY, station="bed", side=side, feedstock="vegetable_scraps", amount=kg(1.0))
        for day in days
    ]


def read(day: int, celsius: float = 20.0) -> Raw:
    warm = {"value": celsius, "unit": "degC"}
    return entry("reading", day * DAY + 7, station="bed", temperature=warm, squeeze="drips")


def seen(sign: str, day: int) -> Raw:
    return entry("signs", day * DAY, station="bed", side="a", signs=[sign])


def scoops(day: int, fed: int, rest: int) -> list[Raw]:
    litre = {"value": 1, "unit": "L"}
    return [
        entry("side_count", day * DAY + number, station="bed", side=side, counts=[count] * 4, scoop=litre)
        for number, (side, count) in enumerate((("b", fed), ("a", rest)))
    ]


def days_wide(found: dict[str, Any], what: str) -> int:
    """Give the width of a date's range, a year where it has no end. [d]"""
    one = next(one for one in found["ahead"] if one["what"] == what)
    if one["latest"] is None:
        return 366
    return (date.fromisoformat(one["latest"]) - date.fromisoformat(one["earliest"])).days


def asked(found: dict[str, Any]) -> list[str]:
    return [one["what"] for one in found["state"]["log_next"]]


def test_without_any_reading_ranges_are_wide_and_a_temperature_is_asked_for_first() -> None:
    fed = feeds(range(1, 60, 2))
    blind = bed(fed, 60)
    seen = bed([*fed, *(read(day) for day in range(2, 60, 3))], 60)
    warmth = [one["state"]["sides"]["a"]["temperature"] for one in (blind, seen)]
    assert warmth[0]["high"] - warmth[0]["low"] > 10.0 > warmth[1]["high"] - warmth[1]["low"]
    assert days_wide(blind, "harvest_castings") > 60
    assert asked(blind)[0] == "temperature"
    assert asked(seen)[0] != "temperature"


def test_a_reading_a_month_says_less_than_one_every_three_days() -> None:
    fed = feeds(range(1, 150, 2))
    widths = []
    for every in (30, 3):
        found = bed([*fed, *(read(day) for day in range(3, 140, every))], 150)
        warm = found["state"]["sides"]["a"]["temperature"]
        widths.append(warm["high"] - warm["low"])
    assert widths[0] >= widths[1]
    assert "temperature" in asked(bed([*fed, *(read(day) for day in range(3, 140, 30))], 150))


def test_a_bed_never_switched_is_due_and_told_so() -> None:
    found = bed([*feeds(range(1, 360, 2)), *(read(day) for day in range(2, 360, 7))], 360)
    assert found["state"]["turn"]["due"]
    assert found["state"]["turn"]["reason"] in ("depth", "castings", "backlog")
    assert "switch_sides" in [one["what"] for one in found["jobs"]]
    assert found["state"]["sides"]["b"]["phase"] == "harvested"


def test_two_switches_a_day_leave_the_side_last_named() -> None:
    turns = [
        entry("switch", 40 * DAY, station="bed", side="b"),
        entry("switch", 40 * DAY + 300, station="bed", side="a"),
    ]
    found = bed([*feeds(range(1, 40, 2)), *turns, *feeds(range(41, 60, 2))], 60)
    assert found["state"]["feeding_side"] == "a"
    assert found["state"]["sides"]["b"]["holds_kg"] == 0.0


def test_castings_taken_from_the_side_still_fed_leave_its_worms_and_the_rest() -> None:
    log = feeds(range(1, 80, 2))
    before = bed(log, 80)
    took = entry("castings", 79 * DAY, station="bed", side="a", amount=kg(1.5), method="after_migration")
    took["at"] = time(79.5 * DAY)
    after = bed([*log, took], 80)
    sides = [one["state"]["sides"]["a"] for one in (before, after)]
    assert sides[1]["phase"] == "feeding"
    assert 0.0 < sides[1]["holds_kg"] < sides[0]["holds_kg"]
    assert sides[1]["worms"]["value"] > 0.5 * sides[0]["worms"]["value"]
    everything = {**took, "amount": kg(500.0)}
    assert bed([*log, everything], 80)["state"]["sides"]["a"]["holds_kg"] < 0.1


def test_a_reading_of_140_degrees_is_set_aside_by_name_and_the_plan_is_as_without_it() -> None:
    log = [*setups(), *feeds(range(1, 30, 2)), read(28)]
    hot = {**read(29, 140.0), "id": "fahrenheit-as-celsius"}
    made = plan([*log, hot], time(30 * DAY))
    assert [one["id"] for one in made["made_from"]["set_aside"]] == ["fahrenheit-as-celsius"]
    assert made["stations"] == plan(log, time(30 * DAY))["stations"]


@pytest.mark.parametrize("celsius", [60.0, -30.0])
def test_a_bed_whose_worms_are_dead_is_fed_nothing_and_a_cause_is_looked_for(celsius: float) -> None:
    log = [*feeds(range(1, 30, 2)), *(read(day, celsius) for day in range(30, 45))]
    found = bed(log, 45)
    assert "no_worms" in [one["code"] for one in found["warnings"]]
    assert found["ration"]["kg"] == 0.0


def test_a_bed_stocked_with_hardly_a_worm_says_so() -> None:
    few = entry("setup", 1, what="station", item="bed", set={"start_worms": kg(0.002)})
    assert "no_worms" in [
        one["code"] for one in bed([few, *feeds(range(1, 30, 2)), read(29)], 30)["warnings"]
    ]


def test_scoops_without_any_worm_are_a_warning_and_tell_nothing_of_the_share() -> None:
    switch = entry("switch", 30 * DAY, station="bed", side="b")
    found = bed([*feeds(range(1, 30, 2)), switch, *feeds(range(31, 45, 2), "b"), *scoops(44, 0, 0)], 45)
    assert "none_counted" in [one["code"] for one in found["warnings"]]
    counted = found["state"]["share"]["counted"]
    assert counted["low"] < 0.1
    assert counted["high"] > 0.9


def test_what_is_asked_for_narrows_the_harvest() -> None:
    stocked = entry("setup", 1, what="station", item="bed", set={"start_worms": kg(0.8)})
    switch = entry("switch", 60 * DAY, station="bed", side="b")
    log = [stocked, *feeds(range(1, 60, 2)), *(read(day) for day in range(2, 75, 3)), switch]
    log += feeds(range(61, 75, 2), "b")
    before = bed(log, 75)
    assert asked(before)[0] == "leftover"
    left = [
        entry("leftover", day * DAY + 9, station="bed", side="b" if day > 60 else "a", left="some")
        for day in range(4, 75, 4)
    ]
    looked = bed([*log, *left], 75)
    assert days_wide(looked, "harvest_castings") < 0.5 * days_wide(before, "harvest_castings")
    assert "side_count" in asked(before)
    counted = bed([*log, *scoops(74, 20, 4)], 75)
    assert days_wide(counted, "worms_moved") < 0.7 * days_wide(before, "worms_moved")
    assert "side_count" not in asked(counted)


def test_a_bed_not_fed_shows_a_usual_feed_as_assumed_and_wide() -> None:
    state = bed([], 10)["state"]
    assert state["mix"] is None
    moisture, ratio = state["usual_mix"]["moisture"], state["usual_mix"]["carbon_to_nitrogen"]
    assert moisture["because"]["key"] == ratio["because"]["key"] == "bed.because.mix_guess"
    assert moisture["high"] - moisture["low"] > 30.0
    assert ratio["high"] > 2.0 * ratio["low"]
    assert state["sides"]["a"]["moisture"]["value"] is None
    add = bed([], 10)["ration"]["add"]
    assert "bed.add.carbon" not in [one["because"]["key"] for one in add]


def test_a_bed_fed_of_late_shows_what_it_was_fed_narrower() -> None:
    state = bed(feeds(range(1, 9)), 10)["state"]
    assert state["usual_mix"] is None
    moisture = state["mix"]["moisture"]
    assert moisture["because"]["key"] == "bed.because.mix"
    assert moisture["value"] == get("vegetable_scraps").moisture_pct
    assert moisture["high"] - moisture["low"] < 15.0


@pytest.mark.parametrize(
    ("log", "limit", "some"),
    [
        (feeds(range(1, 60, 2)), "warmth", True),
        ([*feeds(range(1, 60, 2)), *feeds(range(60, 61))], "fed", False),
        ([*feeds(range(1, 60, 2)), read(59, 2.0)], "warmth", False),
        ([*feeds(range(1, 60, 2)), read(59, 33.0)], "heat", False),
        ([entry("setup", 1, what="station", item="bed", set={"start_worms": kg(0.002)})], "worms", False),
        ([*feeds(range(1, 60, 2)), seen("sour_smell", 58)], "signs", False),
    ],
)
def test_what_sets_the_limit_has_words_for_some_left_and_for_nothing(
    log: list[Raw], limit: str, some: bool
) -> None:
    ration = bed(log, 60)["ration"]
    assert (ration["limit"], ration["kg"] > 0.0) == (limit, some)
    key = f"app.limit.{limit}" if some or limit == "signs" else f"app.limit.none.{limit}"
    assert key in words.catalogue()
    for language in words.LANGUAGES:
        said = words.say(key, ration["because"]["values"], language)
        assert said
        assert "{" not in said


def test_a_wet_and_a_dry_side_are_told_apart_in_every_language() -> None:
    def measured(pct: float) -> dict[str, Any]:
        meter = {**read(59, 24.0), "at": time(60 * DAY - 9), "moisture_pct": pct}
        return dict(bed([*feeds(range(1, 60, 2)), meter], 60)["ration"])

    dry, wet = measured(60.0), measured(95.0)
    assert measured(30.0)["limit"] == "moisture"
    assert (dry["limit"], dry["because"]["values"]["damp"]) == ("moisture", "dry")
    assert (wet["limit"], wet["because"]["values"]["damp"]) == ("moisture", "wet")
    assert dry["kg"] > 0.0 == wet["kg"]
    for language in words.LANGUAGES:
        for key in ("app.limit.moisture", "app.limit.none.moisture", "bed.ration.moisture"):
            said = [words.say(key, one["because"]["values"], language) for one in (dry, wet)]
            assert said[0] != said[1]


def test_a_sign_that_asks_for_no_feed_leaves_no_ration_until_it_is_old_or_all_is_well() -> None:
    log = [*feeds(range(1, 60, 2)), read(59), seen("rotten_smell", 60)]
    ration = bed(log, 61)["ration"]
    assert (ration["limit"], ration["kg"], ration["high"]) == ("signs", 0.0, 0.0)
    assert ration["because"]["entries"] == [log[-1]["id"]]
    assert "feed" not in [one["what"] for one in bed(log, 61)["jobs"]]
    well = entry("signs", 61 * DAY, station="bed", signs=["all_well"])
    assert bed([*log, well], 62)["ration"]["kg"] > 0.0
    assert bed(log, 75)["ration"]["kg"] > 0.0


def test_flies_or_mites_do_not_stop_the_feeding() -> None:
    assert bed([*feeds(range(1, 60, 2)), read(59), seen("mites", 60)], 61)["ration"]["kg"] > 0.0


def test_a_bed_without_worms_is_fed_nothing_once_it_is_warm_again() -> None:
    log = [*feeds(range(1, 30, 2)), *(read(day, 60.0) for day in range(30, 40))]
    later = bed([*log, *(read(day, 20.0) for day in range(40, 60))], 60)
    assert "no_worms" in [one["code"] for one in later["warnings"]]
    assert (later["ration"]["limit"], later["ration"]["kg"]) == ("worms", 0.0)


def test_a_side_fed_before_any_worm_or_scrap_is_there_lacks_worms_not_time_to_eat() -> None:
    ration = bed([entry("switch", 1, station="bed", side="b")], 1)["ration"]
    assert (ration["side"], ration["kg"], ration["limit"]) == ("b", 0.0, "worms")
    after = bed([entry("switch", 1, station="bed", side="b"), *feeds(range(1, 3), "b")], 3)["ration"]
    assert after["limit"] == "backlog"
