"""A report as a workbook: one sheet a table, with a chart of the months and frozen headings.

Text is written as text, so that no name can be taken for a formula, and the file's times are the
report's own day, so that the same report is the same file.
"""

import io
import textwrap
from collections.abc import Sequence
from datetime import datetime
from typing import Any, Final

import xlsxwriter  # type: ignore[import-untyped]

from fallowside.exchange.report_tables import Held, Report, Table, say, stream, tables

MEDIA_TYPE: Final = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"

_NUMBER: Final = "#,##0.00##"
_WIDEST, _NARROWEST = 60, 9
_NOTE_ROWS_ABOVE = 3
_NOTE_LINE = 110


def xlsx(report: Report) -> bytes:
    """Write a workbook."""
    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"in_memory": True}) as book:
        title = say("of", name=report.name, since=report.tally["since"], until=report.tally["until"])
        book.set_properties(
            {"title": title, "author": "Fallowside", "created": datetime.fromisoformat(report.made_on)}
        )
        formats = _formats(book)
        for table in tables(report):
            _sheet(book, table, report, title, formats)
    return out.getvalue()


def _formats(book: Any) -> dict[str, Any]:
    return {
        "title": book.add_format({"bold": True, "font_size": 14}),
        "head": book.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"}),
        "number": book.add_format({"num_format": _NUMBER}),
        "text": book.add_format({"valign": "top"}),
        "note": book.add_format({"italic": True, "font_color": "#555555"}),
    }


def _sheet(book: Any, table: Table, report: Report, title: str, formats: dict[str, Any]) -> None:
    sheet = book.add_worksheet(say(f"sheet_{table.key}"))
    sheet.write_string(0, 0, title, formats["title"])
    if report.invented:
        sheet.write_string(1, 0, say("invented"), formats["note"])
    top = _NOTE_ROWS_ABOVE - 1
    for column, (name, unit) in enumerate(table.head):
        named = f"{name} ({unit})" if unit not in ("", "1") else name
        sheet.write_string(top, column, named, formats["head"])
    for number, row in enumerate(table.rows, top + 1):
        for column, held in enumerate(row):
            _write(sheet, number, column, held, formats)
    for column in range(len(table.head)):
        sheet.set_column(column, column, _width(table, column))
    below = top + 2 + len(table.rows)
    lines = [line for note in table.notes for line in textwrap.wrap(note, _NOTE_LINE)]
    for number, line in enumerate(lines, below):
        sheet.write_string(number, 0, line, formats["note"])
    sheet.freeze_panes(top + 1, 1)
    if table.rows:
        sheet.autofilter(top, 0, top + len(table.rows), len(table.head) - 1)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(top)
    if table.key == "months" and table.rows:
        _chart(book, sheet, table, report, top)


def _write(sheet: Any, row: int, column: int, held: Held, formats: dict[str, Any]) -> None:
    if isinstance(held, str):
        sheet.write_string(row, column, held, formats["text"])
    elif held is not None:
        sheet.write_number(row, column, held, formats["number"])


def _width(table: Table, column: int) -> int:
    texts: Sequence[Held] = [row[column] for row in table.rows]
    longest = max((len(one) for one in texts if isinstance(one, str)), default=0)
    heading = max(map(len, table.head[column][0].split()), default=0)
    return max(_NARROWEST, min(_WIDEST, max(longest, heading) + 2))


def _chart(book: Any, sheet: Any, table: Table, report: Report, top: int) -> None:
    """Draw the streams of each month on top of each other."""
    streams = {stream(name) for month in report.tally["months"] for name in month["streams"]}
    chart = book.add_chart({"type": "column", "subtype": "stacked"})
    first, last = top + 1, top + len(table.rows)
    for column, (name, _) in enumerate(table.head):
        if name in streams:
            chart.add_series(
                {
                    "name": [sheet.name, top, column],
                    "categories": [sheet.name, first, 0, last, 0],
                    "values": [sheet.name, first, column, last, column],
                }
            )
    if streams:
        chart.set_title({"name": say("chart"), "name_font": {"size": 12, "bold": False}})
        chart.set_y_axis({"name": "kg", "major_gridlines": {"visible": True, "line": {"color": "#DDDDDD"}}})
        chart.set_legend({"position": "bottom"})
        chart.set_size({"width": 720, "height": 320})
        sheet.insert_chart(last + 2, 0, chart)
