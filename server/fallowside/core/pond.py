"""The pond: its fish by kind, what they may be fed, its water, its solids, and the day fish are taken.

`look` reads the entries into the stock (`fishstock`) and into feed and water (`pondlog`), and says the
ration, jobs, what is ahead and what looks wrong (`pondsigns`); the day of a catch is in `pondday`,
smoking and keeping in `preserving`.
"""

from collections.abc import Sequence
from typing import NamedTuple

from fallowside.core import sources, warmth
from fallowside.core.entries import Entry, Moment
from fallowside.core.place import Place, Station
from fallowside.core.shapes import Figure, Ration, Series, StationPlan, because, blank, figure, iso
from fallowside.core.span import Span
from fallowside.core.water import (
    catchplans,
    fishstock,
    fishtable,
    fishwater,
    pondday,
    pondlog,
    pondsigns,
    preserving,
)
from fallowside.core.water.catchplans import Planned
from fallowside.core.water.fishstock import Shoal, Stock, Weighing
from fallowside.core.water.pondlog import Log
from fallowside.core.water.watershapes import ShoalState

_SERIES_POINTS = 200
_PERCENT = 100.0
_GRAMS = 1000.0
_WEEK = 7
_MONTH = 30


def look(station: Station, entries: Sequence[Entry], place: Place, at: Moment) -> StationPlan:
    """Fold a pond's entries (effective, sorted, none after `at`) into its part of the plan.

    `state` holds: `shoals` (each kind: numbers by whereabouts, weight, growth), `stock_kg`, `fish` by
    fate and species, `feed_kg` and `solids_kg` since the start, the month's feed, ammonia, larvae and
    solids to come, the last `temperature_c`, `ph`, `oxygen_mg_per_l` and `ammonia_mg_per_l`, `day` (catches
    planned and taken, steps, scraps and bath) and `preserve` (batches smoked or kept, the newest first).
    """
    log, stock = pondlog.read(entries, place), fishstock.read(station, entries, place)
    plans = catchplans.standing(entries, at.day)
    found = View(station, log, stock, at.day, _meal(log, stock, at.day), plans)
    plan = blank(station.id, station.type, station.name, station.order)
    plan["state"] = {
        "stock_kg": _stock_kg(found),
        "shoals": [_shoal(one) for one in stock.shoals.values()],
        "fish": _by_fate(entries, place),
        "feed_kg": figure(log.fed_kg(0)),
        "solids_kg": figure(log.solids_kg),
        **_feed_balance(found, place),
        **{name: figure(log.read[name].value) if name in log.read else None for name in _READ},
        "unionised_mg_per_l": pondsigns.unionised(log),
        "day": pondday.look(entries, plans, stock, place, at),
        "preserve": preserving.state(entries, place, at.day),
    }
    plan["ration"] = _ration(found)
    plan["ahead"] = pondsigns.ahead(plans)
    plan["warnings"] = pondsigns.warnings(station, log, stock, entries, place, at)
    plan["limits"] = pondsigns.limits(station, stock)
    plan["jobs"] = pondsigns.jobs(station, log, stock, plans, plan["ration"], at.day)
    if log.temperatures:
        plan["series"] = [_temperature_series(warmth.daily(log.temperatures)[-_SERIES_POINTS:])]
    return plan


class Meal(NamedTuple):
    """What all fish of the pond may eat in a day, why, and by which rows. [kg]"""

    kg: Span
    why: fishtable.Held
    constants: tuple[str, ...]
    careful: tuple[str, ...]
    """Fish for which no good table was found, as named; '' or '?' of those nobody named."""


class View(NamedTuple):
    """All that is known of a pond on a day."""

    station: Station
    log: Log
    stock: Stock
    today: int
    meal: Meal | None
    plans: Sequence[Planned]


_READ = ("temperature_c", "ph", "oxygen_mg_per_l", "ammonia_mg_per_l")


# -- feed -------------------------------------------------------------------------------------------


def _meal(log: Log, stock: Stock, today: int) -> Meal | None:
    """Add up what each shoal may eat; None where nobody knows what fish there are."""
    whole = stock.in_pond_kg()
    if not whole:
        return None
    reading = log.read.get("temperature_c")
    fresh = reading is not None and reading.day > today - _MONTH
    celsius = reading.value if reading is not None and fresh else None
    weighed = [(one, kg) for one in stock.shoals.values() if (kg := one.kg("pond"))]
    known = 0.0
    for _, kg in weighed:
        known += kg
    # What the books hold beyond the shoals that were counted and weighed eats like any fish.
    rest = max(0.0, whole - known) if stock.books_kg is not None else 0.0
    parts = [(one.species, one.grams, kg) for one, kg in weighed]
    parts += [(_named(stock), None, rest)] if rest > 0.0 else []
    low = mid = high = 0.0
    why: fishtable.Held = "not_known"
    constants: tuple[str, ...] = ()
    careful: tuple[str, ...] = ()
    for species, grams, kg in parts:
        found = fishtable.ration(species, celsius, grams)
        low += kg * found.pct.low / _PERCENT
        mid += kg * found.pct.mid / _PERCENT
        high += kg * found.pct.high / _PERCENT
        why = found.why if why != "rate" else why
        careful = (*careful, species) if found.weak and species not in careful else careful
        constants = (*constants, *(one for one in found.constants if one not in constants))
    return Meal(Span(low, mid, high), why, constants, careful)


def _named(stock: Stock) -> str:
    """Give the kind of the fish nobody counted, if there is but one kind."""
    return next(iter(stock.shoals)) if len(stock.shoals) == 1 else ""


def _ration(view: View) -> Ration | None:
    meal, log = view.meal, view.log
    if meal is None or meal.why == "not_known":
        return None
    fed = log.fed_kg(view.today)
    stop, stop_ids, stop_constants = pondsigns.no_feed_today(log, view.stock, view.plans, view.today)
    by = "careful" if meal.careful else "table"
    limit = stop or (meal.why if meal.why != "rate" else "fed" if fed > 0.0 else by)
    kg = meal.kg
    values = {
        "stock_kg": figure(view.stock.in_pond_kg() or 0.0),
        "temperature_c": figure(log.read["temperature_c"].value),
        "kg": figure(kg.mid),
        "fed_kg": figure(fed),
        "fish": ", ".join(one or "?" for one in meal.careful) or None,
    }
    key = "fed_careful" if limit == "fed" and meal.careful else limit
    left = [0.0 if stop else max(0.0, one - fed) for one in (kg.low, kg.mid, kg.high)]
    ids = [log.read["temperature_c"].id, *stop_ids]
    return {
        "side": None,
        "kg": figure(left[1]),
        "low": figure(left[0]),
        "high": figure(left[2]),
        "limit": limit,
        "add": [],
        "because": because(f"pond.ration.{key}", ids, [*meal.constants, *stop_constants], **values),
    }


def _feed_balance(view: View, place: Place) -> dict[str, object]:
    """Give the feed of the last week and month, and what it makes: ammonia, solids, larvae's part."""
    log, today = view.log, view.today
    week, month = today - _WEEK + 1, today - _MONTH + 1
    ids = [one.id for one in log.feeds if one.day >= month]
    protein = log.protein_kg(week) / _WEEK
    ammonia = sources.value("pond.ammonia_per_protein") * protein
    litres = view.station.item.si("volume")
    rise = fishwater.ammonia_rise_mg_per_l(ammonia, litres) if litres and litres >= 1.0 else None
    since = 0 if log.drawn_day is None else log.drawn_day + 1
    solids = fishwater.solids_kg(min(log.fed_kg(max(since, today - 365)), 10_000.0))
    share = log.larvae_share(month)
    limit = fishtable.larvae_limit(view.stock.shoals)
    return {
        "feed_month_kg": _figure(log.fed_kg(month), "kg", "pond.feed_month.because", ids, []),
        "ammonia_per_day_g": {
            **_figure(_GRAMS * ammonia, "g", "pond.ammonia.because", ids, ["pond.ammonia_per_protein"]),
            "because": because(
                "pond.ammonia.because" if rise is None else "pond.ammonia.in_pond",
                ids,
                ["pond.ammonia_per_protein"],
                protein_g=figure(_GRAMS * protein),
                rise_mg_per_l=None if rise is None else figure(rise),
            ),
        },
        "solids_expected_kg": {
            "value": figure(solids.mid),
            "low": figure(solids.low),
            "high": figure(solids.high),
            "unit": "kg",
            "because": because("pond.solids.because", ids, ["pond.solids_per_feed"]),
        },
        "larvae_share_pct": None
        if share is None
        else _figure(
            _PERCENT * share,
            "%",
            "pond.larvae_share.because",
            ids,
            [limit, "soldierfly.nitrogen_to_protein"],
            most_pct=figure(_PERCENT * sources.value(limit)),
        ),
        "larvae_swap": _swap(view, place, limit),
    }


def _swap(view: View, place: Place, limit: str) -> dict[str, object] | None:
    """Say how many live larvae may stand for their share of today's feed."""
    if view.meal is None or view.meal.kg.mid <= 0.0:
        return None
    feed = min(view.meal.kg.mid, 1000.0)
    found = fishtable.larvae_kg(feed, pondlog.protein_share("fish_feed", place), sources.value(limit))
    values = {"feed_kg": figure(feed), "most_pct": figure(_PERCENT * sources.value(limit))}
    return {
        "value": figure(found.mid),
        "low": figure(found.low),
        "high": figure(found.high),
        "unit": "kg",
        "because": because(
            "pond.larvae_swap.because",
            [],
            [limit, "pond.larvae_protein_live", "soldierfly.nitrogen_to_protein"],
            **values,
        ),
    }


# -- stock ------------------------------------------------------------------------------------------


def _stock_kg(view: View) -> Figure | None:
    kg = view.stock.in_pond_kg()
    if kg is None:
        return None
    ids = [one.weighings[-1].id for one in view.stock.shoals.values() if one.weighings]
    counted = any(one.kg("pond") for one in view.stock.shoals.values())
    key = "pond.stock.counted" if counted else "pond.stock.books"
    return _figure(kg, "kg", key, [one for one in ids if one], [])


def _shoal(one: Shoal) -> ShoalState:
    growth, kg = one.growth(), one.kg("pond")
    return {
        "species": one.species,
        "kind": fishtable.kind(one.species),
        "put_in": one.put_in,
        "found": one.found,
        "pond": one.now["pond"],
        "held": one.now["held"],
        "killed": one.now["killed"],
        "died": one.now["died"],
        "released_times": one.released_times,
        "killed_kg": figure(one.killed_kg),
        "grams": None if not one.weighings else _grams(one.weighings[-1]),
        "kg": None if kg is None else figure(kg),
        "growth": None
        if growth is None
        else _figure(
            growth.grams_per_day,
            "g",
            "pond.growth.because",
            [name for name in growth.ids if name],
            [],
            pct_per_day=figure(growth.pct_per_day),
            days=growth.days,
        ),
        "because": because("pond.shoal.because", one.ids, [], number=one.now["pond"]),
    }


def _grams(last: Weighing) -> Figure:
    ids = [last.id] if last.id else []
    return _figure(last.grams, "g", "pond.grams.because", ids, [], number=last.number)


def _by_fate(entries: Sequence[Entry], place: Place) -> dict[str, dict[str, dict[str, float]]]:
    fish: dict[str, dict[str, dict[str, float]]] = {}
    for entry in entries:
        if entry.kind != "catch":
            continue
        data = entry.data
        tallied = fish.setdefault(data["fate"], {}).setdefault(data["species"], {"number": 0, "kg": 0.0})
        tallied["number"] += data["number"]
        if data.get("mass") is not None:
            tallied["kg"] = figure(tallied["kg"] + place.mass(data["mass"]).kg)
    return fish


def _figure(
    value: float, unit: str, key: str, ids: list[str], constants: list[str], **values: float | str | None
) -> Figure:
    shown = figure(value)
    told = {"value": shown, **values}
    return {
        "value": shown,
        "low": None,
        "high": None,
        "unit": unit,
        "because": because(key, ids, constants, **told),
    }


def _temperature_series(points: Sequence[tuple[int, float]]) -> Series:
    """Draw one point a day, the mean: a probe may read every few minutes."""
    return {
        "name": "temperature",
        "side": None,
        "unit": "degC",
        "days": [iso(day) for day, _ in points],
        "values": [figure(celsius) for _, celsius in points],
    }
