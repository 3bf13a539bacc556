"""What came out of the stations, and the nitrogen, phosphorus and potassium of it that soil gets.

Two ways to the same figure stand side by side. By what was taken out: castings and residue times
what such material holds. By what was fed: the nutrients of the feed less what is lost on the way,
nitrogen as gas, phosphorus and potassium only with what drains away. Where the two lie far apart, the
contents of scraps or castings are not those of the tables, or something went unrecorded.

All nitrogen is total nitrogen: a tenth to a third of it acts in the first year.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

from fallowside.core import shapes, sources
from fallowside.core.accounts.ledger import Cells, doubts, dry_share
from fallowside.core.accounts.moves import Move
from fallowside.core.accounts.sums import Sum, independent, scaled, spread
from fallowside.core.materials import Material
from fallowside.core.place import Doubt, Place
from fallowside.core.shapes import because, figure
from fallowside.core.span import Span

Nutrient = Literal["nitrogen", "phosphorus", "potassium"]
NUTRIENTS: Final[tuple[Nutrient, ...]] = ("nitrogen", "phosphorus", "potassium")

_LOSES: Final = {"bed": "bed_nitrogen_lost", "bin": "bin_nitrogen_lost"}
_FRASS_OXIDES: Final[Mapping[str, tuple[str, str]]] = {
    "phosphorus": ("frass_phosphate", "phosphorus_to_oxide"),
    "potassium": ("frass_potash", "potassium_to_oxide"),
}
_MADE_HERE: Final = frozenset(sources.table("tally")["products"])
_SOLIDS: Final = "pond_solids"
_TO_SOIL: Final = ("castings", "frass", "pond_solids")


@dataclass(frozen=True, slots=True)
class Output:
    """One product: wet and dry mass and what it holds; a nutrient nobody has a figure for is missing."""

    what: str
    wet: Sum
    dry: Span
    nutrients: Mapping[Nutrient, Span]


class Fed(NamedTuple):
    """Nutrients fed, and expected of that after losses; dry matter whose contents nobody said. [kg]"""

    fed: Mapping[Nutrient, Span]
    expected: Mapping[Nutrient, Span]
    unknown_dry_kg: Mapping[Nutrient, float]


@dataclass(frozen=True, slots=True)
class Recovered:
    """Outputs, and nutrients three ways: fed, expected of that after losses, and taken out to soil. [kg]"""

    outputs: Sequence[Output]
    fed: Mapping[Nutrient, Span]
    expected: Mapping[Nutrient, Span]
    to_soil: Mapping[Nutrient, Span]
    unknown_dry_kg: Mapping[Nutrient, float]
    """Dry matter fed of which nobody has said how much it holds. [kg]"""


class Passed:
    """What was taken out of the stations in a period, and what went back in; to be read on. [kg]"""

    def __init__(self) -> None:
        self.outs: dict[str, Sum] = {}
        self.made_of: dict[str, str] = {}
        self.feeds: dict[tuple[str, str], Sum] = {}
        """Solids of the pond by the type of station that got them."""
        self.soil: dict[str, float] = {}
        self.larvae_dry_kg = 0.0

    def read(self, moves: Iterable[Move], place: Place) -> bool:
        """Read further moves; tell whether any of them fed something to a station that is no scraps."""
        fed, outs, soil = False, self.outs, self.soil
        for move in moves:
            route = move.route
            what = route.product
            if what:
                outs.setdefault(what, Sum()).add(move.mass)
                self.made_of[what] = route.material
                if what in _TO_SOIL:
                    key = f"{what} for beds" if _for_beds(move) else what
                    soil[key] = soil.get(key, 0.0) + move.mass.kg
                elif what == "larvae":
                    self.larvae_dry_kg += move.dry_kg
            elif route.source.sort == "hand" and route.target.sort == "at":
                back = f"{route.source.name} back"
                soil[back] = soil.get(back, 0.0) + move.mass.kg
            if route.target.sort == "at" and route.material == _SOLIDS:
                station = place.stations.get(route.target.name)
                if station is not None:
                    self.feeds.setdefault((station.type, route.material), Sum()).add(move.mass)
                    fed = True
        return fed


def look(passed: Passed, fed: Fed, place: Place) -> shapes.Recovered:
    """Put what a period recovered into shape."""
    found = recovered(passed, fed, place)
    nutrients = [_nutrient(name, found) for name in NUTRIENTS if name in found.fed or name in found.to_soil]
    return {
        "outputs": [_shaped(one) for one in found.outputs],
        "nutrients": nutrients,
        "because": because(
            "tally.recovered_because",
            [],
            [
                "recovered.bed_nitrogen_lost",
                "recovered.bin_nitrogen_lost",
                "recovered.leached",
                "recovered.first_year_nitrogen",
            ],
        ),
    }


def _shaped(one: Output) -> shapes.Output:
    wet = one.wet.span(one.wet.measured)
    return {
        "what": one.what,
        "kg": figure(wet.mid),
        "low": figure(wet.low),
        "high": figure(wet.high),
        "measured_kg": figure(one.wet.measured),
        "dry": spread(one.dry),
        "nitrogen": _maybe(one.nutrients.get("nitrogen")),
        "phosphorus": _maybe(one.nutrients.get("phosphorus")),
        "potassium": _maybe(one.nutrients.get("potassium")),
    }


def _nutrient(name: Nutrient, found: Recovered) -> shapes.Nutrient:
    soil = found.to_soil.get(name)
    return {
        "nutrient": name,
        "fed": _maybe(found.fed.get(name)),
        "expected": _maybe(found.expected.get(name)),
        "to_soil": _maybe(soil),
        "oxide": None if soil is None or name == "nitrogen" else spread(oxide(name, soil)),
        "unknown_dry_kg": figure(found.unknown_dry_kg.get(name, 0.0)),
    }


def _maybe(span: Span | None) -> shapes.Spread | None:
    return None if span is None else spread(span)


def recovered(passed: Passed, fed: Fed, place: Place) -> Recovered:
    """Put together what was taken out and what was fed."""
    outputs = [
        _output(what, total, place.material(passed.made_of[what]))
        for what, total in sorted(passed.outs.items())
    ]
    to_soil = {
        name: independent(parts)
        for name in NUTRIENTS
        if (parts := [part for one in outputs if (part := _part(one, name, passed.soil)) is not None])
    }
    return Recovered(outputs, fed.fed, fed.expected, to_soil, fed.unknown_dry_kg)


def _for_beds(move: Move) -> bool:
    """Tell whether a product was taken out to be fed to a bed, by which its nutrients come to soil."""
    return move.to == "bed" or move.route.target.sort == "at"


def content(material: Material, nutrient: Nutrient) -> tuple[float, Sequence[Doubt]] | None:
    """Give the share of a material's dry mass that is a nutrient, with its doubt; None if unknown."""
    key = f"{nutrient}_pct_dry"
    pct: float | None = getattr(material, key)
    if pct is None:
        return _frass_content(material, nutrient)
    low, high = material.ranges.get(key, (pct, pct))
    return pct / 100.0, doubts(nutrient, material.name, pct, low, high)


def _frass_content(material: Material, nutrient: Nutrient) -> tuple[float, Sequence[Doubt]] | None:
    if material.name != "larvae_residue" or nutrient not in _FRASS_OXIDES:
        return None
    ratio, oxide = (sources.constant(f"recovered.{name}") for name in _FRASS_OXIDES[nutrient])
    share = material.nitrogen_pct_dry / 100.0 * ratio.value / oxide.value
    return share, doubts(nutrient, material.name, ratio.value, ratio.low, ratio.high)


def oxide(nutrient: Nutrient, span: Span) -> Span:
    """Give phosphorus as P2O5 or potassium as K2O, as sacks of fertiliser say it. [kg]

    >>> round(oxide("phosphorus", Span(1.2, 1.2, 1.2)).mid, 3)
    2.75
    """
    factor = sources.value(f"recovered.{nutrient}_to_oxide")
    return Span(span.low * factor, span.mid * factor, span.high * factor)


def _output(what: str, total: Sum, material: Material) -> Output:
    if what == "honey":
        return Output(what, total, Span(0.0, 0.0, 0.0), {})
    share, doubt = dry_share(material)
    dry = total.part(share, doubt)
    nutrients: dict[Nutrient, Span] = {}
    for nutrient in NUTRIENTS:
        found = content(material, nutrient)
        if found is not None:
            nutrients[nutrient] = dry.part(*found).span(0.0)
    return Output(what, total, dry.span(0.0), nutrients)


def _part(output: Output, nutrient: Nutrient, soil: Mapping[str, float]) -> Span | None:
    """Give the part of an output's nutrient that soil gets: what is fed again to a bed is not there."""
    found = output.nutrients.get(nutrient)
    if found is None or output.what not in _TO_SOIL or not output.wet.kg:
        return None
    what = output.what
    back = max(0.0, soil.get(f"{what} back", 0.0) - soil.get(f"{what} for beds", 0.0))
    share = max(0.0, soil.get(what, 0.0) - back) / output.wet.kg
    return Span(found.low * share, found.mid * share, found.high * share)


def fed_of(cells: Cells, passed: Passed, place: Place) -> Fed:
    """Give what was fed of each nutrient, what is expected of it after losses, and dry mass unknown.

    What one station gives another was fed once already, but for the pond's solids.
    """
    feeds = {key: total.copy() for key, total in passed.feeds.items()}
    for cell, total in cells.items():
        station = place.stations.get(cell.station)
        if cell.way in ("fed", "apart") and station is not None and cell.material not in _MADE_HERE:
            feeds.setdefault((station.type, cell.material), Sum()).take(total)
    fed: dict[Nutrient, Span] = {}
    expected: dict[Nutrient, Span] = {}
    unknown: dict[Nutrient, float] = {}
    for nutrient in NUTRIENTS:
        by_type: dict[str, Sum] = {}
        for (station_type, name), total in sorted(feeds.items()):
            if station_type not in _LOSES:
                continue
            material = place.material(name)
            dry = total.part(*dry_share(material))
            found = content(material, nutrient)
            if found is not None:
                by_type.setdefault(station_type, Sum()).take(dry.part(*found))
            elif dry.kg:
                unknown[nutrient] = unknown.get(nutrient, 0.0) + dry.kg
        if by_type:
            spans = {one: total.span(0.0) for one, total in by_type.items()}
            fed[nutrient] = independent(spans.values())
            expected[nutrient] = independent(
                scaled(span, _kept(one, nutrient)) for one, span in spans.items()
            )
    return Fed(fed, expected, unknown)


def _kept(station_type: str, nutrient: Nutrient) -> Span:
    """Give the share of a nutrient that stays: loss is of nitrogen by gas, of the others by leaching."""
    lost = sources.constant(f"recovered.{_LOSES[station_type] if nutrient == 'nitrogen' else 'leached'}")
    return Span(1.0 - lost.high, 1.0 - lost.value, 1.0 - lost.low)
