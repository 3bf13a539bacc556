"""The two-sided worm bed's part of a plan: state, ration, what is ahead, warnings, jobs, charts."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import inf, isfinite

from fallowside.core import (
    bedahead,
    bedcare,
    bedcharts,
    bedlog,
    bedpast,
    bedwarnings,
    forecast,
    rotation,
    sources,
    wormbed,
)
from fallowside.core.bedahead import Dates, Setting
from fallowside.core.bedlog import FIRST, SECOND, Count, Log
from fallowside.core.bedpast import Past
from fallowside.core.entries import Entry, Moment
from fallowside.core.errors import CannotMeet
from fallowside.core.forecast import Belief
from fallowside.core.place import Place, Station
from fallowside.core.shapes import (
    Ahead,
    Because,
    Figure,
    Job,
    Ration,
    StationPlan,
    because,
    blank,
    figure,
    iso,
)
from fallowside.core.span import Span
from fallowside.core.warmth import Warmth
from fallowside.core.wormbed import NAMES, Rates


@dataclass(frozen=True, slots=True)
class View:
    """Everything known of a bed at one instant; the parts of its plan are read off from here."""

    station: Station
    log: Log
    past: Past
    warm: tuple[Warmth, Warmth]
    belief: Belief
    setting: Setting
    dates: Sequence[Dates]
    mix: bedcare.Mix
    allowance: bedcare.Allowance
    share: Span | None
    count: Count | None
    clumping: float

    def temperature(self, side: int) -> tuple[float, float]:
        """Give a side's temperature today with its standard deviation. [degC]."""
        at = self.past.day - self.log.first_day
        return self.warm[side].mean_c[at], self.warm[side].spread_c[at]


def look(station: Station, entries: Sequence[Entry], place: Place, at: Moment) -> StationPlan:
    """Fold a bed's entries (effective, sorted, none after `at`) into its part of the plan.

    `state` holds: `feeding_side`; `sides` by name (`a`, `b`), each with `phase`, `scraps`, `castings`,
    `worms`, `moisture`, `temperature`, `depth`, `unfinished` (figures) and days since things happened;
    `share` on the feeding side; `scoops_needed`; `mix` fed of late; `learned` parameters; `turn` (why
    the feeding side is due, whether the other is ready, what helps if not); `away`; `log_next`.
    """
    view = view_of(station, entries, place, at)
    plan = blank(station.id, station.type, station.name, station.order)
    plan["state"] = _state(view)
    plan["ration"] = _ration(view)
    plan["ahead"] = _ahead(view)
    plan["warnings"] = bedwarnings.warnings(
        view.log, view.past, view.setting, view.temperature(view.past.fed)[0], view.share, at
    )
    plan["limits"] = bedcare.limits(station.id)
    plan["jobs"] = _jobs(view, plan["ahead"])
    plan["series"] = bedcharts.series(view.log, view.past, view.warm, view.clumping)
    return plan


def view_of(station: Station, entries: Sequence[Entry], place: Place, at: Moment) -> View:
    """Work out everything a bed's plan is read off from."""
    log = bedlog.read(station, entries, place, at.day)
    warm = bedpast.warmths(log, place)
    base = Rates()
    anchor = bedpast.run_to(bedpast.start(log), forecast.window(log)[1], log, warm, base)
    past = bedpast.run(bedpast.copy(anchor), log, warm, base)
    known = forecast.learn(past, log, warm, base)
    belief = forecast.believe(past, log, warm, base, known)
    past = bedpast.run(anchor, log, warm, belief.middle().rates)
    set_ = bedahead.setting(past, log)
    dates = bedahead.dates(belief, past, log, set_, warm)
    fed = bedcare.recent_mix(past, log, place)
    today = warm[past.fed].mean_c[past.day - log.first_day]
    clumping = rotation.clumping([scoops for count in log.counts for scoops in count.counts])
    count = next((one for one in reversed(log.counts) if one.paired and one.day >= past.since[0]), None)
    return View(
        station,
        log,
        past,
        warm,
        belief,
        set_,
        dates,
        fed,
        bedcare.allowance(belief, past, log, set_, fed, today),
        None if count is None else count_share(count, past.fed, clumping),
        count,
        clumping,
    )


def count_share(count: Count, fed: int, clumping: float) -> Span:
    """Give the share of worms on the side fed from one day's scoops, for halves of equal volume."""
    ratio = count.litres[1 - fed] / count.litres[fed]
    return rotation.share(count.counts[fed], count.counts[1 - fed], dispersion=clumping, volume_ratio=ratio)


# -- state ---------------------------------------------------------------------------------------


def _state(view: View) -> dict[str, object]:
    past = view.past
    return {
        "feeding_side": NAMES[past.fed],
        "sides": {NAMES[side]: _side(view, side) for side in (FIRST, SECOND)},
        "share": _share(view),
        "scoops_needed": _scoops_needed(view),
        "mix": _mix(view),
        "learned": _learned(view),
        "turn": _turn(view),
        "away": _away(view),
        "log_next": _log_next(view),
    }


def _side(view: View, side: int) -> dict[str, object]:
    past, log, belief = view.past, view.log, view.belief
    name = NAMES[side]
    beds = belief.beds
    held = past.sides[side]
    fed_days = [one.day for one in log.feeds if one.side == side]
    ids = [one.id for one in log.feeds if one.side == side]
    celsius, spread = view.temperature(side)
    readings = [day for day, _ in log.temperatures[side]]
    temperature_ids = _newest_ids(log, "temperature", name)
    dry = [bed.scraps[side] + bed.castings[side] for bed in beds]
    depth = [
        draw.guess.depth_m(bed.scraps[side], bed.castings[side], log.area_m2)
        for draw, bed in zip(belief.draws, beds, strict=True)
    ]
    worms_ids = [id_ for count in log.counts[-3:] for id_ in count.ids]
    return {
        "phase": phase(view, side),
        "scraps": _figure(
            belief.span([bed.scraps[side] for bed in beds]),
            "kg",
            because("bed.because.scraps", ids, ["worms.decay_rate", "worms.intake_dry"], side=name),
        ),
        "castings": _figure(
            belief.span([bed.castings[side] for bed in beds]),
            "kg",
            because("bed.because.castings", ids, ["worms.yield_eaten", "worms.yield_rotted"], side=name),
        ),
        "worms": _figure(
            _widened(belief.span([bed.worms[side] for bed in beds]), _worms_spread(view)),
            "kg",
            because(
                "bed.because.worms",
                worms_ids,
                ["worms.growth_rate", "worms.carrying_capacity", "worms.start_stocking"],
                known=log.start_worms_kg is not None,
            ),
        ),
        "moisture": _moisture(view, side),
        "temperature": _figure(
            Span(celsius - _TEN_PCT * spread, celsius, celsius + _TEN_PCT * spread),
            "degC",
            because(
                "bed.because.temperature" if temperature_ids else "bed.because.temperature_guess",
                temperature_ids,
                ["worms.bed_memory", "worms.bed_usual"],
                days=past.day - readings[-1] if readings else None,
            ),
        ),
        "depth": _figure(
            belief.span(depth),
            "m",
            because(
                "bed.because.depth",
                _newest_ids(log, "depth", name),
                ["worms.scraps_density", "worms.castings_density"],
            ),
        ),
        "unfinished": _figure(
            belief.span(
                [bed.scraps[side] / all_ if all_ > 0.0 else 0.0 for bed, all_ in zip(beds, dry, strict=True)]
            ),
            "1",
            because("bed.because.unfinished", ids, ["worms.decay_rate", "worms.unfinished_goal"]),
        ),
        "backlog_days": _backlog(view, side),
        "days_in_phase": past.day - past.since[side],
        "days_since_fed": past.day - max(fed_days) if fed_days else None,
        "days_since_temperature": past.day - readings[-1] if readings else None,
        "holds_kg": figure(held.dry_kg + held.water_kg),
    }


def phase(view: View, side: int) -> rotation.Phase:
    """Say where in its cycle a side stands; a side that never held anything counts as harvested."""
    past = view.past
    resting = side != past.fed
    empty = past.sides[side].dry_kg < sources.value("worms.hardly_anything")
    bedded = past.bedded[side]
    harvested = past.harvested[side]
    if resting and harvested is None and empty:
        harvested = past.since[side]
    fit = resting and view.setting.resting == side and _fit(view)
    return rotation.phase(rotation.Standing(not resting, harvested, bedded, fit))


def _fit(view: View) -> bool:
    """Both goals are met for the middle of the draws."""
    return view.belief.span([one.harvest for one in view.dates]).mid <= 0.0


def _backlog(view: View, side: int) -> float | None:
    today = view.past.before[-1].conditions[side]
    held = view.past.sides[side]
    work = wormbed.work_per_day(held, today, view.belief.middle().rates, view.log.area_m2)
    return figure(held.scraps_kg / work) if work > 0.0 and held.scraps_kg > 0.0 else None


def _moisture(view: View, side: int) -> Figure:
    moisture = view.past.sides[side].moisture_pct
    name = NAMES[side]
    ids = _newest_ids(view.log, "moisture_pct", name) + _newest_ids(view.log, "squeeze", name)
    reason = because(
        "bed.because.moisture" if ids else "bed.because.moisture_guess",
        ids,
        ["worms.evaporation", "worms.moisture_drift"],
    )
    if moisture is None:
        return {"value": None, "low": None, "high": None, "unit": "percent", "because": reason}
    reach = _TEN_PCT * view.past.unsure[side]
    return _figure(
        Span(max(moisture - reach, 0.0), moisture, min(moisture + reach, 100.0)), "percent", reason
    )


def _share(view: View) -> dict[str, object] | None:
    """Give the share on the feeding side: from the last count, and as the model has it today."""
    past = view.past
    now = []
    for bed in view.belief.beds:
        total = bed.worms[FIRST] + bed.worms[SECOND]
        now.append(bed.worms[past.fed] / total if total > 0.0 else 0.0)
    counted = None
    if view.count is not None and view.share is not None:
        counted = {
            "day": iso(view.count.day),
            **_figure(
                view.share,
                "1",
                because("bed.because.share", view.count.ids, ["worms.clumping"], psi=figure(view.clumping)),
            ),
        }
    today = _figure(
        view.belief.span(now),
        "1",
        because(
            "bed.because.share_now",
            [id_ for count in view.log.counts[-4:] for id_ in count.ids],
            ["worms.migration_days", "worms.stayers"],
        ),
    )
    return {"today": today, "counted": counted}


def _scoops_needed(view: View) -> int | None:
    """Give how many scoops a side would make the share known well enough; None if nothing was counted."""
    count = view.count
    if count is None:
        return None
    fed = view.past.fed
    means = [sum(scoops) / len(scoops) for scoops in count.counts]
    try:
        return rotation.scoops_needed(
            means[fed], means[1 - fed], sources.value("worms.share_width"), dispersion=view.clumping
        )
    except CannotMeet:
        return None


def _mix(view: View) -> dict[str, object]:
    ratio = view.mix.carbon_to_nitrogen
    return {
        "moisture_pct": figure(view.mix.moisture_pct),
        "carbon_to_nitrogen": None if ratio is None else figure(ratio),
        "dry_share": figure(view.mix.dry_share),
        "because": because(
            "bed.because.mix" if view.mix.ids else "bed.because.mix_guess",
            list(view.mix.ids),
            ["worms.carbon_to_nitrogen_low"],
        ),
    }


def _learned(view: View) -> dict[str, object]:
    belief = view.belief
    ids = [id_ for count in view.log.counts for id_ in count.ids]
    told = "bed.because.learned" if belief.seen else "bed.because.not_learned"

    def one(read: Callable[[Rates], float], unit: str, constant: str) -> Figure:
        return _figure(
            belief.span([read(draw.guess.rates) for draw in belief.draws]),
            unit,
            because(told, ids, [constant], sights=belief.seen),
        )

    return {
        "migration_days": one(lambda rates: rates.migration_days, "day", "worms.migration_days"),
        "stayers": one(lambda rates: rates.stayers, "1", "worms.stayers"),
        "decay": one(lambda rates: rates.decay, "1/day", "worms.decay_rate"),
        "intake": one(lambda rates: rates.intake, "kg/kg/day", "worms.intake_dry"),
        "label": "bed.label.migration_unvalidated",
    }


def _turn(view: View) -> dict[str, object]:
    """Say why the feeding side is due, whether the other side is ready, and what helps if it is not."""
    due = view.belief.span([one.full for one in view.dates])
    reasons: dict[str, float] = {}
    for one, weight in zip(view.dates, view.belief.weights, strict=True):
        if one.reason is not None:
            reasons[one.reason] = reasons.get(one.reason, 0.0) + weight
    reason = max(sorted(reasons), key=lambda name: reasons[name]) if reasons else None
    other = phase(view, 1 - view.past.fed)
    ready = other in ("harvested", "bedded")
    helps: list[str] = []
    if due.mid <= 0.0 and not ready:
        helps = ["bed.help.smaller_ration", "bed.help.scrape_by_light", "bed.help.wait"]
    return {
        "due": due.mid <= 0.0,
        "reason": reason,
        "full": _when(view, due),
        "other_ready": ready,
        "other_phase": other,
        "helps": helps,
    }


def _away(view: View) -> list[dict[str, object]]:
    past, belief = view.past, view.belief
    held = past.sides[past.fed]
    work = wormbed.work_per_day(
        held, past.before[-1].conditions[past.fed], belief.middle().rates, view.log.area_m2
    )
    most = held.scraps_kg + view.allowance.limits["backlog"] * view.mix.dry_share
    air = sources.value("worms.evaporation") * view.log.area_m2 * past.before[-1].conditions[past.fed].drying
    made = []
    for days in _AWAY_DAYS:
        one = bedcare.away(
            days,
            held.scraps_kg,
            work,
            most,
            view.allowance.limits["room"],
            view.mix.dry_share,
            2.0 * air,
        )
        made.append(
            {
                "days": days,
                "before_kg": figure(one.before_kg),
                "visits": one.visits,
                "visit_kg": figure(one.visit_kg),
                "water_kg": figure(one.water_kg),
                "because": because(
                    "bed.away.visits" if one.visits else "bed.away.leave",
                    [],
                    ["worms.live_on", "worms.layer", "worms.evaporation"],
                    days=days,
                    before_kg=figure(one.before_kg),
                    visits=one.visits,
                    visit_kg=figure(one.visit_kg),
                ),
            }
        )
    return made


def _log_next(view: View) -> list[dict[str, object]]:
    """Say what to log next: what would narrow the intervals most comes first."""
    past, log = view.past, view.log
    resting = view.setting.resting
    asks: list[tuple[float, str]] = []
    spread = view.temperature(past.fed)[1]
    asks.append((spread / 4.0, "temperature"))
    if resting is not None:
        moved = view.belief.span([one.moved for one in view.dates])
        width = min(moved.high, 120.0) - min(moved.low, 120.0)
        asks.append((width / 15.0, "side_count"))
        finished = view.belief.span([one.finished for one in view.dates])
        width = min(finished.high, 120.0) - min(finished.low, 120.0)
        asks.append((width / 30.0, "leftover"))
    elif log.feeds:
        asks.append((0.5, "leftover"))
    if not log.area_known:
        asks.append((3.0, "side_area"))
    if log.start_worms_kg is None and not log.counts:
        asks.append((2.0, "start_worms"))
    asks.append((past.unsure[past.fed] / 6.0, "squeeze"))
    asks.sort(key=lambda one: (-one[0], one[1]))
    return [{"what": what, "because": because(f"bed.log.{what}")} for worth, what in asks[:3] if worth > 0.4]


# -- ration --------------------------------------------------------------------------------------


def _ration(view: View) -> Ration:
    given = view.allowance
    side = NAMES[view.past.fed]
    limit = given.limit
    return {
        "side": side,
        "kg": figure(given.wet_kg.mid),
        "low": figure(given.wet_kg.low),
        "high": figure(given.wet_kg.high),
        "limit": limit,
        "add": bedcare.additions(view.past, view.mix, given.wet_kg.mid),
        "because": because(
            f"bed.ration.{limit}",
            [*_newest_ids(view.log, "temperature", side), *view.mix.ids][-12:],
            ["worms.intake_dry", *_LIMIT_CONSTANTS[limit]],
            kg=figure(given.wet_kg.mid),
            days=figure(given.days),
            given=figure(given.given_kg),
            temperature=figure(view.temperature(view.past.fed)[0]),
            **{name: figure(kg) if isfinite(kg) else None for name, kg in given.limits.items()},
        ),
    }


# -- ahead ---------------------------------------------------------------------------------------


def _ahead(view: View) -> list[Ahead]:
    past = view.past
    fed, other = NAMES[past.fed], NAMES[1 - past.fed]
    harvested_next = other if view.setting.resting is not None else fed
    ids = [id_ for count in view.log.counts[-4:] for id_ in count.ids]
    feed_ids = list(view.mix.ids)
    rows: list[tuple[str, str, list[float], Because]] = [
        (
            "switch_sides",
            other,
            [one.switch for one in view.dates],
            because(
                "bed.ahead.switch_sides",
                feed_ids,
                ["worms.depth_full", "worms.castings_layer", "worms.backlog_days"],
                side=other,
            ),
        ),
        (
            "worms_moved",
            harvested_next,
            [one.moved for one in view.dates],
            because(
                "bed.ahead.worms_moved",
                ids,
                ["worms.migration_days", "worms.stayers", "worms.moved_goal"],
                side=harvested_next,
                goal_pct=figure(100.0 * rotation.MOVED_GOAL),
            ),
        ),
        (
            "castings_finished",
            harvested_next,
            [one.finished for one in view.dates],
            because(
                "bed.ahead.castings_finished",
                feed_ids,
                ["worms.decay_rate", "worms.decay_q10", "worms.unfinished_goal"],
                side=harvested_next,
                goal_pct=figure(100.0 * rotation.UNFINISHED_GOAL),
            ),
        ),
        (
            "harvest_castings",
            harvested_next,
            [one.harvest for one in view.dates],
            because(
                "bed.ahead.harvest_castings",
                ids + feed_ids,
                ["worms.moved_goal", "worms.unfinished_goal"],
                side=harvested_next,
            ),
        ),
    ]
    made: list[Ahead] = []
    for what, side, days, reason in rows:
        span = view.belief.span(days)
        when = _when(view, span)
        made.append(
            {
                "what": what,
                "side": side,
                "due": when["due"],
                "earliest": when["earliest"],
                "latest": when["latest"],
                "because": reason,
            }
        )
    if view.setting.resting is not None:
        made[-1]["amount"] = _castings_due(view)
    return made


def _when(view: View, span: Span) -> dict[str, str | None]:
    day = view.past.day
    ends = {"due": span.mid, "earliest": span.low, "latest": span.high}
    return {name: iso(day + round(days)) if days < inf else None for name, days in ends.items()}


def _castings_due(view: View) -> Figure:
    """Give the wet castings the resting side would yield once its scraps have gone."""
    side = view.setting.resting or 0
    dry = [
        bed.castings[side]
        + bed.scraps[side] * 0.5 * (draw.guess.rates.yield_eaten + draw.guess.rates.yield_rotted)
        for bed, draw in zip(view.belief.beds, view.belief.draws, strict=True)
    ]
    wet = 1.0 - sources.value("worms.castings_moisture") / 100.0
    return _figure(
        view.belief.span([one / wet for one in dry]),
        "kg",
        because(
            "bed.because.castings_due",
            [one.id for one in view.log.feeds if one.side == side],
            ["worms.castings_moisture", "worms.yield_eaten", "worms.yield_rotted"],
        ),
    )


# -- jobs ----------------------------------------------------------------------------------------


def _jobs(view: View, ahead: Sequence[Ahead]) -> list[Job]:
    past, log = view.past, view.log
    fed, other = NAMES[past.fed], NAMES[1 - past.fed]
    made: list[Job] = []
    if view.allowance.wet_kg.mid > 0.0 and not view.allowance.given_kg:
        last = max((one.day for one in log.feeds), default=None)
        due = past.day if last is None else last + int(sources.value("worms.ration_gap_days"))
        made.append(_job(view, "feed", fed, due, because("bed.job.feed", [], ["worms.ration_gap_days"])))
    read = max((readings[-1][0] for readings in log.temperatures if readings), default=None)
    due = past.day if read is None else read + int(sources.value("worms.temperature_every"))
    made.append(
        _job(
            view,
            "take_temperature",
            None,
            due,
            because("bed.job.take_temperature", [], ["worms.temperature_every"]),
        )
    )
    state = phase(view, 1 - past.fed)
    if state in ("resting", "fit_to_harvest"):
        made.append(_count_job(view, other))
    if state == "harvested":
        made.append(_job(view, "lay_bedding", other, past.day, because("bed.job.lay_bedding")))
    soon = past.day + int(sources.value("worms.job_ahead"))
    for what, job, side in (
        ("switch_sides", "switch_sides", other),
        ("harvest_castings", "harvest_castings", other),
    ):
        row = next(one for one in ahead if one["what"] == what)
        if (
            row["due"] is None
            or row["due"] > iso(soon)
            or (what == "harvest_castings" and row["side"] == fed)
        ):
            continue
        cautions = ["bed.caution.dust", "bed.caution.hands"] if what == "harvest_castings" else []
        stragglers = (
            what == "harvest_castings" and view.share is not None and view.share.high < rotation.MOVED_GOAL
        )
        made.append(
            {
                "id": f"{view.station.id}:{job}:{side}",
                "what": job,
                "station": view.station.id,
                "side": side,
                "due": row["due"],
                "earliest": row["earliest"],
                "latest": row["latest"],
                "late": False,
                "because": because("bed.job.scrape_in_passes") if stragglers else row["because"],
                "cautions": cautions,
            }
        )
    return made


def _count_job(view: View, side: str) -> Job:
    past, log = view.past, view.log
    every = int(sources.value("worms.count_every"))
    last = max((one.day for one in log.counts if one.day >= past.since[FIRST]), default=past.since[FIRST])
    return _job(
        view, "count_scoops", side, last + every, because("bed.job.count_scoops", [], ["worms.count_every"])
    )


def _job(view: View, what: str, side: str | None, due: int, reason: Because) -> Job:
    return {
        "id": f"{view.station.id}:{what}:{side or ''}",
        "what": what,
        "station": view.station.id,
        "side": side,
        "due": iso(due),
        "earliest": None,
        "latest": None,
        "late": view.past.day > due,
        "because": reason,
        "cautions": [],
    }


# -- small parts ---------------------------------------------------------------------------------


def _figure(span: Span, unit: str, reason: Because) -> Figure:
    low, mid, high = (figure(end) if isfinite(end) else None for end in (span.low, span.mid, span.high))
    return {"value": mid, "low": low, "high": high, "unit": unit, "because": reason}


def _widened(span: Span, spread: float) -> Span:
    """Widen a span by a factor that is unsure by itself, independent of the draws."""
    reach = 1.0 + _TEN_PCT * spread
    return Span(span.low / reach, span.mid, span.high * reach)


def _worms_spread(view: View) -> float:
    known = view.log.start_worms_kg is not None
    return sources.value("worms.spread_worms_known" if known else "worms.spread_worms_unknown")


def _newest_ids(log: Log, field: str, side: str) -> list[str]:
    entry = log.newest.get(f"reading.{field}.{side}") or log.newest.get(f"reading.{field}")
    return [] if entry is None else [entry.id]


_TEN_PCT = 1.2815515655446004
_AWAY_DAYS = (3, 7, 14)
_LIMIT_CONSTANTS = {
    "worms": ["worms.ration_gap_days"],
    "warmth": ["worms.cardinal_min", "worms.cardinal_opt", "worms.cold_stop"],
    "moisture": ["worms.moisture_comfort_low", "worms.moisture_wet"],
    "backlog": ["worms.backlog_feeding_days", "worms.decay_rate"],
    "room": ["worms.layer", "worms.layer_density", "worms.depth_full"],
    "heat": ["worms.heat_stop"],
    "carbon_to_nitrogen": ["worms.carbon_to_nitrogen_poorest"],
}
