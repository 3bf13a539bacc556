"""Where a bucket goes: how much of each material to each bed side, bin or pond, and what to do with the rest.

A small linear programme. Unknown are the kilograms of each material at each station that may take
it, and of the bedding or water at hand that may go in with it. Limits, per station: today's ration;
the share of the feed that a material, and its group, may make up, counting what waits there already
or, where the day's whole ration is known, of that; and, where given, the moisture and C:N of the
whole after mixing. What waits may be outside a window
already: then what is added must by itself lie inside, so that the mix comes nearer. Each kilogram
has a price (`mix.toml`): least where a station may take it freely, more in the freezer, most
elsewhere; the answer is the cheapest. Everything in the bucket is accounted for.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from math import fsum
from operator import eq
from typing import Final, Literal

from fallowside.core import sources
from fallowside.core.errors import require
from fallowside.core.materials import Material
from fallowside.core.mix import Parts, known
from fallowside.core.simplex import maximise

Where = Literal["station", "keep", "elsewhere"]

_MOST_KG: Final = 1e6
_TRACE: Final = 1e-9  # of a mass: below it a share is rounding
_SUPPLY: Final = "supply"
_NOTHING_BUT_WATER: Final = 100.0


@dataclass(frozen=True, slots=True)
class Taker:
    """A bed side, bin or pond that may take some of a bucket today."""

    station: str
    kind: str
    """'bed', 'bin' or 'pond', as in `Material.takes`."""
    ration_kg: float
    """Wet feed it may still get today. [kg], >= 0"""
    side: str | None = None
    waiting: Parts = ()
    """Food that lies there already; counts for shares and for the mix."""
    bedding: Parts = ()
    """What else lies there to mix with; counts for the mix only."""
    moisture_pct: tuple[float, float] | None = None
    """Window of the mix. [% of wet mass]"""
    carbon_to_nitrogen: tuple[float, float] | None = None
    """Window of the mix. [1]"""
    today: Parts = ()
    """Of what waits, the part that was fed today."""
    day_kg: float | None = None
    """The day's whole ration, what was fed today included: a share is a share of this. Where it is
    None a share is one of all that waits and is put in. [kg]"""
    strict: frozenset[str] = frozenset()
    """Groups held to their share of all that waits and of what is fed today as well: never alone."""


@dataclass(frozen=True, slots=True)
class Share:
    """Part of one material of the bucket, where it goes and why."""

    material: str
    kg: float
    where: Where
    station: str | None
    side: str | None
    reason: str
    """Message key, `router.…`."""
    values: Mapping[str, float | str] = field(default_factory=dict, hash=False)
    days: int | None = None
    """Of what is kept: days until all of it will have gone in at today's rations; None if never so."""


@dataclass(frozen=True, slots=True)
class Together:
    """Bedding or water to put in with a share."""

    material: str
    kg: float
    station: str
    side: str | None
    reason: str


@dataclass(frozen=True, slots=True)
class Routing:
    """Where a bucket goes."""

    shares: tuple[Share, ...]
    together: tuple[Together, ...]
    price: float
    """What the programme made small: the sum of kilograms times their prices."""


def route(bucket: Parts, takers: Sequence[Taker], *, at_hand: Parts = (), keep_kg: float = 0.0) -> Routing:
    """Give each material of a bucket its place today, with the reason.

    Args:
        bucket: Materials, or their names, with their wet masses. [kg], >= 0
        takers: Stations and sides that take part, the preferred one first where two suit alike.
        at_hand: Bedding or water that may be put in to bring a mix into its windows. [kg]
        keep_kg: Room in the freezer, for what some station may take on another day. [kg], >= 0

    Returns:
        Shares that add up to the bucket, what goes in with them, and the price.

    Raises:
        UnknownName: a feedstock that is not in the table.
        OutOfRange: a negative mass or ration, or a window upside down.

    Checked against a general solver of linear programmes. Shares and prices are common practice,
    no source, save where `materials.toml` names one.

    >>> bed, bin = Taker("bed", "bed", 2.0, side="a"), Taker("bin", "bin", 5.0)
    >>> for one in route([("vegetable_scraps", 3.0), ("cooked_mixed", 1.0)], [bed, bin]).shares:
    ...     print(one.material, one.kg, one.station, one.reason)
    vegetable_scraps 2.0 bed router.best
    vegetable_scraps 1.0 bin router.next
    cooked_mixed 1.0 bin router.best
    """
    require("room in the freezer", keep_kg, 0.0, _MOST_KG, "kg")
    scraps, extras = _merged(bucket), _merged(at_hand)
    programme = _programme(scraps, extras, takers, keep_kg)
    found = [(material, one) for material, kg in scraps for one in _shares(programme, material, kg)]
    kept = [(material, one.kg) for material, one in found if one.where == "keep"]
    days = _days(kept, extras, takers)
    shares = [replace(one, days=days.get(one.material)) if one.where == "keep" else one for _, one in found]
    return Routing(tuple(shares), tuple(_together(programme)), _price(programme, scraps))


@dataclass(frozen=True, slots=True)
class _Column:
    """One unknown: kilograms of a material at a taker, or in the freezer where there is none."""

    material: Material
    scrap: bool
    """Whether it comes from the bucket; else it is at hand."""
    taker: int | None
    gain: float
    """How much better a kilogram is here than elsewhere."""


@dataclass(frozen=True, slots=True)
class _Limit:
    """One row: row · kilograms <= most."""

    key: str
    values: Mapping[str, float | str]
    row: list[float]
    most: float


@dataclass(frozen=True, slots=True)
class _Programme:
    """The unknowns, the limits on them, and the kilograms found."""

    takers: Sequence[Taker]
    columns: list[_Column]
    limits: list[_Limit]
    found: list[float]


_Heap = list[tuple[Material, float]]


def _merged(parts: Parts) -> _Heap:
    """Resolve names and add up what was named twice, in the order of first mention."""
    masses: dict[Material, list[float]] = {}
    for one, kg in parts:
        material = known(one)
        masses.setdefault(material, []).append(require(f"mass of {material.name}", kg, 0.0, _MOST_KG, "kg"))
    return [(material, fsum(kgs)) for material, kgs in masses.items() if fsum(kgs) > 0.0]


# -- the programme -------------------------------------------------------------------------------


def _programme(scraps: _Heap, extras: _Heap, takers: Sequence[Taker], keep_kg: float) -> _Programme:
    columns = _columns(scraps, extras, takers)
    limits = _supplies(columns, scraps, extras, keep_kg)
    for t, taker in enumerate(takers):
        limits += [
            _ration(columns, t, taker),
            *_share_limits(columns, t, taker),
            *_windows(columns, t, taker),
        ]
    gains, rows, mosts = (
        [one.gain for one in columns],
        [one.row for one in limits],
        [one.most for one in limits],
    )
    return _Programme(takers, columns, limits, maximise(gains, rows, mosts))


def _columns(scraps: _Heap, extras: _Heap, takers: Sequence[Taker]) -> list[_Column]:
    elsewhere = sources.value("mix.price_elsewhere")
    liking, order = sources.value("mix.price_liking"), sources.value("mix.price_order")
    columns = []
    for material, _ in scraps:
        suited = [(t, material.takes[one.kind]) for t, one in enumerate(takers) if one.kind in material.takes]
        for t, share in suited:
            columns.append(_Column(material, True, t, elsewhere - liking * (1.0 - share) - order * t))
        if suited:
            columns.append(_Column(material, True, None, elsewhere - _price_kept(material)))
    for material, _ in extras:
        for t, taker in enumerate(takers):
            if taker.kind in material.takes or material.moisture_pct == _NOTHING_BUT_WATER:
                columns.append(_Column(material, False, t, -sources.value("mix.price_addition")))
    return columns


def _price_kept(material: Material) -> float:
    fresh = material.group in sources.table("mix")["fresh"]["groups"]
    return sources.value("mix.price_keep") + (sources.value("mix.price_keep_fresh") if fresh else 0.0)


def _supplies(columns: list[_Column], scraps: _Heap, extras: _Heap, keep_kg: float) -> list[_Limit]:
    """No more of anything than there is, nor more kept than there is room for."""
    rows = [
        ([float(one.scrap is scrap and one.material == material) for one in columns], kg)
        for scrap, heap in ((True, scraps), (False, extras))
        for material, kg in heap
    ]
    rows.append(([float(one.taker is None) for one in columns], keep_kg))
    return [_Limit(_SUPPLY, {}, row, kg) for row, kg in rows]


def _ration(columns: list[_Column], t: int, taker: Taker) -> _Limit:
    """No more from the bucket than today's ration."""
    ration = require(f"ration of {taker.station}", taker.ration_kg, 0.0, _MOST_KG, "kg")
    return _Limit("router.full", {}, [float(one.taker == t and one.scrap) for one in columns], ration)


def _share_limits(columns: list[_Column], t: int, taker: Taker) -> list[_Limit]:
    """Keep a material, and its group, to their share of the feed; bedding put in dilutes nothing."""
    here = list(
        dict.fromkeys(one.material for one in columns if one.taker == t and taker.kind in one.material.takes)
    )
    waiting, today = _merged(taker.waiting), _merged(taker.today)
    limits = []
    for group, counts, share in _shared(here, taker.kind):
        values = {"share_pct": 100.0 * share}
        mine = [float(one.taker == t and counts(one.material)) for one in columns]
        if taker.day_kg is not None:
            day_kg = require(f"day's ration of {taker.station}", taker.day_kg, 0.0, _MOST_KG, "kg")
            most = max(0.0, share * day_kg - _sum(today, counts))
            limits.append(_Limit("router.day_share", values, mine, most))
        mixed = [waiting] if taker.day_kg is None else [waiting, today] if group in taker.strict else []
        for heap in mixed:
            row = [
                one - share * float(column.taker == t and column.scrap)
                for one, column in zip(mine, columns, strict=True)
            ]
            most = max(0.0, share * fsum(kg for _, kg in heap) - _sum(heap, counts))
            limits.append(_Limit("router.share", values, row, most))
    return limits


def _sum(heap: _Heap, counts: Callable[[Material], bool]) -> float:
    return fsum(kg for material, kg in heap if counts(material))


def _shared(here: list[Material], kind: str) -> list[tuple[str, Callable[[Material], bool], float]]:
    """Give what counts together towards a limit, with its group, and the share it may make up."""
    rules: list[tuple[str, Callable[[Material], bool], float]] = []
    shares: dict[str, float] = {}
    for material in here:
        if material.group:
            shares[material.group] = max(shares.get(material.group, 0.0), material.takes[kind])
    for group, share in shares.items():
        rules.append((group, partial(_in_group, group), share))
    for material in here:
        if material.takes[kind] < shares.get(material.group, 1.0):
            rules.append((material.group, partial(eq, material), material.takes[kind]))
    return [rule for rule in rules if rule[2] < 1.0]


def _in_group(group: str, one: Material) -> bool:
    return one.group == group


def _windows(columns: list[_Column], t: int, taker: Taker) -> list[_Limit]:
    """Keep the mix inside its windows, or bring it nearer where it lies outside already."""
    lying = [*_merged(taker.waiting), *_merged(taker.bedding)]
    limits = []
    for key, beyond in _ends(taker):
        row = [beyond(one.material) if one.taker == t else 0.0 for one in columns]
        there = fsum(kg * beyond(material) for material, kg in lying)
        limits.append(_Limit(key, {}, row, max(0.0, -there)))
    return limits


def _ends(taker: Taker) -> list[tuple[str, Callable[[Material], float]]]:
    """Give, for each end of each window, how far a kilogram of a material lies beyond it."""
    ends: list[tuple[str, Callable[[Material], float]]] = []
    if taker.moisture_pct is not None:
        dry, wet = _window("moisture", taker.moisture_pct, 100.0, "percent")
        ends.append(("router.wet", lambda one: (one.moisture_pct - wet) / 100.0))
        ends.append(("router.dry", lambda one: (dry - one.moisture_pct) / 100.0))
    if taker.carbon_to_nitrogen is not None:
        low, high = _window("C:N", taker.carbon_to_nitrogen, 1000.0, "1")
        ends.append(("router.carbon_high", lambda one: _carbon_beyond(one, high)))
        ends.append(("router.carbon_low", lambda one: -_carbon_beyond(one, low)))
    return ends


def _window(name: str, ends: tuple[float, float], top: float, unit: str) -> tuple[float, float]:
    low = require(f"lower end of the {name} window", ends[0], 0.0, top, unit)
    return low, require(f"upper end of the {name} window", ends[1], low, top, unit)


def _carbon_beyond(one: Material, ratio: float) -> float:
    """Give the carbon in a kilogram beyond what its nitrogen calls for at a C:N. [kg/kg]"""
    dry_share = (100.0 - one.moisture_pct) / 100.0
    return dry_share * (one.carbon_pct_dry - ratio * one.nitrogen_pct_dry) / 100.0


# -- what was found, and why ---------------------------------------------------------------------


def _shares(programme: _Programme, material: Material, kg: float) -> list[Share]:
    """Give the shares of one material; they add up to its mass."""
    mine = [j for j, one in enumerate(programme.columns) if one.scrap and one.material == material]
    mine.sort(key=lambda j: -programme.columns[j].gain)
    parts = [(j, programme.found[j]) for j in mine if programme.found[j] > _TRACE * kg]
    rest_kg = kg - fsum(part for _, part in parts)
    if parts and rest_kg <= _TRACE * kg:
        parts[-1] = (parts[-1][0], parts[-1][1] + rest_kg)
        rest_kg = 0.0
    shares = [_share(programme, material, j, part, mine[: mine.index(j)]) for j, part in parts]
    if rest_kg > 0.0:
        stations = [j for j in mine if programme.columns[j].taker is not None]
        reason, values = _obstacle(programme, stations) or ("router.unsuitable", {})
        shares.append(Share(material.name, rest_kg, "elsewhere", None, None, reason, values))
    return shares


def _share(programme: _Programme, material: Material, j: int, kg: float, better: list[int]) -> Share:
    place = programme.columns[j].taker
    obstacle = _obstacle(programme, better)
    if place is None:
        reason, values = obstacle or ("router.mix", {})
        return Share(material.name, kg, "keep", None, None, reason, values)
    taker = programme.takers[place]
    if not better:
        return Share(material.name, kg, "station", taker.station, taker.side, "router.best")
    reason, values = ("router.next", obstacle[1] | {"limit": obstacle[0]}) if obstacle else ("router.mix", {})
    return Share(material.name, kg, "station", taker.station, taker.side, reason, values)


def _obstacle(programme: _Programme, better: list[int]) -> tuple[str, dict[str, float | str]] | None:
    """Give the limit, reached, that lets no more into a better place."""
    for j in better:
        for limit in programme.limits:
            if limit.key == _SUPPLY or limit.row[j] <= 0.0:
                continue
            used = fsum(one * kg for one, kg in zip(limit.row, programme.found, strict=True))
            if limit.most - used <= _TRACE * max(1.0, limit.most):
                taker = programme.takers[programme.columns[j].taker or 0]
                return limit.key, {"station": taker.station, "side": taker.side or "", **limit.values}
    return None


def _together(programme: _Programme) -> list[Together]:
    put_in = []
    for one, kg in zip(programme.columns, programme.found, strict=True):
        if not one.scrap and one.taker is not None and kg > _TRACE:
            taker = programme.takers[one.taker]
            put_in.append(Together(one.material.name, kg, taker.station, taker.side, "router.together"))
    return put_in


def _price(programme: _Programme, scraps: _Heap) -> float:
    worst = sources.value("mix.price_elsewhere") * fsum(kg for _, kg in scraps)
    return worst - fsum(one.gain * kg for one, kg in zip(programme.columns, programme.found, strict=True))


def _days(kept: _Heap, extras: _Heap, takers: Sequence[Taker]) -> dict[str, int]:
    """Give, by material, the days until what is kept will have gone in at rations such as today's."""
    takers = [one if one.day_kg is None else replace(one, ration_kg=one.day_kg, today=()) for one in takers]
    days: dict[str, int] = {}
    for day in range(1, int(sources.value("mix.keep_days")) + 1):
        programme = _programme(kept, extras, takers, _MOST_KG)
        left = []
        for material, kg in kept:
            stays = [
                found
                for one, found in zip(programme.columns, programme.found, strict=True)
                if one.material == material and one.scrap and one.taker is None
            ]
            if fsum(stays) > _TRACE * kg:
                left.append((material, fsum(stays)))
            else:
                days[material.name] = day
        if not left or fsum(kg for _, kg in left) > (1.0 - _TRACE) * fsum(kg for _, kg in kept):
            break
        kept = left
    return days
