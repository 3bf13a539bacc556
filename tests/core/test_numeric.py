"""The functions of `numeric` against the C library (`math`) and `scipy.special`.

Elementary functions are held to units in the last place (ulp) of `math`. Measured over 60,000
points each on glibc 2.36: exp, expm1, log, power, sin, cos and atan within 1; log1p, asin and acos
within 2. The bound below is 2. Special functions are held to 1e-10, relative; measured 3e-13 or
better. Ranges keep clear of places where SciPy 1.17 itself is off: its gamma and beta functions of
large arguments (1e-6 at 1e6) and far tails, and gammaln at its zeros, were settled with 60 digits.
"""

import hashlib
import math
import struct
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import special  # type: ignore[import-untyped]

from fallowside.core import distributions, numeric
from fallowside.core.errors import OutOfRange

ULPS = 2.0


def ulps_apart(found: float, wanted: float) -> float:
    return abs(found - wanted) / math.ulp(wanted)


def spread(low: float, high: float) -> st.SearchStrategy[float]:
    """Give numbers whose sizes spread evenly over the decades from 10^low to 10^high, either sign."""
    sizes = st.floats(low, high).map(lambda decade: math.pow(10.0, decade))
    return st.tuples(st.sampled_from([-1.0, 1.0]), sizes).map(lambda both: both[0] * both[1])


# -- elementary ----------------------------------------------------------------------------------


@given(st.floats(-745.0, 709.78) | spread(-18, 2.8))
def test_exp_is_that_of_the_library(x: float) -> None:
    assert ulps_apart(numeric.exp(x), math.exp(x)) <= ULPS


@given(st.floats(-60.0, 709.78) | spread(-18, 1))
def test_expm1_is_that_of_the_library(x: float) -> None:
    assert ulps_apart(numeric.expm1(x), math.expm1(x)) <= ULPS


@given(st.floats(min_value=5e-324, allow_infinity=False) | st.floats(0.5, 2.0))
def test_log_is_that_of_the_library(x: float) -> None:
    assert ulps_apart(numeric.log(x), math.log(x)) <= ULPS


@given(st.floats(-1.0, 5.0, exclude_min=True) | spread(-18, -1) | spread(0, 300).map(abs))
def test_log1p_is_that_of_the_library(x: float) -> None:
    assert ulps_apart(numeric.log1p(x), math.log1p(x)) <= ULPS


@given(spread(-300, 300).map(abs) | st.floats(0.5, 2.0), st.floats(-1.0, 1.0))
def test_power_is_that_of_the_library_up_to_its_largest_results(x: float, share: float) -> None:
    y = share * (700.0 / abs(math.log(x)) if x != 1.0 else 1e300)
    assert ulps_apart(numeric.power(x, y), math.pow(x, y)) <= ULPS


@given(st.integers(0, 30), st.integers(0, 10))
def test_power_of_whole_numbers_is_exact_where_a_float_can_hold_it(x: int, y: int) -> None:
    whole = pow(x, y)
    if whole < 2**53:
        assert numeric.power(x, y) == whole


@given(st.floats(-1e6, 1e6) | st.integers(-600_000, 600_000).map(lambda n: n * math.pi / 2))
def test_sine_and_cosine_are_those_of_the_library(x: float) -> None:
    assert ulps_apart(numeric.sin(x), math.sin(x)) <= ULPS
    assert ulps_apart(numeric.cos(x), math.cos(x)) <= ULPS


@given(spread(-20, 20) | st.floats(-3.0, 3.0))
def test_arctangent_is_that_of_the_library(x: float) -> None:
    assert ulps_apart(numeric.atan(x), math.atan(x)) <= ULPS


@given(st.floats(-1.0, 1.0) | spread(-20, 0))
def test_arcsine_and_arccosine_are_those_of_the_library(x: float) -> None:
    assert ulps_apart(numeric.asin(x), math.asin(x)) <= ULPS
    assert ulps_apart(numeric.acos(x), math.acos(x)) <= ULPS


def test_pi_is_that_of_the_library() -> None:
    assert math.pi == numeric.PI


def test_edges_of_the_elementary_functions() -> None:
    assert numeric.exp(0.0) == 1.0
    assert numeric.exp(-math.inf) == 0.0
    assert numeric.exp(-745.0) == 5e-324
    assert numeric.expm1(0.0) == 0.0
    assert numeric.expm1(-math.inf) == -1.0
    assert numeric.log(1.0) == 0.0
    assert numeric.log(5e-324) == math.log(5e-324)
    assert numeric.log1p(0.0) == 0.0
    assert numeric.power(0.0, 0.0) == numeric.power(7.0, 0.0) == numeric.power(1.0, 1e308) == 1.0
    assert numeric.power(0.0, 3.0) == 0.0
    assert numeric.power(0.5, 1e300) == 0.0
    assert numeric.power(5e-324, 1.0) == 5e-324
    assert (numeric.sin(0.0), numeric.cos(0.0), numeric.atan(0.0), numeric.asin(0.0)) == (0.0, 1.0, 0.0, 0.0)
    assert (numeric.acos(1.0), numeric.acos(0.0)) == (0.0, math.pi / 2)


# -- special -------------------------------------------------------------------------------------


def close(found: float, wanted: float) -> bool:
    return found == pytest.approx(wanted, rel=1e-10, abs=1e-290)


@given(spread(-8, 8).map(abs) | st.floats(0.01, 20.0))
def test_log_gamma_is_that_of_the_library(x: float) -> None:
    """Near its zeros at 1 and 2 `math.lgamma` keeps only 1e-15 absolute; the next test looks there."""
    assert numeric.log_gamma(x) == pytest.approx(math.lgamma(x), rel=1e-10, abs=1e-15)


@given(st.floats(-1e-6, 1e-6), st.sampled_from([1.0, 2.0]))
def test_log_gamma_keeps_its_digits_at_its_zeros(step: float, zero: float) -> None:
    """Slopes at 1 and 2 are −γ and 1 − γ, curvatures π²/6 and π²/6 − 1 (DLMF 5.4.12, 5.15.1, 5.7.3)."""
    euler = 0.57721566490153286
    x = zero + step
    z = x - zero
    slope, curvature, third = (
        (-euler, math.pi * math.pi / 6.0, -2.0 * special.zeta(3.0))
        if zero == 1.0
        else (1.0 - euler, math.pi * math.pi / 6.0 - 1.0, -2.0 * (special.zeta(3.0) - 1.0))
    )
    wanted = z * (slope + z * (curvature / 2.0 + z * third / 6.0))
    assert numeric.log_gamma(x) == pytest.approx(wanted, rel=1e-10, abs=1e-300)


@given(st.floats(-6.0, 6.0) | spread(-280, 0))
def test_erf_is_that_of_scipy(x: float) -> None:
    assert close(numeric.erf(x), special.erf(x))


@given(st.floats(-36.0, 9.0))
def test_normal_cdf_is_that_of_scipy(z: float) -> None:
    assert close(numeric.normal_cdf(z), special.ndtr(z))


@given(st.floats(1e-15, 1.0 - 1e-15) | spread(-290, -1).map(abs))
def test_normal_quantile_is_that_of_scipy(share: float) -> None:
    assert close(numeric.normal_quantile(share), special.ndtri(share))


@given(spread(-2, 3.5).map(abs), st.floats(-4.0, 4.0))
def test_gamma_cdf_is_that_of_scipy(shape: float, steps: float) -> None:
    x = max(shape + steps * math.sqrt(shape), shape * 1e-3)
    assert close(numeric.gamma_cdf(shape, x), special.gammainc(shape, x))


counts = spread(-1, 4).map(abs)


@given(counts, counts, st.floats(-4.0, 4.0))
def test_beta_cdf_is_that_of_scipy(a: float, b: float, steps: float) -> None:
    mean = a / (a + b)
    x = min(max(mean + steps * math.sqrt(mean * (1.0 - mean) / (a + b + 1.0)), mean * 0.1), 1.0)
    assert close(numeric.beta_cdf(a, b, x), special.betainc(a, b, x))


@given(counts, counts, st.floats(1e-6, 1.0 - 1e-6))
def test_beta_quantile_is_that_of_scipy(a: float, b: float, share: float) -> None:
    assert close(numeric.beta_quantile(a, b, share), special.betaincinv(a, b, share))


@given(spread(-2, 6).map(abs), spread(-2, 6).map(abs), st.floats(1e-9, 1.0 - 1e-9))
def test_beta_quantile_undoes_beta_cdf(a: float, b: float, share: float) -> None:
    x = numeric.beta_quantile(a, b, share)
    if 1e-290 < x < 1.0 - 1e-6:  # nearer to 1 a float cannot hold x finely enough
        assert numeric.beta_cdf(a, b, x) == pytest.approx(share, rel=1e-7)


def test_zeta_is_that_of_scipy() -> None:
    for s in range(2, 29):
        assert distributions._zeta_less_one(s) == pytest.approx(special.zetac(s), rel=1e-14)


def test_ends_of_the_distributions() -> None:
    assert (numeric.beta_cdf(2.0, 3.0, 0.0), numeric.beta_cdf(2.0, 3.0, 1.0)) == (0.0, 1.0)
    assert numeric.gamma_cdf(2.0, 0.0) == 0.0
    assert numeric.gamma_cdf(2.0, 1e300) == 1.0
    assert (numeric.normal_cdf(-60.0), numeric.normal_cdf(60.0)) == (0.0, 1.0)
    assert numeric.beta_quantile(0.01, 0.01, 1e-9) == 0.0


# -- refusals ------------------------------------------------------------------------------------

Call = Callable[[], float]


@pytest.mark.parametrize(
    "call",
    [
        lambda: numeric.exp(math.nan),
        lambda: numeric.exp(709.8),
        lambda: numeric.exp(math.inf),
        lambda: numeric.expm1(math.nan),
        lambda: numeric.expm1(710.0),
        lambda: numeric.log(0.0),
        lambda: numeric.log(-1.0),
        lambda: numeric.log(math.inf),
        lambda: numeric.log(math.nan),
        lambda: numeric.log1p(-1.0),
        lambda: numeric.log1p(math.inf),
        lambda: numeric.power(-2.0, 2.0),
        lambda: numeric.power(0.0, -1.0),
        lambda: numeric.power(10.0, 309.0),
        lambda: numeric.power(math.nan, 0.0),
        lambda: numeric.power(2.0, math.inf),
        lambda: numeric.sin(math.inf),
        lambda: numeric.cos(1.1e6),
        lambda: numeric.atan(math.nan),
        lambda: numeric.asin(1.0000000000000002),
        lambda: numeric.acos(-1.1),
        lambda: numeric.log_gamma(0.0),
        lambda: numeric.log_gamma(-0.5),
        lambda: numeric.erf(math.nan),
        lambda: numeric.normal_cdf(math.inf),
        lambda: numeric.normal_quantile(0.0),
        lambda: numeric.normal_quantile(1.0),
        lambda: numeric.gamma_cdf(0.0, 1.0),
        lambda: numeric.gamma_cdf(1.0, -1e-9),
        lambda: numeric.beta_cdf(0.0, 1.0, 0.5),
        lambda: numeric.beta_cdf(1.0, 1.0, 1.1),
        lambda: numeric.beta_quantile(1.0, 1.0, 1.0),
        lambda: numeric.beta_quantile(1.0, math.inf, 0.5),
    ],
)
def test_what_has_no_finite_value_is_refused_in_words(call: Call) -> None:
    with pytest.raises(OutOfRange, match="; give a value from"):
        call()


# -- bits ----------------------------------------------------------------------------------------


def bits() -> str:
    """Give a digest of some 18,000 results, to the last bit."""
    grid = [n / 7.0 for n in range(-700, 701)]
    above = [x for x in grid if x > 0.0]
    rows = [f(x) for f in (numeric.exp, numeric.sin, numeric.cos, numeric.atan) for x in grid]
    rows += [numeric.expm1(x / 9.0) for x in grid] + [numeric.normal_cdf(x / 20.0) for x in grid]
    rows += [f(x / 100.1) for f in (numeric.asin, numeric.acos, numeric.erf) for x in grid]
    rows += [f(x) for f in (numeric.log, numeric.log_gamma) for x in above]
    rows += [numeric.log1p(x / 50.0) for x in above] + [numeric.power(x, 1.7) for x in above]
    rows += [numeric.gamma_cdf(x, 9.0) for x in above] + [numeric.beta_cdf(x, 3.0, 0.4) for x in above]
    rows += [numeric.normal_quantile(x / 101.0) for x in above]
    rows += [numeric.beta_quantile(x, 2.5, 0.9) for x in above]
    return hashlib.sha256(struct.pack(f"<{len(rows)}d", *rows)).hexdigest()


def test_every_host_gives_the_same_bits() -> None:
    """The digest is our own: it proves no digit right, only that this host agrees with the others. Seen
    alike on CPython 3.11, 3.12 and 3.13 on x86-64; the browser's Python is compared in tests/hosts."""
    assert bits() == "ad1c40b7de8f241bb557bfcc4f808cc0bdbfd04056619793d372535f5250b31e"
