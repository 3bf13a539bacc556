"""Gamma, normal and beta functions and quantiles, on the elementary ones of this package.

Relative error is under 1e-10 (the smaller tail, over the ranges each function states).
Equations: NIST Digital Library of Mathematical Functions (DLMF), by number beside the code.
"""

from collections.abc import Callable
from functools import lru_cache
from math import fsum, sqrt
from typing import Final

from fallowside.core.elementary import HALF_ULP, PI, SMALLEST, exp, log, log1p
from fallowside.core.errors import OutOfRange, require

__all__ = [
    "beta_cdf",
    "beta_quantile",
    "erf",
    "gamma_cdf",
    "log_gamma",
    "normal_cdf",
    "normal_quantile",
]

# --- gamma -------------------------------------------------------------------------------------

_EULER: Final = 0.5772156649015329  # DLMF 5.2.3
_HALF_LOG_TURN: Final = 0.5 * log(2.0 * PI)
_STIRLING: Final = (1 / 156, -691 / 360360, 1 / 1188, -1 / 1680, 1 / 1260, -1 / 360, 1 / 12)  # DLMF 5.11.1
_STIRLING_FROM: Final = 10.0
_MOST_TERMS: Final = 100_000
_REMEMBERED: Final = 256
"""A mixture asks for the same few shapes again and again."""


def _zeta_less_one(s: int) -> float:
    """Give ζ(s) − 1 for a whole s > 1, by Euler and Maclaurin from 32 on (DLMF 25.2.9)."""
    n = 32
    head = [1 / k**s for k in range(2, n)]
    tail = [1 / (n ** (s - 1) * (s - 1)), 1 / (2 * n**s), s / (12 * n ** (s + 1))]
    tail.append(-s * (s + 1) * (s + 2) / (720 * n ** (s + 3)))
    tail.append(s * (s + 1) * (s + 2) * (s + 3) * (s + 4) / (30240 * n ** (s + 5)))
    return fsum(head + tail)


# log Γ(2 + z) = (1 − γ) z + Σ (−1)^k (ζ(k) − 1) z^k / k, |z| < 2 (DLMF 5.7.3).
_NEAR_TWO: Final = [(-_zeta_less_one(k) if k % 2 else _zeta_less_one(k)) / k for k in range(28, 1, -1)]


@lru_cache(maxsize=_REMEMBERED)
def log_gamma(x: float) -> float:
    """Give the logarithm of the gamma function of x, x > 0.

    >>> log_gamma(1.0), log_gamma(2.0)
    (0.0, 0.0)
    """
    require("argument of log_gamma", x, SMALLEST, 1e300, "1")
    if x >= _STIRLING_FROM:
        return (x - 0.5) * log(x) - x + _HALF_LOG_TURN + _stirling_rest(x)
    if x < 0.5:
        return _log_gamma_above_two(x) - log(x) - log1p(x)
    if x < 1.5:
        return _log_gamma_above_two(x - 1.0) - log1p(x - 1.0)
    product = 1.0
    while x > 2.5:
        x -= 1.0
        product *= x
    return _log_gamma_above_two(x - 2.0) + log(product)


def _log_gamma_above_two(z: float) -> float:
    """Give log Γ(2 + z), |z| <= 1/2."""
    total = 0.0
    for term in _NEAR_TWO:
        total = total * z + term
    return z * (1.0 - _EULER) + z * z * total


@lru_cache(maxsize=_REMEMBERED)
def _stirling_rest(x: float) -> float:
    """Give what Stirling's formula leaves out of log Γ(x), x >= 10 (DLMF 5.11.1)."""
    square, total = 1.0 / (x * x), 0.0
    for term in _STIRLING:
        total = total * square + term
    return total / x


def _log_gamma_rise(x: float, by: float) -> float:
    """Give log Γ(x + by) − log Γ(x), x >= 10, without the cancellation of two large numbers."""
    rest = _stirling_rest(x + by) - _stirling_rest(x)
    return (x - 0.5) * log1p(by / x) + by * (log(x + by) - 1.0) + rest


def _log_less(ratio: float, u: float) -> float:
    """Give log(ratio) − u, ratio being 1 + u, with full digits where either of them is near zero."""
    if not -0.4 < u < 0.4:
        return log(ratio) - u
    s = u / (2.0 + u)
    square = s * s
    term, total, n = s * square, 0.0, 3
    while abs(term) > HALF_ULP * abs(total):
        total += term / n
        term, n = term * square, n + 2
    return 2.0 * total - u * s


def gamma_cdf(shape: float, x: float) -> float:
    """Give the share of a gamma distribution of scale 1 that lies below x: P(shape, x).

    Args:
        shape: 1e-6 to 1e8.
        x: From zero to 1e300.

    Source: series and continued fraction of DLMF 8.7.1 and 8.9.2.

    >>> round(gamma_cdf(1.0, 1.0), 12) == round(1.0 - exp(-1.0), 12)
    True
    """
    require("shape", shape, 1e-6, 1e8, "1")
    require("x", x, 0.0, 1e300, "1")
    return _gamma_tails(shape, x)[0]


def _gamma_tails(a: float, x: float) -> tuple[float, float]:
    """Give P(a, x) and Q(a, x); the smaller one to full relative precision."""
    if x == 0.0:
        return 0.0, 1.0
    if a >= _STIRLING_FROM:
        front = sqrt(0.5 * a / PI) * exp(a * _log_less(x / a, (x - a) / a) - _stirling_rest(a))
    else:
        front = exp(a * log(x) - x - log_gamma(a))
    if x < a + 1.0:
        term = total = 1.0 / a
        n = a
        while term > HALF_ULP * total:
            n += 1.0
            term *= x / n
            total += term
        lower = min(front * total, 1.0)
        return lower, 1.0 - lower
    upper = front * _fraction(x + 1.0 - a, lambda n: (-n * (n - a), x + 2.0 * n + 1.0 - a))
    return 1.0 - upper, upper


def _fraction(first: float, part: Callable[[int], tuple[float, float]]) -> float:
    """Give 1/(first + a₁/(b₁ + a₂/(b₂ + …))) by W. J. Lentz's rule, `part(n)` being (aₙ, bₙ)."""
    tiny = 1e-300
    d = 1.0 / (first or tiny)
    total, c = d, 1.0 / tiny
    for n in range(1, _MOST_TERMS):
        over, under = part(n)
        d = 1.0 / (under + over * d or tiny)
        c = under + over / c or tiny
        change = c * d
        total *= change
        if abs(change - 1.0) < 2.0 * HALF_ULP:
            return total
    raise OutOfRange("terms of a continued fraction", _MOST_TERMS, 1, _MOST_TERMS - 1, "1")


# --- normal ------------------------------------------------------------------------------------

_SQRT_TURN: Final = sqrt(2.0 * PI)


def erf(x: float) -> float:
    """Give the error function of x.

    >>> erf(0.0), round(erf(1.0), 12)
    (0.0, 0.84270079295)
    """
    require("argument of erf", x, -1e150, 1e150, "1")
    if -1e-8 < x < 1e-8:  # x² would soon be too small for a float; the next term is x³/3
        return x * (2.0 / sqrt(PI))
    share = _gamma_tails(0.5, x * x)[0]
    return -share if x < 0.0 else share


# W. J. Cody, Rational Chebyshev approximations for the error function, Math. Comp. 23:631 (1969), in the
# form for the normal distribution. The coefficients are from memory; tests hold the result to scipy.
_MIDDLE: Final = (
    (
        0.065682337918207449113,
        2.2352520354606839287,
        161.02823106855587881,
        1067.6894854603709582,
        18154.981253343561249,
    ),
    (1.0, 47.20258190468824187, 976.09855173777669322, 10260.932208618978205, 45507.789335026729956),
)
_SHOULDER: Final = (
    (
        1.0765576773720192317e-8,
        0.39894151208813466764,
        8.8831497943883759412,
        93.506656132177855979,
        597.27027639480026226,
        2494.5375852903726711,
        6848.1904505362823326,
        11602.651437647350124,
        9842.7148383839780218,
    ),
    (
        1.0,
        22.266688044328115691,
        235.38790178262499861,
        1519.377599407554805,
        6485.558298266760755,
        18615.571640885098091,
        34900.952721145977266,
        38912.003286093271411,
        19685.429676859990727,
    ),
)


def normal_cdf(z: float) -> float:
    """Give the share of the standard normal distribution that lies below z.

    >>> normal_cdf(0.0)
    0.5
    """
    require("z", z, -1e150, 1e150, "1")
    y = -z if z < 0.0 else z
    if y <= 0.67448975:
        return 0.5 + z * _ratio(_MIDDLE, z * z)
    if y > 5.656854:
        tail = 0.5 * _gamma_tails(0.5, 0.5 * z * z)[1]
    else:
        # exp(-y²/2), split so that the first square is exact.
        near = float(int(y * 16.0)) / 16.0
        tail = _ratio(_SHOULDER, y) * exp(-0.5 * near * near) * exp(-0.5 * (y - near) * (y + near))
    return tail if z < 0.0 else 1.0 - tail


def _ratio(parts: tuple[tuple[float, ...], tuple[float, ...]], x: float) -> float:
    top = under = 0.0
    for above, below in zip(*parts, strict=True):
        top, under = top * x + above, under * x + below
    return top / under


def normal_quantile(share: float) -> float:
    """Give the z below which `share` of the standard normal distribution lies, 0 < share < 1.

    Starts from a rational approximation (Abramowitz and Stegun 1964, 26.2.23, within 4.5e-4) and
    takes Newton steps, on the logarithm of the share in the tails.

    >>> normal_quantile(0.5), round(normal_quantile(0.9), 12)
    (0.0, 1.281551565545)
    """
    require("share", share, 1e-300, 1.0 - HALF_ULP, "1")
    if share > 0.5:
        return -_normal_tail(1.0 - share, share - 0.5)
    return _normal_tail(share, 0.5 - share)


def _normal_tail(share: float, to_middle: float) -> float:
    """Give the z <= 0 with `share` below it and `to_middle` between it and zero."""
    if to_middle < 0.25:
        z = 0.0 - to_middle * _SQRT_TURN
        for _ in range(6):
            missing = to_middle - 0.5 * _gamma_tails(0.5, 0.5 * z * z)[0]
            z -= missing * _SQRT_TURN * exp(0.5 * z * z)
        return z
    t = sqrt(-2.0 * log(share))
    top = 2.515517 + t * (0.802853 + t * 0.010328)
    z = top / (1.0 + t * (1.432788 + t * (0.189269 + t * 0.001308))) - t
    for _ in range(3):
        below = 0.5 * _gamma_tails(0.5, 0.5 * z * z)[1]
        z -= log(below / share) * below * _SQRT_TURN * exp(0.5 * z * z)
    return z


# --- beta --------------------------------------------------------------------------------------


def beta_cdf(a: float, b: float, x: float) -> float:
    """Give the share of the Beta(a, b) distribution that lies below x: Iₓ(a, b).

    Args:
        a, b: 1e-6 to 1e8.
        x: 0 to 1.

    Source: continued fraction of A. R. DiDonato and A. H. Morris, ACM TOMS 18:360 (1992), the even
    part of DLMF 8.17.22, free of its cancellation.

    >>> beta_cdf(1.0, 1.0, 0.25), round(beta_cdf(2.0, 3.0, 0.5), 12)
    (0.25, 0.6875)
    """
    _require_beta(a, b)
    require("x", x, 0.0, 1.0, "1")
    return _beta_tails(a, b, x, 1.0 - x)[0]


def _require_beta(a: float, b: float) -> None:
    require("a of the beta distribution", a, 1e-6, 1e8, "1")
    require("b of the beta distribution", b, 1e-6, 1e8, "1")


def _beta_front(a: float, b: float, x: float, y: float) -> float:
    """Give x^a · y^b / B(a, b), y being 1 − x."""
    if a >= _STIRLING_FROM and b >= _STIRLING_FROM:
        off, both = x * b - y * a, a + b
        exponent = a * _log_less(x * (both / a), off / a) + b * _log_less(y * (both / b), -off / b)
        rest = _stirling_rest(both) - _stirling_rest(a) - _stirling_rest(b)
        return sqrt(0.5 * a / PI * (b / both)) * exp(exponent + rest)
    low, high = min(a, b), max(a, b)
    if high >= _STIRLING_FROM:
        size = log_gamma(low) - _log_gamma_rise(high, low)
    else:
        size = log_gamma(low) + log_gamma(high) - log_gamma(a + b)
    log_x = log(x) if x < 0.5 else log1p(-y)
    log_y = log(y) if y < 0.5 else log1p(-x)
    return exp(a * log_x + b * log_y - size)


def _beta_tails(a: float, b: float, x: float, y: float) -> tuple[float, float]:
    """Give Iₓ(a, b) and what is above x, y being 1 − x; the smaller to full relative precision."""
    if x <= 0.0 or y <= 0.0:
        return (0.0, 1.0) if x <= 0.0 else (1.0, 0.0)
    if x * (b + 1.0) > y * (a + 1.0):
        return _beta_tails(b, a, y, x)[::-1]

    lead = a * y - b * x + 1.0

    def part(n: int) -> tuple[float, float]:
        at, turn = a + 2.0 * n, n * (b - n) * x / (a + 2.0 * n - 1.0)
        over = turn * (a + n - 1.0) * (a + b + n - 1.0) * x / (at - 1.0)
        return over, n + turn + (a + n) / (at + 1.0) * (lead + n + n * y)

    lower = min(_beta_front(a, b, x, y) * _fraction(a * lead / (a + 1.0), part), 1.0)
    return lower, 1.0 - lower


def beta_quantile(a: float, b: float, share: float) -> float:
    """Give the x below which `share` of the Beta(a, b) distribution lies.

    Newton's rule on the logarithm of the smaller tail against log(x/(1 − x)): both tails are
    log-concave in that variable, so each step from either side lands on the near side of the root.

    Args:
        a, b: 1e-6 to 1e8.
        share: Above 0 and below 1.

    >>> round(beta_quantile(1.0, 1.0, 0.3), 12), round(beta_quantile(2.0, 3.0, 0.6875), 12)
    (0.3, 0.5)
    """
    _require_beta(a, b)
    require("share", share, 1e-300, 1.0 - HALF_ULP, "1")
    if share > 0.5:
        return _logistic(-_beta_logit(b, a, 1.0 - share))
    return _logistic(_beta_logit(a, b, share))


def _logistic(t: float) -> float:
    if t < 0.0:
        return exp(t) / (1.0 + exp(t))
    return 1.0 / (1.0 + exp(-t))


def _beta_logit(a: float, b: float, share: float) -> float:
    """Give log(x/(1 − x)) for the x below which `share` <= 1/2 lies; beyond ±740 only the side counts."""
    limit, centre = 740.0, log(a / b)
    t = centre + normal_quantile(share) * sqrt(1.0 / a + 1.0 / b)
    t = max(-limit, min(t, limit))
    for _ in range(100):
        x, y = _logistic(t), _logistic(-t)
        below = _beta_tails(a, b, x, y)[0]
        if below < 1e-290:  # nothing is left of so far a tail: come half-way back
            t = 0.5 * (t + centre)
            continue
        step = log(below / share) * below / _beta_front(a, b, x, y)
        t -= step
        if not -limit < t < limit or abs(step) <= 4.0 * HALF_ULP * abs(t):
            break
    return t
