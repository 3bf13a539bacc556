"""Series of a bed for charts, each thinned to a bounded number of points."""

from collections.abc import Callable, Iterable, Sequence
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


class Drawn:
    """The days before today as they were last drawn; they stay so until something is learned anew."""

    def __init__(self) -> None:
        self._of: tuple[Past, int] | None = None
        self._rows: dict[tuple[str, str], list[float | None]] = {}
        self._figures: dict[float, float] = {}

    def of(self, morning: Past, first: int) -> "Drawn":
        """Begin anew where the bed of this morning is another one, or the chart begins elsewhere."""
        if self._of is None or self._of[0] is not morning or self._of[1] != first:
            self._of, self._rows, self._figures = (morning, first), {}, {}
        return self

    def figures(self, values: Iterable[float]) -> list[float | None]:
        """Round values most of which were there the last time."""
        known = self._figures
        return [known[one] if one in known else known.setdefault(one, figure(one)) for one in values]

    def row(
        self, what: str, side: str, held: Sequence[Side], read: Callable[[Side], float | None]
    ) -> list[float | None]:
        """Give a value of each of these states of a side, the last of them today's."""
        rows = self._rows
        if (what, side) not in rows:
            rows[what, side] = [_shown(read(one)) for one in held[:-1]]
        return [*rows[what, side], _shown(read(held[-1]))]


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
    rows = drawn.of(morning, at[0])
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
                "values": rows.figures(path.mean_c[one] for one in at),
                "low": rows.figures(path.mean_c[one] - _TEN_PCT * path.spread_c[one] for one in at),
                "high": rows.figures(path.mean_c[one] + _TEN_PCT * path.spread_c[one] for one in at),
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
