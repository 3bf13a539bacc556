"""Every error the core raises, drawn as a tree.

FallowsideError
├── OutOfRange        a number outside the range in which a law holds
├── UnknownName       a material, unit, stage, climate … that nobody has described
├── BadBucket         a part of a bucket that can't be weighed, or that nobody knows
├── CannotMeet        a goal that no amount of the thing offered can reach
└── MixedBasis        wet, dry and volatile-solids figures put into one sum
"""

from collections.abc import Iterable, Mapping


class FallowsideError(Exception):
    """Base of all errors raised by the core; its text says what to do."""

    code = "error"


class OutOfRange(FallowsideError):
    """A value lies outside the range in which it has a meaning."""

    code = "out_of_range"

    def __init__(self, name: str, value: float, low: float, high: float, unit: str) -> None:
        super().__init__(f"{name} is {value:g} {unit}; give a value from {low:g} to {high:g} {unit}")
        self.name, self.value, self.low, self.high, self.unit = name, value, low, high, unit


class UnknownName(FallowsideError):
    """A name that is in no table; the text lists the names that are."""

    code = "unknown_name"

    def __init__(self, what: str, name: object, known: Iterable[str]) -> None:
        super().__init__(f"no {what} is called {name!r}; use one of: {', '.join(sorted(known))}")
        self.what, self.name = what, name


class BadBucket(FallowsideError):
    """A part of a bucket can't be used: which field of which part, and the numbers for the words."""

    def __init__(self, code: str, field: str, message: str, values: Mapping[str, object]) -> None:
        super().__init__(message)
        self.code, self.field, self.values = code, field, values


class CannotMeet(FallowsideError):
    """No amount of what is offered reaches the goal."""

    code = "cannot_meet"


class MixedBasis(FallowsideError):
    """Figures of different basis (wet, dry, volatile solids) meet in one sum."""

    code = "mixed_basis"


def require(name: str, value: float, low: float, high: float, unit: str) -> float:
    """Give `value` back if low <= value <= high, else raise `OutOfRange`. NaN is outside."""
    if not low <= value <= high:
        raise OutOfRange(name, value, low, high, unit)
    return value
