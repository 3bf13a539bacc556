"""The day fish are taken: what is planned, what cleaning will leave, step by step, and the bath.

For fish to be eaten a blow or a spike stands first, then bleeding and chilling. The bath stays closed
until the place has recorded what its rules or veterinarian allow and the concentration they gave; then
it is arithmetic alone. Scraps are shared out over days, since fish alone kills worms and larvae.
"""

from collections.abc import Mapping, Sequence
from math import ceil
from typing import Any, Final, NamedTuple

from fallowside.core import sources
from fallowside.core.entries import DAY_US, Entry, Moment, moment
from fallowside.core.errors import FallowsideError
from fallowside.core.place import Place
from fallowside.core.shapes import Because, Figure, StationPlan, Value, because, figure, iso
from fallowside.core.span import Span
from fallowside.core.water import catchplans, fishbath, fishtable
from fallowside.core.water.catchplans import Planned
from fallowside.core.water.fishstock import Stock, put_together
from fallowside.core.water.watershapes import (
    Barred,
    BathRecipe,
    BathState,
    BathWait,
    DayCatch,
    DayStep,
    Missing,
    PondDay,
)

_GRAMS: Final = 1000.0
_HOUR_US: Final = DAY_US // 24
_MINUTE_US: Final = 60_000_000
_NOT_KNOWN: Final = ("", None)

STEPS: Final[Sequence[tuple[str, tuple[str, ...], tuple[str, ...]]]] = (
    ("people", ("pond.caution.not_alone", "pond.caution.trained"), ()),
    ("gear", ("pond.caution.hooks",), ()),
    ("take", ("pond.caution.air",), ()),
    ("set_apart", ("pond.caution.held",), ()),
    ("blow", ("pond.caution.miss",), ()),
    ("spike", ("pond.caution.site",), ()),
    ("check", ("pond.caution.feels",), ()),
    ("bleed", ("pond.caution.knife",), ()),
    ("chill", (), ("pond.ice_per_water",)),
    ("clean", ("pond.caution.search_hooks", "pond.caution.wounds"), ()),
    ("scraps", ("pond.caution.fish_alone",), ()),
)
"""The steps for fish to be eaten, in order: name, cautions, constants named in their words."""


class Share(NamedTuple):
    """How scraps are shared out: today, then so much frozen for so many days; None if never. [kg]"""

    today_kg: float
    freeze_kg: float
    others_kg: float
    days: int | None
    bury_kg: float = 0.0


def share_out(
    scraps_kg: float, room_kg: float, daily_kg: float, share: float, freezer_kg: float | None = None
) -> Share:
    """Share scraps of fish out over days, so that no bin gets more than its share of fish.

    Args:
        scraps_kg: To be shared out. [kg], >= 0
        room_kg: Fish the bins may still take today. [kg], >= 0
        daily_kg: Fish they may take on each later day. [kg], >= 0
        share: Largest share of fish in what they get. [1], 0 to 1
        freezer_kg: Room in the freezer; None where nobody said. [kg], >= 0

    Returns:
        What goes in today, what waits in the freezer, the other scraps to go in with today's part,
        the days until the last of it is gone, and what must be buried.

    Source: Lopes et al. 2020 (15 % fish with bread works, alone it kills); Madhusanki & Epa 2023, a
    third of fish waste left 9 % of worms alive, so beds get none.

    >>> share_out(1.0, 0.3, 0.25, 0.15)
    Share(today_kg=0.3, freeze_kg=0.7, others_kg=1.7, days=3, bury_kg=0.0)
    >>> share_out(1.0, 0.0, 0.0, 0.15).days is None
    True
    """
    today = min(max(0.0, scraps_kg), max(0.0, room_kg))
    waits = max(0.0, scraps_kg - today)
    rest = waits if freezer_kg is None else min(waits, freezer_kg)
    others = today / share - today if share > 0.0 else 0.0
    days = 0 if rest <= 0.0 else ceil(rest / daily_kg) if daily_kg * _MOST_DAYS > rest else None
    return Share(today, rest, others, days, waits - rest)


def look(
    entries: Sequence[Entry], plans: Sequence[Planned], stock: Stock, place: Place, at: Moment
) -> PondDay:
    """Give the day's part of a pond's state.

    `planned` are the catches that stand, `taken` those of the last day fish were killed; each with what
    its cleaning leaves. `steps` are the steps with their cautions, `bath` how far the bath is open.
    """
    killed = [one for one in entries if one.kind == "catch" and one.data["fate"] == "killed"]
    newest = killed[-1].day if killed and killed[-1].day > at.day - catchplans.KEPT_DAYS else None
    taken = [one for one in killed if one.day == newest]
    # Where nobody said how fish were killed on the day of a bath, it may have been in it.
    baths = any(one.kind == "bath" and one.day == newest for one in entries)
    hooks = any(one.data.get("hooks_missing") for one in taken)
    return {
        "planned": [
            _of_catch(one.entry, one.entry, one.left, stock, place, one.entry.data["day"], None)
            for one in plans
        ],
        "taken": [
            _of_catch(
                one,
                one if one.data.get("cut") else catchplans.plan_for(entries, one) or one,
                one.data["number"],
                stock,
                place,
                iso(one.day),
                _barred(one, baths, hooks),
            )
            for one in taken
        ],
        "of_day": _told_of(plans, newest, at.day),
        "steps": [_step(*step) for step in STEPS],
        "bath": _bath(entries, stock, place, at),
        "share_out": None,
    }


def _told_of(plans: Sequence[Planned], newest: int | None, today: int) -> str | None:
    """Give the day whose scraps are shared out: today's catch, else the next planned, else the last."""
    if plans and newest != today:
        return str(plans[0].entry.data["day"])
    return None if newest is None else iso(newest)


def _barred(catch: Entry, baths: bool, hooks: bool) -> Barred | None:
    """Say what keeps a catch's scraps from being given to anything.

    Scraps of a day lie on one board: a hook missing from one catch may be in those of another.
    """
    method = catch.data.get("method")
    if method == "bath" or (method is None and baths):
        return "bath"
    return "hooks" if hooks else None


def settle(stations: Sequence[StationPlan], place: Place, entries: Sequence[Entry]) -> list[StationPlan]:
    """Put into the plan of each pond where its scraps go, now that the bins' rations are known.

    Scraps in which a hook may be go nowhere until it is found, those of a bath never.
    """
    bins = [(one, one["ration"]) for one in stations if one["type"] == "bin" and one["ration"]]
    room = daily = most = 0.0
    for one, ration in bins:
        mix: Any = one["state"].get("mix") or {}
        share = float(mix.get("fish_most_pct") or 0.0) / 100.0
        room += float(mix.get("fish_most_kg") or 0.0)
        # A later day has a whole ration, whatever was fed of today's.
        daily += share * float(ration["because"]["values"]["kg"] or 0.0)
        most = max(most, share)
    made = list(stations)
    for at, pond in enumerate(stations):
        day: Any = pond["state"].get("day")
        if pond["type"] != "pond" or not isinstance(day, dict):
            continue
        about = [one for one in (*day["taken"], *day["planned"]) if one["day"] == day["of_day"]]
        given = [one for one in about if one["scraps"] and not one["barred"]]
        if not given:
            continue
        scraps_kg = _added([one["scraps"]["value"] for one in given])
        gone_kg = _gone(entries, place, day["of_day"]) if day["taken"] else 0.0
        shared = share_out(max(0.0, scraps_kg - gone_kg), room, daily, most, place.item.si("freezer_room"))
        shown: Any = {
            "scraps_kg": figure(scraps_kg),
            "low_kg": figure(_added([one["scraps"]["low"] for one in given])),
            "high_kg": figure(_added([one["scraps"]["high"] for one in given])),
            "today_kg": figure(shared.today_kg),
            "freeze_kg": figure(shared.freeze_kg),
            "others_kg": figure(shared.others_kg),
            "bury_kg": figure(shared.bury_kg),
            "days": shared.days,
            "because": because(
                "pond.share_out.because" if bins else "pond.share_out.no_bin",
                [one["id"] for one in given],
                ["soldierfly.fish_share"],
                scraps_kg=figure(scraps_kg),
                gone_kg=figure(gone_kg),
                room_kg=figure(room),
                daily_kg=figure(daily),
            ),
        }
        made[at] = {**pond, "state": {**pond["state"], "day": {**day, "share_out": shown}}}
    return made


def _gone(entries: Sequence[Entry], place: Place, since: str) -> float:
    """Give the fish scraps that were fed or thrown away on a day and later. [kg]"""
    gone = 0.0
    for entry in reversed(entries):
        if iso(entry.day) < since:
            break
        name = entry.data.get("feedstock") if entry.kind in ("feed", "reject") else None
        if name is not None and place.material(name).stream == "fish":
            gone += place.mass(entry.data["amount"], name, entry.us).kg
    return gone


def _added(values: Sequence[float]) -> float:
    total = 0.0
    for one in values:
        total += one
    return total


# -- a catch and what it leaves ---------------------------------------------------------------------


def _of_catch(
    entry: Entry,
    cut_by: Entry,
    number: int,
    stock: Stock,
    place: Place,
    day: str,
    barred: Barred | None,
) -> DayCatch:
    """Give a catch; where it does not say itself how the fish are cut, its plan does (`cut_by`)."""
    data = entry.data
    shoal = stock.shoals.get(put_together(data["species"]))
    kg: float | None = None
    because_kg = because("pond.catch_kg.noted", [entry.id])
    if data.get("mass") is not None:
        kg = place.mass(data["mass"]).kg * number / data["number"]
    elif shoal is not None and shoal.grams is not None:
        kg = number * shoal.grams / _GRAMS
        ids = [one for one in (entry.id, shoal.weighings[-1].id) if one]
        because_kg = because("pond.catch_kg.reckoned", ids, number=number, grams=figure(shoal.grams))
    scraps = _scraps(entry, cut_by, kg, place)
    return {
        "id": entry.id,
        "day": day,
        "species": data["species"],
        "number": number,
        "kg": None if kg is None else _figure(Span(kg, kg, kg), "kg", because_kg),
        "cut": cut_by.data.get("cut"),
        "scraps": scraps,
        "missing": None if scraps is not None else _missing(cut_by, kg),
        "barred": barred,
    }


def _missing(cut_by: Entry, kg: float | None) -> Missing:
    if cut_by.data.get("cut") not in fishtable.CUTS:
        return "both" if kg is None else "cut"
    return "weight" if kg is None else "believed"


def _scraps(entry: Entry, cut_by: Entry, kg: float | None, place: Place) -> Figure | None:
    data = entry.data
    weighed, cut = data.get("scraps"), cut_by.data.get("cut")
    if weighed is not None:
        scraps_kg = figure(place.mass(weighed).kg)
        why = because("pond.scraps.weighed", [entry.id], kg=scraps_kg)
        return {"value": scraps_kg, "low": scraps_kg, "high": scraps_kg, "unit": "kg", "because": why}
    # A weight reckoned from many fish and one heavy one is a slip: it must not stop the plan.
    if cut not in fishtable.CUTS or kg is None or kg > fishtable.MOST_KG:
        return None
    span = fishtable.scraps_kg(data["species"], cut, kg)
    name = fishtable.scraps_constant(fishtable.kind(data["species"]), cut)
    ids = [entry.id] if cut_by is entry else [entry.id, cut_by.id]
    why = because("pond.scraps.expected", ids, [name], kg=figure(kg), species=data["species"])
    return _figure(span, "kg", why)


def _step(name: str, cautions: tuple[str, ...], constants: tuple[str, ...]) -> DayStep:
    values: dict[str, Value] = {one.partition(".")[2]: sources.value(one) for one in constants}
    return {
        "name": name,
        "because": because(f"pond.step.{name}", [], [*constants], **values),
        "cautions": [*cautions],
    }


# -- the bath ---------------------------------------------------------------------------------------


def is_open(place: Place) -> bool:
    """Tell whether the place recorded what its rules or veterinarian allow, and the concentration."""
    return bool(place.item.text("bath_checked").strip()) and _concentration(place) is not None


def _concentration(place: Place) -> float | None:
    return place.item.si("bath_concentration")


def _bath(entries: Sequence[Entry], stock: Stock, place: Place, at: Moment) -> BathState:
    if not is_open(place):
        return {"open": False, "because": because("pond.bath.closed"), "recipe": None}
    newest = next((one for one in reversed(entries) if one.kind == "bath"), None)
    fresh = newest is not None and at.us - newest.us <= int(_value("bath_hours")) * _HOUR_US
    return {
        "open": True,
        "because": because("pond.bath.open", checked=place.item.text("bath_checked")),
        "recipe": _recipe(newest, entries, stock, place, at) if newest is not None and fresh else None,
    }


def _recipe(entry: Entry, entries: Sequence[Entry], stock: Stock, place: Place, at: Moment) -> BathRecipe:
    """Work out what to measure for a bath that was noted, or say what is missing."""
    data = entry.data

    def si(name: str) -> float | None:
        return None if data.get(name) is None else place.si(data[name])

    try:
        litres = fishbath.litres_of(si("volume"), si("depth"), si("length"), si("width"), si("diameter"))
        syringe = si("syringe")
        found = fishbath.dose(
            litres,
            _concentration(place) or 0.0,
            data["stock"],
            as_eugenol=place.item.text("bath_stated_as") == "eugenol",
            syringe_ml=None if syringe is None else syringe * _GRAMS,
        )
    except FallowsideError:
        return {"id": entry.id, "problem": because("pond.bath.no_volume", [entry.id], _GUARDS, **_guards())}
    concentration = _concentration(place) or 0.0
    species = _species_here(stock)
    published = sources.constant(fishbath.published(species))
    figures = {
        "litres": figure(litres),
        "mg_per_l": figure(concentration),
        "oil_mg": figure(found.oil_mg),
        "oil_ml": figure(found.oil_ml),
        "measure_ml": figure(found.measure_ml),
        "other_ml": figure(found.other_ml),
        "drops_low": figure(found.drops.low),
        "drops_high": figure(found.drops.high),
        "syringe_ml": figure(found.syringe_ml),
        "line_ml": figure(found.line_ml),
        "published_low": published.low,
        "published_high": published.high,
    }
    values: dict[str, Value] = {**figures, "stock": data["stock"]}
    constants = [published.name, "pond.clove_oil_density", "pond.drop_low", "pond.drop_high"]
    if place.item.text("bath_stated_as") == "eugenol":
        constants.append("pond.clove_oil_eugenol")
    return {
        "id": entry.id,
        "problem": None,
        "stock": data["stock"],
        "figures": figures,
        "because": because("pond.bath.recipe", [entry.id], constants, **values),
        "cautions": _bath_cautions(concentration, published, entries, place, stock),
        "wait": _wait(data, at),
    }


def _bath_cautions(
    concentration: float, published: sources.Constant, entries: Sequence[Entry], place: Place, stock: Stock
) -> list[str]:
    found = ["pond.caution.bath_never_back", "pond.caution.bath_waste", "pond.caution.bath_person"]
    if concentration > _value("bath_warn"):
        found.append("pond.caution.bath_strong")
    if not published.low <= concentration <= published.high:
        found.append("pond.caution.bath_outside")
    cold = next(
        (
            place.si(one.data["temperature"])
            for one in reversed(entries)
            if one.kind == "reading" and one.data.get("temperature") is not None
        ),
        None,
    )
    if cold is not None and cold < _value("bath_cold"):
        found.append("pond.caution.bath_cold")
    # Nobody says which fish go in: one such kind among others is enough.
    if any(fishtable.bears_little_oxygen(fishtable.kind(one.species)) for one in stock.shoals.values()):
        found.append("pond.caution.bath_little_oxygen")
    return found


def _wait(data: Mapping[str, Any], at: Moment) -> BathWait:
    """Say how long fish must still lie in the bath, and whether the second, certain step is done."""
    minutes = _value("gill_wait")
    second = data.get("second_step") not in (*_NOT_KNOWN, "none")
    if data.get("gills_stopped") is None:
        return {
            "done": False,
            "left_min": None,
            "second_step": second,
            "because": because("pond.bath.wait_first", [], ["pond.gill_wait"], minutes=minutes),
        }
    past = (at.us - moment(data["gills_stopped"]).us) / _MINUTE_US
    left = max(0.0, minutes - past)
    key = "pond.bath.wait_more" if left > 0.0 else "pond.bath.waited" if second else "pond.bath.second_step"
    return {
        "done": left <= 0.0 and second,
        "left_min": ceil(left),
        "second_step": second,
        "because": because(
            key, [], ["pond.gill_wait"], minutes=minutes, past_min=max(0, int(past)), left_min=ceil(left)
        ),
    }


def _species_here(stock: Stock) -> str:
    """Give the kind of fish there is most of; '' where nobody said."""
    there = [one for one in stock.shoals.values() if one.species != "?"]
    return max(there, key=lambda one: (one.now["pond"], one.species)).species if there else ""


def _guards() -> dict[str, Value]:
    return {"low": _value("volume_low"), "high": _value("volume_high")}


def _figure(span: Span, unit: str, why: Because) -> Figure:
    low, mid, high = figure(span.low), figure(span.mid), figure(span.high)
    return {"value": mid, "low": low, "high": high, "unit": unit, "because": why}


def _value(name: str) -> float:
    return sources.value(f"pond.{name}")


_GUARDS: Final = ["pond.volume_low", "pond.volume_high"]
_MOST_DAYS: Final = 365.0
