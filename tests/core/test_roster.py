"""Who walks, what a round left for the next, and to whom it is handed."""

from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from fallowside.core import sources
from fallowside.core.plan import Fold, plan
from fallowside.core.roster import WEEK
from fallowside.core.shapes import Roster
from tests.logs import AT, Raw, entry, logs, setups

DAY = 24 * 60.0
SUNDAY = "2026-03-08T09:00:00+02:00"
"""The log of these tests begins on Sunday, 1 March 2026."""


def walks(person: str, *days: str, **fields: Any) -> Raw:
    raw = entry("setup", 1, what="person", item=person, set={"walks": list(days), **fields})
    return {**raw, "id": f"walks-{person}"}


def walked(minutes: float, *passed: str) -> Raw:
    return entry("round", minutes, started=entry("round", minutes)["at"], passed=list(passed))


def roster(log: list[Raw], at: str = SUNDAY) -> Roster:
    return plan(log, at)["roster"]


def carried(log: list[Raw], at: str = SUNDAY) -> dict[str, str | None]:
    return {one["station"]: one["carried_since"] for one in roster(log, at)["left"]}


def test_the_week_begins_today_and_names_who_walks() -> None:
    log = [*setups(), walks("ana", "sun", "mon"), walks("kit", "tue", "sun")]
    days = roster(log)["days"]
    assert [one["people"] for one in days] == [["ana", "kit"], ["ana"], ["kit"], [], [], [], []]
    assert days[0]["day"] == "2026-03-08"


def test_somebody_who_left_walks_no_more() -> None:
    log = [*setups(), walks("kit", *WEEK, last_day="2026-03-09")]
    assert [one["people"] for one in roster(log)["days"]][:3] == [["kit"], ["kit"], []]


def test_a_round_handed_over_is_the_others_and_the_last_word_counts() -> None:
    log = [*setups(), walks("ana", "sun")]
    log.append(entry("hand_over", 7 * DAY - 600, person="ana", day="2026-03-08"))
    log.append(entry("hand_over", 7 * DAY - 300, person="kit", day="2026-03-08"))
    today = roster(log)["days"][0]
    assert (today["people"], today["handed_over"]) == (["kit"], True)


def test_a_round_is_handed_only_to_people_of_the_place() -> None:
    log = [*setups(), walks("ana", "sun"), entry("hand_over", 7 * DAY - 5, person="nobody")]
    assert roster(log)["days"][0]["people"] == ["ana"]


def test_a_round_handed_to_somebody_who_left_stays_whose_it_was() -> None:
    log = [*setups(), walks("ana", "sun"), walks("kit", "mon", last_day="2026-03-07")]
    log.append(entry("hand_over", 7 * DAY - 5, person="kit", day="2026-03-08"))
    today = roster(log)["days"][0]
    assert (today["people"], today["handed_over"]) == (["ana"], False)


def test_whoever_walks_next_is_whom_to_hand_over_to() -> None:
    assert roster([*setups(), walks("ana", "sun", "tue")])["next"] == "kit"
    third = {**entry("setup", 2, what="person", item="bo", set={"name": "Bo", "walks": ["wed"]}), "id": "bo"}
    assert roster([*setups(), walks("ana", "sun"), third])["next"] == "bo"


def test_what_a_round_left_out_is_carried_over_until_somebody_comes() -> None:
    """Passed on Thursday, not on Saturday: the pond waits since; a hive is looked at every other week."""
    log = [*setups(), walked(4 * DAY, "bed", "bin", "pond", "hive"), walked(6 * DAY, "bed", "bin")]
    assert carried(log) == {"bed": None, "bin": None, "pond": "2026-03-07", "hive": None}
    came = entry("reading", 7 * DAY - 60, station="pond", temperature={"value": 12, "unit": "degC"})
    assert "pond" not in carried([*log, came], "2026-03-08T12:00:00+02:00")


def test_a_day_nobody_walked_is_carried_over_where_a_look_was_due() -> None:
    log = [*setups(), walks("ana", "fri", "sat"), walked(2 * DAY, "bed", "bin", "pond", "hive")]
    log.append(entry("signs", 2 * DAY, station="bin", signs=["all_well"]))
    log.append(entry("signs", 2 * DAY + 1, station="hive", signs=["all_well"]))
    left = carried(log)
    assert left["bin"] == "2026-03-06"
    assert left["hive"] is None


def test_a_station_seen_today_does_not_wait() -> None:
    log = [*setups(), walked(7 * DAY - 30, "bed")]
    found = roster(log)
    assert found["seen"] == ["bed"]
    assert [one["station"] for one in found["left"]] == ["bin", "pond", "hive"]


@settings(max_examples=10, deadline=None)
@given(logs(), st.lists(st.sampled_from(WEEK), min_size=1), st.sampled_from(["kit", "ana", "zed"]))
def test_any_log_has_a_roster_of_seven_days(log: list[Raw], days: list[str], person: str) -> None:
    made = plan([*log, walks("kit", *days), entry("hand_over", 3, person=person)], AT)
    found = made["roster"]
    assert len(found["days"]) == 7
    every = [*found["seen"], *(one["station"] for one in found["left"])]
    assert sorted(every) == sorted(one["id"] for one in made["stations"])


def test_whoever_passed_a_station_on_a_round_has_seen_it() -> None:
    """Nothing to note is news too: the next look counts from then, and is due where nobody passed."""
    came = entry("reading", DAY, station="pond", temperature={"value": 12, "unit": "degC"})
    log = [*setups(), came, walked(6 * DAY, "pond", "hive")]
    stations = {one["id"]: one for one in plan(log, SUNDAY)["stations"]}
    seen = {name: one["last_seen"] and one["last_seen"]["at"] for name, one in stations.items()}
    assert seen == {"bed": None, "bin": None, "pond": log[-1]["at"], "hive": log[-1]["at"]}
    looks = {
        name: next(job for job in one["jobs"] if job["what"] == "look_in") for name, one in stations.items()
    }
    days = int(sources.value("jobs.look_pond"))
    assert looks["pond"]["due"] == f"2026-03-{7 + days:02}"
    assert looks["pond"]["because"]["entries"] == [log[-1]["id"]]
    assert looks["bed"]["due"] == "2026-03-01"


def test_a_round_taken_back_or_still_to_come_shows_nobody_a_station() -> None:
    walk = walked(6 * DAY, "hive")
    undone = entry("correction", 6 * DAY + 5, of=walk["id"], action="retract")
    for log in ([*setups(), walk, undone], [*setups(), walked(8 * DAY, "hive")]):
        hive = next(one for one in plan(log, SUNDAY)["stations"] if one["id"] == "hive")
        assert hive["last_seen"] is None


def test_a_plan_kept_from_before_a_round_says_after_it_who_was_there() -> None:
    book = Fold(setups())
    assert all(one["last_seen"] is None for one in book.plan(SUNDAY)["stations"])
    book.add([walked(6 * DAY, "bed", "hive")])
    assert [one["id"] for one in book.plan(SUNDAY)["stations"] if one["last_seen"]] == ["bed", "hive"]
    assert book.plan_json(SUNDAY) == Fold([*setups(), walked(6 * DAY, "bed", "hive")]).plan_json(SUNDAY)
