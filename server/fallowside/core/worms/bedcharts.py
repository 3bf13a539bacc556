"""Series of a bed for charts, each thinned to a bounded number of points."""

from collections.abc import Callable, Sequence
from operator import attrgetter

from fallowside.core import rotation, sources
from fallowside.core.shapes import Series, figure, iso
from fallowside.core.warmth import Warmth
from fallowside.core.wormbed import NAMES, Side
from fallowside.core.worms.bedlog import FIRST, SECOND, Log
from fallowside.core.worms.bedpast import Past

POINTS = 200
DAYS = 400
"""Charts reach this far back; older days are in the log."""

_TEN_PCT = 1.2815515655446004


Row = list[float | None]


class Drawn:
    """The days before today as they were last drawn; they stay so until something is learned anew.

    A row that comes out as it was is the very same, since one that is keeps its text.
    """

    def __init__(self) -> None:
        self._of: tuple[Past, int] | None = None
        self._days: list[str] = []
        self._rows: dict[tuple[str, str], Row] = {}
        self._warm: dict[int, tuple[list[float], list[float], tuple[Row, Row, Row]]] = {}

    def of(self, morning: Past, at: Sequence[int], first_day: int) -> "Drawn":
        """Begin anew where the bed of this morning is another one, or the chart begins elsewhere."""
        if self._of is None or self._of[0] is not morning or self._of[1] != at[0]:
            self._of, self._days = (morning, at[0]), [iso(first_day + one) for one in at]
            self._rows, self._warm = {}, {}
        return self

    @property
    def days(self) -> list[str]:
        """The days drawn."""
        return self._days

    def warm(self, side: int, path: Warmth, at: Sequence[int]) -> tuple[Row, Row, Row]:
        """Give a side's temperatures with their lower and upper ends, rounded; most are as they were."""
        means = [path.mean_c[one] for one in at]
        reaches = [_TEN_PCT * path.spread_c[one] for one in at]
        were, reached, rows = self._warm.get(side, ([], [], ([], [], [])))
        if means != were or reaches != reached:
            pairs = zip(means, were, reaches, reached, strict=False)
            same = next((n for n, (a, b, c, d) in enumerate(pairs) if a != b or c != d), len(were))
            mids, lows, highs = (row[:same] for row in rows)
            for mean, reach in zip(means[same:], reaches[same:], strict=True):
                mids.append(figure(mean))
                lows.append(figure(mean - reach))
                highs.append(figure(mean + reach))
            rows = mids, lows, highs
            self._warm[side] = means, reaches, rows
        return rows

    def row(self, what: str, side: str, held: Sequence[Side], read: Callable[[Side], float | None]) -> Row:
        """Give a value of each of these states of a side, the last of them today's."""
        there, last = self._rows.get((what, side)), _shown(read(held[-1]))
        if there is None:
            there = [_shown(read(one)) for one in held]
        elif there[-1] != last:
            there = [*there[:-1], last]
        self._rows[what, side] = there
        return there


def series(
    log: Log, past: Past, warm: Sequence[Warmth], clumping: float, morning: Past, drawn: Drawn
) -> list[Series]:
    """Give temperature, moisture, scraps and castings of either side, and the share counted.

    Args:
        log: What was logged.
        past: The bed today.
        warm: Temperature of both sides.
        clumping: How much scoops clump.
        morning: The bed before anything was done today: the days before are the same.
        drawn: What an earlier chart of the same bed left.
    """
    at = _thinned(len(past.before))
    rows = drawn.of(morning, at, log.first_day)
    days = rows.days
    made: list[Series] = []
    same = log.temperatures[FIRST] == log.temperatures[SECOND]
    for side in (FIRST,) if same else (FIRST, SECOND):
        mids, lows, highs = rows.warm(side, warm[side], at)
        made.append(
            {
                "name": "temperature",
                "side": None if same else NAMES[side],
                "unit": "degC",
                "days": days,
                "values": mids,
                "low": lows,
                "high": highs,
                "band": [sources.value("worms.comfort_low"), sources.value("worms.comfort_high")],
            }
        )
    for side in (FIRST, SECOND):
        held = [past.before[one].sides[side] for one in at]
        held[-1] = past.sides[side]
        name = NAMES[side]
        made.append(
            {
                "name": "moisture",
                "side": name,
                "unit": "percent",
                "days": days,
                "values": rows.row("moisture", name, held, lambda one: one.moisture_pct),
                "band": [
                    sources.value("worms.moisture_comfort_low"),
                    sources.value("worms.moisture_comfort_high"),
                ],
            }
        )
        for what in ("scraps", "castings", "worms"):
            made.append(
                {
                    "name": what,
                    "side": name,
                    "unit": "kg",
                    "days": days,
                    "values": rows.row(what, name, held, attrgetter(f"{what}_kg")),
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


def _shown(value: float | None) -> float | None:
    return None if value is None else figure(value)


def _thinned(length: int) -> list[int]:
    """Give at most `POINTS` evenly spaced places of the last `DAYS`, the last day among them."""
    first = max(length - DAYS, 0)
    stride = max(-(-(length - first) // POINTS), 1)
    return list(range(length - 1, first - 1, -stride))[::-1]
