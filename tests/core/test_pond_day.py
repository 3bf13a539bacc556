"""The day fish are taken: plans that stand until taken, scraps of all fish together, what is kept."""

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from fallowside import words
from fallowside.core.plan import plan
from fallowside.core.water import catchplans
from fallowside.core.water.pondday import share_out
from fallowside.words import catalogue
from tests.ledgers import read
from tests.logs import AT, Raw, entry, kg, setups
from tests.logs_of_water import POND, waters

DAY = 24 * 60
NOW = 106 * DAY


def pond(log: list[Raw], at: str = AT) -> Any:
    return next(one for one in plan(log, at)["stations"] if one["id"] == "pond")


def codes(made: Any) -> list[str]:
    return [one["code"] for one in made["warnings"]]


def caught(minutes: float = NOW, **fields: Any) -> Raw:
    return entry(
        "catch", minutes, station="pond", **{"species": "perch", "number": 3, "fate": "killed", **fields}
    )


# -- plans ------------------------------------------------------------------------------------------------

TODAY = "2026-06-15"


def plan_of(day: str, species: str = "trout", number: int = 4, minutes: float = NOW - 9 * DAY) -> Raw:
    raw = entry("catch_plan", minutes, station="pond", species=species, number=number, cut="whole_gutted")
    return {**raw, "day": day, "id": f"{species}-{day}"}


def standing(*log: Raw) -> list[tuple[str, int]]:
    return [(one["id"], one["number"]) for one in pond([*setups(), *log])["state"]["day"]["planned"]]


def test_several_plans_ahead_stand_each_by_itself_the_nearest_first() -> None:
    later, mixed, sooner = plan_of("2026-07-01"), plan_of("2026-06-16", "carp"), plan_of("2026-06-16")
    log = [later, mixed, sooner]
    assert standing(*log) == [("carp-2026-06-16", 4), ("trout-2026-06-16", 4), ("trout-2026-07-01", 4)]
    made = pond([*setups(), *log])
    assert [one["due"] for one in made["ahead"]] == ["2026-06-16", "2026-06-16", "2026-07-01"]
    names = [one["id"] for one in made["jobs"] if one["what"] == "catch_fish"]
    assert len(names) == len(set(names)) == 3


def test_a_catch_of_another_day_or_another_fish_takes_no_plan() -> None:
    plan_ = plan_of("2026-06-25")
    early = caught(NOW - 5 * DAY, species="trout", number=9)
    other = caught(NOW, species="carp", number=9)
    assert standing(plan_, early, other) == [("trout-2026-06-25", 4)]


def test_an_early_catch_does_not_read_as_taken_what_is_planned_for_later() -> None:
    """Ten days before its day a catch of the same kind is one more catch, today as on any later day."""
    plan_, early = plan_of("2026-06-25"), caught(NOW, species="trout", number=4)
    for day in ("2026-06-15", "2026-06-16", "2026-06-24"):
        log = [*setups(), plan_, early]
        assert [one["id"] for one in pond(log, f"{day}T20:00:00+02:00")["state"]["day"]["planned"]] == [
            "trout-2026-06-25"
        ]


def test_a_plan_is_taken_fish_by_fish_and_only_what_is_left_stands() -> None:
    plan_ = plan_of(TODAY, number=6)
    first = {**caught(NOW - 20, species="Rainbow trout", number=4), "id": "c1"}
    let_go = {**caught(NOW - 19, species="trout", number=2, fate="released"), "id": "c2"}
    second = {**caught(NOW - 10, species="trout", number=2), "id": "c3"}
    assert standing(plan_, first, let_go) == [(f"trout-{TODAY}", 2)]
    assert standing(plan_, first, let_go, second) == []
    log = [*setups(), plan_, first]
    assert pond(log, "2026-06-16T08:00:00+02:00")["state"]["day"]["planned"] == []


def test_a_catch_is_counted_for_the_plan_nearest_to_its_day() -> None:
    two = [plan_of("2026-06-13"), plan_of(TODAY)]
    taken = caught(NOW, species="trout", number=5)
    assert standing(*two, taken) == []
    assert standing(*two, {**taken, "number": 4}) == [("trout-2026-06-13", 4)]


def test_a_plan_that_was_withdrawn_or_is_past_stands_no_more() -> None:
    plan_ = plan_of("2026-06-20")
    back = {**entry("correction", NOW, of=plan_["id"], action="retract"), "id": "back"}
    assert standing(plan_, back) == []
    assert standing(plan_of("2026-06-12")) == [("trout-2026-06-12", 4)]
    assert standing(plan_of("2026-06-11")) == []


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(waters("pond", {name: POND[name] for name in ("catch", "catch_plan")}))
def test_no_plan_stands_for_more_fish_than_were_planned(log: list[Raw]) -> None:
    entries, _ = read(log)
    planned = {raw["id"]: raw["number"] for raw in log if raw["kind"] == "catch_plan"}
    for one in catchplans.standing(entries, entries[-1].day):
        assert 0 < one.left <= planned[one.entry.id]


def test_a_catch_says_what_would_tell_its_scraps_and_asks_for_that_alone() -> None:
    """Weighing a few fish answers a catch that lacks a weight; what lacks the cut alone asks for the cut."""

    def missing(*log: Raw) -> list[str | None]:
        return [one["missing"] for one in pond([*setups(), *log])["state"]["day"]["taken"]]

    uncut = caught(NOW, species="trout")
    cut = caught(NOW, species="trout", cut="whole_gutted")
    weighed = entry("fish_sample", NOW - 60, station="pond", species="Trout", number=3, mass=kg(0.9))
    heavy = entry("fish_sample", NOW - 60, station="pond", species="trout", number=1, mass=kg(900.0))
    assert missing(uncut) == ["both"]
    assert missing(cut) == ["weight"]
    assert missing(uncut, weighed) == ["cut"]
    assert missing(cut, weighed) == [None]
    assert missing(caught(NOW, species="trout", cut="whole_gutted", number=9), heavy) == ["believed"]
    key = "app.pond_day.scraps_unknown"
    for language in words.LANGUAGES:
        said = {words.say(key, {"missing": one}, language) for one in ("both", "weight", "cut", "believed")}
        assert len(said) == 4


def test_scraps_of_all_fish_of_a_day_are_shared_out_together() -> None:
    fed = entry("feed", NOW - 5, station="bin", feedstock="bread", amount=kg(2.0))
    trout = {**caught(NOW, species="trout", number=4, scraps=kg(0.3)), "id": "c1"}
    perch = {**caught(NOW + 1, species="perch", number=6, scraps=kg(0.2)), "id": "c2"}
    day = pond([*setups(), fed, trout, perch])["state"]["day"]
    assert (day["of_day"], len(day["taken"])) == (TODAY, 2)
    shared = day["share_out"]
    assert shared["scraps_kg"] == 0.5
    assert shared["today_kg"] + shared["freeze_kg"] + shared["bury_kg"] == pytest.approx(0.5)
    assert shared["because"]["entries"] == ["c1", "c2"]


def test_a_bin_that_has_had_its_ration_today_takes_scraps_on_later_days() -> None:
    fed = entry("feed", NOW - 5, station="bin", feedstock="bread", amount=kg(2.0))
    trout = caught(NOW, species="trout", number=4, scraps=kg(0.5))
    hungry, full = (pond([*setups(), *some, trout])["state"]["day"]["share_out"] for some in ([], [fed]))
    assert full["today_kg"] == 0.0
    assert full["days"] is not None
    assert full["because"]["values"]["daily_kg"] == hungry["because"]["values"]["daily_kg"] > 0.0


def test_scraps_that_were_fed_are_not_shared_out_again() -> None:
    trout = caught(NOW, species="trout", number=4, scraps=kg(0.5))
    fed = entry("feed", NOW + 5, station="bin", feedstock="fish_scraps", amount=kg(0.2))
    shared = pond([*setups(), trout, fed])["state"]["day"]["share_out"]
    assert shared["scraps_kg"] == 0.5
    assert shared["today_kg"] + shared["freeze_kg"] + shared["bury_kg"] == pytest.approx(0.3)


# -- a catch and its scraps -----------------------------------------------------------------------------


def test_a_planned_catch_tells_its_scraps_and_a_weighed_value_replaces_them() -> None:
    planned = entry("catch_plan", NOW - 9, station="pond", day="2026-06-16", species="trout", number=10,
                    cut="fillet_skin_off", mass=kg(10.0))  # fmt: skip
    made = pond([*setups(), planned])
    (found,) = made["state"]["day"]["planned"]
    scraps = found["scraps"]
    assert (scraps["low"], scraps["value"], scraps["high"]) == (5.227, 5.464, 5.701)
    assert [one["due"] for one in made["ahead"]] == ["2026-06-16"]
    taken = caught(NOW, species="trout", number=10, mass=kg(10.0), cut="fillet_skin_off", scraps=kg(5.9))
    day = pond([*setups(), planned, taken])["state"]["day"]
    assert day["planned"] == []
    (last,) = day["taken"]
    assert (last["scraps"]["low"], last["scraps"]["value"]) == (5.9, 5.9)


def test_fish_are_cut_as_was_planned_where_the_catch_does_not_say() -> None:
    planned = plan_of(TODAY)
    taken = caught(NOW, species="Rainbow trout", number=4, mass=kg(2.0))
    (one,) = pond([*setups(), planned, taken])["state"]["day"]["taken"]
    assert one["cut"] == "whole_gutted"
    assert one["scraps"]["value"] == pytest.approx(2.0 * 0.1244)
    assert one["scraps"]["because"]["entries"] == [taken["id"], planned["id"]]
    (own,) = pond([*setups(), planned, {**taken, "cut": "fillet_skin_off"}])["state"]["day"]["taken"]
    assert own["scraps"]["value"] == pytest.approx(2.0 * 0.5464)


@pytest.mark.parametrize("kind", ["catch_plan", "catch"])
def test_a_slip_in_the_number_of_heavy_fish_does_not_stop_the_plan(kind: str) -> None:
    heavy = entry("fish_sample", NOW - 9, station="pond", species="carp", number=1, mass=kg(12.0))
    many = caught(species="carp", number=1000, cut="whole_gutted")
    if kind == "catch_plan":
        fields = {"day": "2026-06-16", "species": "carp", "number": 1000, "cut": "whole_gutted"}
        many = {**entry("catch_plan", NOW, station="pond"), **fields}
    day = pond([*setups(), heavy, many])["state"]["day"]
    (told,) = day["planned"] or day["taken"]
    assert (told["kg"]["value"], told["scraps"]) == (12000.0, None)


def test_scraps_are_shared_out_over_days_and_never_go_alone() -> None:
    found = share_out(2.0, 0.3, 0.3, 0.15)
    assert found.today_kg + found.freeze_kg == 2.0
    assert found.today_kg / (found.today_kg + found.others_kg) == pytest.approx(0.15)
    assert found.days == 6


def test_what_no_freezer_holds_is_buried() -> None:
    found = share_out(2.0, 0.3, 0.3, 0.15, freezer_kg=1.0)
    assert (found.today_kg, found.freeze_kg, found.days) == (0.3, 1.0, 4)
    assert found.bury_kg == pytest.approx(0.7)


def test_the_plan_says_where_scraps_go_and_that_beds_get_none() -> None:
    fed = entry("feed", NOW - 5, station="bin", feedstock="bread", amount=kg(2.0))
    log = [*setups(), fed, caught(mass=kg(3.0), cut="whole_gutted", species="trout")]
    shared = pond(log)["state"]["day"]["share_out"]
    assert shared["today_kg"] + shared["freeze_kg"] == pytest.approx(0.3732, abs=1e-4)
    assert shared["because"]["key"] == "pond.share_out.because"


def test_a_missing_hook_keeps_scraps_from_the_bin() -> None:
    catch: dict[str, Any] = {"mass": kg(3.0), "cut": "whole_gutted", "species": "trout"}
    made = pond([*setups(), caught(hooks_missing=1, **catch)])
    assert codes(made)[0] == "hooks_missing"
    assert made["state"]["day"]["share_out"] is None
    found = pond([*setups(), caught(hooks_missing=0, **catch)])
    assert found["state"]["day"]["share_out"] is not None


def test_the_first_way_to_kill_is_a_blow_then_bleed_and_chill() -> None:
    names = [one["name"] for one in pond(setups())["state"]["day"]["steps"]]
    assert names.index("blow") < names.index("spike") < names.index("check")
    assert names.index("check") < names.index("bleed") < names.index("chill")
    assert "bath" not in names


# -- smoking and keeping ----------------------------------------------------------------------------------


def kept(days: float = 0.0, **fields: Any) -> list[str]:
    batch = {**entry("preserve", NOW - days * DAY, station="pond"), "method": "hot_smoke", **fields}
    return [code for code in codes(pond([*setups(), batch])) if code.startswith("preserve")]


def inside(celsius: float) -> Raw:
    return {"value": celsius, "unit": "degC"}


GOOD: dict[str, Any] = {
    "inside": inside(72.0), "minutes": 35, "kept_at": inside(3.0), "salt_pct": 3.0, "moisture_pct": 70.0
}  # fmt: skip


@pytest.mark.parametrize(
    ("fields", "short"),
    [
        ({}, []),
        ({"salt_pct": 2.5}, ["preserve_little_salt"]),
        ({"salt_pct": None}, ["preserve_salt_not_noted"]),
        ({"moisture_pct": None}, ["preserve_salt_not_noted"]),
        ({"inside": inside(65.0)}, ["preserve_between_limits"]),
        ({"inside": inside(60.0)}, ["preserve_not_hot_enough"]),
        ({"kept_at": inside(6.0)}, ["preserve_kept_warm"]),
        ({"packing": "vacuum"}, ["preserve_vacuum"]),
        ({"method": "cold_smoke"}, ["preserve_cold_smoke"]),
        ({"method": "salt", "salt_pct": None}, ["preserve_salt_not_noted"]),
        ({"method": "freeze", "kept_at": inside(-18.0), "salt_pct": None}, []),
        ({"method": "freeze", "kept_at": inside(-12.0)}, ["preserve_kept_warm"]),
    ],
)
def test_a_batch_is_held_against_published_limits(fields: Raw, short: list[str]) -> None:
    """Limits and their sources stand in `pond.toml`: WSU Extension 71 degC for 30 minutes, state rules and
    AFDO 62.8; PNW 238, salt 3.5 % of the water; Michigan State 3.3 degC; FoodSafety.gov -18 degC."""
    assert kept(**{**GOOD, **fields}) == short


def test_what_nobody_noted_counts_as_not_met() -> None:
    assert kept() == ["preserve_heat_not_noted", "preserve_kept_not_noted", "preserve_salt_not_noted"]


@pytest.mark.parametrize(
    ("days", "fields", "long"),
    [
        (14, {}, False),
        (15, {}, True),
        (30, {}, True),
        (30, {"kept_at": inside(-20.0)}, False),
        (2, {"method": "chill"}, False),
        (3, {"method": "chill"}, True),
        (30, {"method": "freeze", "kept_at": inside(-18.0)}, False),
    ],
)
def test_fish_kept_longer_than_published_is_told_of(days: int, fields: Raw, long: bool) -> None:
    """WSU Extension: smoked fish 2 to 3 weeks in a refrigerator; Hillers 1993, WSU EB 1205, quoted: raw fish
    1 to 2 days; FoodSafety.gov: frozen at -18 degC, how long is a matter of quality."""
    assert ("preserve_kept_long" in kept(days, **{**GOOD, **fields})) is long


def test_an_older_batch_is_not_forgotten_for_a_newer_one() -> None:
    old = {**entry("preserve", NOW - 9 * DAY, station="pond"), "method": "hot_smoke", "id": "old"}
    new = {**entry("preserve", NOW, station="pond"), "method": "freeze", "id": "new"}
    made = pond([*setups(), old, {**new, "kept_at": inside(-20.0)}])
    assert [one["id"] for one in made["state"]["preserve"]] == ["new", "old"]
    assert "preserve_heat_not_noted" in codes(made)


def test_no_word_about_keeping_promises_that_a_batch_is_safe() -> None:
    said = [text for key, text in catalogue().items() if "preserve" in key]
    assert said
    assert not [text for text in said if "is safe" in text]
