"""Score the larvae bin's 14-day forecasts on simulated bins with a hidden truth.

Run from the project's top: `python -m tests.simulators.bin_forecasts --first 1000 --sites 40`. Every forecast
is taken from `larvaebin.look`, given only the entries the keeper had written by that day.
"""

import argparse
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from fallowside.core import larvaebin
from fallowside.core import place as places
from fallowside.core.entries import Entry, moment, read
from fallowside.core.larvae import colony
from tests.simulators import bin_truth

HORIZON = 14
EIGHT_WEEKS = 56
YEAR = 364
SHARES = (0.1, 0.5, 0.9)


@dataclass(frozen=True)
class Scored:
    """One forecast, what came, and what two simple rules would have said."""

    site: int
    day: int
    came: int
    low: float
    mid: float
    high: float
    last_week: float | None
    last_year: float | None
    eggs: bool
    """Whether the keeper noted clutches."""
    scale: float
    """Mean of what came at this site over all forecasts: losses are shares of it."""

    @property
    def points(self) -> tuple[float, float, float]:
        return self.low, self.mid, self.high

    @property
    def active(self) -> bool:
        """Whether the bin was alive: dead winters would be foretold too easily."""
        return self.came > 0 or self.mid >= 5.0


def forecasts(site: int, days: int = 800, every: int = 28, first: int = EIGHT_WEEKS) -> list[Scored]:
    """Simulate a bin and foretell it every so many days, from eight weeks on."""
    record = bin_truth.simulate(site, days)
    place = places.fold([read(one) for one in bin_truth.setups(record)])
    entries = [read(one) for one in record.entries]
    start, memo = bin_truth.START.toordinal(), colony.Memo()
    made = []
    for day in range(first, days - HORIZON, every):
        seen = [entry for entry in entries if entry.day <= start + day]
        at = moment(f"{bin_truth.START.fromordinal(start + day).isoformat()}T23:00:00+00:00")
        amount = larvaebin.look(place.stations["bin"], seen, place, at, memo)["ahead"][0]["amount"]
        low, mid, high = (float(amount[key] or 0.0) for key in ("low", "value", "high"))
        made.append(
            Scored(
                site,
                day,
                sum(record.truth[day + 1 : day + 1 + HORIZON]),
                low,
                mid,
                high,
                _as_then(seen, record, start + day - 6, start + day),
                _as_then(seen, record, start + day + 1 - YEAR, start + day + HORIZON - YEAR)
                if day > YEAR
                else None,
                record.site.watches_eggs,
                0.0,
            )
        )
    scale = max(1.0, sum(one.came for one in made) / max(len(made), 1))
    return [replace(one, scale=scale) for one in made]


def _as_then(entries: Iterable[Entry], record: bin_truth.Record, since: int, until: int) -> float | None:
    """Give fourteen days at the pace counted between two days, or None if nothing was counted then."""
    count, covered, before = 0.0, 0, None
    for entry in entries:
        if entry.kind != "self_harvest":
            continue
        if since <= entry.day <= until:
            span = 1 if before is None else entry.day - before
            grams = entry.data["amount"]["value"] if "amount" in entry.data else None
            count += entry.data["count"] if grams is None else grams / record.site.grams
            covered += span
        before = entry.day
    return count * HORIZON / covered if covered else None


def pinball(share: float, said: float, came: float) -> float:
    """Give the pinball loss of one quantile: what it costs to have said too little or too much."""
    return (came - said) * share if came > said else (said - came) * (1.0 - share)


def loss(points: Sequence[float], one: Scored) -> float:
    """Give the mean pinball loss at 10, 50 and 90 %, as a share of the site's mean harvest."""
    return (
        sum(pinball(share, said, one.came) for share, said in zip(SHARES, points, strict=True))
        / 3.0
        / one.scale
    )


@dataclass(frozen=True)
class Gain:
    """How much lower our loss is than a rule's: bare, dressed with ranges afterwards, and at the median."""

    bare: float
    dressed: float
    median: float
    forecasts: int


def gain(scored: Sequence[Scored], rule: Callable[[Scored], float | None]) -> Gain:
    """Compare with a rule; `dressed` gives it the best ranges these very forecasts would have given it."""
    held = [(one, said) for one in scored if (said := rule(one)) is not None]
    off = sorted(math.log((one.came + 1.0) / (said + 1.0)) for one, said in held)
    factors = [math.exp(off[min(len(off) - 1, int(share * len(off)))]) for share in SHARES]
    ours = sum(loss(one.points, one) for one, _ in held)
    bare = sum(loss((said, said, said), one) for one, said in held)
    dressed = sum(loss([(said + 1.0) * factor - 1.0 for factor in factors], one) for one, said in held)
    middle = sum(pinball(0.5, one.mid, one.came) / one.scale for one, _ in held)
    rule_middle = sum(pinball(0.5, said, one.came) / one.scale for one, said in held)
    return Gain(1.0 - ours / bare, 1.0 - ours / dressed, 1.0 - middle / rule_middle, len(held))


def coverage(scored: Sequence[Scored]) -> tuple[float, float, float]:
    """Give the shares of forecasts whose range held what came, lay above it, and lay below it."""
    number = len(scored)
    held = sum(one.low <= one.came <= one.high for one in scored) / number
    return (
        held,
        sum(one.came < one.low for one in scored) / number,
        sum(one.came > one.high for one in scored) / number,
    )


def main() -> None:
    """Print the scores."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--first", type=int, default=1000, help="seed of the first site")
    options.add_argument("--sites", type=int, default=40, help="number of sites")
    options.add_argument("--every", type=int, default=28, help="days between forecasts")
    chosen = options.parse_args()
    scored = []
    for site in range(chosen.first, chosen.first + chosen.sites):
        scored += [one for one in forecasts(site, every=chosen.every) if one.active]
    print(f"{chosen.sites} sites, seeds from {chosen.first}; forecasts of {HORIZON} days")
    for name, some in (
        ("all", scored),
        ("with clutches noted", [one for one in scored if one.eggs]),
        ("without", [one for one in scored if not one.eggs]),
    ):
        _report(name, some)


def _report(name: str, scored: Sequence[Scored]) -> None:
    if not scored:
        return
    held, below, above = coverage(scored)
    print(f"{name}: {len(scored)} forecasts")
    print(f"  80 % ranges held {held:.1%} of what came; {below:.1%} fell below, {above:.1%} above")
    for rule_name, rule in (("last seven days", _last_week), ("same week last year", _last_year)):
        found = gain(scored, rule)
        print(
            f"  pinball loss against '{rule_name}' ({found.forecasts}): {found.bare:.0%} lower than the bare "
            f"rule, {found.dressed:.0%} than the rule with ranges, {found.median:.0%} at the median alone"
        )


def _last_week(one: Scored) -> float | None:
    return one.last_week


def _last_year(one: Scored) -> float | None:
    return one.last_year


if __name__ == "__main__":
    main()
