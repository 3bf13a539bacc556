"""Entries: what a person did, saw or set up; how one is checked and read.

An entry is a JSON object with an envelope (`id kind at` and, as the kind asks, `station side noted_at
by device note`) and the fields of its kind. `core/data/entries.toml` says which kinds and fields
there are. `problem` is the one judge of a good entry: the phone, the API, the command line and the
fold all ask it. Kinds and fields it does not know come from a newer phone: they pass, untouched.
"""

import dataclasses
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from math import isfinite
from typing import Any, NamedTuple

from fallowside.core import drying, sources, units
from fallowside.core.errors import FallowsideError

DAY_US = 86_400_000_000
FUTURE_US = 15 * 60 * 1_000_000
"""An entry may lie this far ahead of the reader's clock before it is taken for a slip."""

_CLOCK = r"([01]\d|2[0-3]):[0-5]\d"
"""Said here, since what Python reads of `24:00` and of `+02:60` differs between its versions."""
_TIME = re.compile(rf"\d{{4}}-\d\d-\d\dT{_CLOCK}(:[0-5]\d(\.\d{{1,6}})?)?(Z|[+-]{_CLOCK})")
_DAY = re.compile(r"\d{4}-\d\d-\d\d")
_ID = re.compile(r"[0-9A-Za-z][0-9A-Za-z_.:-]{0,63}")
_YEARS = (2000, 2100)
_TO_THE_SECOND = len("2026-03-01T07:30:00+02:00")
_MIDNIGHTS: dict[str, tuple[int, int]] = {}
"""Local midnights met so far, by date and offset: the instant [microseconds] and the local day."""
_CLOCKS: dict[str, int] = {}
"""Times of day met so far. [microseconds since local midnight]"""
_MOST_DAYS = 100_000
OBJECT = (dict, Mapping)
"""What JSON's object may be; the plain one first, since that is quick to tell."""
_NUMBER = (int, float)
_NOTE_LENGTH = 4000
_NAMES = ("id", "kind")
_TEXTS = ("station", "side", "by", "device", "noted_at", "note")
_TEXT_LENGTH = 200
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


class Moment(NamedTuple):
    """An instant with the local day it fell on.

    Attributes:
        us: Microseconds since 1970-01-01T00:00Z.
        day: Local civil day as a proleptic ordinal (1 is 0001-01-01).
        text: As written, RFC 3339 with offset.
    """

    us: int
    day: int
    text: str


class Entry(NamedTuple):
    """One entry, read: its envelope as attributes, its own fields in `data` as entered.

    A named tuple, since a log has a hundred thousand of them and a frozen dataclass takes four times
    as long to make. Entries sort by time, then id.
    """

    us: int
    id: str
    kind: str
    station: str
    side: str
    day: int
    by: str
    data: Mapping[str, Any]


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


_made: Callable[[type[Entry], tuple[Any, ...]], Entry] = tuple.__new__


@cache
def spec() -> Mapping[str, Any]:
    """Give the description of all kinds: tables `kinds`, `setup` and `bounds`."""
    return sources.table("entries")


def moment(text: str) -> Moment:
    """Read an RFC 3339 time with offset.

    Raises:
        ValueError: not such a time, or a year outside 2000 to 2100.

    >>> moment("2026-03-01T07:30:00+02:00").us
    1772343000000000
    """
    return Moment(*_instant(text), text)


def _instant(text: str) -> tuple[int, int]:
    """Read a time as instant [microseconds] and local day [ordinal]; raises as `moment` does."""
    if text.__class__ is str and len(text) == _TO_THE_SECOND:
        midnight, clock_us = _MIDNIGHTS.get(text[:10] + text[19:]), _CLOCKS.get(text[10:19])
        if midnight is not None and clock_us is not None:
            return midnight[0] + clock_us, midnight[1]
    if not isinstance(text, str) or _TIME.fullmatch(text) is None:
        raise ValueError(f"{text!r} is not a time such as 2026-03-01T07:30:00+02:00")
    read = datetime.fromisoformat(text)
    if not _YEARS[0] <= read.year <= _YEARS[1]:
        raise ValueError(f"the year {read.year} is not between {_YEARS[0]} and {_YEARS[1]}")
    us, day = round(read.timestamp() * 1e6), read.toordinal()
    if len(text) == _TO_THE_SECOND and len(_MIDNIGHTS) < _MOST_DAYS:
        clock_us = ((read.hour * 60 + read.minute) * 60 + read.second) * 1_000_000
        _CLOCKS[text[10:19]] = clock_us
        _MIDNIGHTS[text[:10] + text[19:]] = us - clock_us, day
    return us, day


def is_name(value: object) -> bool:
    """Tell whether a value can be an id: 1 to 64 letters, digits or . _ : -"""
    return isinstance(value, str) and _ID.fullmatch(value) is not None


def read(raw: Mapping[str, Any]) -> Entry:
    """Read an entry that `problem` found good; the envelope's missing parts become ''."""
    return _read(raw, _instant(raw["at"]))


def _read(raw: Mapping[str, Any], at: tuple[int, int]) -> Entry:
    get, (us, day) = raw.get, at
    station, side, by = get("station") or "", get("side") or "", get("by") or ""
    # As `Entry(...)`, without the wrapper that a named tuple puts around it.
    return _made(Entry, (us, raw["id"], raw["kind"], station, side, day, by, raw))


def problem(raw: object, *, now_us: int | None = None, known: Known | None = None) -> Problem | None:
    """Say what is wrong with an entry, or nothing if it is good; arguments as in `examine`."""
    found = examine(raw, now_us=now_us, known=known)
    return found if isinstance(found, Problem) else None


def examine(raw: object, *, now_us: int | None = None, known: Known | None = None) -> Entry | Problem:
    """Judge an entry and read it in one pass.

    Args:
        raw: What JSON gave.
        now_us: The reader's clock, corrected for the writer's; None leaves future dates alone.
        known: What is set up at the place; None leaves pointers alone.

    Returns:
        The entry, read, or the first problem found, envelope first.
    """
    if not isinstance(raw, OBJECT):
        return Problem("not_an_object", "", "an entry is a JSON object; this is not one")
    at = _envelope(raw, now_us)
    if isinstance(at, Problem):
        return at
    return _content(raw, known) or _read(raw, at)


# -- envelope ------------------------------------------------------------------------------------


def _envelope(raw: Mapping[str, Any], now_us: int | None) -> tuple[int, int] | Problem:
    get = raw.get
    for name in _NAMES:
        value = get(name)
        if value.__class__ is not str or _ID.fullmatch(value) is None:
            return Problem(
                "bad_name", name, f"`{name}` is 1 to 64 letters, digits or . _ : - ; send one that is"
            )
    if "at" not in raw:
        return Problem("missing", "at", "`at` is missing: say when it happened")
    try:
        at = _instant(raw["at"])
    except ValueError as error:
        return Problem("bad_time", "at", f"`at`: {error}")
    if now_us is not None and at[0] > now_us + FUTURE_US:
        return Problem(
            "in_the_future",
            "at",
            f"`at` ({raw['at']}) lies in the future; check the date, or the phone's clock",
            {"at": raw["at"]},
        )
    for name in _TEXTS:
        value = get(name)
        if value.__class__ is not str and value is not None:
            return Problem("bad_type", name, f"`{name}` is text, not {_json_type(value)}")
    if len(get("note") or "") > _NOTE_LENGTH:
        return Problem("too_long", "note", f"a note holds at most {_NOTE_LENGTH} characters; shorten it")
    return at


# -- content of a kind ---------------------------------------------------------------------------


def _content(raw: Mapping[str, Any], known: Known | None) -> Problem | None:
    get, kind = raw.get, _kinds().get(raw["kind"])
    if kind is None:
        return None
    if kind.stations:
        found = _station(raw, kind, known)
        if found is not None:
            return found
    found = _fields(raw, kind, known, raw["kind"])
    if found is not None:
        return found
    for name in kind.some_of:
        if get(name) is not None:
            break
    else:
        if kind.some_of:
            names = ", ".join(kind.some_of)
            return Problem("missing", kind.some_of[0], f"give at least one of: {names}")
    if kind.stations:
        return None if known is None or "feedstock" not in raw else _volume(raw, known)
    if raw["kind"] == "setup":
        return _setup(raw, known)
    if raw["kind"] == "correction" and raw["action"] == "replace" and not raw.get("with"):
        return Problem("missing", "with", "`with` is missing: say which fields change, and to what")
    return None


def _fields(raw: Mapping[str, Any], kind: "_Kind", known: Known | None, of: str) -> Problem | None:
    for name, rule in kind.rules:
        value = raw.get(name)
        if value is None:
            if rule.required:
                return Problem("missing", name, f"`{name}` is missing from this {of} entry")
            continue
        found = rule.judge(name, value, rule, known)
        if found is not None:
            return found
    return None


def unfed(part: Mapping[str, Any], known: Known) -> Problem | None:
    """Say what is wrong with a part of a bucket, a feedstock and its amount, by the rules of a feed."""
    return _fields(part, _kinds()["feed"], known, "feed") or _volume(part, known)


def _station(raw: Mapping[str, Any], kind: "_Kind", known: Known | None) -> Problem | None:
    station = raw.get("station")
    if not station:
        return Problem("missing", "station", f"`station` is missing: say where this {raw['kind']} was")
    where = None
    if known is not None:
        where = known.stations.get(station)
        if where is None:
            return Problem(
                "unknown_station",
                "station",
                f"no station is called {station!r}; set it up first, or choose one that is there",
                {"station": station},
            )
        if where not in kind.stations and where in _station_types():
            return Problem(
                "wrong_station",
                "station",
                f"a {raw['kind']} entry is for a {' or '.join(kind.stations)}; {station!r} is a {where}",
                {"station": station, "type": where},
            )
    side = raw.get("side")
    if side and side not in ("a", "b"):
        return Problem("bad_choice", "side", "`side` is a or b", {"side": side})
    if kind.side and not side and (where == "bed" or kind.stations == ("bed",)):
        return Problem("missing", "side", "`side` is missing: say which side of the bed, a or b")
    return None


def _setup(raw: Mapping[str, Any], known: Known | None) -> Problem | None:
    rules = _setups().get(raw["what"], {})
    for name, value in raw["set"].items():
        rule = rules.get(name)
        if rule is None or value is None:
            continue
        found = rule.judge(name, value, rule, known)
        if found is not None:
            return Problem(found.code, f"set.{name}", found.message, found.values)
    if raw["what"] == "feedstock" and not drying.sound(raw["set"]):
        return Problem("bad_sample", "set.sample_dry", drying.UNSOUND)
    return None


def _volume(raw: Mapping[str, Any], known: Known) -> Problem | None:
    """Refuse a volume of something whose density nobody has given."""
    feedstock, amount = raw.get("feedstock"), raw.get("amount")
    if feedstock is None or feedstock in known.densities:
        return None
    if not isinstance(amount, OBJECT) or amount.get("container") in known.weighed:
        return None
    if "container" in amount or units.kind_of(amount["unit"]) == "volume":
        return Problem(
            "no_density",
            "amount",
            f"nobody has said how much a litre of {feedstock!r} weighs; weigh this once, or set it up",
            {"feedstock": feedstock},
        )
    return None


# -- rules, made once from the description -------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Rule:
    judge: "Callable[[str, Any, _Rule, Known | None], Problem | None]"
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


@dataclass(frozen=True, slots=True)
class _Kind:
    stations: tuple[str, ...]
    side: bool
    some_of: tuple[str, ...]
    rules: tuple[tuple[str, _Rule], ...]


def _rule(described: Mapping[str, Any]) -> _Rule:
    bounds = described.get("bounds")
    return _Rule(
        judge=_JUDGES[described["type"]],
        required=described.get("required", False),
        low=float(described.get("low", "-inf")),
        high=float(described.get("high", "inf")),
        bounds=spec()["bounds"][bounds] if bounds else {},
        choices=frozenset(described.get("choices", ())),
        refused=frozenset(described.get("refused", ())),
        open=described.get("open", False),
        of=described.get("of", ""),
        zero=described.get("zero", False),
        most=described.get("most", described.get("count", 0)),
    )


@cache
def _kinds() -> Mapping[str, _Kind]:
    return {
        name: _Kind(
            stations=tuple(kind.get("stations", ())),
            side=kind.get("side", False),
            some_of=tuple(kind.get("some_of", ())),
            rules=tuple((key, _rule(described)) for key, described in kind["fields"].items()),
        )
        for name, kind in spec()["kinds"].items()
    }


@cache
def _setups() -> Mapping[str, Mapping[str, _Rule]]:
    return {
        what: {key: _rule(described) for key, described in fields.items()}
        for what, fields in spec()["setup"].items()
    }


@cache
def _station_types() -> frozenset[str]:
    return frozenset(spec()["setup"]["station"]["type"]["choices"])


# -- judges: one for each type of field ----------------------------------------------------------


def _is_number(value: object) -> bool:
    return isinstance(value, _NUMBER) and not isinstance(value, bool) and isfinite(value)


def _json_type(value: object) -> str:
    names = {bool: "true or false", int: "a number", float: "a number", str: "text", type(None): "nothing"}
    return names.get(type(value), "a list" if isinstance(value, list) else "an object")


def _bad_type(name: str, wanted: str, value: object) -> Problem:
    return Problem("bad_type", name, f"`{name}` is {wanted}, not {_json_type(value)}")


def _text(name: str, value: Any, rule: _Rule, known: Known | None) -> Problem | None:
    if not isinstance(value, str):
        return _bad_type(name, "text", value)
    if len(value) > _TEXT_LENGTH:
        return Problem("too_long", name, f"`{name}` holds at most {_TEXT_LENGTH} characters; shorten it")
    return None


def _name(name: str, value: Any, rule: _Rule, known: Known | None) -> Problem | None:
    if known is not None and value.__class__ is str and value in known.feedstocks:
        return None
    if not isinstance(value, str) or _ID.fullmatch(value) is None:
        return Problem("bad_name", name, f"`{name}` is 1 to 64 letters, digits or . _ : - ; send one that is")
    if rule.of == "feedstock" and known is not None and value not in known.feedstocks:
        return Problem(
            "unknown_feedstock",
            name,
            f"nothing fed here is called {value!r}; set it up first, or choose one that is there",
            {"feedstock": value},
        )
    return None


def _choice(name: str, value: Any, rule: _Rule, known: Known | None) -> Problem | None:
    if not isinstance(value, str):
        return _bad_type(name, "text", value)
    if value in rule.refused:
        return Problem("never", name, _NEVER.format(value=value), {"value": value})
    if value not in rule.choices and not rule.open:
        listed = ", ".join(sorted(rule.choices))
        return Problem("bad_choice", name, f"`{name}` is one of: {listed}; not {value!r}", {"value": value})
    return None


def _choices(name: str, value: Any, rule: _Rule, known: Known | None) -> Problem | None:
    if not isinstance(value, list) or not value:
        return _bad_type(name, "a list with at least one word", value)
    return next((bad for one in value if (bad := _choice(name, one, rule, known)) is not None), None)


def _names(name: str, value: Any, rule: _Rule, known: Known | None) -> Problem | None:
    if not isinstance(value, list):
        return _bad_type(name, "a list of names", value)
    return next((bad for one in value if (bad := _name(name, one, rule, known)) is not None), None)


def _number(name: str, value: Any, rule: _Rule, known: Known | None) -> Problem | None:
    if not _is_number(value):
        return _bad_type(name, "a number", value)
    if not rule.low <= value <= rule.high:
        return _outside(name, value, rule.low, rule.high, "")
    return None


def _integer(name: str, value: Any, rule: _Rule, known: Known | None) -> Problem | None:
    if not isinstance(value, int) or isinstance(value, bool):
        return _bad_type(name, "a whole number", value)
    return _number(name, value, rule, known)


def _counts(name: str, value: Any, rule: _Rule, known: Known | None) -> Problem | None:
    if not isinstance(value, list) or not 1 <= len(value) <= rule.most:
        return _bad_type(name, f"a list of 1 to {rule.most} whole numbers", value)
    return next((bad for one in value if (bad := _integer(name, one, rule, known)) is not None), None)


def _numbers(name: str, value: Any, rule: _Rule, known: Known | None) -> Problem | None:
    if not isinstance(value, list) or len(value) != rule.most:
        return _bad_type(name, f"a list of {rule.most} numbers", value)
    return next((bad for one in value if (bad := _number(name, one, rule, known)) is not None), None)


def _flag(name: str, value: Any, rule: _Rule, known: Known | None) -> Problem | None:
    return None if isinstance(value, bool) else _bad_type(name, "true or false", value)


def _object(name: str, value: Any, rule: _Rule, known: Known | None) -> Problem | None:
    return None if isinstance(value, OBJECT) else _bad_type(name, "an object", value)


def _time(name: str, value: Any, rule: _Rule, known: Known | None) -> Problem | None:
    try:
        moment(value)
    except ValueError as error:
        return Problem("bad_time", name, f"`{name}`: {error}")
    return None


def _day(name: str, value: Any, rule: _Rule, known: Known | None) -> Problem | None:
    try:
        if isinstance(value, str) and _DAY.fullmatch(value):
            datetime.fromisoformat(value)
            return None
    except ValueError:
        pass
    return Problem("bad_time", name, f"`{name}` is a day such as 2026-03-01, not {value!r}")


def _quantity(name: str, value: Any, rule: _Rule, known: Known | None) -> Problem | None:
    if not isinstance(value, OBJECT) or "value" not in value or "unit" not in value:
        return _bad_type(name, 'an amount with its unit, such as {"value": 2.5, "unit": "kg"}', value)
    number, unit = value["value"], value["unit"]
    if not _is_number(number):
        return Problem("bad_type", f"{name}.value", f"the value of `{name}` is a number, not {number!r}")
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


def _amount(name: str, value: Any, rule: _Rule, known: Known | None) -> Problem | None:
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


_JUDGES: Mapping[str, Callable[[str, Any, _Rule, Known | None], Problem | None]] = {
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
