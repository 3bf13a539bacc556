"""An estimate with its range."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Span:
    """A low, a middle and a high figure; 10 %, 50 % and 90 % unless said otherwise."""

    low: float
    mid: float
    high: float
