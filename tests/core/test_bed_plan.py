"""A bed's part of a plan as a whole: balances over a log, being away, turning, signs, and every working."""

import json
from collections.abc import Iterator
from math import fsum
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fallowside import words
from fallowside.core import entries, place, sources, warmth
from fallowside.core.plan import plan
from fallowside.core.wormbed import Rates
from fallowside.core.worms import bedcare, bedlog, bedpast
from tests.core.test_bed_edges import asked, bed, feeds, read, scoops, seen
from tests.logs import AT, Raw, entry, kg, logs, setups, time

DAY = 24 * 60


# -- balances ------------------------------------------------------------------------------------


@settings(max_examples=40, deadline=None)
@given(logs())
def test_whatever_is_logged_dry_matter_nitrogen_and_water_of_a_bed_balance(log: list[Raw]) -> None:
    good = [raw for raw in log if entries.problem(raw) is None and raw["kind"] != "correction"]
    told = sorted((entries.read(raw) for raw in good), key=lambda one: (one.us, one.id))
    at = entries.moment(AT)
    here = place.fold(one for one in told if one.kind == "setup")
    own = [one for one in told if one.station == "bed" and one.us <= at.us]
    kept = bedlog.read(here.stations["bed"], own, here, at.day)
    warm, rates = bedpast.warmths(kept, here, (warmth.Kept(), warmth.Kept())), Rates()
    past = bedpast.live_today(
        bedpast.run_to(bedpast.start(kept), kept.today, kept, warm, rates), kept, warm, rates
    )
    sums = past.balance
    for came, went in (
        ([sums.fed_kg], [sums.gas_kg, sums.taken_kg, *(one.dry_kg for one in past.sides)]),
        (
            [sums.fed_nitrogen_kg],
            [
                sums.nitrogen_gas_kg,
                sums.taken_nitrogen_kg,
                *(one.scraps_nitrogen_kg + one.castings_nitrogen_kg for one in past.sides),
            ],
        ),
        (
            [sums.water_kg, sums.found_water_kg],
            [
                sums.evaporated_kg,
                sums.drained_kg,
                sums.taken_water_kg,
                *(one.water_kg for one in past.sides),
            ],
        ),
    ):
        size = fsum(abs(one) for one in (*came, *went))
        assert abs(fsum(came) - fsum(went)) <= 1e-9 * max(size, 1e-9)


# -- away ----------------------------------------------------------------------------------------


@given(
    days=st.integers(1, 60),
    scraps=st.floats(0.0, 10.0),
    work=st.floats(0.0, 1.0),
    most=st.floats(0.0, 10.0),
    layer=st.floats(0.1, 20.0),
    dry=st.floats(0.05, 0.9),
    air=st.floats(0.0, 2.0),
)
def test_before_leaving_no_more_goes_in_than_a_layer_or_than_may_wait(
    days: int, scraps: float, work: float, most: float, layer: float, dry: float, air: float
) -> None:
    """Common practice, no source."""
    one = bedcare.away(days, scraps, work, most, layer, dry, air)
    assert 0.0 <= one.before_kg <= layer
    assert scraps + one.before_kg * dry <= max(most, scraps) * (1.0 + 1e-9) + 1e-12
    assert 0.0 <= one.visit_kg <= layer
    assert (one.visits == 0) == (one.visit_kg == 0.0)
    assert one.water_kg == pytest.approx(air * days)
    assert one.visits <= days


def test_a_short_time_away_asks_for_nobody_and_a_long_one_for_a_helper() -> None:
    away = bed([*feeds(range(1, 60, 2)), *(read(day, 22.0) for day in range(2, 60, 3))], 60)["state"]["away"]
    assert [one["days"] for one in away] == [3, 7, 14]
    assert away[0]["visits"] == 0
    assert away[0]["before_kg"] <= away[1]["before_kg"] <= away[2]["before_kg"]
    assert away[0]["water_kg"] < away[2]["water_kg"]
    hungry = bedcare.away(28, 0.1, 0.4, 2.0, 3.0, 0.2, 0.3)
    assert hungry.visits >= 1
    assert hungry.visit_kg > 0.0


# -- turning -------------------------------------------------------------------------------------


def test_a_full_side_is_due_and_the_bare_other_side_wants_bedding_first() -> None:
    turn = bed([*feeds(range(1, 360, 2)), *(read(day) for day in range(2, 360, 7))], 360)["state"]["turn"]
    assert (turn["due"], turn["other_ready"], turn["helps"]) == (True, True, [])


def test_where_the_other_side_is_not_ready_it_is_said_and_what_helps_is_offered() -> None:
    switch = entry("switch", 200 * DAY, station="bed", side="b")
    heaps = [{**raw, "amount": kg(9.0)} for raw in feeds(range(201, 214), "b")]
    found = bed(
        [*feeds(range(1, 200, 2)), *(read(day, 8.0) for day in range(2, 214, 7)), switch, *heaps], 214
    )
    turn = found["state"]["turn"]
    assert (turn["due"], turn["other_ready"]) == (True, False)
    assert turn["helps"]
    for key in (*turn["helps"], f"bed.turn.{turn['reason']}", "bed.turn.not_ready", "bed.turn.title"):
        for language in words.LANGUAGES:
            assert key in words.catalogue(language)


def test_where_many_worms_stay_the_harvest_is_to_be_taken_in_passes() -> None:
    switch = entry("switch", 60 * DAY, station="bed", side="b")
    log = [
        *feeds(range(1, 60, 2)),
        *(read(day) for day in range(2, 150, 3)),
        switch,
        *feeds(range(61, 150, 2), "b"),
    ]
    found = bed([*log, *scoops(140, 6, 10), *scoops(149, 6, 10)], 150)
    harvest = [one for one in found["jobs"] if one["what"] == "harvest_castings"]
    assert [one["because"]["key"] for one in harvest] == ["bed.job.scrape_in_passes"]
    assert "stragglers" in [one["code"] for one in found["warnings"]]


def test_until_worms_are_counted_a_ration_says_that_nobody_has() -> None:
    before, after = (bed([*feeds(range(1, 5)), *more], 6)["ration"] for more in ([], scoops(5, 12, 5)))
    assert before["limit"] == after["limit"]
    for language in words.LANGUAGES:
        said = [
            words.say(f"app.limit.{one['limit']}", one["because"]["values"], language)
            for one in (before, after)
        ]
        assert said[0].startswith(said[1])
        assert said[0] != said[1]


def test_a_count_says_how_many_scoops_would_be_enough() -> None:
    switch = entry("switch", 60 * DAY, station="bed", side="b")
    log = [*feeds(range(1, 60, 2)), switch, *feeds(range(61, 80, 2), "b")]
    jobs = [bed([*log, *more], 80)["jobs"] for more in ([], scoops(75, 12, 5))]
    before, after = (next(one for one in some if one["what"] == "count_scoops") for some in jobs)
    assert before["because"]["values"]["scoops"] == 0
    needed = after["because"]["values"]["scoops"]
    assert needed >= 1
    for language in words.LANGUAGES:
        said = [
            words.say("bed.job.count_scoops", one["because"]["values"], language) for one in (before, after)
        ]
        assert said[1].startswith(said[0])
        assert needed == 1 or str(needed) in said[1]


def count_jobs(log: list[Raw], day: float) -> list[tuple[str, str | None, str]]:
    jobs = bed(log, day)["jobs"]
    return [(one["due"], one["side"], one["because"]["key"]) for one in jobs if one["what"] == "count_scoops"]


def test_a_count_of_one_side_asks_for_the_other_of_the_same_day() -> None:
    """A share is of two counts: one side alone tells nothing, so the other is asked for that day."""
    switch = entry("switch", 60 * DAY, station="bed", side="b")
    log = [*feeds(range(1, 60, 2)), switch, *feeds(range(61, 80, 2), "b")]
    fed, rest = scoops(79, 12, 5)
    before = count_jobs(log, 79.5)
    today = time(79 * DAY)[:10]
    assert count_jobs([*log, fed], 79.5) == [(today, "a", "bed.job.count_other_side")]
    assert count_jobs([*log, rest], 79.5) == [(today, "b", "bed.job.count_other_side")]
    # On the days after, one side still isn't a count: both are asked for as before.
    assert count_jobs([*log, fed], 80.5) == before
    ((due, _, key),) = count_jobs([*log, fed, rest], 79.5)
    assert (due > today, key) == (True, "bed.job.count_scoops")
    job = next(one for one in bed([*log, fed], 79.5)["jobs"] if one["what"] == "count_scoops")
    for language in words.LANGUAGES:
        both = words.say("app.job.count_scoops", {}, language)
        half = words.say("app.job.count_scoops", {**job["because"]["values"], "side": "West"}, language)
        assert "West" in half
        assert "West" not in both


# -- signs ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("sign", sorted(sources.table("worms")["signs"]))
def test_every_sign_can_be_noted_and_tells_its_cause_what_to_check_and_what_to_do(sign: str) -> None:
    row = sources.table("worms")["signs"][sign]
    assert row["source"] in sources.table("worms")["sources"]
    assert row["check"]
    (warning,) = (one for one in bed([seen(sign, 9)], 10)["warnings"] if one["code"] == sign)
    assert warning["level"] == row["level"]
    assert warning["remedies"]
    for language in words.LANGUAGES:
        assert words.say(warning["because"]["key"], warning["because"]["values"], language)
        for key in (warning["because"]["key"], *warning["remedies"]):
            assert key in words.catalogue(language)


# -- workings ------------------------------------------------------------------------------------


def figures(found: object, path: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Give everything that has a working, with where it stands."""
    if isinstance(found, dict):
        if "because" in found:
            yield path, found
        for name, one in found.items():
            yield from figures(one, f"{path}.{name}")
    elif isinstance(found, list):
        for number, one in enumerate(found):
            yield from figures(one, f"{path}.{number}")


def test_every_figure_opens_a_working_of_entries_and_constants_with_unit_source_and_confidence() -> None:
    switch = entry("switch", 60 * DAY, station="bed", side="b")
    log = [
        *setups(),
        *feeds(range(1, 60, 2)),
        *(read(day) for day in range(2, 80, 3)),
        switch,
        *feeds(range(61, 80, 2), "b"),
        *scoops(75, 12, 5),
        seen("sour_smell", 79),
    ]
    made = json.loads(json.dumps(plan(log, time(80 * DAY))))
    found = list(figures(made["stations"][0]))
    assert len(found) > 35
    known = {raw["id"] for raw in log}
    for path, one in found:
        working = one["because"]
        for language in words.LANGUAGES:
            assert working["key"] in words.catalogue(language), (path, working["key"])
        assert set(working["entries"]) <= known, path
        for name in working["constants"]:
            row = made["constants"][name]
            assert row["cite"], name
            assert row["unit"], name
            assert row["confidence"] in ("seen", "quoted", "computed", "practice", "memory"), name
    numbers = {path for path, one in found if "low" in one}
    for side in "ab":
        for name in ("scraps", "castings", "worms", "moisture", "temperature", "depth", "unfinished"):
            assert f".state.sides.{side}.{name}" in numbers


def test_what_to_log_next_is_asked_of_every_bed() -> None:
    assert asked(bed([], 10))
