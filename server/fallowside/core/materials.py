"""What people bring in buckets, and what is known of it, from `core/data/materials.toml`.

Moisture is % of the wet mass; carbon, nitrogen, phosphorus and potassium are % of the dry mass.
Carbon is stored and C:N derived, never the other way about: where nitrogen is tiny and rounded the
product of N and C:N is impossible (sawdust would be 106 % carbon). A place's own feedstocks start
from one that is like them and carry its own measurements over it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from math import inf
from types import MappingProxyType
from typing import Any, Final

from fallowside.core import sources
from fallowside.core.errors import UnknownName, require

# What a figure may be at all; NEH and NRAES tables lie far inside.
_BOUNDS: Final = {
    "moisture_pct": (0.0, 100.0, "percent"),
    "carbon_pct_dry": (0.0, 100.0, "percent"),
    "nitrogen_pct_dry": (0.0, 50.0, "percent"),
    "phosphorus_pct_dry": (0.0, 50.0, "percent"),
    "potassium_pct_dry": (0.0, 60.0, "percent"),
    "bulk_density_kg_per_l": (0.001, 3.0, "kg/L"),
}
_MAIN: Final = ("moisture_pct", "carbon_pct_dry", "nitrogen_pct_dry")
_RANK: Final = ("seen", "computed", "quoted", "practice", "memory")


@dataclass(frozen=True, slots=True)
class Material:
    """One feedstock, and how far each of its figures may be off.

    Attributes:
        name: Its id, a plain trade word.
        moisture_pct: Water. [% of wet mass], 0 to 100
        carbon_pct_dry: Organic carbon; the carbon of lime does not count. [% of dry mass]
        nitrogen_pct_dry: Nitrogen. [% of dry mass], 0 to 50
        bulk_density_kg_per_l: As it lies in a pail; None where nobody has said. [kg/L]
        phosphorus_pct_dry, potassium_pct_dry: None where nobody has said. [% of dry mass]
        stream: How the tally counts it.
        group: Materials that share one limit at a station; '' stands alone.
        takes: Largest share of a day's wet feed, by kind of station; what is not named takes none.
        cautions: Message keys.
        ranges: Low and high of each figure, by its name.
        confidence: The weakest mark among moisture, carbon and nitrogen.
    """

    name: str
    moisture_pct: float
    carbon_pct_dry: float
    nitrogen_pct_dry: float
    bulk_density_kg_per_l: float | None = None
    phosphorus_pct_dry: float | None = None
    potassium_pct_dry: float | None = None
    stream: str = "kitchen"
    group: str = ""
    takes: Mapping[str, float] = field(default_factory=dict, hash=False)
    cautions: tuple[str, ...] = ()
    ranges: Mapping[str, tuple[float, float]] = field(default_factory=dict, hash=False)
    confidence: sources.Confidence = "practice"

    def __post_init__(self) -> None:
        for name, (low, high, unit) in _BOUNDS.items():
            figure = getattr(self, name)
            if figure is not None:
                require(f"{name} of {self.name}", figure, low, high, unit)

    @property
    def carbon_to_nitrogen(self) -> float:
        """Carbon per nitrogen by mass; infinite where there is no nitrogen."""
        return self.carbon_pct_dry / self.nitrogen_pct_dry if self.nitrogen_pct_dry else inf


def get(name: str) -> Material:
    """Give a material of the shipped table.

    Raises:
        UnknownName: it is not in the table; the text lists what is.

    >>> get("cardboard").carbon_to_nitrogen
    450.0
    """
    shipped = _shipped()
    if name not in shipped:
        raise UnknownName("feedstock", name, shipped)
    return shipped[name]


def all() -> tuple[Material, ...]:
    """Give every material of the shipped table, in its order.

    >>> len(all()) > 40
    True
    """
    return tuple(_shipped().values())


def adapted(name: str, like: str, fields: Mapping[str, Any]) -> Material:
    """Give a place's own feedstock: the shipped one it is like, under its own name and figures.

    Args:
        name: Its id at the place.
        like: A name of the shipped table.
        fields: What the place has set; only figures, `stream` and `group` are read.

    Raises:
        UnknownName: `like` is not in the table.
        OutOfRange: a figure that no material can have.

    >>> adapted("juice_pulp", "fruit_scraps", {"moisture_pct": 85.0}).moisture_pct
    85.0
    """
    base = get(like)
    own = {key: float(fields[key]) for key in _BOUNDS if isinstance(fields.get(key), int | float)}
    words = {key: fields[key] for key in ("stream", "group") if isinstance(fields.get(key), str)}
    ranges = dict(base.ranges) | {key: _around(key, figure) for key, figure in own.items()}
    changed: dict[str, Any] = {**own, **words, "name": name, "ranges": MappingProxyType(ranges)}
    return replace(base, **changed)


@cache
def _shipped() -> Mapping[str, Material]:
    rows = sources.table("materials")["materials"]
    return MappingProxyType({name: _material(name, row) for name, row in rows.items()})


def _material(name: str, row: Mapping[str, Any]) -> Material:
    figures = {key: row[key] for key in _BOUNDS if key in row}
    ranges = {
        key: (float(one["low"]), float(one["high"])) if "low" in one else _around(key, float(one["value"]))
        for key, one in figures.items()
    }
    marks: list[sources.Confidence] = [figures[key]["confidence"] for key in _MAIN]
    return Material(
        name=name,
        stream=row["stream"],
        group=row.get("group", ""),
        takes=MappingProxyType({kind: float(one["share"]) for kind, one in row.get("takes", {}).items()}),
        cautions=tuple(row.get("cautions", ())),
        ranges=MappingProxyType(ranges),
        confidence=max(marks, key=_RANK.index),
        **{key: float(one["value"]) for key, one in figures.items()},
    )


def _around(key: str, figure: float) -> tuple[float, float]:
    """Give the range of a figure that came without one, by the spreads of `mix.toml`."""
    low, high, _ = _BOUNDS[key]
    if key == "moisture_pct":
        step = sources.value("mix.moisture_spread")
    elif key == "nitrogen_pct_dry":
        step = figure * sources.value("mix.nitrogen_spread")
    elif key == "carbon_pct_dry":
        step = figure * sources.value("mix.carbon_spread")
    elif key == "bulk_density_kg_per_l":
        step = figure * sources.value("mix.density_spread")
    else:
        step = figure * sources.value("mix.mineral_spread")
    return max(low, figure - step), min(high, figure + step)
