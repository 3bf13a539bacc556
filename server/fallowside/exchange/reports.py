"""Reports of a tally: gathered once, with names for ids; and the ledger as comma-separated values.

`report_tables.py` lays a report out, `spreadsheets.py` writes it as a workbook, `pages.py` as a page to
print. One row of the ledger is what one person fed one station of one material in a month.
"""

import csv
import io
from typing import Final

from fallowside.core import tally as tallies
from fallowside.core.accounts import ledger
from fallowside.core.entries import moment
from fallowside.exchange import folded
from fallowside.exchange.report_tables import Held, Report, ledger_table
from fallowside.store.database import Database

_FORMULA_STARTS: Final = ("=", "+", "-", "@", "\t", "\r")
_MILLIGRAMS: Final = 6
"""Decimals of a kilogram; rows add up to the net as far as that."""


def report_of(
    database: Database,
    at: str,
    since_day: int | None,
    until_day: int | None,
) -> Report:
    """Gather the report of a period; arguments as for `folded.tally_of`."""
    entries, place = folded.read(database, at)
    since, until = folded.period(entries, at, since_day, until_day)
    memo = tallies.Memo()
    made = tallies.tally(entries, place, since, until, memo)
    during = [move for move in memo.book.moves(entries, place) if since <= move.day <= until]
    return Report(
        name=place.item.text("name", "Fallowside"),
        invented=bool(place.item.fields.get("invented")),
        made_on=moment(at).text[:10],
        entries=len(entries),
        tally=made,
        cells=ledger.cells(during),
        stations={key: one.name for key, one in place.stations.items()},
        people={key: one.text("name", key) for key, one in place.people.items()},
        feedstocks={key: one.text("name", key) for key, one in place.feedstocks.items()},
        place=place,
    )


def filename(report: Report, suffix: str) -> str:
    """Name a report's file by its period.

    Example: `fallowside-2026-01-01-to-2026-12-31.csv`.
    """
    return f"fallowside-{report.tally['since']}-to-{report.tally['until']}.{suffix}"


def csv_text(report: Report) -> str:
    """Write the ledger as CSV by RFC 4180, with a mark by which spreadsheets know UTF-8.

    The column of what counts adds up to the net figure of the tally. Text that a spreadsheet would take
    for a formula is set in quotes of its own.
    """
    table = ledger_table(report)
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([f"{name} ({unit})" if unit else name for name, unit in table.head])
    for row in table.rows:
        writer.writerow([_plain(one) for one in row])
    return "\ufeff" + out.getvalue()


def _plain(value: Held) -> str | float:
    if value is None:
        return ""
    if isinstance(value, str):
        return f"'{value}" if value.startswith(_FORMULA_STARTS) else value
    return round(value, _MILLIGRAMS)
