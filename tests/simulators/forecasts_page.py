"""The page that says how good the forecasts are: words of `forecasts_page.md`, tables of what was found."""

from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from statistics import median

from tests.simulators import bed_calibration, bin_forecasts
from tests.simulators.bed_calibration import HORIZON, Forecast
from tests.simulators.bin_forecasts import Scored

LOGGED = 3
"""So many turns logged, and widths are to be half of what they were."""
_CYCLES = 6
_BAR_DAYS = 4.0
_PAGE = Path(__file__).with_suffix(".md").read_text(encoding="utf-8")


def written(beds: Sequence[Forecast], bins: Sequence[Scored]) -> str:
    """Write the page."""
    places, sites = len({one.seed for one in beds}), len({one.site for one in bins})
    return _PAGE.format(
        places=places,
        covered=_table(
            ["", "forecasts", "held by the 80 % range", "truth earlier", "truth later"], _covered(beds)
        ),
        harvest=_curve(beds, "harvest"),
        switch=_curve(beds, "switch"),
        verdict=" ".join(_narrowed(beds, what) for what in ("harvest", "switch")),
        horizon=f"{HORIZON:g}",
        sites=sites,
        first_site=min((one.site for one in bins), default=0),
        last_site=max((one.site for one in bins), default=0),
        held=_table(["", "forecasts", "held by the 80 % range", "below", "above"], _held(bins)),
        gains=_table(["", "against the last seven days", "against the same week last year"], _gains(bins)),
    )


def _covered(beds: Sequence[Forecast]) -> Iterable[list[str]]:
    for name, what in (("harvest of the rested side", "harvest"), ("switch of sides", "switch")):
        some = [one for one in beds if one.what == what]
        share, among = bed_calibration.coverage(some)
        early = sum(one.truth < one.low - 0.5 for one in some) / max(among, 1)
        late = 1.0 - share - early if among else 0.0
        yield [name, str(among), f"**{_pct(share)}**", _pct(early), _pct(late)]


def width(beds: Iterable[Forecast], what: str, cycle: int) -> float:
    """Give the median width of the intervals made in a cycle. [d]"""
    return median(one.width for one in beds if one.what == what and one.cycle == cycle)


def narrowed(beds: Sequence[Forecast], what: str) -> float:
    """Give the width after three logged turns over that on the first morning."""
    first = [one for one in beds if one.after == min(bed_calibration.BEFORE_FIRST)]
    return width(beds, what, LOGGED) / width(first, what, 0)


def _curve(beds: Sequence[Forecast], what: str) -> str:
    rows = []
    for cycle in range(_CYCLES):
        some = [one for one in beds if one.what == what and one.cycle == cycle]
        if some:
            days = width(some, what, cycle)
            held = bed_calibration.coverage(some)[0]
            rows.append(
                [str(cycle), str(len(some)), _pct(held), f"{days:.0f}", "▇" * round(days / _BAR_DAYS)]
            )
    return _table(["turns logged", "forecasts", "held", "width, days", ""], rows)


def _narrowed(beds: Sequence[Forecast], what: str) -> str:
    share = _pct(narrowed(beds, what))
    return f"After {LOGGED} logged turns the range of the {what} is {share} as wide as on the first morning."


def _parts(bins: Sequence[Scored]) -> Iterable[tuple[str, list[Scored]]]:
    yield "all", list(bins)
    yield "clutches noted", [one for one in bins if one.eggs]
    yield "not noted", [one for one in bins if not one.eggs]


def _held(bins: Sequence[Scored]) -> Iterable[list[str]]:
    for name, some in _parts(bins):
        if some:
            held, below, above = bin_forecasts.coverage(some)
            yield [name, str(len(some)), f"**{_pct(held)}**", _pct(below), _pct(above)]


def _gains(bins: Sequence[Scored]) -> Iterable[list[str]]:
    rules: Sequence[Callable[[Scored], float | None]] = (
        lambda one: one.last_week,
        lambda one: one.last_year,
    )
    for name, some in _parts(bins):
        if some:
            found = [bin_forecasts.gain(some, rule) for rule in rules]
            yield [f"{name}: bare rule", *(f"**{_pct(one.bare)}**" for one in found)]
            yield [f"{name}: rule dressed with ranges", *(_pct(one.dressed) for one in found)]
            yield [f"{name}: median alone", *(_pct(one.median) for one in found)]


def _table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    lines = [heads, ["---"] * len(heads), *rows]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


def _pct(share: float) -> str:
    return f"{100.0 * share:.0f} %"
