"""Development of the black soldier fly against published figures.

Fitted on: Chia et al. 2018, PLoS ONE 13(11):e0206097 (abstract), larva only. Never used in fitting, so
held out: Tomberlin, Adler, Myers 2009, Environ Entomol 38(3):930-934 (abstract); Harnden, Tomberlin 2016,
Forensic Sci Int 266:109-116 (abstract); the larval figure of Bangladesh J Zool 48(2):429-440, 2020
(abstract). Their errors are printed in docs/forecasts.md. Tolerances are those of the sources.
"""

import numpy as np
import pytest
from scipy.integrate import quad  # type: ignore[import-untyped]

from fallowside.core import soldierfly
from fallowside.core.soldierfly import curve, day_rate, degree_days, development_days, development_rate


def test_the_straight_line_of_the_fitted_study_gives_its_own_days() -> None:
    """Chia 2018: threshold 12.3 and 250 degree-days at 30 degC; 11.7 and 333 at 25 degC."""
    assert 250.0 / degree_days([(30.0, 30.0)], 12.3) == pytest.approx(14.1, abs=0.1)
    assert 333.0 / degree_days([(25.0, 25.0)], 11.7) == pytest.approx(25.0, abs=0.1)


@pytest.mark.parametrize(
    ("diet", "at_c", "days"), [("spent_grain_yeast", 25.0, 250.0 / 12.7), ("spent_grain", 25.0, 333.0 / 13.3)]
)
def test_the_curve_meets_the_line_where_it_is_anchored(diet: str, at_c: float, days: float) -> None:
    """Chia 2018, linear fits; the curve passes through them at 25 degC."""
    assert development_days("larva", at_c, diet).mid == pytest.approx(days, rel=1e-9)


@pytest.mark.parametrize(("diet", "at_30"), [("spent_grain_yeast", 14.1), ("spent_grain", 18.2)])
def test_the_range_at_30_degrees_holds_the_line_of_the_fitted_study(diet: str, at_30: float) -> None:
    """Chia 2018: 250/(30 - 12.3) and 333/(30 - 11.7) days."""
    span = development_days("larva", 30.0, diet)
    assert span.low < at_30 < span.high


def test_thresholds_and_upper_limit_lie_where_the_fitted_study_puts_them() -> None:
    """Chia 2018: larval thresholds 10.4 to 12.3 degC, thermal maxima 37.2 to 44.0 degC."""
    for diet in soldierfly.DIETS:
        assert development_rate("larva", 10.4 - 0.1, diet) == 0.0
        assert development_rate("larva", 12.3 + 0.1, diet) > 0.0
        assert development_rate("larva", 37.2 - 0.1, diet) > 0.0
        assert development_rate("larva", 44.0 + 0.1, diet) == 0.0


@pytest.mark.parametrize("diet", soldierfly.DIETS)
def test_held_out_from_27_to_30_degrees_time_shrinks_as_observed(diet: str) -> None:
    """Tomberlin 2009: larva and pupa together take 11 % longer at 27 than at 30 degC; tolerance 0.06."""
    ratio = development_rate("larva", 30.0, diet) / development_rate("larva", 27.0, diet)
    assert ratio == pytest.approx(1.11, abs=0.06)


def test_held_out_a_straight_line_would_shrink_it_too_much() -> None:
    """The same study: the straight line of the fitted one gives 1.20 and fails the same tolerance."""
    line = degree_days([(30.0, 30.0)], 12.3) / degree_days([(27.0, 27.0)], 12.3)
    assert line == pytest.approx(1.20, abs=0.005)
    assert line != pytest.approx(1.11, abs=0.06)


def test_held_out_whole_development_on_grain_at_27_and_30_degrees() -> None:
    """Tomberlin 2009: 4 d are 11 %, hence about 36 d at 30 and 40 d at 27 degC; both printed to one digit,
    so the totals are known to 15 %."""
    for at_c, days in ((27.0, 40.4), (30.0, 36.4)):
        total = sum(
            development_days(stage, at_c, "spent_grain").mid for stage in ("larva", "prepupa", "pupa")
        )
        assert total == pytest.approx(days, rel=0.15)


def test_held_out_larval_time_at_29_4_degrees() -> None:
    """Bangladesh J Zool 2020: 16.07 +- 2.59 d at 29.40 +- 1.77 degC; within one of its standard deviations,
    and its mean within our range."""
    span = development_days("larva", 29.4)
    assert span.mid == pytest.approx(16.07, abs=2.59)
    assert span.low < 16.07 < span.high


def test_held_out_warm_larvae_need_more_degree_days_than_cool_ones() -> None:
    """Harnden 2016: 8.7 % more degree-hours at 27.6 and 32.2 than at 24.9 degC, base not given in the
    abstract; a straight line would need the same. Direction only."""
    shape = curve("larva")

    def needed(at_c: float) -> float:
        return degree_days([(at_c, at_c)], shape.threshold_c) / shape.rate(at_c)

    assert 1.0 < (needed(27.6) + needed(32.2)) / 2.0 / needed(24.9) < 1.2


def test_eggs_stand_still_at_10_degrees() -> None:
    """J Insects Food Feed, embryonic development: 24 h at 10 degC pause the egg for a full day."""
    assert development_rate("egg", 10.0) == 0.0


def test_eggs_hatch_in_about_four_days_in_the_warm() -> None:
    """Bangladesh J Zool 2020: 4.36 +- 0.24 d at 29.40 +- 1.77 degC, so 27.6 to 31.2."""
    assert development_days("egg", 29.4).low < 4.36 < development_days("egg", 27.6).high


def test_a_lasting_36_degrees_is_lethal_and_30_is_not() -> None:
    """Tomberlin 2009: 0.1 % reach the adult at 36 degC, 74 to 97 % at 27 and 30."""
    assert soldierfly.lethal(36.0)
    assert not soldierfly.lethal(30.0)


def test_the_larva_is_the_longest_stage() -> None:
    """Chia 2018: the thermal constant of the larva is the largest of all stages."""
    for at_c in (20.0, 25.0, 30.0):
        larva = development_days("larva", at_c).mid
        assert all(development_days(stage, at_c).mid < larva for stage in ("egg", "prepupa", "pupa"))


def test_a_week_at_25_then_20_degrees_ends_the_larva_on_day_27_9() -> None:
    """Arithmetic on Chia 2018, line of the yeast diet: 7 x 12.7/250, the rest at 7.7/250 a day."""
    week = degree_days([(25.0, 25.0)] * 7, 12.3)
    rest = (250.0 - week) / degree_days([(20.0, 20.0)], 12.3)
    assert 7.0 + rest == pytest.approx(27.9, abs=0.1)


@pytest.mark.parametrize(
    ("low", "high", "threshold", "expected"),
    [(5.0, 25.0, 12.3, 4.65), (8.0, 18.0, 12.3, 1.96), (15.0, 35.0, 12.3, 12.70), (20.0, 20.0, 12.3, 7.70)],
)
def test_degree_days_of_a_sine_day(low: float, high: float, threshold: float, expected: float) -> None:
    """Integral of the positive part of a sine day, worked apart; the mean alone would give 2.70 and 0.70."""
    assert degree_days([(low, high)], threshold) == pytest.approx(expected, abs=0.005)


def test_degree_days_equal_the_integral_of_the_sine() -> None:
    """scipy.integrate.quad of max(0, T(t) - T0) over one day, split where the sine crosses the threshold."""
    rng = np.random.default_rng(5)
    for _ in range(60):
        low = rng.uniform(-5.0, 25.0)
        high = low + rng.uniform(0.1, 25.0)
        threshold = rng.uniform(low - 5.0, high + 5.0)
        mean, swing = (low + high) / 2.0, (high - low) / 2.0
        crossing = (threshold - mean) / swing
        points = None
        if abs(crossing) < 1.0:
            first = np.arcsin(crossing) / (2.0 * np.pi)
            points = sorted([first % 1.0, (0.5 - first) % 1.0])
        area, _ = quad(
            lambda t, m=mean, s=swing, c=threshold: max(0.0, m + s * np.sin(2.0 * np.pi * t) - c),
            0.0,
            1.0,
            points=points,
        )
        assert degree_days([(low, high)], threshold) == pytest.approx(area, abs=1e-7)


def test_a_sine_day_develops_as_its_rate_integrated() -> None:
    """scipy.integrate.quad of the curve over a sine day; 24 points are within 0.5 %."""
    shape = curve("larva")
    for low, high in ((14.0, 26.0), (5.0, 25.0), (25.0, 39.0), (20.0, 20.0)):
        area, _ = quad(
            lambda t, a=low, b=high: shape.rate((a + b) / 2.0 + (b - a) / 2.0 * np.sin(2.0 * np.pi * t)),
            0.0,
            1.0,
            limit=200,
        )
        assert day_rate("larva", low, high) == pytest.approx(area, rel=0.005)
