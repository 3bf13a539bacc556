"""Everything known of a bed at one instant, from which the parts of its plan are read off."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, isfinite

from fallowside.core import rotation, sources
from fallowside.core.place import Place, Station
from fallowside.core.shapes import Because, Figure, Warning, figure, iso
from fallowside.core.span import Span
from fallowside.core.warmth import Warmth
from fallowside.core.wormbed import Rates
from fallowside.core.worms import bedahead, bedcare, bedpast, bedwarnings, forecast
from fallowside.core.worms.bedahead import Dates, Setting
from fallowside.core.worms.bedlog import Count, Log
from fallowside.core.worms.bedmemo import Memo
from fallowside.core.worms.bedpast import Past
from fallowside.core.worms.forecast import Belief


@dataclass(frozen=True, slots=True)
class View:
    """Everything known of a bed at one instant; the parts of its plan are read off from here."""

    station: Station
    log: Log
    past: Past
    warm: tuple[Warmth, Warmth]
    belief: Belief
    rates: Rates
    setting: Setting
    dates: Sequence[Dates]
    mix: bedcare.Mix
    allowance: bedcare.Allowance
    warnings: list[Warning]
    share: Span | None
    count: Count | None
    clumping: float

    def temperature(self, side: int) -> tuple[float, float]:
        """Give a side's temperature today with its standard deviation. [degC]."""
        at = self.past.day - self.log.first_day
        return self.warm[side].mean_c[at], self.warm[side].spread_c[at]


def view_of(station: Station, log: Log, place: Place, memo: Memo) -> View:
    """Work out everything a bed's plan is read off from."""
    known, warm = memo.known(log, place), memo.warm(log, place)
    belief = forecast.believe_today(known.belief, known.past, log)
    past = bedpast.live_today(bedpast.copy(known.past), log, warm, known.rates)
    set_ = bedahead.setting(past, log)
    dates = bedahead.dates(belief, past, log, set_, warm, memo.ahead)
    fed = bedcare.recent_mix(past, log, place)
    today = warm[past.fed].mean_c[past.day - log.first_day]
    clumping = rotation.clumping([scoops for count in log.counts for scoops in count.counts])
    count = next((one for one in reversed(log.counts) if one.paired and one.day >= past.since[0]), None)
    share = None if count is None else count_share(count, past.fed, clumping)
    warned = bedwarnings.warnings(log, past, set_, today, share)
    return View(
        station,
        log,
        past,
        warm,
        belief,
        belief.middle().rates,
        set_,
        dates,
        fed,
        bedcare.allowance(belief, past, log, set_, fed, today, rests=bedwarnings.rests(warned)),
        warned,
        share,
        count,
        clumping,
    )


def count_share(count: Count, fed: int, clumping: float) -> Span:
    """Give the share of worms on the side fed from one day's scoops, for halves of equal volume."""
    ratio = count.litres[1 - fed] / count.litres[fed]
    return rotation.share(count.counts[fed], count.counts[1 - fed], dispersion=clumping, volume_ratio=ratio)


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


def when(view: View, span: Span) -> dict[str, str | None]:
    """Turn days from today into dates; null for 'not within a year'."""
    day = view.past.day
    ends = {"due": span.mid, "earliest": span.low, "latest": span.high}
    return {name: iso(day + round(days)) if days < inf else None for name, days in ends.items()}


def spanned(span: Span, unit: str, reason: Because) -> Figure:
    """Put a span into the plan as a figure."""
    low, mid, high = (figure(end) if isfinite(end) else None for end in (span.low, span.mid, span.high))
    return {"value": mid, "low": low, "high": high, "unit": unit, "because": reason}


def newest_ids(log: Log, field: str, side: str) -> list[str]:
    """Give the id of the newest reading of a field on a side, or of the bed as a whole."""
    entry = log.newest.get(f"reading.{field}.{side}") or log.newest.get(f"reading.{field}")
    return [] if entry is None else [entry.id]
