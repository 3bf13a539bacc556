"""A small part of `tests.simulators.forecasts`, run with every test: few places, so wide bounds.

The full tables, of 200 beds and 60 bins, are in docs/forecasts.md; there the bounds are 75 to 85 %.
"""

from functools import cache
from pathlib import Path

import pytest

from tests.simulators import bed_calibration, forecasts, forecasts_page
from tests.simulators.bed_calibration import Forecast

PLACES = range(500, 505)
DAYS = 760


@cache
def measured() -> tuple[Forecast, ...]:
    return tuple(one for seed in PLACES for one in bed_calibration.forecasts(seed, DAYS, after=(5,)))


@pytest.mark.parametrize("what", ["harvest", "switch"])
def test_a_bed_s_intervals_hold_the_truth_about_as_often_as_they_say(what: str) -> None:
    share, among = bed_calibration.coverage(one for one in measured() if one.what == what)
    assert among >= 20
    assert 0.6 <= share <= 0.97


@pytest.mark.parametrize("what", ["harvest", "switch"])
def test_a_bed_s_intervals_narrow_as_turns_are_logged(what: str) -> None:
    assert forecasts_page.narrowed(measured(), what) <= 0.75


def test_what_was_measured_is_kept_and_not_measured_again(tmp_path: Path) -> None:
    path = tmp_path / "kept.jsonl"
    one = Forecast(1, "harvest", 0, 1, 2.0, 3.0, float("inf"), 5.0)
    assert forecasts.Kept(path).rows("bed 1", lambda: [one]) == forecasts.Kept(path).rows("bed 1", list)
