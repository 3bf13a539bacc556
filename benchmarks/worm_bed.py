"""Time worm beds' parts of the plan: ten years of ten beds beside parsing the same JSON, in one run.

    python -m benchmarks.worm_bed [--years 10] [--beds 10] [--runs 3]

Prints medians, the ratio to orjson.loads of the same entries, how the time grows with the log's length, what
one more entry at one bed costs when the fold is kept, and what the first plan of a day costs beside a fold
that is not kept, after days on which the bed was looked at and after others.
"""

import argparse
import random
import statistics
import time
from datetime import datetime, timedelta, timezone
from functools import partial
from typing import Any

import orjson

from benchmarks.fold import median_ms
from fallowside.core.plan import Fold, plan_json

Raw = dict[str, Any]

_END = datetime(2026, 11, 20, 18, 0, tzinfo=timezone(timedelta(hours=1)))
_TURN_DAYS = 75
_SIDES = "ab"


def bed_log(days: int, beds: int) -> list[Raw]:
    """Make beds' logs: a feed every other day, a reading every third, counts, leftovers, harvests, turns."""
    dice = random.Random(5)
    made: list[Raw] = []
    for number in range(beds):
        name = f"bed-{number}"
        area = {"value": 0.6, "unit": "m^2"}
        worms = {"value": 1.0, "unit": "kg"}
        set_up = {"type": "bed", "side_area": area, "start_worms": worms}
        made.append(_entry(days, 0, "setup", "", what="station", item=name, set=set_up))
        for day in range(days):
            made += _day(dice, name, days - day, day)
    for number, raw in enumerate(made):
        raw["id"] = f"0192f0c4-7b1e-7000-8000-{number:012x}"
    return made


def _day(dice: random.Random, name: str, back: int, day: int) -> list[Raw]:
    turn, into = divmod(day, _TURN_DAYS)
    fed, rest = _SIDES[turn % 2], _SIDES[1 - turn % 2]
    made = []
    if into == 0 and day:
        made.append(_entry(back, 0, "switch", name, side=fed))
    if day % 3 == 0:
        warm = {"value": round(dice.gauss(19.0, 2.0), 1), "unit": "degC"}
        made.append(_entry(back, 1, "reading", name, temperature=warm, squeeze="drips"))
    if day % 7 == 0:
        made.append(_entry(back, 2, "leftover", name, side=fed, left=dice.choice(["some", "most"])))
    if turn and into in (10, 20, 30):
        for side, mean in ((fed, 12.0), (rest, 3.0)):
            scoops = [round(dice.gammavariate(2.0, mean / 2.0)) for _ in range(5)]
            scoop = {"value": 0.5, "unit": "L"}
            made.append(_entry(back, 3, "side_count", name, side=side, counts=scoops, scoop=scoop))
    if turn and into == 60:
        taken = {"value": round(dice.gauss(20.0, 2.0), 1), "unit": "kg"}
        made.append(_entry(back, 4, "castings", name, side=rest, amount=taken, method="after_migration"))
    if day % 2 == 0:
        wet = {"value": round(dice.gauss(1.2, 0.2), 2), "unit": "kg"}
        made.append(_entry(back, 5, "feed", name, side=fed, feedstock="mixed_scraps", amount=wet))
    return made


def _entry(back: int, hour: int, kind: str, station: str, **fields: Any) -> Raw:
    at = (_END - timedelta(days=back, hours=10 - hour)).isoformat()
    where = {"station": station} if station else {}
    return {"kind": kind, "at": at, "by": "ana", "noted_at": at, "note": "", **where, **fields}


def one_more_ms(log: list[Raw], runs: int) -> tuple[float, bool]:
    """Time a plan after one more entry at one bed; tell whether it equals a plan from the start."""
    fold = Fold(log)
    fold.plan_json(_END.isoformat())
    added: list[Raw] = []
    times = []
    same = True
    for number in range(runs):
        wet = {"value": 1.0 + number / 10.0, "unit": "kg"}
        new = _entry(0, 9, "feed", "bed-0", side="a", feedstock="mixed_scraps", amount=wet)
        new["id"] = f"more-{number}"
        added.append(new)
        start = time.process_time()
        fold.add([new])
        made = fold.plan_json(_END.isoformat())
        times.append((time.process_time() - start) * 1000.0)
        same = same and made == plan_json([*log, *added], _END.isoformat())
    return statistics.median(times), same


def mornings(days: int, runs: int) -> tuple[list[float], list[float], bool]:
    """Time the first plan of a day over a fresh fold's: after days with a look at the bed, and after others.

    Tells too whether each equals a fresh fold's.
    """
    log = sorted(bed_log(days, 1), key=lambda raw: raw["at"])
    looked: list[float] = []
    quiet: list[float] = []
    fold, done, same = Fold(), 0, True
    for back in range(4 * runs, 0, -1):
        at = (_END - timedelta(days=back, hours=12)).isoformat()
        until = next(number for number, raw in enumerate(log) if raw["at"] > at)
        new, done = log[done:until], until
        start = time.process_time()
        fold.add(new)
        made = fold.plan_json(at)
        took = time.process_time() - start
        start = time.process_time()
        same = made == plan_json(log[:until], at) and same
        ratio = took / (time.process_time() - start)
        if back < 4 * runs:
            seen = {"leftover", "side_count", "castings"} & {raw["kind"] for raw in new}
            (looked if seen else quiet).append(ratio)
    return looked, quiet, same


def main() -> None:
    """Time and print."""
    chosen = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    chosen.add_argument("--years", type=float, default=10.0)
    chosen.add_argument("--beds", type=int, default=10)
    chosen.add_argument("--runs", type=int, default=3)
    options = chosen.parse_args()
    full = int(options.years * 365)
    for days in (full // 4, full // 2, full):
        log = bed_log(days, options.beds)
        text = orjson.dumps(log)
        parsed = median_ms(partial(orjson.loads, text), options.runs)
        folded = median_ms(partial(plan_json, log, _END.isoformat()), options.runs)
        print(
            f"{days:5d} days, {len(log):6d} entries: parse {parsed:7.1f} ms, plan {folded:8.1f} ms,"
            f" ratio {folded / parsed:5.1f}, {1000.0 * folded / len(log):6.1f} us an entry"
        )
    more, same = one_more_ms(log, options.runs)
    print(f"one more entry: {more:.1f} ms, 1/{folded / more:.0f} of the full fold, identical: {same}")
    looked, quiet, same = mornings(min(full, 730), 10 * options.runs)
    print(
        f"first plan of a day, one bed, of a fresh fold: {statistics.median(looked):.2f} after a look,"
        f" {statistics.median(quiet):.2f} after none, identical: {same}"
    )


if __name__ == "__main__":
    main()
