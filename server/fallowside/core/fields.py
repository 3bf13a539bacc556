"""Fields of an entry: one judge for each type of field that `core/data/entries.toml` names."""

import dataclasses
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from fallowside.core import units
from fallowside.core.errors import FallowsideError
from fallowside.core.instants import moment

_DAY = re.compile(r"\d{4}-\d\d-\d\d")
ID = re.compile(r"[0-9A-Za-z][0-9A-Za-z_.:-]{0,63}")
OBJECT = (dict, Mapping)
"""What JSON's object may be; the plain one first, since that is quick to tell."""
_NUMBER = (int, float)
TEXT_LENGTH = 200
_WEIGHT_NOT_VOLUME = ": mg is a weight of the drug in each litre of water, mL a volume; ask whoever gave it"
_NEVER = (
    "a fish that will be {value} never goes into this bath: it may not be eaten or let go with the drug "
    "in it; keep it in clean, aerated water"
)


@dataclass(frozen=True, slots=True)
class Problem:
    """Why an entry can't be used, which field to mend, and the numbers that go with the words."""

    code: str
    field: str
    message: str
    values: Mapping[str, Any] = dataclasses.field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Known:
    """What the place has set up, as far as an entry may point to it."""

    stations: Mapping[str, str]
    containers: frozenset[str]
    feedstocks: frozenset[str]
    densities: frozenset[str]
    """Feedstocks whose volume can be turned into a mass."""
    weighed: frozenset[str] = frozenset()
    """Containers that were weighed full: what fills them needs no density."""
    unmeasured: frozenset[str] = frozenset()
    """Containers of which nobody has said what they hold."""


def is_name(value: object) -> bool:
    """Tell whether a value can be an id: 1 to 64 letters, digits or . _ : -"""
    return isinstance(value, str) and ID.fullmatch(value) is not None


@dataclass(frozen=True, slots=True)
class Rule:
    """What `core/data/entries.toml` says of one field, and who judges it."""

    judge: "Callable[[str, Any, Rule, Known | None], Problem | None]"
    required: bool
    low: float
    high: float
    bounds: Mapping[str, Mapping[str, float]]
    choices: frozenset[str]
    refused: frozenset[str]
    open: bool
    of: str
    zero: bool
    most: int


def rule_of(described: Mapping[str, Any], bounds: Mapping[str, Any]) -> Rule:
    """Make a field's rule from its description; `bounds` are named in it."""
    named = described.get("bounds")
    return Rule(
        judge=_JUDGES[described["type"]],
        required=described.get("required", False),
        low=float(described.get("low", "-inf")),
        high=float(described.get("high", "inf")),
        bounds=bounds[named] if named else {},
        choices=frozenset(described.get("choices", ())),
        refused=frozenset(described.get("refused", ())),
        open=described.get("open", False),
        of=described.get("of", ""),
        zero=described.get("zero", False),
        most=described.get("most", described.get("count", 0)),
    )


# -- judges: one for each type of field ----------------------------------------------------------


def _is_number(value: object) -> bool:
    # Compared, since a whole number may be larger than any float, which `isfinite` can't take.
    return (
        isinstance(value, _NUMBER)
        and not isinstance(value, bool)
        and -units.LARGEST <= value <= units.LARGEST
    )


def json_type(value: object) -> str:
    """Say in plain words what a value of JSON is."""
    names = {bool: "true or false", int: "a number", float: "a number", str: "text", type(None): "nothing"}
    return names.get(type(value), "a list" if isinstance(value, list) else "an object")


def _no_number(value: object) -> str:
    """Say what stands where a number should."""
    if isinstance(value, _NUMBER) and not isinstance(value, bool):
        return "NaN" if value != value else "one as large as this"
    return json_type(value)


def _bad_type(name: str, wanted: str, value: object) -> Problem:
    return Problem("bad_type", name, f"`{name}` is {wanted}, not {json_type(value)}")


def _text(name: str, value: Any, rule: Rule, known: Known | None) -> Problem | None:
    if not isinstance(value, str):
        return _bad_type(name, "text", value)
    if len(value) > TEXT_LENGTH:
        return Problem("too_long", name, f"`{name}` holds at most {TEXT_LENGTH} characters; shorten it")
    return None


def _name(name: str, value: Any, rule: Rule, known: Known | None) -> Problem | None:
    if known is not None and value.__class__ is str and value in known.feedstocks:
        return None
    if not isinstance(value, str) or ID.fullmatch(value) is None:
        return Problem("bad_name", name, f"`{name}` is 1 to 64 letters, digits or . _ : - ; send one that is")
    if rule.of == "feedstock" and known is not None and value not in known.feedstocks:
        return Problem(
            "unknown_feedstock",
            name,
            f"nothing fed here is called {value!r}; set it up first, or choose one that is there",
            {"feedstock": value},
        )
    return None


def _choice(name: str, value: Any, rule: Rule, known: Known | None) -> Problem | None:
    if not isinstance(value, str):
        return _bad_type(name, "text", value)
    if value in rule.refused:
        return Problem("never", name, _NEVER.format(value=value), {"value": value})
    if value not in rule.choices and not rule.open:
        listed = ", ".join(sorted(rule.choices))
        return Problem("bad_choice", name, f"`{name}` is one of: {listed}; not {value!r}", {"value": value})
    return None


def _choices(name: str, value: Any, rule: Rule, known: Known | None) -> Problem | None:
    if not isinstance(value, list) or not value:
        return _bad_type(name, "a list with at least one word", value)
    return next((bad for one in value if (bad := _choice(name, one, rule, known)) is not None), None)


def _names(name: str, value: Any, rule: Rule, known: Known | None) -> Problem | None:
    if not isinstance(value, list):
        return _bad_type(name, "a list of names", value)
    return next((bad for one in value if (bad := _name(name, one, rule, known)) is not None), None)


def _number(name: str, value: Any, rule: Rule, known: Known | None) -> Problem | None:
    if not _is_number(value):
        return Problem("bad_type", name, f"`{name}` is a number, not {_no_number(value)}")
    if not rule.low <= value <= rule.high:
        return _outside(name, value, rule.low, rule.high, "")
    return None


def _integer(name: str, value: Any, rule: Rule, known: Known | None) -> Problem | None:
    if isinstance(value, float) and _is_number(value):
        return Problem(
            "not_whole", name, f"`{name}` is {value}; a whole number is asked for", {"value": value}
        )
    if not isinstance(value, int) or isinstance(value, bool):
        return _bad_type(name, "a whole number", value)
    return _number(name, value, rule, known)


def _counts(name: str, value: Any, rule: Rule, known: Known | None) -> Problem | None:
    if not isinstance(value, list) or not 1 <= len(value) <= rule.most:
        return _bad_type(name, f"a list of 1 to {rule.most} whole numbers", value)
    return next((bad for one in value if (bad := _integer(name, one, rule, known)) is not None), None)


def _numbers(name: str, value: Any, rule: Rule, known: Known | None) -> Problem | None:
    if not isinstance(value, list) or len(value) != rule.most:
        return _bad_type(name, f"a list of {rule.most} numbers", value)
    return next((bad for one in value if (bad := _number(name, one, rule, known)) is not None), None)


def _flag(name: str, value: Any, rule: Rule, known: Known | None) -> Problem | None:
    return None if isinstance(value, bool) else _bad_type(name, "true or false", value)


def _object(name: str, value: Any, rule: Rule, known: Known | None) -> Problem | None:
    return None if isinstance(value, OBJECT) else _bad_type(name, "an object", value)


def _time(name: str, value: Any, rule: Rule, known: Known | None) -> Problem | None:
    try:
        moment(value)
    except ValueError as error:
        return Problem("bad_time", name, f"`{name}`: {error}")
    return None


def _day(name: str, value: Any, rule: Rule, known: Known | None) -> Problem | None:
    try:
        if isinstance(value, str) and _DAY.fullmatch(value):
            datetime.fromisoformat(value)
            return None
    except ValueError:
        pass
    return Problem("bad_time", name, f"`{name}` is a day such as 2026-03-01, not {value!r}")


def _quantity(name: str, value: Any, rule: Rule, known: Known | None) -> Problem | None:
    if not isinstance(value, OBJECT) or "value" not in value or "unit" not in value:
        return _bad_type(name, 'an amount with its unit, such as {"value": 2.5, "unit": "kg"}', value)
    number, unit = value["value"], value["unit"]
    if not _is_number(number):
        said = f"the value of `{name}` is a number, not {_no_number(number)}"
        return Problem("bad_type", f"{name}.value", said)
    if not isinstance(unit, str):
        return _bad_type(f"{name}.unit", "text", unit)
    try:
        si, si_unit = units.to_si(number, unit)
    except FallowsideError as error:
        return Problem("bad_unit", f"{name}.unit", f"`{name}`: {error}", {"unit": unit})
    bound = rule.bounds.get(si_unit)
    if bound is None:
        wanted = " or ".join(units.symbol(known_unit) for known_unit in rule.bounds)
        amiss = _WEIGHT_NOT_VOLUME if si_unit == "L" and "mg/L" in rule.bounds else ""
        return Problem(
            "bad_unit",
            f"{name}.unit",
            f"`{name}` is measured in {wanted} or the like, not in {unit}{amiss}",
            {"unit": unit},
        )
    if not bound["low"] <= si <= bound["high"]:
        return _outside(name, si, bound["low"], bound["high"], units.symbol(si_unit))
    if si == 0.0 and si_unit in ("kg", "L") and not rule.zero and bound["low"] == 0.0:
        return Problem(
            "nothing", name, f"`{name}` is nothing; leave the entry out, or give an amount above 0"
        )
    return None


def _amount(name: str, value: Any, rule: Rule, known: Known | None) -> Problem | None:
    if not isinstance(value, OBJECT) or "container" not in value:
        return _quantity(name, value, rule, known)
    container, filled = value["container"], value.get("filled", 1.0)
    if known is not None and container not in known.containers:
        return Problem(
            "unknown_container",
            name,
            f"no container is called {container!r}; set it up first, or give a weight",
            {"container": container},
        )
    if known is not None and container in known.unmeasured:
        return Problem(
            "no_measure",
            name,
            f"nobody has said what the container {container!r} holds; set its volume or its full weight "
            "first, or give a weight",
            {"container": container},
        )
    if not _is_number(filled) or not 0.0 < filled <= 20.0:
        return Problem(
            "out_of_range", f"{name}.filled", f"`{name}` fills more than 0 and at most 20 containers"
        )
    return None


def _outside(name: str, value: float, low: float, high: float, unit: str) -> Problem:
    hint = ""
    if unit == "°C" and low <= (value - 32.0) * 5.0 / 9.0 <= high:
        hint = f" (if it was read in °F, that is {(value - 32.0) * 5.0 / 9.0:.0f} °C)"
    return Problem(
        "out_of_range",
        name,
        f"`{name}` is {value:g} {unit}".rstrip()
        + f"{hint}; it is believed from {low:g} to {high:g} {unit}".rstrip(),
        {"value": value, "low": low, "high": high, "unit": unit},
    )


_JUDGES: Mapping[str, Callable[[str, Any, Rule, Known | None], Problem | None]] = {
    "text": _text,
    "name": _name,
    "choice": _choice,
    "choices": _choices,
    "names": _names,
    "photos": _names,
    "number": _number,
    "integer": _integer,
    "counts": _counts,
    "numbers": _numbers,
    "flag": _flag,
    "object": _object,
    "time": _time,
    "day": _day,
    "quantity": _quantity,
    "amount": _amount,
}
