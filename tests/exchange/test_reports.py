"""Reports open well: read back by an independent reader, adding up to the tally, harmless to spreadsheets."""

import csv
import io
from collections.abc import Iterator
from html.parser import HTMLParser
from math import fsum
from pathlib import Path
from typing import Any

import openpyxl  # type: ignore[import-untyped]
import pytest
from hypothesis import HealthCheck, given, settings

from fallowside.core.entries import moment
from fallowside.exchange import folded, pages, report_tables, reports, spreadsheets
from fallowside.exchange.report_tables import Report
from fallowside.store.database import Database
from fallowside.sync.intake import Intake
from tests import ledgers
from tests.logs import AT, Raw, entry, kg, setups
from tests.stores import fresh, send

SINCE, UNTIL = folded.day("2026-01-01"), moment(AT).day

LOG: list[Raw] = [
    *setups(),
    entry("setup", 1, what="place", item="place", set={"people_eating": 3, "climate": "temperate_wet"}),
    entry("setup", 2, what="person", item="formula", set={"name": '=HYPERLINK("http://evil","x")'}),
    entry("feed", 10, station="bed", side="a", feedstock="vegetable_scraps", amount=kg(8)),
    {**entry("feed", 11, station="bin", feedstock="pulp", amount=kg(3)), "by": "formula"},
    entry("feed", 12, station="bin", feedstock="bread", amount={"container": "caddy", "filled": 0.75}),
    entry("feed", 13, station="bed", side="a", feedstock="coir", amount=kg(2)),
    entry("feed", 14, station="pond", feedstock="fish_feed", amount=kg(0.4)),
    entry("reject", 45_000, station="bin", feedstock="bones", amount=kg(0.5), to="landfill"),
    entry("castings", 60_000, station="bed", side="a", amount=kg(4), method="top_layers"),
    entry("self_harvest", 61_000, station="bin", count=900),
    entry("given", 61_001, station="bin", what="larvae", count=400, to="hens"),
    entry("clear_out", 70_000, station="bin", amount=kg(2), to="garden"),
    entry("solids", 71_000, station="pond", amount={"value": 6, "unit": "L"}, to="bed"),
    entry("catch", 72_000, station="pond", species="carp", number=1, mass=kg(1.2), fate="killed"),
]


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Database]:
    opened = fresh(tmp_path_factory.mktemp("reports"))
    assert send(Intake(opened), LOG).held == []
    yield opened
    opened.close()


@pytest.fixture(scope="module")
def report(database: Database) -> Report:
    return reports.report_of(database, AT, SINCE, UNTIL)


@pytest.fixture(scope="module")
def workbook(report: Report) -> Any:
    return openpyxl.load_workbook(io.BytesIO(spreadsheets.xlsx(report)))


# -- values, comma-separated ---------------------------------------------------------------------


def rows(report: Report) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(reports.csv_text(report).removeprefix("\ufeff"), newline="")))


def test_a_ledger_starts_with_the_mark_spreadsheets_look_for_and_breaks_lines_by_rfc_4180(
    report: Report,
) -> None:
    text = reports.csv_text(report)
    assert text.startswith("\ufeffMonth,Station,")
    assert text.count("\r\n") == text.count("\n") == len(rows(report)) + 1


def test_what_counts_in_the_ledger_adds_up_to_the_net(report: Report) -> None:
    net = fsum(float(row["Counts towards the net (kg)"]) for row in rows(report))
    assert net == pytest.approx(report.tally["net"]["value"], abs=1e-5)
    assert net == pytest.approx(8 + 3 + 1.8 - 0.5)


def test_the_ledger_has_names_for_ids(report: Report) -> None:
    found = {(row["Station"], row["Material"], row["What became of it"]) for row in rows(report)}
    assert ("Larvae bin", "Juice pulp", "Fed") in found
    assert ("Larvae bin", "Bones", "To landfill") in found
    assert ("Trough", "Coir", "Fed, not counted") in found


def test_no_name_can_be_taken_for_a_formula(report: Report) -> None:
    people = {row["Person"] for row in rows(report)}
    assert people == {"Ana", '\'=HYPERLINK("http://evil","x")'}


@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(ledgers.ledgers())
def test_any_ledger_adds_up_to_its_net(tmp_path: Path, log: list[Raw]) -> None:
    opened = fresh(tmp_path / f"{len(list(tmp_path.iterdir()))}")
    try:
        send(Intake(opened), log)
        made = reports.report_of(opened, AT, SINCE, UNTIL)
    finally:
        opened.close()
    net = fsum(float(row["Counts towards the net (kg)"]) for row in rows(made))
    assert net == pytest.approx(made.tally["net"]["value"], rel=1e-5, abs=1e-3)


# -- workbook ------------------------------------------------------------------------------------


def test_a_workbook_has_a_sheet_for_each_table(workbook: Any, report: Report) -> None:
    assert workbook.sheetnames == [
        "Summary",
        "Months",
        "Streams",
        "Stations",
        "People",
        "Products",
        "Nutrients",
        "Methane",
        "Balance",
        "Ledger",
        "Sources",
    ]
    assert len(report_tables.tables(report)) == len(workbook.sheetnames)


def test_numbers_are_numbers_and_the_net_is_the_tallys(workbook: Any, report: Report) -> None:
    cells = {row[0].value: row[1] for row in workbook["Summary"].iter_rows(min_row=4)}
    net = cells["Kept out of landfill"]
    assert net.data_type == "n"
    assert net.value == report.tally["net"]["value"]


def test_a_formula_in_a_name_stays_text(workbook: Any) -> None:
    names = [row[0] for row in workbook["People"].iter_rows(min_row=4, max_row=5)]
    assert {one.value for one in names} == {"Ana", '=HYPERLINK("http://evil","x")'}
    assert {one.data_type for one in names} == {"s"}


def test_headings_stay_in_view_and_months_have_a_chart(workbook: Any) -> None:
    assert all(sheet.freeze_panes == "B4" for sheet in workbook)
    assert all(sheet.auto_filter.ref for sheet in workbook)
    assert len(workbook["Months"]._charts) == 1


def test_the_months_of_the_sheet_are_those_of_the_tally(workbook: Any, report: Report) -> None:
    sheet = workbook["Months"]
    heads = [cell.value for cell in sheet[3]]
    net = heads.index("Net (kg)")
    found = [row[net].value for row in sheet.iter_rows(min_row=4, max_row=3 + len(report.tally["months"]))]
    assert found == [month["net_kg"] for month in report.tally["months"]]


def test_the_balance_of_the_sheet_closes(workbook: Any) -> None:
    signs = {"There before": 1, "Came in": 1, "Went out": -1, "Gas, vapour, drainage": -1, "There now": -1}
    gaps: dict[str, float] = {}
    for account, side, _, wet, *_ in workbook["Balance"].iter_rows(min_row=4, values_only=True):
        if side in signs:
            gaps[account] = gaps.get(account, 0.0) + signs[side] * wet
    assert len(gaps) > 4
    assert max(map(abs, gaps.values())) < 1e-9


def test_the_same_report_is_the_same_file(report: Report) -> None:
    assert spreadsheets.xlsx(report) == spreadsheets.xlsx(report)


def test_every_word_of_a_report_has_words(report: Report) -> None:
    for table in report_tables.tables(report):
        said = [str(held) for row in table.rows for held in row] + [name for name, _ in table.head]
        assert [one for one in [*said, *table.notes] if "tally." in one and table.key != "sources"] == []


def test_a_place_with_nothing_recorded_still_has_a_report(tmp_path: Path) -> None:
    opened = fresh(tmp_path / "empty")
    made = reports.report_of(opened, AT, None, None)
    opened.close()
    assert rows(made) == []
    assert openpyxl.load_workbook(io.BytesIO(spreadsheets.xlsx(made))).sheetnames[0] == "Summary"
    assert "0 kg" in pages.page(made)


# -- page ----------------------------------------------------------------------------------------


class Tags(HTMLParser):
    """Collects what a page is made of."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.text = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs

    def handle_data(self, data: str) -> None:
        self.text += data


LINKS = {"style": "/style", "page": "/page", "csv": "/csv?a=1&b=2", "xlsx": "/xlsx"}


def test_a_served_page_has_no_script_and_no_style_of_its_own(report: Report) -> None:
    found = Tags(pages.page(report, LINKS))
    assert {"script", "style", "img", "iframe"} & set(found.tags) == set()
    assert [name for name, _ in found.attributes if name == "style" or name.startswith("on")] == []
    assert ("href", "/csv?a=1&b=2") in found.attributes


def test_a_page_in_a_file_stands_by_itself(report: Report) -> None:
    found = Tags(pages.page(report))
    assert "style" in found.tags
    assert not {"link", "form", "a"} & set(found.tags)


def test_a_page_says_the_figure_its_range_and_what_it_leaves_out(report: Report) -> None:
    text = Tags(pages.page(report)).text
    assert "12.3 kg" in text
    assert "no certificate" in text
    assert "An invented place" in text
    assert "tally." not in text


def test_a_name_cannot_break_out_of_the_page(database: Database, report: Report, tmp_path: Path) -> None:
    opened = fresh(tmp_path / "named")
    named = entry("setup", 5, what="place", item="place", set={"name": "<script>alert(1)</script>"})
    send(Intake(opened), [*LOG, named])
    page = pages.page(reports.report_of(opened, AT, SINCE, UNTIL))
    opened.close()
    assert "script" not in Tags(page).tags


def test_many_months_are_shown_as_years(database: Database) -> None:
    text = Tags(pages.page(reports.report_of(database, AT, folded.day("2024-01-01"), UNTIL))).text
    assert "Year by year" in text
    assert "Month by month" not in text
