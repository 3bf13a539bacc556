"""Entries: what a person did, saw or set up; how one is checked and read.

An entry is a JSON object with an envelope (`id kind at` and, as the kind asks, `station side noted_at
by device note`) and the fields of its kind. `core/data/entries.toml` says which kinds and fields
there are. `problem` is the one judge of a good entry: the phone, the API, the command line and the
fold all ask it. Kinds and fields it does not know come from a newer phone: they pass, untouched.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, NamedTuple

from fallowside.core import drying, sources, units
from fallowside.core.fields import ID, OBJECT, Rule, json_type, rule_of
from fallowside.core.fields import Known as Known
from fallowside.core.fields import Problem as Problem
from fallowside.core.fields import is_name as is_name
from fallowside.core.instants import DAY_US as DAY_US
from fallowside.core.instants import Moment as Moment
from fallowside.core.instants import instant, instants
from fallowside.core.instants import moment as moment

FUTURE_US = 15 * 60 * 1_000_000
"""An entry may lie this far ahead of the reader's clock before it is taken for a slip."""

NOTE_LENGTH = 4000
_NAMES = ("id", "kind")
_PLAIN_NUMBERS = {int, float}
_AT_ONCE = 1000
"""Of so many entries alike one that is not good makes the others wait for a closer look."""
_TEXTS = ("station", "side", "by", "device", "noted_at", "note")
_TEXTUAL = ("id", "at", *_TEXTS)


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


Parted = Mapping[tuple[object, ...], Sequence[Mapping[str, Any]]]
"""Entries by what they have in common: kind, None where that is no text, and the names of their fields."""

_made: Callable[[type[Entry], tuple[Any, ...]], Entry] = tuple.__new__


@cache
def spec() -> Mapping[str, Any]:
    """Give the description of all kinds: tables `kinds`, `setup` and `bounds`."""
    return sources.table("entries")


def read(raw: Mapping[str, Any]) -> Entry:
    """Read an entry that `problem` found good; the envelope's missing parts become ''."""
    return _read(raw, instant(raw["at"]))


def _read(raw: Mapping[str, Any], at: tuple[int, int]) -> Entry:
    get, (us, day) = raw.get, at
    station, side, by = get("station") or "", get("side") or "", get("by") or ""
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


# -- many at once --------------------------------------------------------------------------------


def parted(raws: Iterable[Mapping[str, Any]]) -> Parted:
    """Part entries by kind and by the names of their fields."""
    found: defaultdict[tuple[object, ...], list[Mapping[str, Any]]] = defaultdict(list)
    for raw in raws:
        kind = raw.get("kind")
        found[(kind if kind.__class__ is str else None, *raw)].append(raw)
    return found


def examine_all(entries: Parted, known: Known) -> tuple[list[Entry], list[Mapping[str, Any]]]:
    """Judge and read many entries at once, those that are alike together.

    In a long log most entries are: each word, side and station is judged once for many of them.

    Returns:
        Entries found good, as `examine` would read them, in no order; and what only `examine` can tell.
    """
    good: list[Entry] = []
    rest: list[Mapping[str, Any]] = []
    for (kind, *fields), some in entries.items():
        for start in range(0, len(some), _AT_ONCE):
            part = some[start : start + _AT_ONCE]
            read_ = _examine_alike(str(kind), fields, part, known)
            if read_ is None:
                rest += part
            else:
                good += read_
    return good, rest


def _examine_alike(
    name: str, fields: Sequence[object], raws: Sequence[Mapping[str, Any]], known: Known
) -> list[Entry] | None:
    """Read entries of one kind with the same fields if all are good; None if not all are for sure."""
    kind = _kinds().get(name)
    if kind is None or not kind.stations or not _complete(kind, fields):
        return None
    columns = dict(zip(fields, zip(*[raw.values() for raw in raws], strict=True), strict=True))
    if not all(_are_text(columns[one]) for one in _TEXTUAL if one in columns):
        return None
    nothing = ("",) * len(raws)
    ids, stations, sides = columns["id"], columns["station"], columns.get("side", nothing)
    if not all(map(ID.fullmatch, ids)) or max(map(len, columns.get("note", nothing))) > NOTE_LENGTH:
        return None
    for station, side in set(zip(stations, sides, strict=True)):
        if _station({"kind": name, "station": station, "side": side}, kind, known) is not None:
            return None
    for field, rule in kind.rules:
        for value in _distinct(columns.get(field, ())):
            if value is None or rule.judge(field, value, rule, known) is not None:
                return None
    if kind.of_feedstock and not known.densities.issuperset(columns["feedstock"]):
        return None
    try:
        times, days = instants(columns["at"])
    except ValueError:
        return None
    return [
        # As `Entry(...)`, without the wrapper that a named tuple puts around it.
        _made(Entry, (us, id_, name, station, side, day, by, raw))
        for us, day, id_, station, side, by, raw in zip(
            times, days, ids, stations, sides, columns.get("by", nothing), raws, strict=True
        )
    ]


def _are_text(values: Sequence[Any]) -> bool:
    """Tell whether all of many values are text."""
    try:
        "".join(values)
    except TypeError:
        return False
    return True


def _distinct(values: Sequence[Any]) -> Iterable[Any]:
    """Give each of many values once where that is quick to tell: words, numbers, amounts in a unit."""
    types = set(map(type, values))
    if types <= {str} or types <= _PLAIN_NUMBERS:
        return set(values)
    if types == {dict} and all(len(one) == 2 and "value" in one and "unit" in one for one in values):
        numbers, names = [one["value"] for one in values], [one["unit"] for one in values]
        # By type, since true would be taken for 1.
        if set(map(type, numbers)) <= _PLAIN_NUMBERS and set(map(type, names)) == {str}:
            return dict(zip(zip(numbers, names, strict=True), values, strict=True)).values()
    return values


def _complete(kind: "_Kind", fields: Sequence[object]) -> bool:
    wanted = ("id", "at", "station", *(name for name, rule in kind.rules if rule.required))
    some = not kind.some_of or any(name in fields for name in kind.some_of)
    return some and all(name in fields for name in wanted)


# -- envelope ------------------------------------------------------------------------------------


def _envelope(raw: Mapping[str, Any], now_us: int | None) -> tuple[int, int] | Problem:
    get = raw.get
    for name in _NAMES:
        value = get(name)
        if value.__class__ is not str or ID.fullmatch(value) is None:
            return Problem(
                "bad_name", name, f"`{name}` is 1 to 64 letters, digits or . _ : - ; send one that is"
            )
    if "at" not in raw:
        return Problem("missing", "at", "`at` is missing: say when it happened")
    try:
        at = instant(raw["at"])
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
            return Problem("bad_type", name, f"`{name}` is text, not {json_type(value)}")
    if len(get("note") or "") > NOTE_LENGTH:
        return Problem("too_long", "note", f"a note holds at most {NOTE_LENGTH} characters; shorten it")
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
    if kind.some_of and all(get(name) is None for name in kind.some_of):
        return Problem("missing", kind.some_of[0], kind.without)
    if kind.stations:
        return _volume(raw, known) if kind.of_feedstock and known is not None else None
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
class _Kind:
    stations: tuple[str, ...]
    side: bool
    some_of: tuple[str, ...]
    without: str
    """What is said where none of those is there."""
    rules: tuple[tuple[str, Rule], ...]
    of_feedstock: bool
    """It moves an amount of a feedstock; a field of that name in another kind is a newer phone's."""


@cache
def _kinds() -> Mapping[str, _Kind]:
    return {
        name: _Kind(
            stations=tuple(kind.get("stations", ())),
            side=kind.get("side", False),
            some_of=tuple(kind.get("some_of", ())),
            without=kind.get("without", f"give at least one of: {', '.join(kind.get('some_of', ()))}"),
            rules=tuple(
                (key, rule_of(described, spec()["bounds"])) for key, described in kind["fields"].items()
            ),
            of_feedstock={"feedstock", "amount"} <= kind["fields"].keys(),
        )
        for name, kind in spec()["kinds"].items()
    }


@cache
def _setups() -> Mapping[str, Mapping[str, Rule]]:
    return {
        what: {key: rule_of(described, spec()["bounds"]) for key, described in fields.items()}
        for what, fields in spec()["setup"].items()
    }


@cache
def _station_types() -> frozenset[str]:
    return frozenset(spec()["setup"]["station"]["type"]["choices"])
