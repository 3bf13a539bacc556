"""Time the fold: `plan` of a long log beside parsing the same JSON with orjson, in one run.

    python -m benchmarks.fold [--entries 100000] [--years 10] [--beds 1] [--bins 1] [--runs 3]

The place is that of the README's picture, a bed and a larvae bin, and the fold runs as the server runs it.
Prints medians of processor time, their ratio, and how time grows with the log's length at equal density; then
what the last hundredth of the entries costs a fold that is kept and has planned all the others.
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

from fallowside.core.plan import Fold, plan_json
from fallowside.exchange.folded import uncollected

Raw = dict[str, Any]

_END = datetime(2026, 11, 20, 18, 0, tzinfo=timezone(timedelta(hours=1)))
_TURN_DAYS = 75


def long_log(entries: int, years: float, beds: int, bins: int) -> list[Raw]:
    """Make a log of believable rounds: feeds, readings, counts, switches, castings, self-harvests."""
    dice = random.Random(7)
    days = int(365 * years)
    stations = [f"bed-{n}" for n in range(beds)] + [f"bin-{n}" for n in range(bins)]
    made = [_set_up(name, _END - timedelta(days=days)) for name in stations]
    per_station_day = (entries - len(made)) / (days * len(stations))
    owed = 0.0
    for day in range(days, 0, -1):
        at = _END - timedelta(days=day)
        for name in stations:
            owed += per_station_day
            if name.startswith("bed") and (days - day) % _TURN_DAYS == 0:
                made.append({**_turn(days - day), "station": name, "at": at.isoformat()})
            for number in range(int(owed)):
                owed -= 1.0
                work = _bed_work if name.startswith("bed") else _bin_work
                when = at + timedelta(minutes=number)
                made.append({**work(dice, number, days - day), "station": name, "at": when.isoformat()})
    for number, raw in enumerate(made):
        raw.setdefault("id", f"0192f0c4-7b1e-7000-8000-{number:012x}")
        raw.update(device="phone-of-the-bench", by="ana", noted_at=raw["at"], note="")
    return made


def _set_up(name: str, at: datetime) -> Raw:
    bed = {
        "type": "bed",
        "side_area": {"value": 0.6, "unit": "m^2"},
        "start_worms": {"value": 1, "unit": "kg"},
    }
    larvae = {"type": "bin", "bin_area": {"value": 0.5, "unit": "m^2"}}
    fields = bed if name.startswith("bed") else larvae
    return {"kind": "setup", "what": "station", "item": name, "set": fields, "at": at.isoformat()}


def _turn(day: int) -> Raw:
    return {"kind": "switch", "side": _side(day)}


def _side(day: int) -> str:
    return "ab"[(day // _TURN_DAYS) % 2]


def _bed_work(dice: random.Random, number: int, day: int) -> Raw:
    side = _side(day)
    kind = number % 6
    if kind in (0, 3):
        amount = {"value": round(0.2 + dice.random() * 0.3, 2), "unit": "kg"}
        return {"kind": "feed", "side": side, "feedstock": "vegetable_scraps", "amount": amount}
    if kind == 1:
        warmth = {"value": round(18 + dice.random() * 6, 1), "unit": "degC"}
        return {"kind": "reading", "side": side, "temperature": warmth, "squeeze": "drips"}
    if kind == 2:
        return {"kind": "leftover", "side": side, "left": dice.choice(["none", "some"])}
    if kind == 4 and day % 10 == 0:
        counts = [dice.randrange(4, 30) for _ in range(5)]
        return {"kind": "side_count", "side": side, "counts": counts, "scoop": {"value": 1, "unit": "L"}}
    return {"kind": "water", "side": side, "amount": {"value": 0.5, "unit": "L"}}


def _bin_work(dice: random.Random, number: int, day: int) -> Raw:
    kind = number % 3
    if kind == 0:
        return {"kind": "self_harvest", "count": dice.randrange(0, 200)}
    if kind == 1:
        return {"kind": "reading", "temperature": {"value": round(24 + dice.random() * 5, 1), "unit": "degC"}}
    amount = {"value": round(0.3 + dice.random(), 2), "unit": "kg"}
    return {"kind": "feed", "feedstock": dice.choice(["bread", "cooked_mixed"]), "amount": amount}


def median_ms(work: Callable[[], object], runs: int) -> float:
    """Give the median processor time of some work. [ms]"""
    times = []
    for _ in range(runs):
        gc.collect()
        start = time.process_time()
        work()
        times.append((time.process_time() - start) * 1000.0)
    return statistics.median(times)


def _row(entries: int, years: float, beds: int, bins: int, runs: int) -> tuple[int, float, float]:
    text = orjson.dumps(long_log(entries, years, beds, bins))
    raws = orjson.loads(text)
    with uncollected():
        parse = median_ms(lambda: orjson.loads(text), runs)
        fold = median_ms(lambda: plan_json(raws, _END.isoformat()), runs)
    return len(raws), parse, fold


def _tail(entries: int, years: float, beds: int, bins: int, runs: int) -> tuple[int, float, float, bool]:
    """Time parsing all, and a kept fold that takes in the newest hundredth; tell whether it is right."""
    raws = sorted(long_log(entries, years, beds, bins), key=lambda raw: raw["at"])
    text, at = orjson.dumps(raws), _END.isoformat()
    newest = max(len(raws) // 100, 1)
    parse, took, right = [], [], True
    with uncollected():
        whole = plan_json(raws, at)
        for _ in range(runs):
            fold = Fold(raws[:-newest])
            fold.plan_json(raws[-newest - 1]["at"])
            parse.append(median_ms(lambda: orjson.loads(text), 1))
            start = time.process_time()
            fold.add(raws[-newest:])
            right = fold.plan_json(at) == whole and right
            took.append((time.process_time() - start) * 1000.0)
    return newest, statistics.median(parse), statistics.median(took), right


def main() -> None:
    """Run the benchmark and print its table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--entries", type=int, default=100_000)
    parser.add_argument("--years", type=float, default=10.0)
    parser.add_argument("--beds", type=int, default=1)
    parser.add_argument("--bins", type=int, default=1)
    parser.add_argument("--runs", type=int, default=3)
    asked = parser.parse_args()
    print(f"{asked.beds} beds, {asked.bins} bins; medians of {asked.runs} runs, ms")
    print(f"{'entries':>9} {'years':>6} {'orjson':>9} {'plan':>9} {'ratio':>7} {'µs/entry':>9}")
    for part in (0.25, 0.5, 1.0):
        entries, parse, fold = _row(
            int(asked.entries * part), asked.years * part, asked.beds, asked.bins, asked.runs
        )
        ratio, each = fold / parse, fold / entries * 1000.0
        print(
            f"{entries:>9} {asked.years * part:>6.2f} {parse:>9.1f} {fold:>9.1f} {ratio:>7.1f} {each:>9.2f}"
        )
    newest, parse, took, right = _tail(asked.entries, asked.years, asked.beds, asked.bins, asked.runs)
    same = "the same text" if right else "ANOTHER TEXT"
    print(f"kept fold, {newest} more entries: {took:.1f} ms, {took / parse:.2f} of parsing all; {same}")


if __name__ == "__main__":
    main()
