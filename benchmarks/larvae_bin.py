"""Time a larvae bin's part of the plan: years of daily counts beside parsing the same JSON, in one run.

    python -m benchmarks.larvae_bin [--years 3] [--runs 3]

Prints medians, the ratio to orjson.loads of the same entries, how the time grows with the log's length, and
what one more entry costs when the colony is kept from the look before.
"""

import argparse
import gc
import random
import statistics
import time
from collections.abc import Callable
from datetime import datetime, timedelta, timezone
from typing import Any

import orjson

from fallowside.core import larvaebin, place
from fallowside.core.entries import Entry, moment, read
from fallowside.core.larvae.colony import Memo

Raw = dict[str, Any]

_START = datetime(2024, 1, 1, 8, 0, tzinfo=timezone(timedelta(hours=1)))


def daily_log(days: int) -> list[Raw]:
    """Make a bin's log with a count, a feed and a temperature each day, and a clear-out each month."""
    dice = random.Random(11)
    made: list[Raw] = []
    for day in range(days):
        made.append(
            _entry(day, 0, "reading", temperature={"value": round(dice.gauss(27, 2), 1), "unit": "degC"})
        )
        made.append(_entry(day, 1, "feed", feedstock="mixed_scraps", amount={"value": 0.6, "unit": "kg"}))
        made.append(_entry(day, 2, "self_harvest", count=round(dice.gammavariate(5.0, 14.0))))
        if day % 30 == 29:
            made.append(_entry(day, 3, "clear_out", amount={"value": 5, "unit": "kg"}, to="garden"))
    return made


def _entry(day: int, hour: int, kind: str, **fields: Any) -> Raw:
    at = (_START + timedelta(days=day, hours=hour)).isoformat()
    return {"id": f"{kind}-{day}", "kind": kind, "station": "bin", "at": at, "by": "ana", **fields}


def median_ms(work: Callable[[], object], runs: int) -> float:
    """Give the median processor time of some work. [ms]"""
    times = []
    for _ in range(runs):
        gc.collect()
        start = time.process_time()
        work()
        times.append((time.process_time() - start) * 1000.0)
    return statistics.median(times)


def main() -> None:
    """Print the table."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--years", type=int, default=3)
    options.add_argument("--runs", type=int, default=3)
    chosen = options.parse_args()
    area = {"type": "bin", "bin_area": {"value": 0.5, "unit": "m^2"}}
    at = _START.isoformat()
    folded = place.fold(
        [read({"id": "s", "kind": "setup", "at": at, "what": "station", "item": "bin", "set": area})]
    )
    print(f"{'days':>6} {'entries':>8} {'look ms':>9} {'parse ms':>9} {'ratio':>7} {'one more ms':>12}")
    for year in range(1, chosen.years + 1):
        raws = daily_log(365 * year)
        entries = [read(raw) for raw in raws]
        text = orjson.dumps(raws)
        until = moment((_START + timedelta(days=365 * year - 1, hours=10)).isoformat())

        def look(seen: list[Entry], memo: Memo | None = None, until: Any = until) -> object:
            return larvaebin.look(folded.stations["bin"], seen, folded, until, memo)

        full = median_ms(lambda entries=entries: look(entries), chosen.runs)  # type: ignore[misc]
        parse = median_ms(lambda text=text: orjson.loads(text), chosen.runs)  # type: ignore[misc]
        memos = [Memo() for _ in range(chosen.runs)]
        for memo in memos:
            look(entries[:-1], memo)
        more = median_ms(lambda entries=entries, memos=memos: look(entries, memos.pop()), chosen.runs)  # type: ignore[misc]
        print(
            f"{365 * year:>6} {len(entries):>8} {full:>9.1f} {parse:>9.2f} {full / parse:>7.0f} {more:>12.1f}"
        )


if __name__ == "__main__":
    main()
