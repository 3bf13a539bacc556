"""The fold: order, doubles and splits are nothing; bad entries are named; future ones unseen."""

import json
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fallowside.core.plan import Fold, plan, plan_json
from tests.logs import AT, Raw, entry, kg, logs, setups


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(logs(), st.randoms(use_true_random=False))
def test_order_and_doubles_change_nothing(log: list[Raw], random: Any) -> None:
    expected = plan_json(log, AT)
    shuffled = log + random.sample(log, k=len(log) // 2)
    random.shuffle(shuffled)
    cut = random.randrange(len(shuffled) + 1)
    assert plan_json(shuffled, AT) == expected
    assert plan_json([*shuffled[cut:], *shuffled[:cut]], AT) == expected
    assert plan_json(json.loads(json.dumps(shuffled)), AT) == expected


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(logs(), st.data())
def test_a_fold_that_grows_plans_what_a_fresh_one_would(log: list[Raw], data: st.DataObject) -> None:
    growing = Fold()
    shuffled = data.draw(st.permutations(log))
    cuts = sorted(data.draw(st.lists(st.integers(0, len(log)), max_size=3)))
    for start, end in zip([0, *cuts], [*cuts, len(log)], strict=True):
        growing.add(shuffled[start:end])
        at = data.draw(st.sampled_from([AT, "2026-04-10T09:00:00+02:00", "2026-05-20T12:30:00+02:00"]))
        assert growing.plan_json(at) == plan_json(shuffled[:end], at)


@pytest.mark.parametrize(
    "more",
    [
        entry("reading", 41, station="bed", side="a", temperature={"value": 21.0, "unit": "degC"}),
        entry("feed", 42, station="bed", side="a", feedstock="bread", amount=kg(1)),
        entry("hive_check", 43, station="hive", weight=kg(32)),
        entry("given", 44, station="bin", what="larvae", amount=kg(0.2), to="pond"),
        entry("dance", 45),
    ],
    ids=lambda more: more["kind"],
)
def test_sums_that_a_fold_keeps_are_made_anew_where_the_next_entry_touches_them(more: Raw) -> None:
    log = [
        *setups(),
        entry("hive_check", 5, station="hive", weight=kg(25)),
        entry("feed", 20, station="bed", side="a", feedstock="vegetable_scraps", amount=kg(2)),
    ]
    growing = Fold(log)
    before = growing.plan(AT)
    growing.add([more])
    assert growing.plan_json(AT) == plan_json([*log, more], AT)
    moved = more["kind"] in ("feed", "hive_check", "given")
    assert (growing.plan(AT)["circles"] != before["circles"]) is moved


def test_an_entry_leaves_the_parts_of_other_stations_the_very_same() -> None:
    growing = Fold(setups())
    before = {one["id"]: one for one in growing.plan(AT)["stations"]}
    growing.add([entry("reading", 41, station="bed", side="a", temperature={"value": 21.0, "unit": "degC"})])
    after = {one["id"]: one for one in growing.plan(AT)["stations"]}
    assert [name for name in after if after[name] is not before[name]] == ["bed"]


def test_minutes_count_for_a_pond_whose_bath_is_open() -> None:
    rules = {"bath_checked": "asked", "bath_concentration": {"value": 50.0, "unit": "mg/L"}}
    log = [
        *setups(),
        entry("setup", 1, what="place", item="place", set=rules),
        {
            **entry("bath", 5, station="pond", stock="one_in_ten", volume={"value": 20.0, "unit": "L"}),
            "at": "2026-06-15T17:20:00+02:00",
            "gills_stopped": "2026-06-15T17:40:00+02:00",
            "then": "killed",
        },
    ]
    growing = Fold(log)
    for at in ("2026-06-15T17:50:00+02:00", AT, "2026-06-15T17:45:00+02:00"):
        assert growing.plan_json(at) == plan_json(log, at)


def test_where_scraps_of_fish_go_is_told_anew_when_they_are_fed() -> None:
    log = [
        *setups(),
        {
            **entry("catch", 5, station="pond", species="trout", number=4, fate="killed", scraps=kg(0.5)),
            "at": "2026-06-15T09:00:00+02:00",
        },
    ]
    fed = {
        **entry("feed", 6, station="bin", feedstock="fish_scraps", amount=kg(0.2)),
        "at": "2026-06-15T10:00:00+02:00",
    }
    hooks = {**log[-1], "id": "second", "hooks_missing": 1, "at": "2026-06-15T11:00:00+02:00"}
    growing = Fold(log)
    growing.plan(AT)
    for more in (fed, hooks):
        growing.add([more])
        log = [*log, more]
        assert growing.plan_json(AT) == plan_json(log, AT)


def test_what_a_newer_phone_enters_is_never_taken_for_a_working() -> None:
    dance = entry("dance", 5, station="bed", steps={"constants": ["no.such", 7]})
    assert plan([*setups(), dance], AT)["constants"] == plan(setups(), AT)["constants"]


def test_the_very_same_entry_added_again_changes_nothing() -> None:
    log = [
        *setups(),
        entry("catch", 10, station="pond", species="carp", number=2, fate="killed", mass=kg(1.5)),
    ]
    growing = Fold(log)
    expected = growing.plan_json(AT)
    growing.add(log[-1:])
    assert growing.plan_json(AT) == expected == plan_json(log, AT)


def test_an_empty_log_gives_an_empty_plan() -> None:
    made = plan([], AT)
    assert made["stations"] == []
    assert made["tally"]["net"]["value"] == 0.0
    assert made["made_from"]["entries"] == 0


def test_entries_after_the_instant_are_not_seen() -> None:
    log = setups()
    later = {
        **entry("feed", 10, station="bin", feedstock="bread", amount=kg(2)),
        "at": "2026-06-16T08:00:00+02:00",
    }
    before, with_later = plan(log, AT), plan([*log, later], AT)
    assert with_later["stations"] == before["stations"]
    assert with_later["tally"] == before["tally"]


def test_stations_come_in_walking_order() -> None:
    made = plan(setups(), AT)
    assert [one["id"] for one in made["stations"]] == ["bed", "bin", "pond", "hive"]


def test_a_retired_station_is_not_shown_but_stays_in_the_tally() -> None:
    fed = entry("feed", 10, station="bin", feedstock="bread", amount=kg(2))
    gone = entry("setup", 20, what="station", item="bin", set={"retired": True})
    made = plan([*setups(), fed, gone], AT)
    assert [one["id"] for one in made["stations"]] == ["bed", "pond", "hive"]
    assert made["tally"]["gross_kg"] == 2.0


@pytest.mark.parametrize(
    ("bad", "why"),
    [
        ({"kind": "feed", "at": AT}, "bad_name"),
        ({"id": "x", "kind": "feed", "at": "yesterday"}, "bad_time"),
        ({"id": "x", "kind": "feed", "at": AT, "station": "attic"}, "unknown_station"),
        ({"id": "x", "kind": "switch", "at": AT, "station": "bin", "side": "a"}, "wrong_station"),
        ({"id": "x", "kind": "correction", "at": AT, "of": "y", "action": "eat"}, "bad_choice"),
        (7, "bad_name"),
    ],
)
def test_an_entry_that_cannot_be_read_is_set_aside_by_name(bad: Any, why: str) -> None:
    good = plan(setups(), AT)
    made = plan([*setups(), bad], AT)
    assert [one["why"] for one in made["made_from"]["set_aside"]] == [why]
    assert made["stations"] == good["stations"]


def test_kinds_of_a_newer_phone_are_counted_and_kept() -> None:
    made = plan([*setups(), entry("dance", 5, station="bed", tempo=3)], AT)
    assert made["made_from"]["newer_kinds"] == 1
    assert made["made_from"]["set_aside"] == []


def test_a_correction_that_would_spoil_a_good_entry_is_named_and_the_entry_stands() -> None:
    fed = entry("feed", 10, station="bin", feedstock="bread", amount=kg(2))
    spoil = entry("correction", 20, of=fed["id"], action="replace", **{"with": {"amount": kg(-1)}})
    mend = entry("correction", 30, of=fed["id"], action="replace", **{"with": {"amount": kg(3)}})
    made = plan([*setups(), fed, spoil, mend], AT)
    assert made["made_from"]["set_aside"] == [{"id": spoil["id"], "why": "out_of_range", "field": "amount"}]
    assert made["tally"]["gross_kg"] == 3.0


def test_a_correction_mends_an_entry_that_could_not_be_read() -> None:
    fed = entry("feed", 10, station="bin", feedstock="bread", amount=kg(-2))
    mend = entry("correction", 20, of=fed["id"], action="replace", **{"with": {"amount": kg(2)}})
    made = plan([*setups(), fed, mend], AT)
    assert made["made_from"]["set_aside"] == []
    assert made["tally"]["gross_kg"] == 2.0


def test_every_constant_named_in_a_working_is_explained() -> None:
    fed = entry("feed", 10, station="bin", feedstock="bread", amount={"container": "caddy", "filled": 0.5})
    made = plan([*setups(), fed], AT)
    text = json.dumps(made)
    assert "tally.fill_spread" in made["constants"]
    for name in made["constants"]:
        assert f'"{name}"' in text


def test_the_plan_is_plain_json() -> None:
    made = plan(setups(), AT)
    assert json.loads(plan_json(setups(), AT)) == made


@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(logs(), st.sampled_from([("2026-03-01", "2026-03-31"), ("2026-05-10", "2026-06-02")]))
def test_the_tally_of_some_days_is_the_same_whatever_was_planned_and_tallied_before(
    log: list[Raw], days: tuple[str, str]
) -> None:
    used = Fold(log)
    used.plan(AT)
    used.tally("2026-04-01", "2026-04-30", AT)
    assert used.tally(*days, AT) == Fold(log).tally(*days, AT)


def test_days_that_are_none_are_refused() -> None:
    for since, until in (("2026-04-02", "2026-04-01"), ("spring", "2026-04-01")):
        with pytest.raises(ValueError, match=r"2026-04-0|spring"):
            Fold().tally(since, until, AT)
