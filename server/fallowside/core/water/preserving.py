"""Fish smoked, salted, chilled or frozen: a log held against published critical limits.

It says where a batch falls short of a limit. It never says that a batch is safe: that hangs on the
fish, the probe, the salt inside and every hour since, none of which a log can see.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Final, NamedTuple

from fallowside.core import sources
from fallowside.core.entries import Entry
from fallowside.core.errors import require
from fallowside.core.place import Place
from fallowside.core.shapes import Value, Warning, because, figure
from fallowside.core.warned import Level
from fallowside.core.water.watershapes import PreserveState

_GRAVE: Final = ("danger", "caution", "note")
_PERCENT: Final = 100.0
_LEAST_PCT: Final = 1e-9
_SALTED: Final = frozenset({"hot_smoke", "cold_smoke", "salt"})
"""What is kept by the salt in it, among others."""
_KEEPS: Final[Mapping[str, str]] = {"hot_smoke": "pond.keep_days", "chill": "pond.raw_keep_days"}
"""How long what is kept in a refrigerator should be kept, where that is published."""


class Short(NamedTuple):
    """One limit a batch does not show to have met, the values to tell, and the constants."""

    code: str
    level: Level
    values: dict[str, Value]
    constants: tuple[str, ...]


def salt_in_water_pct(salt_pct: float, moisture_pct: float) -> float:
    """Give the salt in the water of a fish, which is what holds germs back.

    Args:
        salt_pct: Salt of the whole. [% wet], 0 to 100
        moisture_pct: Water of the whole. [% wet], 0 to 100

    Returns:
        100 salt / (salt + water). [%]

    Raises:
        OutOfRange: outside 0 to 100, or neither salt nor water.

    Source: definition, FDA Fish and Fishery Products Hazards and Controls Guidance, chapter 13.

    >>> round(salt_in_water_pct(2.5, 70.0), 2)
    3.45
    """
    require("salt", salt_pct, 0.0, _PERCENT, "%")
    require("water", moisture_pct, 0.0, _PERCENT, "%")
    require("salt and water together", salt_pct + moisture_pct, _LEAST_PCT, 2.0 * _PERCENT, "%")
    return _PERCENT * salt_pct / (salt_pct + moisture_pct)


def short_of(entry: Entry, place: Place, today: int) -> list[Short]:
    """Name the published limits that a batch does not show to have met by a day, the gravest first.

    A limit nothing was noted for counts as not met: what was not measured is not known.
    """
    return sorted(_short(entry, place, today), key=lambda one: _GRAVE.index(one.level))


def warnings(entries: Sequence[Entry], place: Place, today: int) -> list[Warning]:
    """Give the warnings of all batches that are not long past, each limit once, told of the newest."""
    told: dict[str, tuple[Short, list[str]]] = {}
    for batch in _batches(entries, place, today):
        for one in short_of(batch, place, today):
            told.setdefault(one.code, (one, []))[1].append(batch.id)
    return [
        {
            "code": f"preserve_{one.code}",
            "level": one.level,
            "side": None,
            "because": because(f"pond.warn.preserve_{one.code}", ids, [*one.constants], **one.values),
            "remedies": [f"pond.remedy.preserve_{one.code}"],
        }
        for one, ids in told.values()
    ]


def state(entries: Sequence[Entry], place: Place, today: int) -> list[PreserveState]:
    """Give what is known of the batches that are not long past, the newest first."""
    return [_state(batch, place, today) for batch in _batches(entries, place, today)]


def _state(batch: Entry, place: Place, today: int) -> PreserveState:
    data = batch.data
    salt = _salt(batch)
    return {
        "id": batch.id,
        "method": data["method"],
        "kg": None if data.get("mass") is None else figure(place.mass(data["mass"]).kg),
        "inside_c": None if data.get("inside") is None else figure(place.si(data["inside"])),
        "minutes": data.get("minutes"),
        "salt_in_water_pct": None if salt is None else figure(salt),
        "kept_at_c": None if data.get("kept_at") is None else figure(place.si(data["kept_at"])),
        "days": today - batch.day,
        "short_of": [one.code for one in short_of(batch, place, today)],
        "because": because("pond.preserve.because", [batch.id], _constants(batch, place)),
    }


def _constants(batch: Entry, place: Place) -> list[str]:
    """Name the limits a batch is held against, and no other."""
    method = batch.data["method"]
    smoked = ["pond.smoke_inside", "pond.smoke_inside_least", "pond.smoke_minutes"]
    limit = _keeps(batch, place)
    return [
        *(smoked if method == "hot_smoke" else []),
        *(["pond.salt_in_water"] if method in _SALTED else []),
        "pond.freeze" if method == "freeze" else "pond.chill",
        *([limit] if limit else []),
    ]


def _batches(entries: Sequence[Entry], place: Place, today: int) -> Iterator[Entry]:
    shown = int(_value("preserve_days"))
    for one in reversed(entries):
        if one.kind == "preserve":
            limit = _keeps(one, place)
            if today - one.day < shown + (int(sources.value(limit)) if limit else 0):
                yield one


def _keeps(entry: Entry, place: Place) -> str | None:
    """Name the constant that says how long a batch should be kept; None for what is frozen, or unknown."""
    kept_at = entry.data.get("kept_at")
    frozen = kept_at is not None and place.si(kept_at) <= _value("freeze")
    return None if frozen else _KEEPS.get(entry.data["method"])


def _salt(entry: Entry) -> float | None:
    salt, water = entry.data.get("salt_pct"), entry.data.get("moisture_pct")
    if salt is None or water is None or salt + water < _LEAST_PCT:
        return None
    return salt_in_water_pct(float(salt), float(water))


def _short(entry: Entry, place: Place, today: int) -> Iterator[Short]:
    data = entry.data
    method = data["method"]
    if method == "cold_smoke":
        yield Short("cold_smoke", "danger", {}, ("pond.smoke_inside_least",))
    if data.get("packing") == "vacuum":
        yield Short("vacuum", "danger", {}, ("pond.salt_in_water",))
    if method == "hot_smoke":
        yield from _smoked(entry, place)
    if method in _SALTED:
        yield from _salted(entry)
    kept_at = None if data.get("kept_at") is None else place.si(data["kept_at"])
    limit = _value("freeze") if method == "freeze" else _value("chill")
    constant = "pond.freeze" if method == "freeze" else "pond.chill"
    if kept_at is None:
        yield Short("kept_not_noted", "note", {"limit_c": limit}, (constant,))
    elif kept_at > limit:
        values: dict[str, Value] = {"kept_at_c": figure(kept_at), "limit_c": limit}
        yield Short("kept_warm", "caution" if method == "freeze" else "danger", values, (constant,))
    keeps = _keeps(entry, place)
    if keeps is not None and today - entry.day > sources.value(keeps):
        days: dict[str, Value] = {"days": today - entry.day, "limit_days": int(sources.value(keeps))}
        yield Short("kept_long", "caution", days, (keeps,))


def _smoked(entry: Entry, place: Place) -> Iterator[Short]:
    data = entry.data
    goal, least, minutes = _value("smoke_inside"), _value("smoke_inside_least"), _value("smoke_minutes")
    values: dict[str, Value] = {"goal_c": goal, "least_c": least, "minutes": minutes}
    constants = ("pond.smoke_inside", "pond.smoke_inside_least", "pond.smoke_minutes")
    inside = None if data.get("inside") is None else place.si(data["inside"])
    held = data.get("minutes")
    if inside is None or held is None:
        yield Short("heat_not_noted", "caution", values, constants)
    elif inside < least or held < minutes:
        told = {**values, "inside_c": figure(inside), "held_min": held}
        yield Short("not_hot_enough", "danger", told, constants)
    elif inside < goal:
        yield Short("between_limits", "caution", {**values, "inside_c": figure(inside)}, constants)


def _salted(entry: Entry) -> Iterator[Short]:
    salt, limit = _salt(entry), _value("salt_in_water")
    if salt is None:
        yield Short("salt_not_noted", "note", {"limit_pct": limit}, ("pond.salt_in_water",))
    elif salt < limit:
        told: dict[str, Value] = {"salt_pct": figure(salt), "limit_pct": limit}
        yield Short("little_salt", "caution", told, ("pond.salt_in_water",))


def _value(name: str) -> float:
    return sources.value(f"pond.{name}")
