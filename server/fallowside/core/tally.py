"""The tally: what was kept out of landfill in a period, and what became of it.

Counted is what was fed to a bed or a bin and would have gone to landfill; taken off is what left
again for landfill (rejects, residue), in the period in which it left, so that a month may fall
below zero and says so. Castings, larvae and frass are outputs, never added to the input, and
larvae or castings handed on are not counted again: every entry is read once as one move
(`moves.py`), and only moves from outside add. Days are local days as written in each entry, so
months add up to years whatever the time zone.

The ledger's cells are in `ledger.py`, avoided methane in `avoided.py`, products and nutrients in
`recovered.py`, the balance of the place in `balance.py`; here they are put into shape.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from functools import partial
from itertools import islice

from fallowside.core.accounts import asks, avoided, ledger, recovered
from fallowside.core.accounts.balance import Books
from fallowside.core.accounts.ledger import Cell, Cells
from fallowside.core.accounts.moves import Book, Bookmark, Move
from fallowside.core.accounts.period import Heading, Period
from fallowside.core.accounts.sums import Sum, spread
from fallowside.core.entries import Entry
from fallowside.core.place import Place
from fallowside.core.shapes import (
    MOST_ENTRIES,
    Figure,
    Month,
    Row,
    Share,
    Spread,
    Tally,
    because,
    figure,
    iso,
)
from fallowside.core.span import Span

_OUTPUTS = ("castings", "frass", "larvae", "honey", "fish")
_RANGE_CONSTANTS = ["tally.fill_spread", "tally.packing_spread", "tally.calibration_spread"]


class Memo:
    """What may be remembered between two tallies of one place; the tally is the same with and without."""

    def __init__(self) -> None:
        self.book, self.books = Book(), Books()
        self._mark, self._until = Bookmark(), 0
        self._period: Period | None = None

    def period(self, every: Sequence[Move], place: Place, since_day: int, until_day: int) -> Period:
        """Give a period of all moves summed, from where its last tally ended."""
        if until_day != self._until:
            self._mark, self._until = Bookmark(), until_day
        leads, rest = self._mark.turn(every, place, since_day, until_day)
        if not leads or self._period is None:
            self._period = Period(place)
        self._period.read(rest)
        return self._period


def year_before(day: int) -> int:
    """Give the first day of the month eleven months before `day`: a year of whole months. [ordinal]

    >>> from datetime import date
    >>> date.fromordinal(year_before(date(2026, 3, 15).toordinal())).isoformat()
    '2025-04-01'
    """
    today = date.fromordinal(day)
    month = today.year * 12 + today.month - 1 - 11
    return date(month // 12, month % 12 + 1, 1).toordinal()


def tally(
    entries: Sequence[Entry], place: Place, since_day: int, until_day: int, memo: Memo | None = None
) -> Tally:
    """Tally the entries of a period.

    Args:
        entries: Effective entries of the whole place, in order of time; also those before the period,
            which tell what lay there at its start.
        place: The place they belong to.
        since_day, until_day: First and last local day, both included. [ordinal]
        memo: Kept from an earlier tally of the same place, it saves reading the log again.

    Returns:
        Sums in kilograms; ranges of masses are 80 %.
    """
    memo = memo or Memo()
    every = memo.book.moves(entries, place)
    period = memo.period(every, place, since_day, until_day)
    cells, during, told = period.cells, period.during, period.counted
    gross, rejected, net = told("net", lambda: _net(cells))
    kept = ledger.kept_pct(gross.kg, rejected.kg)
    through = told("through", lambda: avoided.through(cells, place))
    treated = avoided.treated_of(through, period.passed.larvae_dry_kg, place, since_day, until_day)
    fed = told("fed", lambda: recovered.fed_of(cells, period.passed, place))
    return {
        "since": iso(since_day),
        "until": iso(until_day),
        "net": told("figure", lambda: _figure(net, gross, rejected, during)),
        "gross_kg": figure(gross.kg),
        "rejected_kg": figure(rejected.kg),
        "kept_pct": None if kept is None else figure(kept),
        "measured_kg": figure(net.measured),
        "estimated": told("estimated", lambda: _estimated(net)),
        "dry": told("dry", lambda: spread(_dry(cells, period).span())),
        "streams": told(
            "streams", lambda: [{"stream": name, **row} for name, row in _rows(period, _by_stream)]
        ),
        "stations": told("stations", lambda: _rounded(ledger.grouped(cells, _by_station, "fed"))),
        "people": told("people", lambda: _rounded(ledger.grouped(cells, _by_person, "fed"))),
        "by_station": told("by_station", lambda: _shares(period, _by_station)),
        "by_person": told("by_person", lambda: _shares(period, _by_person)),
        "months": _months(period, since_day, until_day),
        "outputs": {
            f"{what}_kg": figure(total.kg)
            for what, total in sorted(period.passed.outs.items())
            if what in _OUTPUTS
        },
        "not_counted_kg": told("apart", lambda: _rounded(ledger.grouped(cells, _by_stream, "apart"))),
        "rejected_apart_kg": told(
            "landfilled_apart", lambda: _rounded(ledger.grouped(cells, _by_stream, "landfilled_apart"))
        ),
        "elsewhere_kg": told("elsewhere", lambda: figure(ledger.whole(cells, "elsewhere").kg)),
        "avoided": avoided.look(told("scraps", lambda: avoided.scraps_of(cells, place)), treated, place),
        "recovered": recovered.look(period.passed, fed, place),
        "balance": memo.books.look(every, place, since_day, until_day),
        "standards": told("standards", lambda: asks.standards(cells, place)),
        "asks": told("asks", lambda: asks.asks(during, cells, place, since_day, until_day)),
        "feed_limit": asks.feed_limit(place),
    }


# -- the figure ----------------------------------------------------------------------------------


def _net(cells: Cells) -> tuple[Sum, Sum, Sum]:
    """Give what was fed, what left again for landfill, and the difference."""
    gross, rejected = ledger.whole(cells, "fed"), ledger.whole(cells, "landfilled")
    net = gross.copy()
    net.take(rejected, -1.0)
    return gross, rejected, net


def _figure(net: Sum, gross: Sum, rejected: Sum, during: Sequence[Move]) -> Figure:
    span = net.span()
    counted = (move.id for move in reversed(during) if move.route.way in ("fed", "landfilled"))
    return {
        "value": figure(span.mid),
        "low": figure(span.low),
        "high": figure(span.high),
        "unit": "kg",
        "because": because(
            "tally.net_because" if net.kg >= 0.0 else "tally.net_below_zero_because",
            list(islice(counted, MOST_ENTRIES))[::-1],
            _RANGE_CONSTANTS,
            gross_kg=figure(gross.kg),
            rejected_kg=figure(rejected.kg),
            measured_kg=figure(net.measured),
        ),
    }


def _estimated(net: Sum) -> Spread:
    """Give the part that was not weighed: it alone has a range."""
    span = net.span()
    return spread(Span(span.low - net.measured, net.estimated, span.high - net.measured))


def _dry(cells: Cells, period: Period) -> Sum:
    found = ledger.dry(cells, period.dry, "fed")
    return ledger.dry(cells, period.dry, "landfilled", -1.0, found)


# -- groups --------------------------------------------------------------------------------------


def _by_stream(cell: Cell) -> str:
    return cell.stream


def _by_station(cell: Cell) -> str:
    return cell.station


def _by_person(cell: Cell) -> str:
    return cell.person


def _groups(cells: Cells, key: Heading) -> dict[str, Cells]:
    """Part counted cells by a heading, in the order of its names."""
    found: dict[str, dict[Cell, Sum]] = {}
    for cell, total in cells.items():
        if cell.way in ("fed", "landfilled"):
            found.setdefault(key(cell), {})[cell] = total
    return dict(sorted(found.items()))


def _rows(period: Period, key: Heading) -> list[tuple[str, Row]]:
    return [
        (name, period.grouped(key, name, partial(_row, part, period)))
        for name, part in _groups(period.cells, key).items()
    ]


def _row(cells: Cells, period: Period) -> Row:
    fed, rejected = ledger.whole(cells, "fed"), ledger.whole(cells, "landfilled")
    span = fed.span(fed.measured)
    return {
        "kg": figure(fed.kg),
        "low": figure(span.low),
        "high": figure(span.high),
        "measured_kg": figure(fed.measured),
        "estimated_kg": figure(fed.estimated),
        "dry_kg": figure(ledger.dry(cells, period.dry, "fed").kg),
        "rejected_kg": figure(rejected.kg),
        "net_kg": figure(fed.kg - rejected.kg),
    }


def _shares(period: Period, key: Heading) -> list[Share]:
    return [{"id": name, **row} for name, row in _rows(period, key)]


def _months(period: Period, since_day: int, until_day: int) -> list[Month]:
    months: list[Month] = []
    day, until = date.fromordinal(since_day).replace(day=1), date.fromordinal(until_day)
    while day <= until:
        name = day.isoformat()[:7]
        months.append(period.of_month(name, partial(_month, name, period)))
        day = date(day.year + day.month // 12, day.month % 12 + 1, 1)
    return months


def _month(name: str, period: Period) -> Month:
    cells = {cell: total for cell, total in period.cells.items() if cell.month == name}
    net, rejected = ledger.whole(cells, "fed"), ledger.whole(cells, "landfilled")
    net.take(rejected, -1.0)
    span = net.span()
    return {
        "month": name,
        "streams": _rounded(ledger.grouped(cells, _by_stream, "fed")),
        "rejected_kg": figure(rejected.kg),
        "net_kg": figure(net.kg),
        "low": figure(span.low),
        "high": figure(span.high),
        "measured_kg": figure(net.measured),
        "estimated_kg": figure(net.estimated),
        "dry_kg": figure(_dry(cells, period).kg),
        "outputs": _outputs(period.by_month.get(name, [])),
    }


def _outputs(during: Iterable[Move]) -> dict[str, float]:
    found: dict[str, float] = {}
    for move in during:
        what = move.route.product
        if what in _OUTPUTS:
            found[what] = found.get(what, 0.0) + move.mass.kg
    return {f"{what}_kg": figure(kg) for what, kg in sorted(found.items())}


def _rounded(sums: Mapping[str, Sum]) -> dict[str, float]:
    return {name: figure(total.kg) for name, total in sums.items()}
