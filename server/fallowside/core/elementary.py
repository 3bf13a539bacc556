"""Exponential, logarithm, power and circle functions built from + − × ÷ and `sqrt`.

Read `numeric` for why. The tables are worked out in whole numbers when the module is read, so no
copied digit has to be trusted. Method: P. T. P. Tang's tables and short series (ACM TOMS 15:144,
1989, and 16:378, 1990). Results lie within 2 units in the last place of `math`; the tests say
what was measured. Nothing gives inf or NaN: what has no finite value raises `OutOfRange`.
"""

from math import factorial, floor, frexp, isqrt, sqrt
from typing import Final

from fallowside.core.errors import OutOfRange, require

__all__ = [
    "HALF_ULP",
    "LARGEST",
    "PI",
    "SMALLEST",
    "acos",
    "asin",
    "atan",
    "cos",
    "exp",
    "expm1",
    "log",
    "log1p",
    "power",
    "sin",
]

LARGEST: Final = float.fromhex("0x1.fffffffffffffp+1023")
SMALLEST: Final = float.fromhex("0x1p-1074")
HALF_ULP: Final = float.fromhex("0x1p-53")

# --- tables, in whole numbers scaled by _ONE ---------------------------------------------------

_ONE: Final = 1 << 136


def _odd_series(x: int, sign: int) -> int:
    """Sum x + sign·x³/3 + x⁵/5 + …: arctan x for sign −1, artanh x for sign +1."""
    total, term, n, here, square = 0, x, 1, 1, x * x // _ONE
    while term:
        total += here * (term // n)
        term, n, here = term * square // _ONE, n + 2, here * sign
    return total


def _pair(whole: int, bits: int | None = None) -> tuple[float, float]:
    """Give a scaled number as a float (its first `bits` only, if asked) and the float of the rest."""
    drop = 0 if bits is None else whole.bit_length() - bits
    head = (whole >> drop << drop) / _ONE
    numerator, denominator = head.as_integer_ratio()
    return head, (whole - numerator * (_ONE // denominator)) / _ONE


def _columns(pairs: list[tuple[float, float]]) -> tuple[list[float], list[float]]:
    return [head for head, _ in pairs], [rest for _, rest in pairs]


_LN2: Final = 2 * _odd_series(_ONE // 3, 1)
_PI: Final = 4 * (4 * _odd_series(_ONE // 5, -1) - _odd_series(_ONE // 239, -1))
PI: Final = _PI / _ONE

# exp: 2^(j/2048), j from 0 to 2047, by eleven square roots of two and then products.
_STEPS: Final = 2048


def _roots_of_two() -> list[tuple[float, float]]:
    root, whole, pairs = 2 * _ONE, _ONE, []
    for _ in range(_STEPS.bit_length() - 1):
        root = isqrt(root * _ONE)
    for _ in range(_STEPS):
        pairs.append(_pair(whole))
        whole = whole * root // _ONE
    return pairs


_ROOT, _ROOT_REST = _columns(_roots_of_two())
_TWO_TO: Final = [1 / (1 << -k) if k < 0 else float(1 << k) for k in (*range(1024), *range(-1074, 0))]
_STEPS_PER_UNIT: Final = _STEPS * _ONE / _LN2
_STEP, _STEP_REST = _pair(_LN2 // _STEPS, 31)  # 31 bits: n · _STEP is exact for every n in use
_EXP_LOW, _EXP_HIGH, _EXP_ZERO = -708.0, 709.782712893384, -745.2

# log: ln(j/128), j from 90 to 181, from ln((j+1)/j) = 2·artanh(1/(2j+1)).


def _logs() -> list[tuple[float, float]]:
    rises = [2 * _odd_series(_ONE // (2 * j + 1), 1) for j in range(90, 181)]
    whole, pairs = -sum(rises[: 128 - 90]), [(0.0, 0.0)] * 90
    for rise in (*rises, 0):
        pairs.append(_pair(whole))
        whole += rise
    return pairs


_LOG, _LOG_REST = _columns(_logs())
_LN2_HEAD, _LN2_REST = _pair(_LN2, 32)
_SQRT_HALF: Final = sqrt(0.5)

# atan: arctan(j/16), j from 0 to 16, from arctan(j+1) − arctan(j) = arctan(16/(256 + j(j+1))).


def _arctans() -> list[tuple[float, float]]:
    whole, pairs = 0, []
    for j in range(17):
        pairs.append(_pair(whole))
        whole += _odd_series(16 * _ONE // (256 + j * (j + 1)), -1)
    return pairs


_ATAN, _ATAN_REST = _columns(_arctans())
_QUARTER, _QUARTER_REST = _pair(_PI // 2)

# sin and cos: π/2 in three parts, the first two of 33 bits so that n of them are exact.
_TURN_1 = _pair(_PI // 2, 33)[0]
_TURN_2, _TURN_3 = _pair(_PI // 2 - int(_TURN_1 * (1 << 40)) * (_ONE >> 40), 33)
_TURNS_PER_UNIT: Final = 2 * _ONE / _PI
_ANGLE_LIMIT: Final = 1e6


def _reciprocal_factorials(first: int, last: int) -> list[float]:
    """Give 1/first!, −1/(first + 2)!, … in the order in which Horner's rule takes them."""
    signs = [1 if (n - first) % 4 == 0 else -1 for n in range(first, last + 1, 2)]
    row = [sign / factorial(n) for sign, n in zip(signs, range(first, last + 1, 2), strict=True)]
    return row[::-1]


_SIN: Final = _reciprocal_factorials(3, 17)
_COS: Final = _reciprocal_factorials(4, 18)


# --- exponential, logarithm, power -------------------------------------------------------------


def exp(x: float) -> float:
    """Give e to the x: zero below -745.2, refused above 709.78 and for NaN.

    >>> exp(0.0), exp(1.0), exp(-1000.0)
    (1.0, 2.718281828459045, 0.0)
    """
    if not _EXP_LOW <= x < _EXP_HIGH:
        return _exp_sum(x, 0.0)
    n = floor(x * _STEPS_PER_UNIT + 0.5)
    r = x - n * _STEP - n * _STEP_REST
    root = _ROOT[n & 2047]
    return (root + root * (r + r * r * (0.5 + r * 0.16666666666666666))) * _TWO_TO[n >> 11]


def _exp_sum(x: float, rest: float) -> float:
    """Give exp(x + rest), `rest` far smaller than x; within 0.51 of a unit, over the whole range."""
    if not x <= _EXP_HIGH:
        raise OutOfRange("exponent", x, -LARGEST, _EXP_HIGH, "1")
    if x < _EXP_ZERO:
        return 0.0
    n = floor(x * _STEPS_PER_UNIT + 0.5)
    r = x - n * _STEP - n * _STEP_REST + rest
    root, k = _ROOT[n & 2047], n >> 11
    y = root + (_ROOT_REST[n & 2047] + root * (r + r * r * (0.5 + r * (1.0 + 0.25 * r) / 6.0)))
    return y * _TWO_TO[k] if k >= -1022 else y * _TWO_TO[k + 64] * _TWO_TO[-64]


def expm1(x: float) -> float:
    """Give e to the x, less one, without losing digits near zero.

    >>> expm1(1e-20), expm1(-50.0)
    (1e-20, -1.0)
    """
    if x < -40.0:
        return -1.0
    if not x < _EXP_HIGH:
        return _exp_sum(x, 0.0)
    n = floor(x * _STEPS_PER_UNIT + 0.5)
    r = x - n * _STEP - n * _STEP_REST
    scale = _TWO_TO[n >> 11]
    root = _ROOT[n & 2047] * scale
    rise = root * (r + r * r * (0.5 + r * (4.0 + r) / 24.0)) + _ROOT_REST[n & 2047] * scale
    high = root - 1.0
    return high + (rise + (root - high - 1.0)) if root >= 1.0 else high + rise


def log(x: float) -> float:
    """Give the natural logarithm of x, x > 0.

    >>> log(1.0), log(10.0)
    (0.0, 2.302585092994046)
    """
    if not 0.0 < x <= LARGEST:
        raise OutOfRange("argument of log", x, SMALLEST, LARGEST, "1")
    m, e = frexp(x)
    if m < _SQRT_HALF:
        m, e = m + m, e - 1
    j = floor(m * 128.0 + 0.5)
    near = j * 0.0078125
    f = m - near
    if j == 128 and e == 0:
        return _log_near_one(f)
    u = f / (m + near)
    v = u * u
    rest = u * v * (0.6666666666666666 + v * 0.4) + (_LOG_REST[j] + e * _LN2_REST)
    return e * _LN2_HEAD + (_LOG[j] + (u + u + rest))


def _log_near_one(f: float) -> float:
    """Give log(1 + f) for |f| <= 1/256 as f less a small correction, to keep every digit."""
    u = f / (2.0 + f)
    v = u * u
    return f - u * (f - v * (0.6666666666666666 + v * (0.4 + v * 0.2857142857142857)))


def log1p(x: float) -> float:
    """Give the natural logarithm of 1 + x, x > -1, without losing digits near zero.

    >>> log1p(1e-20)
    1e-20
    """
    if not -1.0 < x <= LARGEST:
        raise OutOfRange("argument of log1p", x, -1.0, LARGEST, "1")
    if -0.00390625 < x < 0.00390625:
        return _log_near_one(x)
    whole = 1.0 + x
    lost = x - (whole - 1.0) if x < 1.0 else 1.0 - (whole - x)
    return log(whole) + lost / whole


def power(x: float, y: float) -> float:
    """Give x to the y, x >= 0; 0 to the 0 is 1.

    The logarithm is carried in two floats, so that a large y does not magnify its rounding.

    >>> power(2.0, 10.0), power(10.0, -2.0), power(0.0, 0.5)
    (1024.0, 0.01, 0.0)
    """
    require("base", x, 0.0, LARGEST, "1")
    require("power", y, -LARGEST, LARGEST, "1")
    if y == 0.0 or x == 1.0:
        return 1.0
    if x == 0.0:
        require("power of zero", y, 0.0, LARGEST, "1")
        return 0.0
    high, low = _log_pair(x)
    if not -1000.0 < high * y < 1000.0:
        return _exp_sum(high * y, 0.0)
    product, error = _product(high, y)
    return _exp_sum(product, error + low * y)


def _product(a: float, b: float) -> tuple[float, float]:
    """Give a · b and what its rounding lost (T. J. Dekker, Numer. Math. 18:224, 1971)."""
    c, d = 134217729.0 * a, 134217729.0 * b
    a_high, b_high = c - (c - a), d - (d - b)
    a_low, b_low = a - a_high, b - b_high
    product = a * b
    return product, a_low * b_low - (((product - a_high * b_high) - a_low * b_high) - a_high * b_low)


def _log_pair(x: float) -> tuple[float, float]:
    """Give log x as a sum of two floats, good to about 2^-68 of it."""
    m, e = frexp(x)
    if m < _SQRT_HALF:
        m, e = m + m, e - 1
    j = floor(m * 128.0 + 0.5)
    near = j * 0.0078125
    f, whole = m - near, m + near
    lost = m - (whole - near) if near > m else near - (whole - m)
    u = f / whole
    product, error = _product(u, whole)
    u_rest = (f - product - error - u * lost) / whole
    v = u * u
    rest = u * v * (0.6666666666666666 + v * (0.4 + v * 0.2857142857142857))
    rest += _LOG_REST[j] + e * _LN2_REST + 2.0 * u_rest
    a = e * _LN2_HEAD + _LOG[j]
    rest += _LOG[j] - (a - e * _LN2_HEAD) if e else 0.0
    b = a + (u + u)
    rest += (u + u) - (b - a) if a else 0.0
    high = b + rest
    return high, rest - (high - b)


# --- circle ------------------------------------------------------------------------------------


def sin(angle_rad: float) -> float:
    """Give the sine of an angle in radians, within ±1e6.

    >>> sin(0.0), sin(PI / 2)
    (0.0, 1.0)
    """
    return _circle(angle_rad, 0)


def cos(angle_rad: float) -> float:
    """Give the cosine of an angle in radians, within ±1e6.

    >>> cos(0.0), cos(PI)
    (1.0, -1.0)
    """
    return _circle(angle_rad, 1)


def _circle(angle_rad: float, quarter: int) -> float:
    require("angle", angle_rad, -_ANGLE_LIMIT, _ANGLE_LIMIT, "rad")
    n = floor(angle_rad * _TURNS_PER_UNIT + 0.5)
    a, b = angle_rad - n * _TURN_1, n * _TURN_2
    c = a - b
    rest = (a - c) - b - n * _TURN_3
    r = c + rest
    rest -= r - c
    square, total = r * r, 0.0
    quarter = (quarter + n) & 3
    if quarter & 1:
        for term in _COS:
            total = total * square + term
        half = 0.5 * square
        high = 1.0 - half
        y = high + ((1.0 - high - half) + (square * square * total - r * rest))
    else:
        for term in _SIN:
            total = total * square + term
        y = r + (rest * (1.0 - 0.5 * square) - square * r * total)
    return -y if quarter & 2 else y


def atan(x: float) -> float:
    """Give the angle in radians whose tangent is x.

    >>> atan(1.0) == PI / 4
    True
    """
    require("tangent", x, -LARGEST, LARGEST, "1")
    if x < 0.0:
        return -atan(-x)
    if x > 1.0:
        return _QUARTER - (atan(1.0 / x) - _QUARTER_REST)
    j = floor(x * 16.0 + 0.5)
    near = j * 0.0625
    t = (x - near) / (1.0 + x * near) if j else x
    v = t * t
    series = v * (1.0 / 3.0 - v * (0.2 - v * (1.0 / 7.0 - v * (1.0 / 9.0 - v * (1.0 / 11.0 - v / 13.0)))))
    return _ATAN[j] + (t + (_ATAN_REST[j] - t * series))


def asin(x: float) -> float:
    """Give the angle in radians, -π/2 to π/2, whose sine is x.

    >>> asin(1.0) == PI / 2
    True
    """
    require("sine", x, -1.0, 1.0, "1")
    if x < 0.0:
        return -asin(-x)
    if x <= 0.7:
        return atan(x / sqrt((1.0 - x) * (1.0 + x)))
    return _QUARTER - (2.0 * asin(sqrt(0.5 * (1.0 - x))) - _QUARTER_REST)


def acos(x: float) -> float:
    """Give the angle in radians, 0 to π, whose cosine is x.

    >>> acos(1.0), acos(-1.0) == PI
    (0.0, True)
    """
    require("cosine", x, -1.0, 1.0, "1")
    if x > 0.5:
        return 2.0 * asin(sqrt(0.5 * (1.0 - x)))
    return _QUARTER - (asin(x) - _QUARTER_REST)
