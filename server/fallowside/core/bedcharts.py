"""Series of a bed for charts, each thinned to a bounded number of points."""

from collections.abc import Sequence

from fallowside.core import rotation, sources
from fallowside.core.bedlog import FIRST, SECOND, Log
from fallowside.core.bedpast import Past
from fallowside.core.shapes import Series, figure, iso
from fallowside.core.warmth import Warmth
from fallowside.core.wormbed import NAMES

POINTS = 200
DAYS = 400
"""Charts reach this far back; older days are in the log."""

_TEN_PCT = 1.2815515655446004


def series(log: Log, past: Past, warm: Sequence[Warmth], clumping: float) -> list[Series]:
    """Give temperature, moisture, scraps and castings of either side, and the share counted."""
    at = _thinned(len(past.before))
    days = [iso(log.first_day + one) for one in at]
    made: list[Series] = []
    same = log.temperatures[FIRST] == log.temperatures[SECOND]
    for side in (FIRST,) if same else (FIRST, SECOND):
        path = warm[side]
        made.append(
            {
                "name": "temperature",
                "side": None if same else NAMES[side],
                "unit": "degC",
                "days": days,
                "values": [figure(path.mean_c[one]) for one in at],
                "low": [figure(path.mean_c[one] - _TEN_PCT * path.spread_c[one]) for one in at],
                "high": [figure(path.mean_c[one] + _TEN_PCT * path.spread_c[one]) for one in at],
                "band": [sources.value("worms.comfort_low"), sources.value("worms.comfort_high")],
            }
        )
    for side in (FIRST, SECOND):
        held = [past.before[one].sides[side] for one in at]
        held[-1] = past.sides[side]
        moisture = [one.moisture_pct for one in held]
        name = NAMES[side]
        made.append(
            {
                "name": "moisture",
                "side": name,
                "unit": "percent",
                "days": days,
                "values": [None if one is None else figure(one) for one in moisture],
                "band": [
                    sources.value("worms.moisture_comfort_low"),
                    sources.value("worms.moisture_comfort_high"),
                ],
            }
        )
        for what, values in (
            ("scraps", [one.scraps_kg for one in held]),
            ("castings", [one.castings_kg for one in held]),
            ("worms", [one.worms_kg for one in held]),
        ):
            made.append(
                {
                    "name": what,
                    "side": name,
                    "unit": "kg",
                    "days": days,
                    "values": [figure(one) for one in values],
                }
            )
    made.append(_counted(log, past, clumping))
    return made


def _counted(log: Log, past: Past, clumping: float) -> Series:
    counts = [one for one in log.counts if one.paired and one.day > past.day - DAYS][-POINTS:]
    spans = []
    for count in counts:
        fed = past.before[count.day - log.first_day].fed if count.day < past.day else past.fed
        ratio = count.litres[1 - fed] / count.litres[fed]
        spans.append(
            rotation.share(count.counts[fed], count.counts[1 - fed], dispersion=clumping, volume_ratio=ratio)
        )
    return {
        "name": "share",
        "side": None,
        "unit": "1",
        "days": [iso(one.day) for one in counts],
        "values": [figure(one.mid) for one in spans],
        "low": [figure(one.low) for one in spans],
        "high": [figure(one.high) for one in spans],
        "band": [rotation.MOVED_GOAL, 1.0],
    }


def _thinned(length: int) -> list[int]:
    """Give at most `POINTS` evenly spaced places of the last `DAYS`, the last day among them."""
    first = max(length - DAYS, 0)
    stride = max(-(-(length - first) // POINTS), 1)
    return list(range(length - 1, first - 1, -stride))[::-1]
