"""How often the bed's intervals hold the truth, and how they narrow with logged cycles.

`python -m tests.simulators.bed_calibration --places 200` lives at so many invented places, forecasts
at fixed days of every cycle, and writes what it found to docs/forecasts.md.
"""

import argparse
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import inf
from pathlib import Path
from statistics import median

from fallowside.core import bedmemo, bedview, entries, place
from tests.simulators.bed_places import Story, story

ROOT = Path(__file__).parents[2]

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
    found: list[Forecast] = []
    for number, cycle in enumerate(lived.cycles):
        for offset in BEFORE_FIRST if number == 0 else after:
            day = cycle.switched + offset
            rows = _truths(lived, number, day)
            if rows:
                view = _view(read, lived.first_day + timedelta(days=day))
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


def _view(read: Sequence[entries.Entry], day: date) -> bedview.View:
    when = entries.moment(f"{day.isoformat()}T06:00:00+00:00")
    known = [one for one in read if one.us <= when.us]
    setups = [one for one in known if one.kind == "setup"]
    here = place.fold(setups)
    own = [one for one in known if one.station == "bed"]
    memo, bed = bedmemo.Memo(), here.stations["bed"]
    return bedview.view_of(bed, memo.log(bed, own, here, when.day), here, memo)


def coverage(found: Iterable[Forecast]) -> tuple[float, int]:
    """Give the share of truths held, and of how many."""
    rows = list(found)
    return (sum(one.held for one in rows) / len(rows) if rows else float("nan")), len(rows)


def main() -> None:
    """Live at the places and print or write the report."""
    chosen = argparse.ArgumentParser(description=__doc__)
    chosen.add_argument("--places", type=int, default=200)
    chosen.add_argument("--first", type=int, default=0)
    chosen.add_argument("--days", type=int, default=960)
    options = chosen.parse_args()
    found: list[Forecast] = []
    for seed in range(options.first, options.first + options.places):
        found.extend(forecasts(seed, options.days))
    report(found)


def report(found: Sequence[Forecast]) -> None:
    """Print coverage and widths by cycle."""
    for what in ("harvest", "switch"):
        rows = [one for one in found if one.what == what]
        held, among = coverage(rows)
        print(what, f"coverage {held:.3f} of {among}")
        below = sum(one.truth < one.low - 0.5 for one in rows)
        above = sum(one.truth > one.high + 0.5 for one in rows)
        print("  truth below / above", below, above)
        for number in range(6):
            for after in sorted({one.after for one in rows}):
                part = [one for one in rows if one.cycle == number and one.after == after]
                if part:
                    share, count = coverage(part)
                    widths = [one.width for one in part]
                    print(
                        f"  cycle {number} day {after}: held {share:.2f} of {count}, width median"
                        f" {median(widths):.1f} mean {sum(widths) / count:.1f}"
                    )


if __name__ == "__main__":
    main()
