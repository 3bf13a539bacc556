"""Avoided methane: what a landfill would have made of the scraps, less what bed and bin make of them.

The landfill's share is `landfill.py`'s first-order decay over a hundred years, by the dry mass of the
scraps as they are; the IPCC's own wet weights, which suppose drier scraps, stand beside it. Taken
off are methane and nitrous oxide of the treatment here by the IPCC's factors for composting, there
being none for worm beds or larvae: a wide and careful bound. What was measured on home worm bins and
on larvae stands beside that, many times lower. Where the place has not set its climate, or whether
its landfill collects gas, the range spans all cases and the middle is the mean of theirs.

Ends of ranges are the ends of published ones taken together, no intervals of probability; how well the
masses are known is small beside them and left out.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from math import fsum
from typing import Final, Literal

from fallowside.core import landfill, shapes, sources
from fallowside.core.accounts.ledger import Cell, Cells
from fallowside.core.accounts.sums import added, spread
from fallowside.core.place import Place
from fallowside.core.shapes import because, rough
from fallowside.core.span import Span

Gas = Literal["captured", "not_captured"]
GASES: Final[tuple[Gas, ...]] = ("captured", "not_captured")
YEARS: Final = (1, 5, 10, 30, 100)
"""Years after which the methane emitted so far is told."""

_TABLE: Final = sources.table("tally")
_CLASSES: Final[Mapping[str, str]] = _TABLE["landfill"]
_NO_METHANE: Final = frozenset(_TABLE["streams"]["no_methane"])
_ALL_DRY: Final = 100.0
_MG_PER_KG: Final = 1e6
_HOURS: Final = 24.0


@dataclass(frozen=True, slots=True)
class Scraps:
    """Masses of one class of the IPCC's method: brought to the stations, and sent on to landfill. [kg]"""

    feedstock: str
    dry_kg: float
    wet_kg: float
    landfilled_dry_kg: float
    landfilled_wet_kg: float


@dataclass(frozen=True, slots=True)
class Treated:
    """What went through the stations, and what is known of how they emit."""

    dry_kg: float
    wet_kg: float
    bed_m2_days: float | None
    """Area of the beds times days, None where a bed has no area set. [m2 day]"""
    larvae_dry_kg: float


@dataclass(frozen=True, slots=True)
class Case:
    """One climate and one kind of landfill."""

    climate: str
    gas: Gas


@dataclass(frozen=True, slots=True)
class Net:
    """One assessment report's view, all in CO2 equivalents. [kg]"""

    report: str
    landfill: Span
    treatment: Span
    net: Span
    measured: Span | None
    """Treatment by what was measured on worm bins and larvae; None where a bed has no area set."""
    net_wet: Span
    """Net by the IPCC's wet weights and wet factors."""


def look(scraps: Sequence[Scraps], treated: Treated, place: Place) -> shapes.Avoided:
    """Put a period's avoided methane into shape, with two digits: it is known no better."""
    climates, gases = cases(place)
    climate = climates[0] if len(climates) == 1 else None
    gas = gases[0] if len(gases) == 1 else None
    reports = (net(scraps, treated, climates, gases, report) for report in landfill.REPORTS)
    unset = (
        "none" if climate and gas else "both" if not climate and not gas else "gas" if climate else "climate"
    )
    return {
        "climate": climate,
        "landfill_gas": gas,
        "methane_kg": spread(methane(scraps, climates, gases), rough),
        "within": {str(year): rough(kg) for year, kg in by_year(scraps, climates, gases).items()},
        "reports": [_report(one) for one in reports],
        "because": because(
            "tally.avoided_because",
            [],
            ["landfill.bed_ch4_dry", "landfill.bed_n2o_dry", "avoided.captured", "avoided.oxidised"],
            dry_kg=rough(fsum(one.dry_kg - one.landfilled_dry_kg for one in scraps)),
            unset=unset,
        ),
        "boundary": because("tally.avoided_boundary"),
    }


def _report(one: Net) -> shapes.AvoidedReport:
    return {
        "report": one.report,
        "landfill": spread(one.landfill, rough),
        "treatment": spread(one.treatment, rough),
        "net": spread(one.net, rough),
        "measured": None if one.measured is None else spread(one.measured, rough),
        "net_wet": spread(one.net_wet, rough),
    }


def cases(place: Place) -> tuple[list[str], list[Gas]]:
    """Give the climates and kinds of landfill that are possible by what the place has set."""
    climate, gas = place.item.text("climate"), place.item.text("landfill_gas")
    climates = [climate] if climate in landfill.CLIMATES else list(landfill.CLIMATES)
    gases = [one for one in GASES if gas not in GASES or one == gas]
    return climates, gases


def methane(
    scraps: Iterable[Scraps], climates: Sequence[str], gases: Sequence[Gas], dry: bool = True
) -> Span:
    """Give the methane avoided: of what was brought, less of what was sent on to landfill.

    Args:
        scraps: By class.
        climates, gases: The cases that are possible; the span holds them all.
        dry: By dry mass, or by the IPCC's wet weights.

    Returns:
        Over a hundred years. [kg]

    >>> tonne = [Scraps("food", 400.0, 1000.0, 0.0, 0.0)]
    >>> round(methane(tonne, ["temperate_wet"], ["not_captured"], dry=False).mid, 3)
    50.0
    """
    kept = [
        (one.feedstock, one.dry_kg - one.landfilled_dry_kg if dry else one.wet_kg - one.landfilled_wet_kg)
        for one in scraps
    ]
    spans = [
        added(_times(_per_kg(feedstock, climate, gas, dry), kg) for feedstock, kg in kept)
        for climate in climates
        for gas in gases
    ]
    return Span(
        min(one.low for one in spans),
        fsum(one.mid for one in spans) / len(spans),
        max(one.high for one in spans),
    )


def by_year(scraps: Iterable[Scraps], climates: Sequence[str], gases: Sequence[Gas]) -> dict[int, float]:
    """Give the methane avoided up to each of some years after the deposit, the middle figure. [kg]"""
    found = dict.fromkeys(YEARS, 0.0)
    for one in scraps:
        kept = one.dry_kg - one.landfilled_dry_kg
        for climate in climates:
            pace = _pace(one.feedstock, climate)
            for gas in gases:
                whole = kept * _per_kg(one.feedstock, climate, gas, True).mid / (len(climates) * len(gases))
                for year in YEARS:
                    found[year] += whole * pace[year]
    return found


def net(
    scraps: Sequence[Scraps], treated: Treated, climates: Sequence[str], gases: Sequence[Gas], report: str
) -> Net:
    """Give what was avoided by one report's global warming potentials.

    >>> tonne, here = [Scraps("food", 400.0, 1000.0, 0.0, 0.0)], Treated(400.0, 1000.0, None, 0.0)
    >>> round(net(tonne, here, ["temperate_wet"], ["not_captured"], "AR5").net_wet.mid)
    1224
    """
    avoided = _co2e(methane(scraps, climates, gases), report)
    avoided_wet = _co2e(methane(scraps, climates, gases, dry=False), report)
    treatment = landfill.treatment(treated.dry_kg, "bed", report=report, dry_matter_pct=_ALL_DRY)
    treatment_wet = landfill.treatment(treated.wet_kg, "bed", report=report)
    return Net(
        report, avoided, treatment, _less(avoided, treatment), _measured(treated, report),
        _less(avoided_wet, treatment_wet),
    )  # fmt: skip


def scraps_of(cells: Cells, place: Place) -> list[Scraps]:
    """Gather the counted scraps that a landfill would make methane of, by class."""
    sums: dict[str, list[float]] = {}
    for cell, total in cells.items():
        at = {"fed": 0, "landfilled": 2}.get(cell.way)
        feedstock = class_of(cell, place)
        if at is None or feedstock is None:
            continue
        row = sums.setdefault(feedstock, [0.0] * 4)
        row[at] += total.kg * (100.0 - place.material(cell.material).moisture_pct) / 100.0
        row[at + 1] += total.kg
    return [Scraps(feedstock, *row) for feedstock, row in sorted(sums.items())]


def class_of(cell: Cell, place: Place) -> str | None:
    """Say what the IPCC's method calls the scraps of a cell; None where they earn nothing."""
    stream = cell.stream
    if stream not in _CLASSES:
        own = place.feedstocks.get(cell.material)
        stream = place.stream_like(own) if own is not None else place.material(cell.material).stream
    return None if stream in _NO_METHANE else _CLASSES.get(stream, "food")


def through(cells: Cells, place: Place) -> tuple[float, float]:
    """Give the dry and the wet mass that was fed to the stations. [kg]"""
    dry = wet = 0.0
    for cell, total in cells.items():
        if cell.way == "fed":
            wet += total.kg
            dry += total.kg * (100.0 - place.material(cell.material).moisture_pct) / 100.0
    return dry, wet


def treated_of(
    fed: tuple[float, float], larvae_dry_kg: float, place: Place, since_day: int, until_day: int
) -> Treated:
    """Put together what went through the stations in a period, and what is known of how they emit."""
    dry, wet = fed
    area: float | None = 0.0
    for station in place.stations.values():
        if station.type != "bed":
            continue
        side = station.item.si("side_area")
        days = max(0, until_day + 1 - max(since_day, station.since_day))
        area = None if area is None or side is None else area + 2.0 * side * days
    return Treated(dry, wet, area, larvae_dry_kg)


def _measured(treated: Treated, report: str) -> Span | None:
    if treated.bed_m2_days is None:
        return None
    hours = treated.bed_m2_days * _HOURS
    ch4, n2o = (sources.value(f"avoided.worm_bed_{gas}") * hours / _MG_PER_KG for gas in ("ch4", "n2o"))
    beds = landfill.co2e_kg(ch4, n2o, report)
    larvae = sources.constant("avoided.larvae_co2e")
    kg = treated.larvae_dry_kg
    return Span(beds + larvae.low * kg, beds + larvae.value * kg, beds + larvae.high * kg)


@cache
def _per_kg(feedstock: str, climate: str, gas: Gas, dry: bool) -> Span:
    """Give the methane of one kilogram over the reach. [kg/kg]"""
    mcf, oxidised = sources.constant("landfill.mcf_managed"), sources.constant("avoided.oxidised")
    captured = sources.constant("avoided.captured")
    years = int(sources.value("avoided.reach")) + 1
    dry_matter_pct = _ALL_DRY if dry else None

    def methane(mcf: float, capture: float, oxidation: float) -> Span:
        found = landfill.avoided(
            1.0,
            "bed",
            feedstock=feedstock,
            climate=climate,
            years=years,
            mcf=mcf,
            capture=capture if gas == "captured" else 0.0,
            oxidation=oxidation,
            dry_matter_pct=dry_matter_pct,
        ).landfill_kg
        one = landfill.co2e_kg(ch4_kg=1.0)
        return Span(found.low / one, found.mid / one, found.high / one)

    return Span(
        methane(mcf.low, captured.high, oxidised.high).low,
        methane(mcf.value, captured.value, oxidised.value).mid,
        methane(mcf.high, captured.low, oxidised.low).high,
    )


@cache
def _pace(feedstock: str, climate: str) -> Mapping[int, float]:
    """Give the share of the methane that is out after some years."""
    reach = int(sources.value("avoided.reach")) + 1
    yearly = landfill.methane([1.0], feedstock=feedstock, climate=climate, years=reach)
    whole = fsum(yearly)
    return {year: fsum(yearly[: year + 1]) / whole for year in YEARS}


def _co2e(ch4: Span, report: str) -> Span:
    return Span(*(landfill.co2e_kg(ch4_kg=kg, report=report) for kg in (ch4.low, ch4.mid, ch4.high)))


def _less(one: Span, other: Span) -> Span:
    return Span(one.low - other.high, one.mid - other.mid, one.high - other.low)


def _times(span: Span, kg: float) -> Span:
    ends = (span.low * kg, span.high * kg)
    return Span(min(ends), span.mid * kg, max(ends))
