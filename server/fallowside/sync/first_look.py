"""A first look at entries as they were sent, in native code: it takes only what is good for sure.

The judge is `entries.problem`. The types are made from the description it judges by, the ends of a
quantity are tried on the judge itself, and of all entries alike in what they point to and in which
fields they have, the judge is asked of one. So nothing is known twice, and what is taken here the judge
would take (`tests/sync/test_first_look.py`). What is not taken may be as good: only the judge can tell.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache, reduce
from math import ceil, floor
from operator import attrgetter, or_
from typing import Annotated, Any, ClassVar, Literal

import msgspec
from msgspec import Meta

from fallowside.core import entries, fields, units
from fallowside.core.entries import FUTURE_US, Known
from fallowside.core.fields import Rule
from fallowside.core.instants import latest

Type = Any
"""A type made while the program runs."""
_MARGIN = 1e-9
"""Of a bound's span: an amount as near to its end as this is left to the judge."""
_OPTIONS: Mapping[str, Any] = {"forbid_unknown_fields": True, "gc": False}
"""A field nobody knows may hold what is not strict JSON."""


class Seen(msgspec.Struct):
    """An entry that was taken. It has the fields of its kind as well."""

    kind: ClassVar[str]
    id: str
    at: str


def look(bodies: Sequence[bytes], known: Known, now_us: int) -> list[Seen | None]:
    """Take, of entries as they were sent, those that are good for sure.

    Args:
        bodies: Each entry; what is not JSON is not taken.
        known: What is set up at the place.
        now_us: The reader's clock, corrected for the writer's. [microseconds]

    Returns:
        For each entry what was read of it, or None where only the judge can tell.
    """
    decode, found = _reader().decode, list[Seen | None]()
    for body in bodies:
        try:
            found.append(decode(body))
        except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
            found.append(None)
    taken = [one for one in found if one is not None]
    if taken and _named_and_past(taken, now_us) and _fitting(zip(found, bodies, strict=True), known):
        return found
    return [None] * len(found)


def names(bodies: Sequence[bytes]) -> list[str] | None:
    """Give the ids of entries as they were sent, or None if one has none for sure."""
    try:
        return [_read_name(body).id for body in bodies]
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        return None


class _Named(msgspec.Struct):
    id: str


_read_name = msgspec.json.Decoder(_Named).decode


def _named_and_past(taken: Sequence[Seen], now_us: int) -> bool:
    if not all(map(fields.ID.fullmatch, [one.id for one in taken])):
        return False
    try:
        return latest([one.at for one in taken]) <= now_us + FUTURE_US
    except ValueError:
        return False


def _fitting(found: Iterable[tuple[Seen | None, bytes]], known: Known) -> bool:
    """Ask the judge of one of all entries that are alike."""
    likeness = _likeness()
    each = {likeness[one.kind](one): body for one, body in found if one is not None}
    return all(entries.problem(msgspec.json.decode(body), known=known) is None for body in each.values())


# -- types, made once from the description -------------------------------------------------------


@cache
def _reader() -> msgspec.json.Decoder[Seen]:
    kinds = filter(None, (_kind(name, _types(name)) for name in entries.spec()["kinds"]))
    return msgspec.json.Decoder(reduce(or_, kinds))


@cache
def _likeness() -> Mapping[str, Callable[[Seen], object]]:
    """Give for each kind what tells its entries apart beside what their types say.

    That is what they point to, the unit of an amount, and whether a field is there of which some must be.
    """
    return {
        name: attrgetter(
            "kind",
            "station",
            "side",
            *(field for field, rule in kind["fields"].items() if "of" in rule),
            *(
                f"{field}.__class__"
                for field, rule in kind["fields"].items()
                if field in kind.get("some_of", ()) or rule["type"] == "amount"
            ),
        )
        for name, kind in entries.spec()["kinds"].items()
    }


def _types(name: str) -> dict[str, Type]:
    """Give the types of those fields of a kind that a type can tell."""
    described = entries.spec()["kinds"][name]["fields"]
    made = {field: _MAKERS.get(one["type"], _untold)(_rule(one)) for field, one in described.items()}
    return {field: one for field, one in made.items() if one is not None}


def _kind(name: str, types: Mapping[str, Type]) -> Type | None:
    """Make the type of a kind of entry, or give None if a field it must have is beyond types."""
    kind = entries.spec()["kinds"][name]
    must = [field for field, one in kind["fields"].items() if one.get("required")]
    if not kind["stations"] or not types.keys() >= set(must):
        return None
    return msgspec.defstruct(
        name,
        [
            ("station", str),
            *((field, types[field]) for field in must),
            *((field, str | None, None) for field in ("side", "noted_at", "by", "device")),
            ("note", Annotated[str, Meta(max_length=entries.NOTE_LENGTH)] | None, None),
            *((field, made | None, None) for field, made in types.items() if field not in must),
        ],
        bases=(Seen,),
        tag_field="kind",
        tag=name,
        namespace={"kind": name},
        **_OPTIONS,
    )


def _rule(described: Mapping[str, Any]) -> Rule:
    return fields.rule_of(described, entries.spec()["bounds"])


def _untold(rule: Rule) -> Type | None:
    return None


def _text(rule: Rule) -> Type | None:
    return Annotated[str, Meta(max_length=fields.TEXT_LENGTH)]


def _name(rule: Rule) -> Type | None:
    return str if rule.of else Annotated[str, Meta(pattern=rf"\A{fields.ID.pattern}\Z")]


def _names(rule: Rule) -> Type | None:
    return _list_of(_name(rule))


def _choice(rule: Rule) -> Type | None:
    if rule.open:
        return None if rule.refused else str
    return Literal[tuple(rule.choices - rule.refused)]


def _choices(rule: Rule) -> Type | None:
    one = _choice(rule)
    return one and _list_of(one, 1)


def _number(rule: Rule) -> Type | None:
    return Annotated[float, Meta(ge=rule.low, le=rule.high)]


def _integer(rule: Rule) -> Type | None:
    return Annotated[int, Meta(ge=ceil(rule.low), le=floor(rule.high))]


def _counts(rule: Rule) -> Type | None:
    return _list_of(_integer(rule), 1, rule.most)


def _list_of(one: Type, least: int = 0, most: int | None = None) -> Type:
    return Annotated[list[one], Meta(min_length=least, max_length=most)]


def _quantity(rule: Rule) -> Type | None:
    units_of = [(unit, si) for si in rule.bounds for unit in units.names(units.kind_of(si))]
    made = [_in_unit(unit, ends) for unit, si in units_of if (ends := _ends(rule, unit, si)) is not None]
    return reduce(or_, made) if made else None


@cache
def _in_unit(unit: str, ends: tuple[float, float]) -> Type:
    value = Annotated[float, Meta(ge=ends[0], le=ends[1])]
    return msgspec.defstruct(unit, [("value", value)], tag_field="unit", tag=unit, **_OPTIONS)


def _ends(rule: Rule, unit: str, si: str) -> tuple[float, float] | None:
    """Give two amounts the judge takes, and so all between them, for turning units keeps their order."""
    low, high = (units.convert(rule.bounds[si][end], si, unit) for end in ("low", "high"))
    margin = (high - low) * _MARGIN
    ends = low + margin, high - margin
    good = all(rule.judge("", {"value": end, "unit": unit}, rule, None) is None for end in ends)
    return ends if good else None


_MAKERS: Mapping[str, Callable[[Rule], Type | None]] = {
    "text": _text,
    "name": _name,
    "names": _names,
    "photos": _names,
    "choice": _choice,
    "choices": _choices,
    "number": _number,
    "integer": _integer,
    "counts": _counts,
    "quantity": _quantity,
    "amount": _quantity,
}
