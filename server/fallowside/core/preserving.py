"""Fish smoked, salted, chilled or frozen: a log held against published critical limits.

It says where a batch falls short of a limit. It never says that a batch is safe: that hangs on the
fish, the probe, the salt inside and every hour since, none of which a log can see.
"""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from fallowside.core import sources
from fallowside.core.entries import Entry
from fallowside.core.errors import require
from fallowside.core.place import Place
from fallowside.core.shapes import Value, Warning, because, figure
from fallowside.core.warned import Level
from fallowside.core.watershapes import PreserveState

_PERCENT = 100.0


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
    require("salt and water together", salt_pct + moisture_pct, 1e-9, 2.0 * _PERCENT, "%")
    return _PERCENT * salt_pct / (salt_pct + moisture_pct)


def short_of(entry: Entry, place: Place) -> list[Short]:
    """Name the published limits that a batch does not show to have met, the gravest first.

    A limit nothing was noted for counts as not met: what was not measured is not known.
    """
    return list(_short(entry, place))


def warnings(entries: Sequence[Entry], place: Place, today: int) -> list[Warning]:
    """Give the warnings of the newest batch, if it is not long past."""
    batch = _newest(entries, today)
    if batch is None:
        return []
    return [
        {
            "code": f"preserve_{one.code}",
            "level": one.level,
            "side": None,
            "because": because(f"pond.warn.preserve_{one.code}", [batch.id], [*one.constants], **one.values),
            "remedies": [f"pond.remedy.preserve_{one.code}"],
        }
        for one in short_of(batch, place)
    ]


def state(entries: Sequence[Entry], place: Place, today: int) -> PreserveState | None:
    """Give what is known of the newest batch; None if it is long past."""
    batch = _newest(entries, today)
    if batch is None:
        return None
    data = batch.data
    salt = _salt(batch)
    return {
        "method": data["method"],
        "kg": None if data.get("mass") is None else figure(place.mass(data["mass"]).kg),
        "inside_c": None if data.get("inside") is None else figure(place.si(data["inside"])),
        "minutes": data.get("minutes"),
        "salt_in_water_pct": None if salt is None else figure(salt),
        "kept_at_c": None if data.get("kept_at") is None else figure(place.si(data["kept_at"])),
        "days": today - batch.day,
        "short_of": [one.code for one in short_of(batch, place)],
        "because": because(
            "pond.preserve.because",
            [batch.id],
            [
                "pond.smoke_inside",
                "pond.smoke_inside_least",
                "pond.smoke_minutes",
                "pond.salt_in_water",
                "pond.chill",
            ],
        ),
    }


def _newest(entries: Sequence[Entry], today: int) -> Entry | None:
    since = today - int(_value("preserve_days"))
    return next((one for one in reversed(entries) if one.kind == "preserve" and one.day > since), None)


def _salt(entry: Entry) -> float | None:
    salt, water = entry.data.get("salt_pct"), entry.data.get("moisture_pct")
    if salt is None or water is None or salt + water <= 0.0:
        return None
    return salt_in_water_pct(float(salt), float(water))


def _short(entry: Entry, place: Place) -> Iterator[Short]:
    data = entry.data
    method = data["method"]
    if method == "cold_smoke":
        yield Short("cold_smoke", "danger", {}, ("pond.smoke_inside_least",))
    if data.get("packing") == "vacuum":
        yield Short("vacuum", "danger", {}, ("pond.salt_in_water",))
    if method == "hot_smoke":
        yield from _smoked(entry, place)
    kept_at = None if data.get("kept_at") is None else place.si(data["kept_at"])
    limit = _value("freeze") if method == "freeze" else _value("chill")
    constant = "pond.freeze" if method == "freeze" else "pond.chill"
    if kept_at is None:
        yield Short("kept_not_noted", "note", {"limit_c": limit}, (constant,))
    elif kept_at > limit:
        values: dict[str, Value] = {"kept_at_c": figure(kept_at), "limit_c": limit}
        yield Short("kept_warm", "caution" if method == "freeze" else "danger", values, (constant,))


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
    salt = _salt(entry)
    if salt is not None and salt < _value("salt_in_water"):
        limits: dict[str, Value] = {"salt_pct": figure(salt), "limit_pct": _value("salt_in_water")}
        yield Short("little_salt", "caution", limits, ("pond.salt_in_water",))


def _value(name: str) -> float:
    return sources.value(f"pond.{name}")
