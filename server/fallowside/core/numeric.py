"""The numbers room: functions equal to the last bit on every host.

The C library's `exp`, `log` or `sin` may round differently on another processor, in another
library or in the browser, and a date can hang on that bit. IEEE 754 fixes only + − × ÷ and
`sqrt`; `math.floor`, `math.frexp` and whole-number arithmetic are exact. `elementary` and
`distributions` are made of these alone; everyone else takes their functions from here.
"""

from fallowside.core.distributions import (
    beta_cdf,
    beta_quantile,
    erf,
    gamma_cdf,
    log_gamma,
    normal_cdf,
    normal_quantile,
)
from fallowside.core.elementary import PI, acos, asin, atan, cos, exp, expm1, log, log1p, power, sin

__all__ = [
    "PI",
    "acos",
    "asin",
    "atan",
    "beta_cdf",
    "beta_quantile",
    "cos",
    "erf",
    "exp",
    "expm1",
    "gamma_cdf",
    "log",
    "log1p",
    "log_gamma",
    "normal_cdf",
    "normal_quantile",
    "power",
    "sin",
]
