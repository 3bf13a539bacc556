"""The commands as people run them: what they print, where, and with which exit code."""

import json
import sqlite3
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from fallowside.api import clock
from fallowside.core import plan as plans
from fallowside.exchange import demo_store
from fallowside.store.database import FILE_NAME
from fallowside.sync import call
from fallowside.sync.intake import Intake
from tests.cli.conftest import Done, Run
from tests.logs import AT, Raw, entry, kg, setups, time
from tests.postgres import Cluster
from tests.stores import NOW_US, feed, fresh


def jsonl(entries: list[Any]) -> str:
    return "".join(json.dumps(one) + "\n" for one in entries)


def fails(done: Done, said: str) -> None:
    """Check the form of every error: one plain line on standard error, exit 2."""
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.startswith("fallowside: ")
    assert done.stderr.count("\n") == 1
    assert said in done.stderr


GOOD: list[Raw] = [*setups(), *map(feed, range(1, 20))]


# -- load and dump -------------------------------------------------------------------------------


def test_a_file_of_entries_is_loaded_and_dumped_as_it_was(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "entries.jsonl"
    file.write_text(jsonl(GOOD))
    done = run("load", file)
    assert (done.returncode, done.stderr) == (0, "")
    assert f"{len(GOOD)} accepted" in done.stdout
    assert run("dump").stdout == file.read_text()


def test_a_dump_loaded_into_an_empty_store_gives_an_equal_plan(run: Run, tmp_path: Path) -> None:
    run("load", "-", stdin=jsonl([feed(1), *GOOD, {**feed(99), "note": "é\n"}]))
    first = run("plan", "--json", "--at", AT).stdout
    again = run("load", "-", "--data", str(tmp_path / "other"), stdin=run("dump").stdout)
    assert again.returncode == 0
    assert run("plan", "--json", "--at", AT, "--data", str(tmp_path / "other")).stdout == first
    assert json.loads(first)["made_from"]["entries"] == len(GOOD) + 1


def test_a_log_moves_from_sqlite_to_postgresql_and_back(run: Run, tmp_path: Path, cluster: Cluster) -> None:
    run("load", "-", stdin=jsonl([*GOOD, {**feed(99), "note": "é\n"}, feed(1, amount=kg(-1))]))
    first, planned = run("dump").stdout, run("plan", "--json", "--at", AT).stdout
    there = {"FALLOWSIDE_DATABASE_URL": cluster.new()}
    assert run("load", "-", stdin=first, env=there).returncode == 0
    assert run("dump", env=there).stdout == first
    assert run("plan", "--json", "--at", AT, env=there).stdout == planned
    back = {"FALLOWSIDE_DATA": str(tmp_path / "back")}
    assert run("load", "-", stdin=run("dump", env=there).stdout, env=back).returncode == 0
    assert run("dump", env=back).stdout == first
    assert run("plan", "--json", "--at", AT, env=back).stdout == planned


def test_entries_printed_over_several_lines_by_a_phone_are_dumped_on_one(run: Run, data: Path) -> None:
    opened = fresh(data)
    spread = json.dumps({"device": "p", "entries": GOOD}, indent=1).encode()
    Intake(opened).take(call.read(spread), NOW_US)
    opened.close()
    assert [json.loads(line) for line in run("dump").stdout.splitlines()] == GOOD


def test_loading_again_says_what_was_there(run: Run) -> None:
    run("load", "-", stdin=jsonl(GOOD))
    done = run("load", "-", stdin=jsonl([*GOOD, feed(50)]))
    assert done.returncode == 0
    assert f"{len(GOOD) + 1} accepted, {len(GOOD)} of them there already" in done.stdout


BAD = [
    ('{"id": "x", "kind": "feed"', "not JSON"),
    (json.dumps(feed(90, amount={"value": 2, "unit": "degC"})), "is measured in"),
    (json.dumps(feed(91, amount=kg(-2))), "-2 kg"),
    (json.dumps(feed(92, amount=kg(1e7))), "believed from"),
    (json.dumps(feed(93, station="moon")), "no station is called 'moon'"),
    (json.dumps(feed(94, amount=kg(float("nan")))), "not NaN"),
    (json.dumps(feed(95, at="2090-01-01T00:00:00Z")), "lies in the future"),
    (json.dumps(feed(96, feedstock="seaweed", amount={"value": 3, "unit": "L"})), "weigh this once"),
    ('"words"', "is a JSON object"),
    ("\x00", "not JSON"),
]


def test_held_lines_are_named_with_the_reason_and_the_rest_is_accepted(run: Run) -> None:
    lines = [json.dumps(one) for one in GOOD] + [line for line, _ in BAD] + [json.dumps(feed(99))]
    done = run("load", "-", stdin="\n".join(lines))
    assert done.returncode == 1
    assert f"{len(GOOD) + 1} accepted" in done.stdout
    flat = " ".join(done.stdout.split())
    for number, (_, why) in enumerate(BAD, start=len(GOOD) + 1):
        said = flat.split(f"line {number} held: ")[1].split(" line ")[0]
        assert why in said
    assert f"{len(BAD)} held" in flat
    assert json.loads(run("check", "--json").stdout)["held"] == len(BAD)


def test_lines_that_a_later_set_up_makes_good_are_not_called_held(run: Run) -> None:
    many = [feed(n) for n in range(1, 1500)]
    done = run("load", "-", stdin=jsonl([*many, *setups()]))
    assert done.returncode == 0
    assert f"{len(many) + len(setups()):,} accepted" in done.stdout
    assert json.loads(run("check", "--json").stdout)["held"] == 0


def test_blank_lines_are_no_entries_and_lines_are_counted_with_them(run: Run) -> None:
    done = run("load", "-", stdin="\n\n" + jsonl(setups()) + "\n[]\n")
    assert f"line {len(setups()) + 4} held" in done.stdout


def test_a_line_of_ten_megabytes_is_held_and_a_longer_one_ends_the_reading(run: Run) -> None:
    long = json.dumps({**feed(1), "note": "x" * 9_900_000})
    done = run("load", "-", stdin=jsonl(setups()) + long + "\n")
    assert done.returncode == 1
    assert "shorten it" in done.stdout
    fails(run("load", "-", stdin=jsonl(setups()) + long + "y" * 2_000_000), "longer than 10 MiB")


@pytest.mark.parametrize("name", ["missing.jsonl", "."])
def test_a_file_that_cannot_be_read_is_said(run: Run, tmp_path: Path, name: str) -> None:
    fails(run("load", tmp_path / name), "can't be read")


READING = [
    ("plan",),
    ("tally",),
    ("route", "bread=1kg"),
    ("report", "made.csv"),
    ("sheet", "handover", "made.html"),
    ("dump",),
    ("backup", "made.db"),
    ("check",),
    ("phones",),
    ("unpair", "1"),
    ("probe", "bed"),
    ("calendar", "ana"),
]


@pytest.mark.parametrize("words", READING, ids=lambda words: str(words[0]))
def test_a_mistyped_folder_is_said_and_never_made(run: Run, tmp_path: Path, words: tuple[str, ...]) -> None:
    for folder in (tmp_path / "mistyped", tmp_path / "of-something-else"):
        if folder.name != "mistyped":
            folder.mkdir()
        fails(run(*words, "--data", str(folder)), f"there is no log in {folder}; name its folder with --data")
        assert not folder.exists() or not list(folder.iterdir())


# -- plan and tally ------------------------------------------------------------------------------


def test_the_plan_printed_is_the_cores_plan(run: Run) -> None:
    run("load", "-", stdin=jsonl(GOOD))
    assert run("plan", "--json", "--at", AT).stdout == plans.plan_json(GOOD, AT) + "\n"


def test_the_plan_for_people_names_stations_ration_and_range(run: Run) -> None:
    run("load", "-", stdin=jsonl(GOOD))
    said = run("plan", "--at", AT).stdout
    for words in ("Test place", "an invented place", "Trough", "Larvae bin", "Pond", "up to", "ahead", "kg"):
        assert words in said
    assert "kept out of landfill" in said
    assert "." not in [line.strip() for line in said.splitlines()]


def test_the_plan_for_people_calls_sides_as_the_place_does(run: Run) -> None:
    names = {"side_a_name": "wall side", "side_b_name": "tree side"}
    named = {**GOOD[1], "id": "names", "what": "station", "item": "bed", "set": names}
    run("load", "-", stdin=jsonl([*GOOD, named]))
    said = run("plan", "--at", AT).stdout
    assert "wall side" in said
    assert "side A" not in said


def test_an_empty_place_is_told_how_to_begin(run: Run) -> None:
    run("load", "-", stdin="")
    assert "Nothing is set up yet" in run("plan").stdout


def test_the_tally_counts_the_days_asked_for(run: Run) -> None:
    run("load", "-", stdin=jsonl(GOOD))
    found = json.loads(run("tally", "--from", "2026-03-01", "--to", "2026-03-01", "--json").stdout)
    assert found["net"]["value"] == 19.0
    assert json.loads(run("tally", "--from", "2026-03-02", "--json").stdout)["net"]["value"] == 0.0
    said = run("tally").stdout
    assert "19 kg" in said
    assert "2026-03" in said


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["plan", "--at", "noon"], "--at"),
        (["tally", "--from", "noon"], "--from"),
        (["tally", "--from", "2026-02-02", "--to", "2026-01-01"], "swap them"),
        (["frobnicate"], "No such command"),
        (["plan", "--colour"], "--colour"),
        (["load"], "FILE"),
        (["serve", "--port", "99999"], "port"),
    ],
)
def test_a_wrong_word_is_one_plain_line(run: Run, words: list[str], said: str) -> None:
    fails(run(*words), said)


def test_help_names_every_command(run: Run) -> None:
    said = run("--help").stdout
    for name in ("serve", "demo", "plan", "tally", "load", "dump", "backup", "restore", "pair", "check"):
        assert f"  {name} " in said
    assert run("--version").stdout.startswith("fallowside ")


# -- the store -----------------------------------------------------------------------------------


def test_the_folder_can_be_given_in_three_ways(run: Run, tmp_path: Path) -> None:
    run("load", "-", "--data", str(tmp_path / "a"), stdin=jsonl(GOOD))
    run("--data", str(tmp_path / "b"), "load", "-", stdin=jsonl(GOOD))
    run("load", "-", stdin=jsonl(GOOD), env={"FALLOWSIDE_DATA": str(tmp_path / "c")})
    for name in "abc":
        assert (tmp_path / name / FILE_NAME).is_file()


def test_another_database_can_be_named_by_url(run: Run, tmp_path: Path, data: Path) -> None:
    url = f"sqlite:///{tmp_path / 'elsewhere.db'}"
    run("load", "-", stdin=jsonl(GOOD), env={"FALLOWSIDE_DATABASE_URL": url})
    assert (tmp_path / "elsewhere.db").is_file()
    assert not (data / FILE_NAME).exists()


def test_a_folder_that_cannot_be_used_is_said(run: Run, tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    fails(run("check", "--data", str(tmp_path / "file")), "there is no log in")
    fails(run("load", "-", "--data", str(tmp_path / "file")), "can't be")


def test_check_of_a_hurt_store_exits_1_and_says_what(run: Run, data: Path) -> None:
    run("load", "-", stdin=jsonl(GOOD))
    assert "whole" in run("check").stdout
    hurt = sqlite3.connect(data / FILE_NAME)
    hurt.execute("DROP TRIGGER entry_no_update")
    hurt.execute("UPDATE entry SET crc = 1 WHERE id = 'feed-1'")
    hurt.commit()
    hurt.close()
    done = run("check")
    assert done.returncode == 1
    assert "not those that were received" in done.stdout


def test_a_backup_is_put_back_and_the_old_store_is_kept(run: Run, data: Path, tmp_path: Path) -> None:
    run("load", "-", stdin=jsonl(GOOD))
    assert run("backup", tmp_path / "copy").returncode == 0
    run("load", "-", stdin=jsonl([feed(50)]))
    done = run("restore", tmp_path / "copy")
    assert done.returncode == 0
    assert f"Restored {len(GOOD)} entries" in done.stdout
    assert run("dump").stdout == jsonl(GOOD)
    assert len([one for one in data.iterdir() if "before" in one.name]) == 1


def test_a_backup_of_nothing_known_is_refused(run: Run, tmp_path: Path) -> None:
    (tmp_path / "letters").write_text("Dear Maro")
    fails(run("restore", tmp_path / "letters"), "nothing was changed")
    fails(run("restore", tmp_path / "none"), "isn't there")
    (tmp_path / "there").touch()
    run("load", "-", stdin="")
    fails(run("backup", tmp_path / "there"), "exists already")


# -- the demo ------------------------------------------------------------------------------------


def test_the_demo_is_loaded_once_and_shown(run: Run) -> None:
    first = run("demo", "--no-serve")
    assert first.returncode == 0
    assert "The demo is loaded" in first.stdout
    assert "an invented place" in first.stdout
    entries = json.loads(run("check", "--json").stdout)["entries"]
    assert entries > 1000
    assert "loaded already" in run("demo", "--no-serve").stdout
    found = json.loads(run("check", "--json").stdout)
    assert (found["entries"], found["held"]) == (entries, 0)


def test_the_demo_refuses_a_store_of_a_real_place(run: Run) -> None:
    run("load", "-", stdin=jsonl(GOOD))
    fails(run("demo", "--no-serve"), "--data")
    assert run("dump").stdout == jsonl(GOOD)


def test_a_demo_of_an_earlier_day_is_made_anew(run: Run, data: Path) -> None:
    put_demo(data, date.today() - timedelta(days=3))
    assert "The demo is loaded:" in run("demo", "--no-serve").stdout
    newest = run("dump").stdout.splitlines()[-1]
    assert json.loads(newest)["at"][:10] >= (date.today() - timedelta(days=2)).isoformat()


def test_a_demo_that_people_wrote_into_is_kept(run: Run, data: Path) -> None:
    put_demo(data, date.today() - timedelta(days=3))
    own = entry("round", 1, started=time(0), passed=[])
    run("load", "-", stdin=jsonl([own]))
    before = run("dump").stdout
    assert "stays as it is" in run("demo", "--no-serve").stdout
    assert run("dump").stdout == before


def put_demo(data: Path, today: date) -> None:
    opened = fresh(data)
    demo_store.put(opened, today, clock.now_us)
    opened.close()


def test_a_sheet_is_written_in_the_language_asked_for(run: Run, tmp_path: Path) -> None:
    run("load", "-", stdin=jsonl(GOOD))
    for language, said in (("en", "<h1>Hand-over: "), ("de", "<h1>Übergabe: ")):
        assert run("sheet", "handover", tmp_path / "sheet.html", "--language", language).returncode == 0
        page = (tmp_path / "sheet.html").read_text(encoding="utf-8")
        assert f'<html lang="{language}">' in page
        assert said in page
    fails(run("sheet", "handover", tmp_path / "sheet.html", "--language", "xx"), "--language xx")
