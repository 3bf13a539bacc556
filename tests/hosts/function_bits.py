"""What the functions of the core give at many points, to the bit; run by both hosts."""

import json
import random
from collections.abc import Callable

from fallowside.core import numeric

POINTS = 1000


def results() -> str:
    """Give, as JSON, the results of each function; a float is written so that it is read back the same."""
    dice = random.Random(20260615)
    spread = [dice.uniform(-1.0, 1.0) * float(f"1e{dice.randrange(-12, 3)}") for _ in range(POINTS)]
    positive = [abs(x) + 5e-324 for x in spread]
    inside = [dice.uniform(-1.0, 1.0) for _ in range(POINTS)]
    shares = [(abs(x) + 1e-9) / 2.0 for x in inside]
    functions: dict[str, tuple[Callable[[float], float], list[float]]] = {
        "exp": (numeric.exp, spread),
        "expm1": (numeric.expm1, spread),
        "log": (numeric.log, positive),
        "log1p": (numeric.log1p, positive),
        "power": (lambda x: numeric.power(x, 0.37), positive),
        "sin": (numeric.sin, spread),
        "cos": (numeric.cos, spread),
        "asin": (numeric.asin, inside),
        "acos": (numeric.acos, inside),
        "atan": (numeric.atan, spread),
        "log_gamma": (numeric.log_gamma, positive),
        "gamma_cdf": (lambda x: numeric.gamma_cdf(2.5, x), positive),
        "normal_cdf": (numeric.normal_cdf, spread),
        "normal_quantile": (numeric.normal_quantile, shares),
        "beta_cdf": (lambda x: numeric.beta_cdf(4.5, 2.5, x), shares),
        "beta_quantile": (lambda x: numeric.beta_quantile(4.5, 2.5, x), shares[:200]),
    }
    return json.dumps({name: [function(x) for x in at] for name, (function, at) in functions.items()})
