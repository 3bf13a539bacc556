"""Methane that scraps would have made in a landfill, and what treating them emits instead.

The first-order decay method of the IPCC 2006 Guidelines (volume 5, chapter 3; the 2019 Refinement
keeps its equations). Boundary, to be said beside any figure: scraps that would really have gone to a
landfill of the climate and gas capture given; methane and nitrous oxide only, spread over decades;
carbon dioxide of living matter, carbon left in the landfill, transport, and what castings or larvae
replace are left out. It is an estimate good to a factor of two or three, and no certificate.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from math import fsum
from typing import Final, Literal

from fallowside.core import sources
from fallowside.core.errors import UnknownName, require
from fallowside.core.numeric import exp, expm1
from fallowside.core.span import Span

FEEDSTOCKS: Final = ("food", "garden", "paper", "wood")
CLIMATES: Final = ("temperate_dry", "temperate_wet", "tropical_dry", "tropical_wet")
REPORTS: Final = ("AR4", "AR5", "AR6")
TREATMENTS: Final = ("bed", "bin")
SITES: Final = ("managed", "semi_aerobic", "deep", "shallow", "unknown")

_End = Literal["low", "value", "high"]
_ENDS: Final[tuple[_End, ...]] = ("low", "value", "high")

_MOST_KG = 1e12
_MOST_YEARS = 1000


@dataclass(frozen=True, slots=True)
class Avoided:
    """What a mass of scraps kept out of landfill avoids, all in CO2 equivalents.

    The ends of each span are what the ends of published ranges give, no interval of probability.
    """

    landfill_kg: Span
    """The landfill's methane, had they gone there. [kg]"""
    treatment_kg: Span
    """Methane and nitrous oxide of the bed or bin. [kg]"""
    net_kg: Span
    """The first less the second, the ends set against each other; may be below zero. [kg]"""
    report: str


def methane(
    deposits_kg: Sequence[float],
    *,
    feedstock: str,
    climate: str,
    years: int,
    docf: float | None = None,
    mcf: float = 1.0,
    capture: float = 0.0,
    oxidation: float = 0.0,
    dry_matter_pct: float | None = None,
) -> list[float]:
    """Give the methane a landfill emits in each year from yearly deposits.

    DDOCm = W · DOC · DOCf · MCF; each year 1 - e^-k of what lay there at its start decomposes, and
    half of that carbon leaves as methane (IPCC 2006, eq. 3.2 and 3.4 to 3.6). A deposit starts to
    decompose on the first of January after it (the default delay of six months), so nothing is
    emitted in its own year.

    Args:
        deposits_kg: Wet mass deposited in year 0, 1, … [kg], >= 0
        feedstock: 'food', 'garden', 'paper' or 'wood'.
        climate: 'temperate_dry', 'temperate_wet', 'tropical_dry' or 'tropical_wet'.
        years: Length of the result; deposits after its end count for nothing. 0 to 1000
        docf: Share of degradable carbon that decomposes; the 2006 default of 0.5 unless given (the
            2019 Refinement has 0.7 for food). [1], 0 to 1
        mcf: Methane correction of the site, `site_mcf`. [1], 0 to 1
        capture: Share of the generated gas collected and burnt. [1], 0 to 1
        oxidation: Share of the rest oxidised in the cover. [1], 0 to 1
        dry_matter_pct: Dry matter of the scraps; unless given, the IPCC's wet-weight carbon, which
            supposes 40 % for food and overstates watery scraps threefold. [%], 0 to 100

    Returns:
        Methane emitted in each year, the first being the first deposit's own. [kg]

    Raises:
        UnknownName: a feedstock or climate that is not in the table.
        OutOfRange: a figure outside its range above.

    Source: IPCC 2006 Guidelines, volume 5, tables 2.4, 3.1 and 3.3. Error: a factor of about two
    either way; carbon and decomposing share each span a factor of two.

    >>> [round(kg, 5) for kg in methane([1000.0], feedstock="food", climate="temperate_wet", years=4)]
    [0.0, 8.44479, 7.0185, 5.8331]
    """
    kept = _kept(mcf, capture, oxidation)
    carbon, pace = _decay(feedstock, climate, docf, dry_matter_pct, "value")
    return _emitted(deposits_kg, years, pace, carbon * kept)


def _emitted(deposits_kg: Sequence[float], years: int, pace: float, per_kg: float) -> list[float]:
    """Run the decay: of what lies there at a year's start, 1 - e^-pace decomposes within it."""
    require("years", years, 0, _MOST_YEARS, "year")
    for year, kg in enumerate(deposits_kg):
        require(f"deposit of year {year}", kg, 0.0, _MOST_KG, "kg")
    stays, goes = exp(-pace), -expm1(-pace)
    lying, emitted = 0.0, []
    for year in range(years):
        emitted.append(lying * goes * per_kg)
        lying *= stays
        if year < len(deposits_kg):
            lying += deposits_kg[year]
    return emitted


def _decay(
    feedstock: str, climate: str, docf: float | None, dry_matter_pct: float | None, end: _End
) -> tuple[float, float]:
    """Give the carbon that decomposes, per wet kg, and its pace per year, at an end of their ranges."""
    _one_of("feedstock", feedstock, FEEDSTOCKS)
    _one_of("climate", climate, CLIMATES)
    share = _at(f"docf_{feedstock}", end) if docf is None else _share("DOCf", docf)
    if dry_matter_pct is None:
        carbon = _at(f"doc_wet_{feedstock}", end)
    else:
        carbon = _at(f"doc_dry_{feedstock}", end) * _dry_share(dry_matter_pct)
    return carbon * share, _at(f"k_{feedstock}_{climate}", end)


def _kept(mcf: float, capture: float, oxidation: float) -> float:
    """Give the methane that gets out, per kg of carbon that decomposes."""
    methane_per_carbon = sources.value("landfill.methane_share") * sources.value("landfill.carbon_to_methane")
    lost = (1.0 - _share("capture", capture)) * (1.0 - _share("oxidation", oxidation))
    return methane_per_carbon * _share("MCF", mcf) * lost


def site_mcf(site: str) -> float:
    """Give the methane correction of a kind of landfill.

    Args:
        site: 'managed', 'semi_aerobic', 'deep' (unmanaged, 5 m or more), 'shallow' or 'unknown'.

    Source: IPCC 2006, table 3.1.

    >>> site_mcf("shallow")
    0.4
    """
    _one_of("kind of landfill", site, SITES)
    return sources.value(f"landfill.mcf_{site}")


def co2e_kg(ch4_kg: float = 0.0, n2o_kg: float = 0.0, report: str = "AR6") -> float:
    """Weigh methane and nitrous oxide as carbon dioxide over 100 years.

    Args:
        ch4_kg, n2o_kg: Masses; savings may be negative. [kg]
        report: Assessment report whose potentials are used: 'AR4', 'AR5' (without feedback) or 'AR6'.

    Returns:
        CO2 equivalent. [kg]

    Raises:
        UnknownName: another report.

    >>> round(co2e_kg(ch4_kg=4.0, n2o_kg=0.24, report="AR5"), 9)
    175.6
    """
    _one_of("report", report, REPORTS)
    require("methane", ch4_kg, -_MOST_KG, _MOST_KG, "kg")
    require("nitrous oxide", n2o_kg, -_MOST_KG, _MOST_KG, "kg")
    edition = report.lower()
    ch4, n2o = (sources.value(f"landfill.gwp_{gas}_{edition}") for gas in ("ch4", "n2o"))
    return ch4_kg * ch4 + n2o_kg * n2o


def treatment(wet_kg: float, how: str, *, report: str = "AR6", dry_matter_pct: float | None = None) -> Span:
    """Give what a bed or bin emits while it treats scraps, as CO2 equivalent.

    Args:
        wet_kg: Scraps treated. [kg], >= 0
        how: 'bed' (the IPCC's factors for composting, there being none for worm beds) or 'bin'.
        report: As for `co2e_kg`.
        dry_matter_pct: Dry matter; with it a bed is reckoned by the dry mass. [%]

    Returns:
        Mid and the ends of the published ranges. [kg]

    Source: IPCC 2006, volume 5, table 4.1; Mertenat and others 2019 for larvae.

    >>> round(treatment(1000.0, "bed", report="AR5").mid, 9)
    175.6
    """
    _one_of("treatment", how, TREATMENTS)
    require("mass treated", wet_kg, 0.0, _MOST_KG, "kg")
    basis, mass_kg = "wet", wet_kg
    if dry_matter_pct is not None and how == "bed":
        basis, mass_kg = "dry", wet_kg * _dry_share(dry_matter_pct)
    ch4, n2o = (sources.constant(f"landfill.{how}_{gas}_{basis}") for gas in ("ch4", "n2o"))

    def emitted(ch4_g_per_kg: float, n2o_g_per_kg: float) -> float:
        return co2e_kg(mass_kg * ch4_g_per_kg / 1000.0, mass_kg * n2o_g_per_kg / 1000.0, report)

    return Span(emitted(ch4.low, n2o.low), emitted(ch4.value, n2o.value), emitted(ch4.high, n2o.high))


def avoided(
    wet_kg: float,
    how: str,
    *,
    feedstock: str,
    climate: str,
    years: int = 100,
    report: str = "AR6",
    docf: float | None = None,
    mcf: float = 1.0,
    capture: float = 0.0,
    oxidation: float = 0.0,
    dry_matter_pct: float | None = None,
) -> Avoided:
    """Give what scraps treated here rather than landfilled avoid, within `years` of the deposit.

    Args:
        wet_kg: Scraps, wet. [kg], >= 0
        how: Where they were treated, 'bed' or 'bin'.
        years: How far ahead the landfill's methane is counted, the year of the deposit included.
        feedstock, climate, docf, mcf, capture, oxidation, dry_matter_pct: As for `methane`.
        report: As for `co2e_kg`.

    Returns:
        Landfill, treatment and net; the ends take carbon, decomposing share and pace at the ends of
        their published ranges together, so they are wide.

    Source: as for `methane` and `treatment`. Paper that would have been recycled earns nothing here:
    leave it out.

    >>> found = avoided(1000.0, "bed", feedstock="food", climate="temperate_wet", report="AR5")
    >>> round(found.landfill_kg.mid), round(found.treatment_kg.mid), round(found.net_kg.mid)
    (1400, 176, 1224)
    """
    kept = _kept(mcf, capture, oxidation)
    ends = []
    for end in _ENDS:
        carbon, pace = _decay(feedstock, climate, docf, dry_matter_pct, end)
        ends.append(co2e_kg(fsum(_emitted([wet_kg], years, pace, carbon * kept)), report=report))
    landfilled = Span(*ends)
    treated = treatment(wet_kg, how, report=report, dry_matter_pct=dry_matter_pct)
    net = Span(
        landfilled.low - treated.high,
        landfilled.mid - treated.mid,
        landfilled.high - treated.low,
    )
    return Avoided(landfilled, treated, net, report)


def _at(name: str, end: _End) -> float:
    figure = sources.constant(f"landfill.{name}")
    return {"low": figure.low, "value": figure.value, "high": figure.high}[end]


def _dry_share(dry_matter_pct: float) -> float:
    return require("dry matter", dry_matter_pct, 0.0, 100.0, "percent") / 100.0


def _share(name: str, value: float) -> float:
    return require(name, value, 0.0, 1.0, "1")


def _one_of(what: str, name: str, names: Collection[str]) -> None:
    if name not in names:
        raise UnknownName(what, name, names)
