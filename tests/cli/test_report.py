"""The report command: a file of the kind its name says, written whole, or one plain line."""

import io
import json
from pathlib import Path

import openpyxl  # type: ignore[import-untyped]
import pytest

from fallowside.sync.intake import Intake
from tests.cli.conftest import Run
from tests.logs import Raw, entry, kg, setups
from tests.stores import feed, fresh, send


@pytest.fixture
def filled(data: Path) -> None:
    put(data, [*setups(), *map(feed, range(5))])


def put(data: Path, log: list[Raw]) -> None:
    opened = fresh(data)
    send(Intake(opened), log)
    opened.close()


@pytest.mark.usefixtures("filled")
@pytest.mark.parametrize("name", ["ledger.csv", "report.xlsx", "Page.HTML"])
def test_a_report_is_of_the_kind_its_name_says(run: Run, tmp_path: Path, name: str) -> None:
    file = tmp_path / name
    done = run("report", file, "--from", "2026-03-01", "--to", "2026-03-31")
    assert (done.returncode, done.stderr) == (0, "")
    content = file.read_bytes()
    if name.endswith("xlsx"):
        assert openpyxl.load_workbook(io.BytesIO(content))["Summary"]["B4"].value == 5.0
    else:
        assert b"Kitchen" in content
    assert [one.name for one in tmp_path.iterdir() if one.name.endswith(".part")] == []


@pytest.mark.usefixtures("filled")
@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["report.pdf"], "a report ends in one of .csv, .html, .xlsx"),
        (["nowhere/report.csv"], "can't be written"),
        (["report.csv", "--from", "2026-05-01", "--to", "2026-04-01"], "swap them"),
        (["report.csv", "--to", "yesterday"], "--to is a day such as"),
    ],
)
def test_a_report_that_cannot_be_is_one_plain_line(
    run: Run, tmp_path: Path, words: list[str], said: str
) -> None:
    done = run("report", str(tmp_path / words[0]), *words[1:])
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.count("\n") == 1
    assert said in done.stderr


def test_the_tally_asks_about_more_rejects_than_were_fed(run: Run, data: Path) -> None:
    gone = entry("reject", 9, station="bed", feedstock="bread", amount=kg(20), to="landfill")
    put(data, [*setups(), feed(1), gone])
    assert "more than the 1 kg that were fed to it" in run("tally").stdout


@pytest.mark.parametrize(
    ("amount", "feedstock", "said"),
    [
        ({"value": 2, "unit": "L"}, "washed_up", "nobody has said how much a litre of 'washed_up' weighs"),
        ({"container": "bucket"}, "bread", "no container is called 'bucket'"),
        ({"container": "tub"}, "bread", "nobody has said what the container 'tub' holds"),
    ],
)
def test_an_amount_that_is_no_mass_is_held_with_clear_words(
    run: Run, tmp_path: Path, amount: Raw, feedstock: str, said: str
) -> None:
    own = {"like": "seaweed"}
    log = [
        *setups(),
        entry("setup", 1, what="container", item="tub", set={"name": "Tub"}),
        entry("setup", 2, what="feedstock", item="washed_up", set=own),
        entry("feed", 3, station="bin", feedstock=feedstock, amount=amount),
    ]
    file = tmp_path / "log.jsonl"
    file.write_text("".join(json.dumps(one) + "\n" for one in log))
    done = run("load", file)
    assert done.returncode == 1
    assert said in done.stdout


@pytest.mark.usefixtures("filled")
def test_plan_and_tally_are_said_in_the_language_asked_for(run: Run) -> None:
    assert "nicht deponiert" in run("plan", "--language", "de").stdout
    assert "fuera del vertedero" in run("tally", "--language", "es").stdout
    refused = run("plan", "--language", "klingon")
    assert refused.returncode == 2
    assert refused.stderr.count("\n") == 1


@pytest.mark.usefixtures("filled")
def test_a_sheet_is_a_page_by_itself_and_an_unknown_one_a_plain_line(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "stickers.html"
    assert run("sheet", "stickers", file, "--url", "http://farm.example").returncode == 0
    assert "http://farm.example/#/station/bed" in file.read_text(encoding="utf-8")
    assert run("sheet", "handover", tmp_path / "handover.html").returncode == 0
    refused = run("sheet", "poster", file)
    assert (refused.returncode, refused.stderr.count("\n")) == (2, 1)
    assert "stickers and handover" in refused.stderr
