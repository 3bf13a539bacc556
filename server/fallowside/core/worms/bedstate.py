"""The state a bed's plan shows: both sides, the share moved, what was learned, what to log next."""

from collections.abc import Callable

from fallowside.core import rotation, sources, wormbed
from fallowside.core.errors import CannotMeet
from fallowside.core.shapes import Figure, because, figure, iso
from fallowside.core.span import Span
from fallowside.core.wormbed import NAMES, Rates
from fallowside.core.worms import bedcare
from fallowside.core.worms.bedlog import FIRST, SECOND, fed_last
from fallowside.core.worms.bedview import View, newest_ids, phase, spanned, when
from fallowside.core.worms.forecast import LEARNED


def state(view: View) -> dict[str, object]:
    """Give a bed's state, JSON-ready; `bed.look` lists what it holds."""
    past = view.past
    return {
        "feeding_side": NAMES[past.fed],
        **{f"side_{name}_name": view.station.item.text(f"side_{name}_name") for name in NAMES},
        "sides": {NAMES[side]: _side(view, side) for side in (FIRST, SECOND)},
        "share": _share(view),
        "scoops_needed": scoops_needed(view),
        "mix": _mix(view) if view.mix.ids else None,
        "usual_mix": None if view.mix.ids else _mix(view),
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
    feeds = fed_last(log, side)
    ids = [one.id for one in feeds]
    celsius, spread = view.temperature(side)
    readings = [day for day, _ in log.temperatures[side]]
    temperature_ids = newest_ids(log, "temperature", name)
    dry = [bed.scraps[side] + bed.castings[side] for bed in beds]
    depth = [
        draw.guess.depth_m(bed.scraps[side], bed.castings[side], log.area_m2)
        for draw, bed in zip(belief.draws, beds, strict=True)
    ]
    worms_ids = [id_ for count in log.counts[-3:] for id_ in count.ids]
    return {
        "phase": phase(view, side),
        "scraps": spanned(
            belief.span([bed.scraps[side] for bed in beds]),
            "kg",
            because("bed.because.scraps", ids, ["worms.decay_rate", "worms.intake_dry"], side=name),
        ),
        "castings": spanned(
            belief.span([bed.castings[side] for bed in beds]),
            "kg",
            because("bed.because.castings", ids, ["worms.yield_eaten", "worms.yield_rotted"], side=name),
        ),
        "worms": spanned(
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
        "temperature": spanned(
            Span(celsius - _TEN_PCT * spread, celsius, celsius + _TEN_PCT * spread),
            "degC",
            because(
                "bed.because.temperature" if temperature_ids else "bed.because.temperature_guess",
                temperature_ids,
                ["worms.bed_memory", "worms.bed_usual"],
                days=past.day - readings[-1] if readings else None,
            ),
        ),
        "depth": spanned(
            belief.span(depth),
            "m",
            because(
                "bed.because.depth",
                newest_ids(log, "depth", name),
                ["worms.scraps_density", "worms.castings_density"],
            ),
        ),
        "unfinished": spanned(
            belief.span(
                [bed.scraps[side] / all_ if all_ > 0.0 else 0.0 for bed, all_ in zip(beds, dry, strict=True)]
            ),
            "1",
            because("bed.because.unfinished", ids, ["worms.decay_rate", "worms.unfinished_goal"]),
        ),
        "backlog_days": _backlog(view, side),
        "days_in_phase": past.day - past.since[side],
        "days_since_fed": past.day - feeds[-1].day if feeds else None,
        "days_since_temperature": past.day - readings[-1] if readings else None,
        "holds_kg": figure(held.dry_kg + held.water_kg),
    }


def _backlog(view: View, side: int) -> float | None:
    today = view.past.before[-1].conditions[side]
    held = view.past.sides[side]
    work = wormbed.work_per_day(held, today, view.rates, view.log.area_m2)
    return figure(held.scraps_kg / work) if work > 0.0 and held.scraps_kg > 0.0 else None


def _moisture(view: View, side: int) -> Figure:
    moisture = view.past.sides[side].moisture_pct
    name = NAMES[side]
    ids = newest_ids(view.log, "moisture_pct", name) + newest_ids(view.log, "squeeze", name)
    reason = because(
        "bed.because.moisture" if ids else "bed.because.moisture_guess",
        ids,
        ["worms.evaporation", "worms.moisture_drift"],
    )
    if moisture is None:
        return {"value": None, "low": None, "high": None, "unit": "percent", "because": reason}
    reach = _TEN_PCT * view.past.unsure[side]
    return spanned(
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
            **spanned(
                view.share,
                "1",
                because("bed.because.share", view.count.ids, ["worms.clumping"], psi=figure(view.clumping)),
            ),
        }
    today = spanned(
        view.belief.span(now),
        "1",
        because(
            "bed.because.share_now",
            [id_ for count in view.log.counts[-4:] for id_ in count.ids],
            ["worms.migration_days", "worms.stayers"],
        ),
    )
    return {"today": today, "counted": counted}


def scoops_needed(view: View) -> int | None:
    """Give how many scoops a side would make the share known well enough; None if nothing was counted."""
    count = view.count
    if count is None:
        return None
    fed = view.past.fed
    means = [rotation.total(scoops) / len(scoops) for scoops in count.counts]
    try:
        return rotation.scoops_needed(
            means[fed], means[1 - fed], sources.value("worms.share_width"), dispersion=view.clumping
        )
    except CannotMeet:
        return None


def _mix(view: View) -> dict[str, object]:
    """Give moisture and C:N of what is fed; of a bed not fed of late, what a usual feed has."""
    reason = because(
        "bed.because.mix" if view.mix.ids else "bed.because.mix_guess",
        list(view.mix.ids),
        ["worms.carbon_to_nitrogen_low"],
    )
    ratio = view.mix.carbon_to_nitrogen
    return {
        "moisture": spanned(view.mix.moisture, "percent", reason),
        "carbon_to_nitrogen": None if ratio is None else spanned(ratio, "dimensionless", reason),
        "dry_share": figure(view.mix.dry_share),
    }


def _learned(view: View) -> dict[str, object]:
    belief = view.belief
    ids = [id_ for count in view.log.counts for id_ in count.ids]
    told = "bed.because.learned" if belief.seen else "bed.because.not_learned"

    def one(read: Callable[[Rates], float], unit: str, constant: str) -> Figure:
        return spanned(
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
        "full": when(view, due),
        "other_ready": ready,
        "other_phase": other,
        "helps": helps,
    }


def _away(view: View) -> list[dict[str, object]]:
    past = view.past
    held = past.sides[past.fed]
    work = wormbed.work_per_day(held, past.before[-1].conditions[past.fed], view.rates, view.log.area_m2)
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
    """Say what to log next: first what explains most of the spread of the next date.

    The share of the date's variance over the draws that goes along with each unknown is put to the
    sight that would tell of it; what nobody ever set up or read comes before.
    """
    log, past = view.log, view.past
    shares = dict.fromkeys(_TELLS, 0.0)
    dates = [
        min(one.harvest if view.setting.resting is not None else one.full, _FAR_DAYS) for one in view.dates
    ]
    explained = view.belief.explained(dates)
    for what, names in _TELLS.items():
        for name in names:
            shares[what] += explained[LEARNED.index(name)]
    if view.setting.resting is None:
        del shares["side_count"]
    read = [readings[-1][0] for readings in log.temperatures if readings]
    if not read or past.day - max(read) > _STALE_DAYS:
        shares["temperature"] += _FIRST
    if past.unsure[past.fed] > _UNSURE_PCT:
        shares["squeeze"] = _FIRST * past.unsure[past.fed] / 100.0
    if not log.area_known:
        shares["side_area"] = 2.0 * _FIRST
    if log.start_worms_kg is None and not log.counts:
        shares["start_worms"] = _FIRST
    asked = sorted(shares.items(), key=lambda one: (-one[1], one[0]))
    return [
        {"what": what, "because": because(f"bed.log.{what}", share_pct=figure(min(100.0 * share, 100.0)))}
        for what, share in asked[:3]
        if share > _WORTH_ASKING
    ]


def _widened(span: Span, spread: float) -> Span:
    """Widen a span by a factor that is unsure by itself, independent of the draws."""
    reach = 1.0 + _TEN_PCT * spread
    return Span(span.low / reach, span.mid, span.high * reach)


def _worms_spread(view: View) -> float:
    known = view.log.start_worms_kg is not None
    return sources.value("worms.spread_worms_known" if known else "worms.spread_worms_unknown")


_TEN_PCT = 1.2815515655446004
_AWAY_DAYS = (3, 7, 14)
_TELLS = {
    "side_count": ("migration", "stayers"),
    "leftover": ("decay", "appetite", "eye", "half_saturation"),
    "depth": ("scraps_density", "castings_density"),
    "castings": ("yield",),
    "temperature": ("warmth",),
}
_FAR_DAYS = 180.0
_FIRST = 1.0
_STALE_DAYS = int(sources.value("worms.temperature_every"))
_UNSURE_PCT = sources.value("worms.moisture_meter_spread") * 2.0
_WORTH_ASKING = 0.03
