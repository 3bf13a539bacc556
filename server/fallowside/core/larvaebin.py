"""The larvae bin: what it can eat, what will climb out, and when.

`look` folds a bin's entries into days (`binlog`), runs the colony's estimate over them (`colony`),
and says ration, harvest, season, indices of past batches, warnings and jobs.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import fsum

from fallowside.core import numeric, soldierfly
from fallowside.core.entries import Entry, Moment
from fallowside.core.larvae import binbatch, binlog, binration, binsigns, colony, recruits
from fallowside.core.larvae.binlog import Log, Weather
from fallowside.core.larvae.recruits import value
from fallowside.core.place import Place, Station
from fallowside.core.shapes import Ahead, Because, Figure, Series, StationPlan, because, blank, figure, iso


def look(
    station: Station, entries: Sequence[Entry], place: Place, at: Moment, memo: colony.Memo | None = None
) -> StationPlan:
    """Fold a bin's entries (effective, sorted, none after `at`) into its part of the plan.

    A `memo` of the same bin, from an earlier look, makes this one cheap and changes nothing in it.

    `state` holds: `season` (growing, no_eggs, still, hot), `colony` (trend, larvae inside, recruits),
    `history` (enough or not, and what to log), `mix` (fish and meat of the last days), `inert`
    (bones and shells lying there), `batches` (indices at each clear-out), `outputs`, `temperature_c`,
    `grown_larva_g`.
    """
    memo = memo or colony.Memo()
    log = memo.read.log(station, entries, place, at.day)
    horizon = int(value("horizon"))
    weather = memo.read.weather(log, place, at.day + horizon)
    view = _view(log, weather, horizon, memo)
    ration = binration.ration(log, place, view.stock, view.temperature_c, view.temperature_known)
    plan = blank(station.id, station.type, station.name, station.order)
    plan["state"] = {
        "season": view.season,
        "season_because": because(
            f"bin.season.{view.season}.why",
            log.last("reading.temperature") + log.last("reading.air_temperature"),
            ["soldierfly.growth_stops", "soldierfly.laying_stops", "soldierfly.mating_air", "soldierfly.hot"],
        ),
        "temperature_c": figure(view.temperature_c) if view.temperature_known else None,
        "grown_larva_g": {
            "value": figure(log.grams),
            "weighed": bool(log.grams_entry),
            "because": because(
                "bin.mass.weighed" if log.grams_entry else "bin.mass.default",
                [log.grams_entry] if log.grams_entry else [],
                ["soldierfly.sample" if log.grams_entry else "soldierfly.prepupa_mass"],
            ),
        },
        "colony": _colony_state(log, view),
        "history": {"enough": not view.missing, "log": view.missing},
        "mix": _mix_state(log, ration["kg"]),
        "inert": binbatch.inert(log),
        "batches": memo.read.told.of("batches", binbatch.under(log), lambda: binbatch.batches(log, place)),
        "outputs": memo.read.told.of(
            "outputs", (len(log.given), at.day), lambda: binsigns.outputs(log, place)
        ),
    }
    plan["ration"] = ration
    plan["ahead"] = [_ahead(log, view)]
    plan["warnings"] = binsigns.warnings(log, place, view.temperature_c, view.season_turn)
    plan["limits"] = memo.read.told.of("limits", (), lambda: binsigns.limits(station))
    plan["jobs"] = binsigns.jobs(
        station, log, view.outlook is not None and view.outlook.mid >= 1.0, view.season_turn
    )
    plan["series"] = _series(log, weather, view, memo)
    return plan


@dataclass(frozen=True, slots=True)
class _View:
    """What is made of a log today: temperature, season, stock and outlook."""

    temperature_c: float
    temperature_known: bool
    season: str
    season_turn: str
    stock: colony.Stock | None
    outlook: colony.Outlook | None
    missing: list[str]
    trend: str


def _view(log: Log, weather: Weather, horizon: int, memo: colony.Memo) -> _View:
    today = log.today - weather.first_day
    temperature_c = weather.feed_c[today]
    history, told = memo.read.lived(log, weather), memo.read.told
    guess = value("recruits_per_area") * log.area_m2
    lived = told.of("lived", history, lambda: colony.live_through(history, guess, horizon, memo))
    missing = _missing(log, history)
    stock = told.of("stock", history, lived.stock) if log.catches else None
    outlook = None
    if log.catches or log.clutches or log.feeds:
        outlook = told.of("outlook", (history, weather), lambda: _outlook(log, weather, horizon, lived))
        lately = _lately(log, horizon)
        if lately is not None:
            outlook = outlook.pulled(lately)
    gate, last_gate = (binlog.gate(weather.noon_c[at]) for at in (today, -1))
    return _View(
        temperature_c=temperature_c,
        temperature_known=bool(log.temperatures),
        season=_season(temperature_c, gate),
        season_turn="ends" if gate > value("gate_floor") >= last_gate else "",
        stock=stock,
        outlook=outlook,
        missing=missing,
        trend=_trend(log, outlook) if not missing else "not_known",
    )


def _outlook(log: Log, weather: Weather, horizon: int, lived: colony.Colony) -> colony.Outlook:
    error = value("weather_error")
    return lived.outlook(
        *(
            binlog.days(log, weather, log.today + 1, log.today + horizon, shift)
            for shift in (0.0, error, -error)
        )
    )


def _lately(log: Log, horizon: int) -> float | None:
    """Give what the coming days would bring at the pace counted in the last week.

    None where nothing was counted then, or clutches were noted of late: these tell more of what is to come.
    """
    if any(day > log.today - int(value("clutches_tell")) for day, _ in log.clutches):
        return None
    counted, covered = 0.0, 0
    for catch in reversed(log.catches):
        if catch.day <= log.today - colony.WEEK:
            break
        counted += catch.count
        covered += catch.span
    return counted * horizon / covered if covered else None


def _missing(log: Log, history: Sequence[recruits.Day]) -> list[str]:
    """Say what to log before a forecast leans on the bin itself: message keys, none if it does."""
    missing = []
    if len(log.catches) < int(value("enough_counts")):
        missing.append("bin.log.counts")
    elif log.catches:
        passed = 0.0
        for day in history[log.catches[0].day - log.first_day :]:
            passed += day.step
        if passed < 1.0:
            missing.append("bin.log.counts_for_one_larval_time")
    if not log.temperatures:
        missing.append("bin.log.temperature")
    return missing


def _season(temperature_c: float, gate: float) -> str:
    if temperature_c >= value("hot"):
        return "hot"
    if temperature_c <= value("growth_stops"):
        return "still"
    return "no_eggs" if gate <= value("gate_floor") else "growing"


def _trend(log: Log, outlook: colony.Outlook | None) -> str:
    """Compare the next days' expected harvest with the last days': building, steady or dying_back."""
    if outlook is None:
        return "not_known"
    came, covered, horizon = 0.0, 0, int(value("horizon"))
    for catch in log.catches:
        if catch.day > log.today - horizon:
            came += catch.count
            covered += catch.span
    if covered == 0:
        return "not_known"
    before = came * horizon / min(covered, horizon)
    if before < 1.0:
        return "building" if outlook.low > 1.0 else "not_known"
    if outlook.low > before or outlook.mid > before * value("trend_up"):
        return "building"
    return "dying_back" if outlook.mid < before * value("trend_down") else "steady"


def _colony_state(log: Log, view: _View) -> dict[str, object]:
    """Tell how many larvae are thought to be inside, how dense, and whether the colony builds."""
    ids = [catch.id for catch in log.catches]
    names = ("larva_thermal_constant_yeast", "boxes", "climb_share", "crowded", "trend_up", "trend_down")
    reason = because(
        "bin.colony.because" if view.stock else "bin.colony.not_counted",
        ids,
        [f"soldierfly.{name}" for name in names],
        counts=len(ids),
    )
    state: dict[str, object] = {
        "trend": view.trend,
        "larvae_inside": None,
        "per_cm2": None,
        "crowded": None,
        "because": reason,
    }
    if view.stock is not None:
        ratio = numeric.exp(soldierfly.HALF * view.stock.doubt)
        per_cm2 = binration.crowding(view.stock, log.area_m2)
        state["larvae_inside"] = _doubtful(view.stock.larvae() / value("climb_share"), ratio, reason)
        state["per_cm2"] = _doubtful(per_cm2, ratio, reason)
        state["crowded"] = per_cm2 > value("crowded")
    return state


def _doubtful(mid: float, ratio: float, reason: Because) -> Figure:
    """Give a bare number whose range lies by a ratio below and above it."""
    low, high = figure(mid / ratio), figure(mid * ratio)
    return {"value": figure(mid), "low": low, "high": high, "unit": "", "because": reason}


def _mix_state(log: Log, ration_kg: float) -> dict[str, object]:
    """Give the shares of fish and meat in the last days, and how much the next feed may hold."""
    lately = binration.lately(log)
    state: dict[str, object] = {
        "days": int(value("mix_window_days")),
        "total_kg": figure(lately.total_kg),
        "because": because(
            "bin.mix.because",
            [feed.id for feed in log.feeds],
            [f"soldierfly.{animal}_share" for animal in binration.ANIMAL],
            days=int(value("mix_window_days")),
        ),
    }
    for animal in binration.ANIMAL:
        share, most = lately.share(animal), value(f"{animal}_share")
        room = binration.animal_limit(lately.total_kg, share * lately.total_kg, most, ration_kg)
        state[f"{animal}_pct"] = figure(100.0 * share)
        state[f"{animal}_most_pct"] = figure(100.0 * most)
        state[f"{animal}_most_kg"] = figure(room)
    return state


def _ahead(log: Log, view: _View) -> Ahead:
    """Say how many larvae climb out over the next days, and between which days most of them do."""
    constants = [
        f"soldierfly.{name}"
        for name in ("larva_thermal_constant_yeast", "upper_limit", "boxes", "time_spread_mixed")
    ]
    ids = [*(catch.id for catch in log.catches[-8:]), *log.last("eggs"), *log.last("reading.temperature")]
    key = "bin.harvest.not_enough_history" if view.missing else "bin.harvest.because"
    horizon = int(value("horizon"))
    if _lately(log, horizon) is not None:
        constants.append("soldierfly.lately_weight")
    outlook = view.outlook
    reason = because(
        key,
        ids,
        constants,
        days=horizon,
        counts=len(log.catches),
        temperature_c=figure(view.temperature_c),
        kg=None if outlook is None else figure(outlook.mid * log.grams / binlog.GRAMS),
    )
    item: Ahead = {
        "what": "self_harvest",
        "side": None,
        "due": None,
        "earliest": None,
        "latest": None,
        "because": reason,
    }
    if outlook is None:
        item["amount"] = {"value": None, "low": None, "high": None, "unit": "larvae", "because": reason}
        return item
    item["amount"] = _amount(outlook, reason)
    if outlook.mid >= 1.0:
        item["earliest"], item["due"], item["latest"] = (
            iso(log.today + 1 + _day_by(outlook, share)) for share in (0.1, 0.5, 0.9)
        )
    return item


def _amount(outlook: colony.Outlook, reason: Because) -> Figure:
    return {
        "value": figure(outlook.mid),
        "low": figure(outlook.low),
        "high": figure(outlook.high),
        "unit": "larvae",
        "because": reason,
    }


def _day_by(outlook: colony.Outlook, share: float) -> int:
    """Give the day of the outlook by which a share of its expected harvest has come, 0 the first."""
    total = fsum(mid for _, mid, _ in outlook.daily)
    seen = 0.0
    for number, (_, mid, _) in enumerate(outlook.daily):
        seen += mid
        if seen >= share * total:
            return number
    return len(outlook.daily) - 1


def _series(log: Log, weather: Weather, view: _View, memo: colony.Memo) -> list[Series]:
    since = max(log.first_day, log.today - int(value("chart_days")))
    past = list(range(since, log.today + 1))
    if memo.drawn is None or memo.drawn[0] is not weather:
        memo.drawn = weather, _temperature_series(weather, past)
    last = log.catches[-1].us if log.catches else 0
    return [
        _harvest_series(log, past, view.outlook, memo.read),
        memo.drawn[1],
        memo.read.told.of(
            "fed_by_week",
            (log.today, len(log.feeds)),
            lambda: _by_week("fed_by_week", past, ((feed.day, feed.kg) for feed in reversed(log.feeds))),
        ),
        memo.read.told.of(
            "larvae_by_week",
            (log.today, len(log.catches), last),
            lambda: _by_week("larvae_by_week", past, ((one.day, one.kg) for one in reversed(log.catches))),
        ),
    ]


def _by_week(name: str, past: Sequence[int], newest_first: Iterable[tuple[int, float]]) -> Series:
    """Sum kilograms over the weeks up to today."""
    weekly = [day for day in past if (past[-1] - day) % colony.WEEK == 0]
    sums: dict[int, list[float]] = {day: [] for day in weekly}
    for day, kg in newest_first:
        if day <= weekly[0] - colony.WEEK:
            break
        end = weekly[-1] - (weekly[-1] - day) // colony.WEEK * colony.WEEK
        sums[end].append(kg)
    return {
        "name": name,
        "side": None,
        "unit": "kg",
        "days": [iso(day) for day in weekly],
        "values": [figure(fsum(sums[day])) for day in weekly],
    }


def _harvest_series(
    log: Log, past: Sequence[int], outlook: colony.Outlook | None, read: binlog.Kept
) -> Series:
    by_day = {catch.day: catch.count / catch.span for catch in log.catches[-len(past) :]}
    ahead = outlook.daily if outlook is not None else ()
    days = range(past[0], log.today + 1 + len(ahead))
    seen: list[float | None] = [figure(by_day[day]) if day in by_day else None for day in past]
    blanks: list[float | None] = [None] * len(past)
    return {
        "name": "self_harvest",
        "side": None,
        "unit": "larvae",
        "days": read.told.of("days", (days,), lambda: [iso(day) for day in days]),
        "values": [*seen, *(figure(mid) for _, mid, _ in ahead)],
        "low": [*blanks, *(figure(low) for low, _, _ in ahead)],
        "high": [*blanks, *(figure(high) for _, _, high in ahead)],
    }


def _temperature_series(weather: Weather, past: Sequence[int]) -> Series:
    at = [day - weather.first_day for day in past]
    return {
        "name": "temperature",
        "side": None,
        "unit": "degC",
        "days": [iso(day) for day in past],
        "values": [figure(weather.feed_c[one]) for one in at],
        "low": [figure(weather.feed_c[one] - soldierfly.HALF * weather.spread_c[one]) for one in at],
        "high": [figure(weather.feed_c[one] + soldierfly.HALF * weather.spread_c[one]) for one in at],
        "band": [value("best_low"), value("best_high")],
    }
