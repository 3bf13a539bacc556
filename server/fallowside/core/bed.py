"""The two-sided worm bed's part of a plan: state, ration, what is ahead, warnings, jobs, charts."""

from collections.abc import Sequence
from math import isfinite

from fallowside.core import rotation, sources
from fallowside.core.entries import Entry, Moment
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
from fallowside.core.wormbed import NAMES
from fallowside.core.worms import bedcare, bedcharts, bedstate
from fallowside.core.worms.bedlog import FIRST, SECOND, fed_last
from fallowside.core.worms.bedmemo import Memo
from fallowside.core.worms.bedview import View, newest_ids, phase, spanned, view_of, when


def look(
    station: Station, entries: Sequence[Entry], place: Place, at: Moment, memo: Memo | None = None
) -> StationPlan:
    """Fold a bed's entries (effective, sorted, none after `at`) into its part of the plan.

    A `memo` of the same bed, from an earlier look, makes this one cheap and changes nothing in it.

    `state` holds: `feeding_side`; `side_a_name` and `side_b_name`, the place's own, may be empty; `sides`
    (`a`, `b`), each with `phase`, `scraps`, `castings`, `worms`, `moisture`, `temperature`, `depth`,
    `unfinished` (figures) and days since things happened; `share` on the feeding side; `scoops_needed`;
    `mix` fed of late or, where nothing was, `usual_mix`, assumed; `learned` parameters; `turn` (why the
    feeding side is due, whether the other is ready, what helps if not); `away`; `log_next`.
    """
    memo = memo or Memo()
    view = view_of(station, memo.log(station, entries, place, at.day), place, memo)
    plan = blank(station.id, station.type, station.name, station.order)
    plan["state"] = bedstate.state(view)
    plan["ration"] = _ration(view)
    plan["ahead"] = _ahead(view)
    plan["warnings"] = view.warnings
    plan["limits"] = bedcare.limits(station.id)
    plan["jobs"] = _jobs(view, plan["ahead"])
    plan["series"] = bedcharts.series(
        view.log, view.past, view.warm, view.clumping, memo.known(view.log, place).past, memo.drawn
    )
    return plan


# -- ration --------------------------------------------------------------------------------------


def _ration(view: View) -> Ration:
    given = view.allowance
    side = NAMES[view.past.fed]
    limit = given.limit
    moisture = view.past.sides[view.past.fed].moisture_pct
    return {
        "side": side,
        "kg": figure(given.wet_kg.mid),
        "low": figure(given.wet_kg.low),
        "high": figure(given.wet_kg.high),
        "limit": limit,
        "add": bedcare.additions(view.past, view.mix, given.wet_kg.mid),
        "because": because(
            f"bed.ration.{limit}",
            _ration_ids(view, side),
            ["worms.intake_dry", *_LIMIT_CONSTANTS[limit]],
            kg=figure(given.wet_kg.mid),
            days=figure(given.days),
            given=figure(given.given_kg),
            temperature=figure(view.temperature(view.past.fed)[0]),
            counted="yes" if view.log.counts else "no",
            damp=bedcare.damp(moisture),
            side_pct=None if moisture is None else figure(moisture),
            binds=min(given.limits, key=given.limits.__getitem__) if given.wet_kg.mid > 0.0 else None,
            **{name: figure(kg) if isfinite(kg) else None for name, kg in given.limits.items()},
        ),
    }


def _ration_ids(view: View, side: str) -> list[str]:
    """Name what a ration stands on: what asks for none, or the last temperature and feeds."""
    if view.allowance.limit == "signs":
        return [id_ for one in view.warnings for id_ in one["because"]["entries"]]
    return [*newest_ids(view.log, "temperature", side), *view.mix.ids]


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
        ends = when(view, span)
        made.append(
            {
                "what": what,
                "side": side,
                "due": ends["due"],
                "earliest": ends["earliest"],
                "latest": ends["latest"],
                "because": reason,
            }
        )
    if view.setting.resting is not None:
        made[-1]["amount"] = _castings_due(view)
    return made


def _castings_due(view: View) -> Figure:
    """Give the wet castings the resting side would yield once its scraps have gone."""
    side = view.setting.resting or 0
    dry = [
        bed.castings[side]
        + bed.scraps[side] * 0.5 * (draw.guess.rates.yield_eaten + draw.guess.rates.yield_rotted)
        for bed, draw in zip(view.belief.beds, view.belief.draws, strict=True)
    ]
    wet = 1.0 - sources.value("worms.castings_moisture") / 100.0
    return spanned(
        view.belief.span([one / wet for one in dry]),
        "kg",
        because(
            "bed.because.castings_due",
            [one.id for one in fed_last(view.log, side)],
            ["worms.castings_moisture", "worms.yield_eaten", "worms.yield_rotted"],
        ),
    )


# -- jobs ----------------------------------------------------------------------------------------


def _jobs(view: View, ahead: Sequence[Ahead]) -> list[Job]:
    past, log = view.past, view.log
    fed, other = NAMES[past.fed], NAMES[1 - past.fed]
    made: list[Job] = []
    if view.allowance.wet_kg.mid > 0.0 and not view.allowance.given_kg:
        last = log.feeds[-1].day if log.feeds else None
        due = past.day if last is None else last + int(sources.value("worms.ration_gap_days"))
        newest = [log.feeds[-1].id] if log.feeds else []
        made.append(_job(view, "feed", fed, due, because("bed.job.feed", newest, ["worms.ration_gap_days"])))
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
    rows = {one["what"]: one for one in ahead}
    switch, harvest = rows["switch_sides"], rows["harvest_castings"]
    if switch["due"] is not None and switch["due"] <= iso(soon):
        made.append(_dated_job(view, switch, other, switch["because"], []))
    cautions = ["bed.caution.dust", "bed.caution.hands"]
    stay = view.share is not None and view.share.high < rotation.MOVED_GOAL
    if stay and view.setting.rested_days > sources.value("worms.rest_longest"):
        # Those that stayed so long will not leave: only the castings are waited for.
        harvest = {**rows["castings_finished"], "what": "harvest_castings"}
    if harvest["due"] is not None and harvest["due"] <= iso(soon) and harvest["side"] == other:
        reason = because("bed.job.scrape_in_passes") if stay else harvest["because"]
        made.append(_dated_job(view, harvest, other, reason, cautions))
    return made


def _dated_job(view: View, row: Ahead, side: str, reason: Because, cautions: list[str]) -> Job:
    return {
        "id": f"{view.station.id}:{row['what']}:{side}",
        "what": row["what"],
        "station": view.station.id,
        "side": side,
        "due": row["due"] or iso(view.past.day),
        "earliest": row["earliest"],
        "latest": row["latest"],
        "late": False,
        "because": reason,
        "cautions": cautions,
    }


def _count_job(view: View, side: str) -> Job:
    """Ask for a count of both sides; where one was counted today, for the other of the same day."""
    past, log = view.past, view.log
    newest = log.counts[-1] if log.counts else None
    if newest is not None and newest.day == past.day and not newest.paired:
        other = NAMES[SECOND if newest.counts[FIRST] else FIRST]
        reason = because("bed.job.count_other_side", newest.ids, half="yes")
        return _job(view, "count_scoops", other, past.day, reason)
    every = int(sources.value("worms.count_every"))
    last = max(
        (one.day for one in log.counts if one.paired and one.day >= past.since[FIRST]),
        default=past.since[FIRST],
    )
    width = sources.value("worms.share_width")
    reason = because(
        "bed.job.count_scoops",
        [],
        ["worms.count_every", "worms.share_width"],
        scoops=bedstate.scoops_needed(view) or 0,
        width_pct=figure(100.0 * width),
    )
    return _job(view, "count_scoops", side, last + every, reason)


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


_LIMIT_CONSTANTS = {
    "worms": ["worms.ration_gap_days"],
    "warmth": ["worms.cardinal_min", "worms.cardinal_opt", "worms.cold_stop"],
    "moisture": ["worms.moisture_comfort_low", "worms.moisture_wet"],
    "backlog": ["worms.backlog_feeding_days", "worms.decay_rate"],
    "room": ["worms.layer", "worms.layer_density", "worms.depth_full"],
    "heat": ["worms.heat_stop"],
    "fed": ["worms.ration_gap_days"],
    "signs": ["worms.sign_fresh", "worms.reading_fresh"],
    "carbon_to_nitrogen": ["worms.carbon_to_nitrogen_poorest"],
}
