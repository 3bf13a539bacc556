"""What to remind of: each matter once, whatever its date does; gone when done, back when put off."""

from collections.abc import Iterable
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from fallowside.core.plan import plan
from fallowside.core.shapes import Matter
from tests.logs import AT, Raw, entry, kg, logs, setups

DAY = 24 * 60.0


def celsius(value: float) -> Raw:
    return {"value": value, "unit": "degC"}


def reminded(entries: Iterable[Raw], at: str) -> dict[str, Matter]:
    return {one["id"]: one for one in plan(entries, at)["reminders"]}


def snooze(matter: str, until: str, minutes: float = 5 * DAY, **fields: Any) -> Raw:
    return entry("snooze", minutes, matter=matter, until=until, **fields)


def fed(side: str = "a", minutes: float = DAY) -> Raw:
    return entry("feed", minutes, station="bed", side=side, feedstock="vegetable_scraps", amount=kg(0.5))


def test_a_look_is_reminded_of_only_when_it_is_overdue() -> None:
    log = [*setups(), entry("hive_check", DAY, station="hive", hefting="fair")]
    matter = "hive:look_in::2026-03-16"
    assert not reminded(log, "2026-03-16T09:00:00+02:00")[matter]["late"]
    assert reminded(log, "2026-03-17T09:00:00+02:00")[matter]["late"]


def test_the_first_look_is_due_from_the_day_a_station_came_into_the_log() -> None:
    months = {"type": "bed", "name": "Old bed", "started": "2025-08-01T08:00:00+02:00"}
    log = [*setups(), entry("setup", DAY, what="station", item="old", set=months)]
    (found,) = [one for one in plan(log, "2026-03-02T20:00:00+02:00")["stations"] if one["id"] == "old"]
    (look,) = [one for one in found["jobs"] if one["what"] == "look_in"]
    assert (look["due"], look["late"]) == ("2026-03-02", False)
    assert reminded(log, "2026-03-03T09:00:00+02:00")["old:look_in::2026-03-02"]["late"]


def test_what_is_done_is_no_matter_any_more() -> None:
    log = [*setups(), entry("hive_check", DAY, station="hive", hefting="fair")]
    at = "2026-03-18T09:00:00+02:00"
    assert "hive:look_in::2026-03-16" in reminded(log, at)
    done = entry("signs", 16 * DAY, station="hive", signs=["all_well"])
    assert "hive:look_in::2026-03-16" not in reminded([*log, done], at)


def test_a_forecast_keeps_its_id_while_its_date_moves() -> None:
    log = [*setups(), *(fed(minutes=day * DAY) for day in range(1, 40))]
    dates = set()
    for at in ("2026-03-20T09:00:00+02:00", "2026-04-08T09:00:00+02:00"):
        found = [one for one in plan(log, at)["reminders"] if one["what"] == "switch_sides"]
        assert [one["id"] for one in found] == ["bed:switch_sides:b"]
        dates.add(found[0]["remind"])
    assert len(dates) == 2


def test_a_limit_crossed_is_one_matter_until_a_reading_is_good_again() -> None:
    hot = [
        entry("reading", day * DAY, station="bed", side="a", temperature=celsius(36.0)) for day in (10, 11)
    ]
    at = "2026-03-12T20:00:00+02:00"
    found = plan([*setups(), fed(), *hot], at)["reminders"]
    crossed = [one for one in found if one["since"] == hot[-1]["at"]]
    assert [(one["kind"], one["remind"], one["late"]) for one in crossed] == [("limit", "2026-03-12", True)]
    cool = entry("reading", 11 * DAY + 60, station="bed", side="a", temperature=celsius(20.0))
    assert crossed[0]["id"] not in reminded([*setups(), fed(), *hot, cool], at)


def test_a_matter_put_off_waits_at_the_end_and_comes_back_on_its_day() -> None:
    log = [*setups(), entry("hive_check", DAY, station="hive", hefting="fair")]
    matter = "hive:look_in::2026-03-16"
    log.append(snooze(matter, "2026-03-22", 17 * DAY))
    waiting = plan(log, "2026-03-21T09:00:00+02:00")["reminders"]
    assert waiting[-1]["id"] == matter
    assert (waiting[-1]["put_off_until"], waiting[-1]["put_off_by"]) == ("2026-03-22", "ana")
    assert reminded(log, "2026-03-22T09:00:00+02:00")[matter]["put_off_until"] is None


def test_the_later_word_on_putting_off_counts() -> None:
    log = [*setups(), entry("hive_check", DAY, station="hive", hefting="fair")]
    matter = "hive:look_in::2026-03-16"
    twice = [snooze(matter, "2026-03-30", 17 * DAY), snooze(matter, "2026-03-19", 18 * DAY)]
    for some in (twice, twice[::-1]):
        assert reminded([*log, *some], "2026-03-21T09:00:00+02:00")[matter]["put_off_until"] is None


def test_a_danger_can_not_be_put_off() -> None:
    hot = entry("reading", 10 * DAY, station="bed", side="a", temperature=celsius(40.0))
    at = "2026-03-12T20:00:00+02:00"
    found = plan([*setups(), fed(), hot], at)["reminders"]
    danger = next(one for one in found if one["level"] == "danger")
    assert (
        reminded([*setups(), fed(), hot, snooze(danger["id"], "2026-12-01", 10 * DAY + 5)], at)[danger["id"]][
            "put_off_until"
        ]
        is None
    )


def test_whoever_comes_for_something_else_looks_in_anyway() -> None:
    log = [*setups(), fed(), entry("reading", DAY, station="bed", side="a", temperature=celsius(20.0))]
    late = [one for one in plan(log, "2026-03-20T09:00:00+02:00")["reminders"] if one["station"] == "bed"]
    assert "take_temperature" in {one["what"] for one in late if one["late"]}
    assert "look_in" not in {one["what"] for one in late}


def test_a_bed_never_fed_or_measured_is_one_matter_for_as_long_as_that_lasts() -> None:
    log = [*setups(), entry("signs", DAY, station="bed", signs=["all_well"])]
    for at in ("2026-03-05T09:00:00+02:00", "2026-03-06T09:00:00+02:00"):
        found = reminded(log, at)
        for matter in ("bed:feed:a", "bed:take_temperature:"):
            assert (found[matter]["remind"], found[matter]["late"]) == ("2026-03-03", True)
            assert found[matter]["due"] is None
    fed_once = reminded([*log, fed(minutes=4 * DAY)], "2026-03-06T09:00:00+02:00")
    assert "bed:feed:a" not in fed_once


def test_a_check_that_counts_from_the_last_one_is_a_matter_on_its_very_day_too() -> None:
    read = entry("reading", DAY, station="bed", side="a", temperature=celsius(20.0))
    days = range(3, 14)
    found = [reminded([*setups(), fed(), read], f"2026-03-{day:02}T09:00:00+02:00") for day in days]
    ids = {name for some in found for name in some if ":take_temperature:" in name}
    assert len(ids) == 1
    assert all(ids < some.keys() for some in found)


def test_fish_apart_are_one_matter_until_they_are_seen_to() -> None:
    """Held apart they are due every day: a matter of each day would ring every morning, or never."""
    kept = [
        *setups(),
        entry("stocking", DAY, station="pond", species="tilapia", number=40, mass=kg(8)),
        entry("catch", 2 * DAY, station="pond", species="tilapia", number=4, mass=kg(1), fate="held"),
    ]
    ids = set()
    for day in (4, 5, 6):
        found = reminded(kept, f"2026-03-{day:02}T09:00:00+02:00")
        (matter,) = [one for one in found.values() if one["what"] == "see_to_held"]
        assert (matter["remind"], matter["late"]) == ("2026-03-04", True)
        ids.add(matter["id"])
    assert ids == {"pond:see_to_held:"}


def test_who_owns_no_thermometer_is_still_told_to_look_in() -> None:
    log = [*setups(), fed(), entry("leftover", 2 * DAY, station="bed", side="a", left="none")]
    at = "2026-03-03T09:00:00+02:00"
    found = reminded(log, at)
    assert found["bed:take_temperature:"]["late"]
    assert "bed:look_in::2026-03-06" in found


def test_what_is_put_off_brings_nobody_so_that_the_look_is_reminded_of() -> None:
    log = [*setups(), fed(), entry("reading", DAY, station="bed", side="a", temperature=celsius(20.0))]
    at = "2026-03-20T09:00:00+02:00"
    late = [one for one in reminded(log, at).values() if one["station"] == "bed" and one["late"]]
    assert "look_in" not in {one["what"] for one in late}
    waiting = [{**snooze(one["id"], "2026-12-01", 18 * DAY), "id": f"off-{n}"} for n, one in enumerate(late)]
    assert "look_in" in {one["what"] for one in reminded([*log, *waiting], at).values()}


@settings(max_examples=10, deadline=None)
@given(logs(), st.lists(st.tuples(st.text(max_size=80), st.dates().map(str)), max_size=3))
def test_any_log_gives_each_matter_once(log: list[Raw], put_off: list[tuple[str, str]]) -> None:
    more = [{**snooze(matter, until), "id": f"s{number}"} for number, (matter, until) in enumerate(put_off)]
    found = plan([*log, *more], AT)["reminders"]
    ids = [one["id"] for one in found]
    assert len(ids) == len(set(ids))
    assert all(one["late"] == (one["remind"] <= AT[:10]) for one in found)


def test_what_is_gravest_comes_first_and_what_is_put_off_last() -> None:
    hot = entry("reading", 10 * DAY, station="bed", side="a", temperature=celsius(40.0))
    log = [*setups(), fed(), hot, snooze("hive:look_in::2026-03-01", "2026-12-01", 10 * DAY)]
    found = plan(log, "2026-03-12T20:00:00+02:00")["reminders"]
    assert found[0]["level"] == "danger"
    assert found[-1]["id"] == "hive:look_in::2026-03-01"
    days = [one["remind"] for one in found if one["level"] == "note" and one["put_off_until"] is None]
    assert days == sorted(days)
