"""How often the bed's intervals hold the truth, and how they narrow with logged cycles.

Lives at invented places and forecasts at fixed days of every cycle; `tests.simulators.forecasts` writes what
was found to docs/forecasts.md.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import inf

from fallowside.core import entries, place
from fallowside.core.worms import bedmemo, bedview
from tests.simulators.bed_places import Story, story

HORIZON = 240.0
"""Days to which an interval without an end is cut when widths are compared."""
AFTER_SWITCH = (5, 15)
BEFORE_FIRST = (1, 5)


@dataclass(frozen=True)
class Forecast:
    """One interval and the truth it was to hold, in days from the day of the forecast."""

    seed: int
    what: str
    cycle: int
    after: int
    low: float
    mid: float
    high: float
    truth: float

    @property
    def held(self) -> bool:
        """The truth lies inside, its day counted whole; days beyond the horizon are all alike."""
        low, truth, high = (min(end, HORIZON) for end in (self.low, self.truth, self.high))
        return low - 0.5 <= truth <= high + 0.5

    @property
    def width(self) -> float:
        """Days between the ends, cut at the horizon."""
        return min(self.high, HORIZON) - min(self.low, HORIZON)


def forecasts(seed: int, days: int, after: Sequence[int] = AFTER_SWITCH) -> list[Forecast]:
    """Forecast at one place on fixed days of every cycle, from what was logged until then."""
    lived = story(seed, days)
    read = sorted((entries.read(raw) for raw in lived.entries), key=lambda one: (one.us, one.id))
    here = place.fold(one for one in read if one.kind == "setup")
    memo = bedmemo.Memo()
    found: list[Forecast] = []
    for number, cycle in enumerate(lived.cycles):
        for offset in BEFORE_FIRST if number == 0 else after:
            day = cycle.switched + offset
            rows = _truths(lived, number, day)
            if rows:
                view = _view(read, here, memo, lived.first_day + timedelta(days=day))
                for what, true in rows:
                    values = [getattr(one, what) for one in view.dates]
                    span = view.belief.span(values)
                    found.append(Forecast(seed, what, number, offset, span.low, span.mid, span.high, true))
    return found


def _truths(lived: Story, number: int, day: int) -> list[tuple[str, float]]:
    """Give the marks still ahead on a day, with the days to go; one not seen by the end never came.

    Days are forecast only as long as the story goes on for the whole horizon, so that slow beds count.
    """
    if day > lived.days - HORIZON:
        return []
    cycle = lived.cycles[number]
    rested = cycle
    if cycle.side < 0:
        if number + 1 == len(lived.cycles):
            return []
        rested = lived.cycles[number + 1]
    rows = []
    if rested.harvest is None or rested.harvest > day:
        rows.append(("harvest", inf if rested.harvest is None else rested.harvest - day))
    if cycle.switch_due is None or cycle.switch_due > day:
        rows.append(("switch", inf if cycle.switch_due is None else cycle.switch_due - day))
    return rows


def _view(read: Sequence[entries.Entry], here: place.Place, memo: bedmemo.Memo, day: date) -> bedview.View:
    """Look at the bed on a morning, with what was logged until then."""
    when = entries.moment(f"{day.isoformat()}T06:00:00+00:00")
    own, bed = [one for one in read if one.station == "bed" and one.us <= when.us], here.stations["bed"]
    return bedview.view_of(bed, memo.log(bed, own, here, when.day), here, memo)


def coverage(found: Iterable[Forecast]) -> tuple[float, int]:
    """Give the share of truths held, and of how many."""
    rows = list(found)
    return (sum(one.held for one in rows) / len(rows) if rows else float("nan")), len(rows)
