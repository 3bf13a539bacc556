"""Rooms are named for what they hold, and stay small enough to be read."""

import subprocess
from pathlib import Path

ROOT = Path(__file__).parents[2]
TOP = {".ci", ".gitignore", ".pre-commit-config.yaml", "CHANGELOG.md", "DEVELOPERS.md", "LICENSE", "Makefile"}
TOP |= {"README.md", "benchmarks", "docs", "fixtures", "pyproject.toml", "server", "tests", "web"}
CRUMBS = {"common", "handler", "handlers", "helper", "helpers", "manager", "misc", "service", "util", "utils"}
LONGEST = 600


def tracked() -> list[Path]:
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    return [path for name in listed.split("\0") if name and (path := Path(name)) and (ROOT / path).is_file()]


def test_the_top_holds_only_the_rooms_of_the_design() -> None:
    assert {path.parts[0] for path in tracked()} <= TOP


def test_no_room_is_named_for_crumbs() -> None:
    # A file may be about the service, as the phone sees it; a room of services holds anything.
    named = {path: {*path.parts[:-1], path.stem.replace("service", "")} for path in tracked()}
    assert [path for path, names in named.items() if CRUMBS & {name.lower() for name in names}] == []


def test_no_source_file_is_longer_than_a_sitting() -> None:
    sources = [path for path in tracked() if path.suffix in {".py", ".ts", ".tsx", ".css"}]
    lengths = {path: len((ROOT / path).read_text(encoding="utf-8").splitlines()) for path in sources}
    assert {path: lines for path, lines in lengths.items() if lines > LONGEST} == {}
