"""What a pond asks for: warnings with remedies, thresholds for the phone, jobs, what is ahead."""

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Final

from fallowside.core import sources, warned
from fallowside.core.entries import Entry, Moment
from fallowside.core.place import Place, Station
from fallowside.core.shapes import Ahead, Job, Limit, Ration, Value, Warning, because, figure, iso
from fallowside.core.warned import Level, Warner
from fallowside.core.water import fishtable, fishwater, pondday, preserving
from fallowside.core.water.catchplans import Planned
from fallowside.core.water.fishstock import Stock
from fallowside.core.water.pondlog import Log

_warning: Final = Warner("pond", "pond")

_PERCENT: Final = 100.0
_WEEK: Final = 7
_MONTH: Final = 30
_SIGNS: Final[dict[str, tuple[Level, tuple[str, ...]]]] = {
    "fish_gasping": ("danger", ("splash", "no_feed", "test_oxygen")),
    "dead_fish": ("caution", ("take_out_dead", "test_water", "ask_vet")),
    "green_water": ("note", ("less_feed", "watch_dawn")),
    "rotten_smell": ("caution", ("draw_solids", "no_feed")),
}
_STRANGE_WATER_C: Final = (0.0, 50.0)


def unionised(log: Log) -> float | None:
    """Give the un-ionised ammonia by the last test, pH and temperature. [mg/L]

    None if one is missing, or was read so long before or after the test that it says nothing of that water.
    """
    ammonia, ph, warm = (log.read.get(name) for name in ("ammonia_mg_per_l", "ph", "temperature_c"))
    if ammonia is None or ph is None or warm is None:
        return None
    if max(abs(one.day - ammonia.day) for one in (ph, warm)) > int(_value("test_days")):
        return None
    low, high = _STRANGE_WATER_C
    if not low <= warm.value <= high:
        return None
    return figure(ammonia.value * fishwater.unionised_share(ph.value, warm.value))


def no_feed_today(
    log: Log, stock: Stock, plans: Sequence[Planned], today: int
) -> tuple[str, list[str], list[str]]:
    """Say whether something forbids feeding today: a word, the entries and the constants; '' if not."""
    gasping = log.signs.get("fish_gasping")
    if gasping is not None and gasping.day > today - int(_value("sign_days")):
        return "gasping", [gasping.id], []
    oxygen, limit = log.read.get("oxygen_mg_per_l"), _oxygen_limit(stock)
    if oxygen is not None and oxygen.day >= today - 1 and oxygen.value < sources.value(limit):
        return "oxygen", [oxygen.id], [limit]
    poison, test = unionised(log), log.read.get("ammonia_mg_per_l")
    if (
        poison is not None
        and test is not None
        and test.day > today - _WEEK
        and poison > _value("ammonia_stop")
    ):
        return "ammonia", [test.id], ["pond.ammonia_stop", "pond.pka_constant", "pond.pka_slope"]
    soon = [one.entry.id for one in plans if 0 <= one.day - today <= int(_value("catch_fast"))]
    if soon:
        return "fasting", soon, ["pond.catch_fast"]
    return "", [], []


def warnings(
    station: Station, log: Log, stock: Stock, entries: Sequence[Entry], place: Place, at: Moment
) -> list[Warning]:
    """Give the warnings that stand today, the gravest first."""
    found = [
        *_signs_seen(log, at.day),
        *_water(log, stock, at.day),
        *_stock(stock, at.day, entries),
        *_larvae(log, stock, place, at.day),
        *_catching(entries, place, at.day),
        *preserving.warnings(entries, place, at.day),
    ]
    return warned.ordered(found)


def limits(station: Station, stock: Stock) -> list[Limit]:
    """Give the thresholds the phone holds a new entry against."""

    def limit(
        field: str, unit: str, code: str, level: Level, below: float | None, above: float | None
    ) -> Limit:
        return {
            "station": station.id,
            "side": None,
            "field": field,
            "unit": unit,
            "above": above,
            "below": below,
            "level": level,
            "code": code,
        }

    found = [
        limit("oxygen_mg_per_l", "mg/L", "low_oxygen", "danger", sources.value(_oxygen_limit(stock)), None),
        limit("ph", "1", "ph_out", "caution", _value("ph_low"), _value("ph_high")),
        limit("hooks_missing", "1", "hooks_missing", "danger", None, 0.0),
    ]
    whole = stock.in_pond_kg()
    if whole:
        found.append(limit("mass", "kg", "more_than_stock", "caution", None, figure(whole)))
    return found


def jobs(
    station: Station, log: Log, stock: Stock, plans: Sequence[Planned], ration: Ration | None, today: int
) -> list[Job]:
    """Give what is to be done at the pond."""
    found = list(_jobs(station, log, stock, plans, ration, today))
    return [{**job, "late": today > date.fromisoformat(job["due"]).toordinal()} for job in found]


def ahead(plans: Sequence[Planned]) -> list[Ahead]:
    """Give the catches that are planned."""
    return [
        {
            "what": "catch_fish",
            "side": None,
            "due": one.entry.data["day"],
            "earliest": None,
            "latest": None,
            "because": because(
                "pond.ahead.catch_fish.because",
                [one.entry.id],
                number=one.left,
                species=one.entry.data["species"],
            ),
        }
        for one in plans
    ]


# -- warnings -----------------------------------------------------------------------------------------


def _signs_seen(log: Log, today: int) -> Iterator[Warning]:
    for sign, (level, remedies) in _SIGNS.items():
        entry = log.signs.get(sign)
        if entry is not None and entry.day > today - int(_value("sign_days")):
            yield _warning(sign, level, [entry.id], [], remedies)


def _water(log: Log, stock: Stock, today: int) -> Iterator[Warning]:
    fresh = {name: one for name, one in log.read.items() if one.day > today - int(_value("test_days"))}
    oxygen, limit = fresh.get("oxygen_mg_per_l"), _oxygen_limit(stock)
    if oxygen is not None and oxygen.value < sources.value(limit):
        values = {"oxygen_mg_per_l": figure(oxygen.value), "limit": sources.value(limit)}
        name = limit.partition(".")[2]
        yield _warning("low_oxygen", "danger", [oxygen.id], [name], ("splash", "no_feed"), **values)
    poison, test = unionised(log), fresh.get("ammonia_mg_per_l")
    if poison is not None and test is not None and poison > _value("ammonia_stop"):
        grave = poison >= _value("ammonia_lethal")
        yield _warning(
            "ammonia",
            "danger" if grave else "caution",
            [test.id, *(log.read[name].id for name in ("ph", "temperature_c"))],
            ["ammonia_stop", "ammonia_lethal", "pka_constant", "pka_slope"],
            ("no_feed", "fresh_water", "test_water"),
            unionised_mg_per_l=poison,
            limit=_value("ammonia_stop"),
        )
    ph = fresh.get("ph")
    if ph is not None and not _value("ph_low") <= ph.value <= _value("ph_high"):
        yield _warning(
            "ph_out", "caution", [ph.id], ["ph_low", "ph_high"], ("test_water",), ph=figure(ph.value)
        )
    warm = fresh.get("temperature_c")
    cold_fish = any(fishtable.is_cold(fishtable.kind(one.species)) for one in stock.shoals.values())
    if warm is not None and cold_fish and warm.value >= _value("hot_above_cold"):
        values = {"temperature_c": figure(warm.value), "limit_c": _value("hot_above_cold")}
        yield _warning("too_warm", "caution", [warm.id], ["hot_above_cold"], ("no_feed", "splash"), **values)


def _stock(stock: Stock, today: int, entries: Sequence[Entry]) -> Iterator[Warning]:
    days = {one.id: one.day for one in entries}
    for over in stock.over[-1:]:
        if days.get(over.id, 0) > today - _MONTH:
            code = "more_than_stock" if over.unit == "kg" else "more_fish_than_counted"
            yield _warning(
                code,
                "caution",
                [over.id],
                [],
                ("look_at_weight", "mend_stock"),
                mass=figure(over.caught),
                limit=figure(over.thought),
                species=over.species,
            )
    held = sum(1 for one in stock.shoals.values() if one.now["held"])
    if held:
        kept = [one for one in stock.shoals.values() if one.now["held"]]
        yield _warning(
            "held",
            "note",
            [name for one in kept for name in one.ids],
            [],
            ("see_to_held",),
            number=_count(one.now["held"] for one in kept),
        )


def _larvae(log: Log, stock: Stock, place: Place, today: int) -> Iterator[Warning]:
    since = today - _MONTH + 1
    ids = [one.id for one in log.feeds if one.larvae and one.day >= since]
    if not ids:
        return
    if not place.item.text("larvae_as_feed_checked").strip():
        yield _warning("larvae_not_checked", "caution", ids, [], ("check_larvae_rules",))
    share = log.larvae_share(since)
    limit = fishtable.larvae_limit(stock.shoals)
    if share is not None and share > sources.value(limit):
        yield _warning(
            "larvae_over_share",
            "note",
            ids,
            [limit.partition(".")[2]],
            ("fewer_larvae", "chop_larvae"),
            share_pct=figure(_PERCENT * share),
            most_pct=figure(_PERCENT * sources.value(limit)),
        )


def _catching(entries: Sequence[Entry], place: Place, today: int) -> Iterator[Warning]:
    recent = [one for one in entries if one.kind in ("catch", "bath") and one.day > today - _WEEK]
    lost = [one.id for one in recent if one.data.get("hooks_missing")]
    if lost:
        number = _count(int(one.data.get("hooks_missing") or 0) for one in recent)
        yield _warning("hooks_missing", "danger", lost, [], ("search_hooks",), number=number)
    baths = [one for one in recent if one.kind == "bath" or one.data.get("method") == "bath"]
    if not baths:
        return
    if not pondday.is_open(place):
        yield _warning("bath_closed", "danger", [one.id for one in baths], [], ("record_rules",))
    one_step = [
        one.id
        for one in baths
        if one.kind == "catch"
        and one.data["fate"] == "killed"
        and one.data.get("second_step") in (None, "none")
    ]
    if one_step:
        yield _warning("bath_one_step", "danger", one_step, ["gill_wait"], ("second_step",))
    yield _warning("bath_waste", "caution", [one.id for one in baths], [], ("bath_waste",))


# -- jobs ---------------------------------------------------------------------------------------------


def _job(
    station: Station,
    what: str,
    due: int,
    ids: Sequence[str],
    constants: Sequence[str],
    cautions: Sequence[str],
    **values: Value,
) -> Job:
    return {
        "id": f"{station.id}:{what}",
        "what": what,
        "station": station.id,
        "side": None,
        "due": iso(max(1, due)),
        "earliest": None,
        "latest": None,
        "late": False,
        "because": because(
            f"pond.job.{what}.because", list(ids), [f"pond.{one}" for one in constants], **values
        ),
        "cautions": [f"pond.caution.{one}" for one in cautions],
    }


def _jobs(
    station: Station, log: Log, stock: Stock, plans: Sequence[Planned], ration: Ration | None, today: int
) -> Iterator[Job]:
    if ration is not None and ration["limit"] in ("table", "careful") and ration["kg"] > 0.0:
        meal = log.feeds[-1] if log.feeds else None
        due, meals = (today, []) if meal is None else (meal.day + 1, [meal.id])
        yield _job(station, "feed_fish", due, meals, [], ("feed_watch",), kg=ration["kg"])
    for plan in plans:
        cautions = ("not_alone", "hooks", "trained")
        made = _job(
            station,
            "catch_fish",
            plan.day,
            [plan.entry.id],
            ["catch_fast"],
            cautions,
            number=plan.left,
            species=plan.entry.data["species"],
        )
        yield {**made, "id": f"{made['id']}:{plan.entry.id}"}
    held = [one for one in stock.shoals.values() if one.now["held"]]
    if held:
        ids = [name for one in held for name in one.ids]
        yield _job(
            station, "see_to_held", today, ids, [], ("held",), number=_count(one.now["held"] for one in held)
        )
    tested = [one.day for name, one in log.read.items() if name in ("oxygen_mg_per_l", "ammonia_mg_per_l")]
    if tested:
        days = int(_value("test_days"))
        yield _job(station, "test_water", max(tested) + days, [], ["test_days"], (), days=days)
    for shoal in stock.shoals.values():
        if shoal.now["pond"] and shoal.weighings and shoal.put_in:
            days = int(_value("sample_stale"))
            last = shoal.weighings[-1]
            made = _job(
                station,
                "weigh_sample",
                last.day + days,
                [last.id] if last.id else [],
                ["sample_stale"],
                ("air",),
                days=days,
                species=shoal.species,
            )
            yield {**made, "id": f"{station.id}:weigh_sample:{shoal.species}"}


def _oxygen_limit(stock: Stock) -> str:
    cold = any(fishtable.is_cold(fishtable.kind(one.species)) for one in stock.shoals.values())
    return "pond.oxygen_low_cold" if cold else "pond.oxygen_low"


def _count(numbers: Iterator[int]) -> int:
    total = 0
    for one in numbers:
        total += one
    return total


def _value(name: str) -> float:
    return sources.value(f"pond.{name}")
